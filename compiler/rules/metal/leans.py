"""leans: a piece that hangs crooked."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from ....lang.terms import Name, Of
from ...bench.hung import ROUND
from ...bench.roles import Role
from ...geometry import frames as fr
from ...geometry.line import ring
from ...geometry.outlines import trace
from ...judging.digits import above, below, mm
from ...judging.figure_rule import Reading
from ...judging.moves import move, of_one_line
from ...judging.posts import bows_of, carries

if TYPE_CHECKING:
    from ...judging.bound import Bound
    from ...judging.castings import Casting
    from ...judging.hanging import Loop, Rest
    from ...judging.piece import Piece
    from ...judging.posts import Bow
    from ...measures.kinds import Floats
    from ...measures.skin import Skin

UP, BACK, LEVEL = np.array([0.0, 1.0, 0.0]), np.array([0.0, 0.0, -1.0]), np.array([1.0, 0.0, 1.0])
TOWARD = -BACK
LONG, LONG_BY_LOOP = 1.25, 1.5  # times as long as wide: what hangs by an eye or a loop at its end, lengthwise
STEP = 0.3  # mm, up or down to the metal a loop is to stand on, within which it stands there already
DEEP = 0.5  # of how far it bears above the weight, by which a loop is let down onto metal at most
ENDWISE = 30.0  # degrees from a quarter turn, within which what hangs lengthwise is meant to
SQUARE = 0.1  # of a quarter turn, within which a place looks straight up or to a side
SPOTS, LEVEL_BY = 96, 0.02  # round a girdle, and mm of how finely it is traced
ONE_END = 0.015  # of its length, how far the middle of its girdle lies off, of a stone with one point
CLEAR = 2.0  # mm, a tip that comes down nearer to its root lies before or behind by nothing


def check(piece: Piece) -> Iterator[Reading]:
    yield from _ear_wires(piece)
    for casting, rest in piece.casting_measures.rests:
        if rest.hang.flips:
            continue  # see top-heavy
        lean, loop = rest.hang.tilt_side, rest.loops[-1]
        bound = piece.bound("leans", "most", loop.feature)
        if rest.sideways:
            yield _on_its_side(piece, casting, rest, bound)
        elif above(abs(lean), bound):
            # The loop takes its own weight along: the farther it has to go.
            off = float(rest.centre[0] - loop.middle[0]) / (1.0 - _share(piece, loop, casting, rest))
            side = "right" if lean > 0 else "left"
            yield Reading(
                loop.feature, abs(lean), rest.centre, words={"side": side},
                cure=partial(_uprighted, piece, casting, rest, off, side),
            )  # fmt: skip


def _uprighted(piece: Piece, casting: Casting, rest: Rest, off: float, side: str, _: float) -> str:
    """Where to put its loop, or what sets the lower of two loops as high as the other."""
    if len(rest.loops) == 1:
        return _move(piece, casting, rest, off, side)
    low, high = sorted(rest.loops, key=lambda loop: loop.middle[1])
    rise = float(high.middle[1] - low.middle[1])
    return f"set both loops level: move the {'left' if low is rest.loops[0] else 'right'} one {mm(rise)} up"


def _ear_wires(piece: Piece) -> Iterator[Reading]:
    """Ear wires whose bow does not look up, and those that come down before what they carry."""
    for bow in bows_of(piece):
        if bow.plain:
            continue
        bound = piece.bound("leans", "bow", bow.feature)
        off = _between(bow.up, UP)
        across = bow.tail * LEVEL  # the way its tip lies from its root, seen from above
        before = 180.0 - _between(across, BACK) if carries(piece, bow) else 180.0
        if above(off, bound):
            said = {"looks": _looking(bow.up), "upright": _upright(piece, bow)}
            yield Reading(bow.feature, off, bow.top, find="bow", words=said)
        elif np.linalg.norm(across) > CLEAR and below(before, bound):
            yield Reading(bow.feature, 180.0 - before, bow.top, find="front", bound=bound)


def _between(one: Floats, other: Floats) -> float:
    """The angle between two ways (3,), degrees; a right angle where one of them has no length."""
    size = float(np.linalg.norm(one) * np.linalg.norm(other))
    return float(np.degrees(np.arccos(np.clip(one @ other / size, -1.0, 1.0)))) if size > 1e-9 else 90.0


def _looking(way: Floats) -> str:
    """The side of the piece that a way (3,) looks to most."""
    axis = int(np.argmax(np.abs(way)))
    return (("to the left", "to the right"), ("down", "up"), ("to the back", "to the front"))[axis][
        int(way[axis] > 0)
    ]


def _upright(piece: Piece, bow: Bow) -> str:
    """How to stand an ear wire up: at an end that looks up, or turned about its place where that does it."""
    x, y, z = piece.features[bow.feature].frames[0, :, :3].T
    remedy = "stand it at an end that looks up ('top' and 'right' turn with their part)"
    if abs(z[1]) > 0.1 or abs(z @ bow.up) > 0.1:
        return remedy
    more = np.degrees(np.arctan2(y @ UP, x @ UP) - np.arctan2(y @ bow.up, x @ bow.up))
    return f"{remedy}, or turn it there: 'turn {(more + 180.0) % 360.0 - 180.0:.0f} deg' more"


def _on_its_side(piece: Piece, casting: Casting, rest: Rest, bound: Bound) -> Reading:
    """A piece that hangs by a side: a long one by an eye at its end is meant to, as a tag is."""
    lean, loop = rest.hang.tilt_side, rest.loops[0]
    side = "right" if lean > 0 else "left"
    down = rest.centre - loop.middle
    down[2] = 0.0
    spots = casting.skin.points[:, :2] @ (np.array([down[:2], [-down[1], down[0]]]).T / np.hypot(*down[:2]))
    long, wide = np.ptp(spots, axis=0)
    remedy = _move(piece, casting, rest, 0.0, side)
    meant = long > (LONG_BY_LOOP if piece.features[loop.feature].opening else LONG) * wide
    ear = piece.is_for(loop.feature, Role.EAR_WIRE)
    meant = meant and abs(abs(lean) - 90.0) < ENDWISE and not ear
    return Reading(
        loop.feature, abs(lean), rest.centre, find="lengthwise" if meant else "side", bound=bound,
        words={"side": side, "remedy": remedy},
    )  # fmt: skip


def _move(piece: Piece, casting: Casting, rest: Rest, off: float, side: str) -> str:
    """Where to put the loop: ``off`` mm further to a side of the piece; or, where its place does not look up
    (or none is given), at the place of its part that does."""
    loop, name = rest.loops[-1], "the loop"
    if piece.is_for(loop.feature, Role.EAR_WIRE):  # it stands on its root
        roots = piece.features[loop.feature].frames[:, :, 3]
        root = roots[np.linalg.norm(roots - loop.middle, axis=1).argmin()]
        loop = replace(loop, middle=root)
    if not loop.wire or piece.is_for(loop.feature, Role.HOLE):
        name = piece.name_of(loop.feature)
    lying = _lying_stone(piece, loop.feature)
    return lying + _moved(piece, casting, rest, loop, name, off, side)


def _lying_stone(piece: Piece, feature: int) -> str:
    """What to write of the stone with one point, as a heart, that a loop hangs and that lies on its side."""
    stones, call = piece.stones, piece.call(feature)
    for stone, number in enumerate(stones.line.tolist()):
        line, along = piece.call(number), stones.frames[stone][:, 0]
        outline = ring(trace(stones.of(stone).outline, LEVEL_BY), 0.0).numbered(SPOTS)[:, 0, 3]
        ends = abs(outline.mean() - (outline.max() + outline.min()) / 2) / np.ptp(outline)
        free = not any(map(line.given, ("swivel", "turn", "row", "circle", "number", "along", "upright")))
        if ends > ONE_END and free and abs(along[1]) < SQUARE and piece.source_lines.rests_on(call, line):
            name = piece.name_of(number)
            return f"say 'upright' in the line of {name}: as it is written its point lies to a side; or "
    return ""


def _moved(piece: Piece, casting: Casting, rest: Rest, loop: Loop, name: str, off: float, side: str) -> str:
    """How to put a loop ``off`` mm to a side, or at the place of its part that looks up."""
    frame = piece.features[loop.feature].frames[0]
    if off and (frame[0, 0] > 0.5 or abs(frame[0, 0]) < abs(frame[1, 0])):
        # It stands on metal, and it is known where: no hole, nor plain wire bent to hang by.
        stands = loop.wire > 0 and not piece.is_for(loop.feature, Role.HOLE)
        rooted = stands or piece.is_for(loop.feature, Role.EAR_WIRE)
        rise = _rise(casting.skin, loop, np.array([off, 0.0, 0.0])) if rooted else 0.0
        if -rise > DEEP * rest.above:
            far = f", the nearest {mm(-rise)} lower" if np.isfinite(rise) else ""
            return (
                f"no metal stands close below a loop moved {mm(abs(off))} to the {side}{far}: hang it by two "
                "loops, one at each side of its weight, or lay a bar across for the loop"
            )
        moved = move(piece, loop.feature, np.array([off, rise, 0.0]), within=True, onto=True)
        there = "" if moved is None or moved.said.endswith(side) else f": {moved.in_line}"
        onto = f" and {mm(abs(rise))} {'up' if rise > 0 else 'down'}, onto the metal there" if rise else ""
        return f"move {name} {mm(abs(off))} to the {side}{onto}{there}"
    clause = piece.source_lines.of(piece.call(loop.feature), "at", ("at",)).clause
    value = clause.value if clause is not None else None
    said = value.names[0].name if isinstance(value, Of) and isinstance(value.thing, Name) else ""
    if said in ROUND and frame[2, 0] ** 2 < 0.1 and not fr.mirrored(frame):
        assert isinstance(value, Of) and isinstance(value.thing, Name)
        turns = (90.0 - np.degrees(np.arctan2(frame[1, 0], frame[0, 0]))) / 90.0
        now = ROUND[(ROUND.index(said) + round(turns)) % 4]
        if now != said and abs(turns - round(turns)) < SQUARE:
            there, frames = f"{now} of {value.thing.name}", piece.features[loop.feature].frames
            if len(frames) > 1:  # one loop at each of several parts: the highest carries all
                there = f"pick({there}, {int(frames[:, 1, 3].argmax()) + 1})"
            return f"write at {there}: places turn with their part, and that one looks up"
        if abs(turns - round(turns)) >= SQUARE:
            name = value.thing.name
            return f"its places turned with {name}: draw {name} in a workpiece, whose top is what lies above"
    return "set the loop at the side that is to hang above, over the middle of the weight"


def _share(piece: Piece, loop: Loop, casting: Casting, rest: Rest) -> float:
    """The share of all that hangs by a loop that the loop's own line makes, at most a half."""
    mine = set(of_one_line(piece, loop.feature))
    made = [one for one in piece.plan_solids if one.feature in mine and not one.cut]
    metal = sum(float(piece.solid_of(one).volume()) * len(one.frames) for one in made)
    whole = sum(shell.volume for shell in casting.bodies)
    return min(metal / max(whole, 1e-9) * casting.centre[0] / max(rest.grams, 1e-9), 0.5)


def _rise(skin: Skin, loop: Loop, way: Floats) -> float:
    """How far up (mm; down negative) a loop goes to stand on the metal below it, once it is moved by ``way``
    (3,); -inf where there is none, 0 where it is as good as there."""
    high = float(loop.middle[1]) - loop.inside / 2
    spots = [loop.middle + way + aside * loop.wire * TOWARD for aside in (-0.25, 0.0, 0.25)]
    low_there, high_there = max(_metal_below(skin, loop, spot) for spot in spots)
    low = high - loop.wire
    if max(low - high_there, low_there - high) <= STEP:
        return 0.0
    return (low_there + high_there - low - high) / 2


def _metal_below(skin: Skin, loop: Loop, spot: Floats) -> tuple[float, float]:
    """Between which heights, mm, the topmost metal but a loop's own lies at a spot (3,): just one, but for
    metal that the wire of the loop goes into; -inf where there is none."""
    spot = np.array([spot[0], skin.box[1][1] + 1.0, spot[2]])
    while True:
        far, met = skin.grid.cast(spot[None], -UP[None], leaving=False)
        if met[0] < 0:
            return -np.inf, -np.inf
        spot = spot - far[0] * UP
        top = float(spot[1])
        if skin.owner[met[0]] != loop.feature:
            return top, top
        spot = spot - 1e-3 * UP
        thick, end = skin.grid.cast(spot[None], -UP[None])
        if end[0] < 0:
            return -np.inf, -np.inf
        if skin.owner[end[0]] != loop.feature:
            return top - min(float(thick[0]), loop.wire), top
        spot = spot - (float(thick[0]) + 1e-3) * UP
