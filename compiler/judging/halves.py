"""Halves of hinges, clasps and catches: where each stands, and which castings a hinge holds together."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations, permutations
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from ...lang.words import Kind, Word
from ..bench.feature import Places
from ..bench.roles import FigureOf, Role
from ..geometry import frames as fr
from ..words.lines import OUTLINES
from .digits import above, rounded_up
from .figures import figure
from .services import indices_of

if TYPE_CHECKING:
    from ...lang.bench import Use
    from ..bench.feature import Feature
    from ..measures.kinds import Floats
    from .joints import Body
    from .piece import Piece

# Cosine between the ways two castings lie from their hinge, from which they are drawn shut: a deep box bears
# its lid askew of its own middle.
SHUT = 0.2
AWAY = 1.0  # mm, from one half to another at the other end of what bears both


class Half(NamedTuple):
    """One half: the finding it is of, its casting, a feature of it, and where it stands (3, 4), mm; of a
    hinge x along its axis, and how far that ``reaches`` to either side, of others 0."""

    finding: Word
    casting: str
    feature: int
    frame: Floats
    reaches: float

    @property
    def at(self) -> Floats:
        """Where it stands (3,), mm."""
        return self.frame[:, 3]

    def apart(self, other: Half) -> float:
        """How far the two stand from one another, mm: of a hinge where its axes lie farthest apart."""
        way = self.frame[:, 0] * self.reaches
        across = other.frame[:, 0] * np.copysign(self.reaches, way @ other.frame[:, 0])
        ends = [self.at - other.at + sign * (way - across) for sign in (-1.0, 0.0, 1.0)]
        return float(np.linalg.norm(ends, axis=1).max())


def halves_of(piece: Piece) -> Iterator[Half]:
    """Every half that stands at one place, as the text's lines made them."""
    made = {feature.name: feature for feature in piece.features}
    castings = {casting.name for casting in piece.casting_measures.cast}
    seen: set[str] = set()
    for feature, call in piece.with_role(Role.HALF):
        use = next(one for one in call.within if Role.HALF in one.word.roles)
        casting = next((one for one in castings if one and use.name.startswith(f"{one}.")), "")
        there = told_at(made, use)
        if use.name in seen or there is None or len(there) != 1:
            continue
        seen.add(use.name)
        half = made.get(f"{use.name}.half")  # the word may find its level by itself
        frame = (there if half is None else half.frames)[0]
        hinge = use.word.take("knuckles") is not None and half is not None
        yield Half(use.word, casting, feature.index, frame, use.arguments["long"].value / 2 if hinge else 0.0)


def told_at(made: Mapping[str, Feature], use: Use) -> Floats | None:
    """The places (n, 3, 4) in the piece that a use of a word is told to stand at; None where it is told none,
    or stands in what is made several times. ``made`` has the features by name."""
    at = use.arguments["at"].value if "at" in use.arguments else None
    around = made.get(use.name.rpartition(".")[0])
    stands = fr.identity() if around is None else around.frames
    return fr.compose(stands, at.frames) if isinstance(at, Places) and len(stands) == 1 else None


def pairs(halves: Sequence[Half]) -> dict[tuple[int, int], float]:
    """How far apart two halves of one finding in two castings stand, mm, by their numbers."""
    return {
        (one, two): halves[one].apart(halves[two])
        for one, two in combinations(range(len(halves)), 2)
        if halves[one].finding is halves[two].finding and halves[one].casting != halves[two].casting
    }


def joined(piece: Piece) -> set[frozenset[str]]:
    """Every two castings by name that halves of one finding join, drawn as they come together."""
    halves, bound = list(halves_of(piece)), piece.bound("halves-apart", "most")
    near = (pair for pair, off in pairs(halves).items() if not above(off, bound))
    return {frozenset(halves[one].casting for one in pair) for pair in near}


def both_halves(piece: Piece, feature: int) -> list[Half]:
    """The two halves that come together, of one of which this feature is a part; of others none."""
    halves, bound = list(halves_of(piece)), piece.bound("halves-apart", "most")
    line = piece.name_of(feature)
    near = (pair for pair, off in pairs(halves).items() if not above(off, bound))
    found = ([halves[one] for one in pair] for pair in near)
    return next((two for two in found if line in {piece.name_of(half.feature) for half in two}), [])


def let_into(piece: Piece, half: Half) -> set[int]:
    """The features that a half is let into."""
    use = next(one for one in piece.call(half.feature).within if Role.HALF in one.word.roles)
    return set(indices_of(use.arguments["in"].value)) if "in" in use.arguments else set()


def closed_round(piece: Piece) -> set[int]:
    """What bears halves at two places, as wire does that a hinge and a clasp close to a bangle."""
    borne = [(one, half.at) for half in halves_of(piece) for one in let_into(piece, half)]
    return {
        one for (one, at), (other, there) in combinations(borne, 2)
        if one == other and float(np.linalg.norm(at - there)) > AWAY
    }  # fmt: skip


def hollow_of(piece: Piece, half: Half) -> int | None:
    """The line of a text that hollows what a half is let into; None without one."""
    into = let_into(piece, half)
    cuts = (cut.index for cut, call in piece.with_role(Role.OPENS) if not call.within)
    return next((cut for cut in cuts if into & set(indices_of(piece.call(cut).get("in")))), None)


def walled(piece: Piece, cut: int | None, by: float) -> str:
    """What is written for the walls of a hollow to be so much thicker, mm; "" where none says so."""
    call, name = (piece.call(cut), piece.name_of(cut)) if cut is not None else (None, "")
    if call is None:
        return ""
    if wall := figure(call, FigureOf.WALL):
        return f"write {wall[0]} {rounded_up(wall[1] + by)} in the line of {name}"
    for key in (one for one in OUTLINES if call.given(one)):
        take, value = call.word.take(key), call.get(key)
        sides = value if isinstance(value, tuple) else (value,)
        if take is not None and take.kind in (Kind.LENGTH, Kind.SIZE):
            size = " x ".join(f"{side - 2 * by:.2f}" for side in sides)
            return f"write {key} {size} mm in the line of {name}"
    return ""


def walled_alike(piece: Piece, cut: int, by: float) -> str:
    """The same of a hollow and those that a catch joins it with: its lip fits both."""
    halves, cuts = [one for one in halves_of(piece) if not is_hinge(one)], [cut]
    for pair in pairs(halves):
        both = [hollow_of(piece, halves[k]) for k in pair]
        cuts += [one for one in both if cut in both and one is not None]
    return "; then ".join(filter(None, dict.fromkeys(walled(piece, one, by) for one in cuts)))


def is_hinge(half: Half) -> bool:
    """Whether it is half of a hinge."""
    return half.finding.take("knuckles") is not None


def knuckles_of(piece: Piece, feature: int, wall: float) -> float:
    """The diameter, mm, of the knuckles of both halves of a hinge whose walls are all so thick, of one of
    which this feature is a part, its pin as now or as thick a part of them; 0 for others."""
    use = next((one for one in piece.call(feature).within if one.word.take("knuckles") is not None), None)
    if use is None:
        return 0.0
    outside, pin, gap = (float(use.arguments[key].value) for key in ("outside", "pin", "gap"))
    walls = 2 * (wall + gap)
    return walls + pin if use.arguments["pin"].given else walls / (1 - pin / outside)


def hinged(piece: Piece) -> Iterator[tuple[Half, Half, float]]:
    """The two halves of every hinge that come together, either way round, and the cosine between the ways
    their castings lie from it: 1 where they are drawn shut, -1 where they lie open."""
    halves = [one for one in halves_of(piece) if is_hinge(one)]
    for mine, other in permutations(halves, 2):
        near = not above(float(np.linalg.norm(mine.at - other.at)), piece.bound("halves-apart", "most"))
        if mine.casting != other.casting and mine.finding is other.finding and near:
            rooms = (room_of(piece, half.casting).mean(axis=0) for half in (mine, other))
            away = np.stack([middle - mine.at for middle in rooms])
            away -= np.outer(away @ mine.frame[:, 0], mine.frame[:, 0])
            yield mine, other, float(away[0] @ away[1] / max(np.prod(np.linalg.norm(away, axis=1)), 1e-9))


def opened(piece: Piece, casting: str) -> Floats | None:
    """Where the hinge stands (3, 4), x along its axis, on which a casting lies open: on the other side of it
    than the casting it shuts upon."""
    found = next(((mine, shut) for mine, _, shut in hinged(piece) if mine.casting == casting), None)
    return found[0].frame if found is not None and found[1] < 0 else None


def shut_on(piece: Piece, casting: str) -> set[str]:
    """The castings by name that hinges hold to this one, drawn shut."""
    pairs = [(mine.casting, other.casting) for mine, other, shut in hinged(piece) if shut > SHUT]
    found, waiting = set[str](), [casting]
    while waiting:
        here = waiting.pop()
        found.add(here)
        waiting += [two for one, two in pairs if one == here and two not in found]
    return found - {casting}


def room_of(piece: Piece, casting: str) -> Floats:
    """The least and the greatest corner (2, 3) of the room that a casting takes."""
    boxes = np.array([body.skin.box for body in bodies_named(piece, casting)])
    return np.stack([boxes[:, 0].min(axis=0), boxes[:, 1].max(axis=0)])


def bodies_named(piece: Piece, casting: str) -> list[Body]:
    """The bodies of the casting of that name."""
    measures = piece.casting_measures
    return [body for body in measures.bodies if measures.castings[body.casting].name == casting]
