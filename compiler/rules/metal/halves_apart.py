"""halves-apart: two halves of a hinge, a clasp or a catch that do not stand at one place."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations, permutations
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from ....lang.words import Word
from ...bench.feature import Places
from ...bench.roles import Role
from ...geometry import frames as fr
from ...judging.digits import above, mm, most, place
from ...judging.moves import told
from ...judging.rule import Verdict

if TYPE_CHECKING:
    from ...judging.bound import Bound
    from ...judging.castings import Body
    from ...judging.piece import Piece
    from ...measures.kinds import Floats

TOUCH = 0.3  # mm, castings drawn as they meet are as near; others lie apart, each by itself


class Half(NamedTuple):
    """One half: the finding it is of, its casting, a feature of it, and where it stands (3, 4), mm; of a
    hinge x along its axis."""

    finding: Word
    casting: str
    feature: int
    frame: Floats

    @property
    def at(self) -> Floats:
        """Where it stands (3,), mm."""
        return self.frame[:, 3]


def check(piece: Piece) -> Iterator[Verdict]:
    halves = list(_halves(piece))
    bound = piece.bound("halves-apart", "most")
    apart = {
        (one, two): float(np.linalg.norm(halves[one].at - halves[two].at))
        for one, two in combinations(range(len(halves)), 2)
        if halves[one].finding is halves[two].finding and halves[one].casting != halves[two].casting
    }
    together = [pair for pair, off in apart.items() if not above(off, bound)]
    met = {half for pair in together for half in pair}
    # What is joined by one pair of halves may stand open at another; no pin goes through a hinge that does.
    joined = {frozenset(halves[half].casting for half in pair) for pair in together}
    for (a, b), off in sorted(apart.items(), key=lambda one: one[1]):
        one, two = halves[a], halves[b]
        castings = frozenset((one.casting, two.casting))
        open_there = castings in joined and not _is_hinge(one)
        if {a, b} & met or open_there or not _meet(piece, one.casting, two.casting):
            continue
        met |= {a, b}
        yield _verdict(piece, one, two, off, bound)


def _is_hinge(half: Half) -> bool:
    return half.finding.take("knuckles") is not None


def opened(piece: Piece, casting: str) -> Floats | None:
    """Where the hinge stands (3, 4), x along its axis, on which a casting lies open: on the other side of it
    than the casting it shuts upon."""
    halves = list(_halves(piece))
    for mine, other in permutations(halves, 2):
        near = not above(float(np.linalg.norm(mine.at - other.at)), piece.bound("halves-apart", "most"))
        if mine.casting == casting != other.casting and mine.finding is other.finding and near \
                and _is_hinge(mine):  # fmt: skip
            away = np.array([np.mean(_room(piece, half.casting), axis=0) - mine.at for half in (mine, other)])
            away -= np.outer(away @ mine.frame[:, 0], mine.frame[:, 0])
            return mine.frame if away[0] @ away[1] < 0 else None
    return None


def _verdict(piece: Piece, one: Half, two: Half, off: float, bound: Bound) -> Verdict:
    first, second = (piece.name_of(half.feature) for half in (one, two))
    return Verdict(
        f"{second} and {first} do not come together",
        two.feature,
        f"{mm(off)} from one half to the other",
        most(mm(bound)),
        f"{_remedy(piece, one, two)}; or stand both at one place, a line 'spots' above both castings",
        off,
        bound,
        keys=("at",),
        place=place(two.at),
        others=(one.feature,),
    )


def _remedy(piece: Piece, one: Half, two: Half) -> str:
    """How they come together on metal of both: the one moved to the other, or both to half way."""
    for half, other in ((two, one), (one, two)):
        if _beside(piece, half.casting, other.at):
            return f"move {_moved(piece, half, other.at)}"
    middle = (one.at + two.at) / 2
    return f"move {_moved(piece, two, middle)}, and {_moved(piece, one, middle)}"


def _moved(piece: Piece, half: Half, spot: Floats) -> str:
    return f"{piece.name_of(half.feature)} {told(piece, half.feature, spot - half.at, 'to the other')}"


def _beside(piece: Piece, casting: str, spot: Floats) -> bool:
    """Whether a spot lies as near the room that a casting takes as halves put together."""
    low, high = _room(piece, casting)
    return bool((spot > low - TOUCH).all() and (spot < high + TOUCH).all())


def _room(piece: Piece, casting: str) -> Floats:
    """The least and the greatest corner (2, 3) of the room that a casting takes."""
    boxes = np.array([body.skin.box for body in _bodies(piece, casting)])
    return np.stack([boxes[:, 0].min(axis=0), boxes[:, 1].max(axis=0)])


def _halves(piece: Piece) -> Iterator[Half]:
    """Every half that stands at one place, as the text's lines made them."""
    made = {feature.name: feature for feature in piece.features}
    castings = {casting.name for casting in piece.casting_measures.cast}
    seen: set[str] = set()
    for feature, call in piece.with_role(Role.HALF):
        use = next(one for one in call.within if Role.HALF in one.word.roles)
        at = use.arguments["at"].value if "at" in use.arguments else None
        around = made.get(use.name.rpartition(".")[0])
        casting = next((one for one in castings if one and use.name.startswith(f"{one}.")), "")
        stands = fr.identity() if around is None else around.frames
        if use.name in seen or not isinstance(at, Places) or len(at) != 1 or len(stands) != 1:
            continue
        seen.add(use.name)
        half = made.get(f"{use.name}.half")  # the word may find its level by itself
        there = fr.compose(stands, at.frames) if half is None else half.frames
        yield Half(use.word, casting, feature.index, there[0])


def _meet(piece: Piece, *castings: str) -> bool:
    """Whether the metal of two castings comes as near as that of halves put together."""
    ones, others = (_bodies(piece, name) for name in castings)
    return any(a.meets(b, TOUCH) and a.gap(b, TOUCH) < TOUCH for a in ones for b in others)


def _bodies(piece: Piece, casting: str) -> list[Body]:
    measures = piece.casting_measures
    return [body for body in measures.bodies if measures.castings[body.casting].name == casting]
