"""What a build gives: metal, stones, weights and verdicts, as plain data other rooms can write."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from ...lang.faults import Fault, Span, is_fatal
from ...lang.outcome import Measured, Waiver
from ...stdlib.alloys import ALLOYS
from ...stdlib.gems import GEMS
from ..house.house import NO_HOUSE, House
from ..metal.part import Part

if TYPE_CHECKING:
    import numpy as np

    from ...lang.outcome import SeriesPlan
    from ..judging.bores import Bore
    from ..judging.hanging import Loop
    from ..judging.piece import Piece
    from ..judging.remark import Remark


@dataclass(frozen=True)
class FeatureInfo:
    """A line of work by its full name ("frame", "left.post"), its word and place in the text.

    ``span`` is the user's own line (for a feature inside a word: the line that used the word). ``roles`` are
    what its metal is for, by their names."""

    name: str
    word: str
    span: Span
    roles: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Stone:
    """One stone: its cut, size (length, width[, narrow]) mm, gem, weight, and where it sits.

    ``frame`` is a (3, 4) transform from the stone's own frame (girdle at z = 0, table to +z) to the piece.
    ``carats`` by the published formula, or as the scales had it (``weighed``); ``carats_volume`` by volume x
    density. ``number`` counts from 1 in the order of the text, as printed on the setting sheet. ``form``
    names the cut with its measured depth."""

    number: int
    feature: int
    cut: str
    size: tuple[float, ...]
    gem: str
    carats: float
    carats_volume: float
    frame: np.ndarray
    weighed: bool = False
    form: str = ""

    @property
    def shape(self) -> tuple[Any, ...]:
        """(cut with its measured depth, length, width[, narrow]), as the facets are asked for."""
        long, *rest = self.size
        return (self.form or self.cut, long, rest[0] if rest else long, *rest[1:])


@dataclass(frozen=True, eq=False)
class Worn:
    """How a piece is worn: the hole a finger or a wrist goes through, and the loops it hangs by."""

    bore: Bore | None
    loops: tuple[Loop, ...]


@dataclass(frozen=True)
class Built:
    """The outcome of a build. ``parts`` is empty when a fault stopped the metal."""

    path: str
    title: str
    metal: str
    note: str
    measures: Mapping[str, tuple[float | str, str]]  # name -> (figure in base unit, unit or "")
    features: tuple[FeatureInfo, ...] = ()
    parts: tuple[Part, ...] = ()
    stones: tuple[Stone, ...] = ()
    faults: tuple[Fault, ...] = ()
    waivers: tuple[Waiver, ...] = ()
    files_read: tuple[str, ...] = ()
    texts: Mapping[str, str] = field(default_factory=dict)  # path -> source text, for snippets
    tolerance: float = 0.005
    series: tuple[SeriesPlan, ...] = ()
    settable: tuple[Measured, ...] = ()  # the measures of the outer block, with their ranges
    steps_total: int = 0
    steps_rebuilt: int = 0
    house: House = NO_HOUSE
    worn: Worn | None = None  # only where it was asked for
    piece: Piece | None = field(default=None, repr=False, compare=False)  # as the rules see it

    def adopt_tables(self) -> None:
        """Let the tables hold the own alloys and gems of this piece's house, and no other's. Whoever
        reads a table for a piece that was made asks for this first."""
        ALLOYS.adopt(self.house.alloys)
        GEMS.adopt(self.house.gems)

    @property
    def own_texts(self) -> dict[str, str]:
        """The texts of the user's own files, by path."""
        return {path: text for path, text in self.texts.items() if path in self.files_read}

    @property
    def shown(self) -> dict[str, float]:
        """How much is seen of what each line of work made, metal or cut, mm2, by the first name it gave,
        without what is cut by hand later."""
        import numpy as np

        areas = np.zeros(len(self.features))
        for part in self.parts:
            corners = part.points[part.triangles]
            cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
            own = part.owner >= 0
            areas += np.bincount(part.owner[own], np.linalg.norm(cross[own], axis=1) / 2, len(areas))
        names: dict[Span, str] = {}
        found: dict[str, float] = {}
        for k, (feature, area) in enumerate(zip(self.features, areas.tolist(), strict=True)):
            if self.piece is not None and self.piece.call(k).get("by-hand"):
                continue
            name = names.setdefault(feature.span, feature.name)
            found[name] = found.get(name, 0.0) + area
        return found

    @property
    def metals(self) -> tuple[str, ...]:
        """The alloys that are cast, the piece's own where there are none."""
        cast = (part.metal for part in self.parts if not part.bought)
        return tuple(dict.fromkeys(cast)) or (self.metal,)

    @property
    def made(self) -> bool:
        """Whether there is metal and nothing forbids it."""
        return bool(self.parts) and not is_fatal(self.faults)


@dataclass(frozen=True)
class Tried:
    """A piece that was checked, its remarks with what came of their remedies; ``texts`` are its files by path
    with all the remedies that cure done, and the changes of text that were not tried; none where none is."""

    built: Built
    texts: Mapping[str, str] = field(default_factory=dict)


def unseen(before: Built, after: Built, least: float) -> list[str]:
    """The lines of a text of whose metal or work less than a ``least`` share is seen after a change, of those
    that are still written."""
    now = after.shown
    return [name for name, was in before.shown.items() if name in now and now[name] < least * was]


CHANGED = 1e-3  # of the room about a place: what facets laid otherwise come to is less


def is_same_there(before: Built, after: Built, one: Remark) -> bool:
    """Whether a change of text left the metal about the place of a remark, twice its figures far, and
    all stones as they were: then the remark went by luck."""
    from manifold3d import Manifold

    if before.piece is None or after.piece is None or None in (one.place, one.figure, one.bound):
        return False
    assert one.place is not None and one.figure is not None and one.bound is not None
    wide = 4 * max(abs(one.figure), abs(one.bound))
    room = Manifold.cube((wide, wide, wide), True).translate(one.place)
    old, new = (piece.metal ^ room for piece in (before.piece, after.piece))
    stones = [[(stone.shape, stone.frame.tobytes()) for stone in built.stones] for built in (before, after)]
    changed = float((old - new).volume() + (new - old).volume())
    return stones[0] == stones[1] and changed < CHANGED * wide**3
