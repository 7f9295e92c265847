"""castings-meet: two castings in one another's room."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from ...bench.feature import Feature, Lines
from ...bench.hung import openings
from ...bench.roles import Role
from ...judging.bought_meet import CLEAR, ROOM, bought_meet
from ...judging.castings import line_of
from ...judging.digits import above, rounded_down, rounded_up
from ...judging.figure_rule import Reading
from ...judging.halves import both_halves, hollow_of, joined, walled
from ...judging.meetings import NEAR, meeting, standing
from ...judging.moves import move, of_one_line
from ...judging.remedies import farther_apart
from ...judging.ring_mates import farther_round
from ...metal.kernel import join
from ...metal.part import in_row
from ...words.fitting import ROOM as FITTED

if TYPE_CHECKING:
    from ...judging.joints import Body
    from ...judging.meetings import Meeting
    from ...judging.piece import Piece

FINE = 0.002  # mm, to which the way that parts two is found
TRIED = (1, 1.5, 2, 3)  # times as far as the one stands in the other
FARTHER = (1.5, 3.0, 6.0)  # mm, as a lid has to go that stands in a well by its rim alone
LOOP_STEPS = np.arange(0.1, 3.05, 0.1)  # mm, that a loop may be moved to be clear
BEFORE = 0.1  # mm, from the end of a lip to a step
HOLDS = 0.15  # mm, farther off the wall before a step no bump of a lip meets it
CHORD = 0.005  # mm, the chord tolerance for which the limit holds
BESIDE = 0.3  # mm along the finger, less apart one ring lies round the other
RADIAL = 0.7  # of a way that looks to the axis of a ring, or away from it


def check(piece: Piece) -> Iterator[Reading]:
    castings = piece.casting_measures.castings
    cast = [one for one in piece.casting_measures.bodies if not castings[one.casting].bought]
    for k, one in enumerate(cast):
        for two in cast[k + 1 :]:
            if one.casting == two.casting or not one.meets(two):
                continue
            met = meeting(one, two)
            if met is None:
                continue
            mine, other = standing(two, met.common, one), standing(one, met.common, two)
            # Faces that are one on paper stand in one another by the chords of both.
            bound = piece.bound("castings-meet", "most", mine) * max(1.0, piece.tolerance / CHORD)
            if above(met.deep, bound):
                # Nothing stands in metal by the wall of a hollow: what reaches into that does, and a loop.
                loop, body = (_hangs(piece, one) for one in (other, mine))
                told = (other, mine) if piece.is_for(mine, Role.CUT) or loop > body else (mine, other)
                yield Reading(
                    told[0], met.deep, met.at, bound=bound,
                    words={"one": castings[two.casting].called, "two": castings[one.casting].called,
                           "in": piece.name_of(told[1]), "volume": f"{met.volume:.3g}"},
                    remedy=partial(_remedy, piece, met, (one, two), (mine, other), told),
                    others=(told[1],),
                )  # fmt: skip
    yield from bought_meet(piece)


def _remedy(
    piece: Piece, met: Meeting, both: tuple[Body, Body], lines: tuple[int, int], told: tuple[int, int]
) -> str:
    """What parts two castings, of each the line that meets the other, in the order they are ``told`` in."""
    (one, two), (mine, other) = both, lines
    return (
        _beside(piece, one, two) or _next_to(piece, met, one, mine)
        or _loop_off(piece, (mine, two, one)) or _loop_off(piece, (other, one, two))
        or _shut(piece, met, both, told)
        or f"{_apart(piece, met, one, two, mine)}, or take them into one casting"
    )  # fmt: skip


def _beside(piece: Piece, one: Body, two: Body) -> str:
    """What parts two castings that hang at one spot of a ring."""
    lines = {feature.name: feature.index for feature in piece.features}
    early, late = (lines.get(piece.casting_measures.castings[body.casting].name) for body in (one, two))
    return farther_round(piece, late, early) if early is not None and late is not None else ""


def _shut(piece: Piece, met: Meeting, both: tuple[Body, Body], told: tuple[int, int]) -> str:
    """What parts two castings that a hinge or a catch joins: they stay where they are, one upon the other."""
    castings = piece.casting_measures.castings
    if frozenset(castings[body.casting].name for body in both) not in joined(piece):
        return ""
    mine, other = (piece.name_of(feature) for feature in told)
    deep = rounded_up(met.deep + ROOM)
    if piece.is_for(told[0], Role.HALF):
        if shorter := _before_a_step(piece, met, told):
            return shorter
        half = next((one for one in both_halves(piece, told[0]) if piece.name_of(one.feature) == mine), None)
        said = walled(piece, hollow_of(piece, half), met.deep + ROOM) if half is not None else ""
        return said or f"let {mine} stand {deep} farther in: make the wall of its half as much thicker there"
    smaller = f"make {mine} {deep} smaller there, or leave {deep} more room in {other}"
    return _stretched(piece, met, told) or smaller


def _stretched(piece: Piece, met: Meeting, told: tuple[int, int]) -> str:
    """How much less of its path what stands past its ends, as beads do, is laid along; "" of others."""
    for part in told:
        along = piece.call(part).get("along")
        if not isinstance(along, Lines) or any(line.closed for line in along.lines):
            continue
        if not (piece.is_for(part, Role.WIRE) or piece.call(part).given("stretch")):
            longest = max(line.length() for line in along.lines)
            share = math.ceil(100 * (met.deep + ROOM) / longest)
            return f"say 'stretch {share} % to {100 - share} %' in the line of {piece.name_of(part)}"
    return ""


def _before_a_step(piece: Piece, met: Meeting, told: tuple[int, int]) -> str:
    """How short the lip of a catch is to be that runs into the step of a rebate; "" of others."""
    use = next((use for use in piece.call(told[0]).within if Role.HALF in use.word.roles), None)
    rebate = piece.call(told[1]).get("rebate")
    if use is None or "reach" not in use.arguments or rebate is None:
        return ""
    if above(rebate[0] - met.deep, HOLDS):
        return ""  # so far off the wall before the step its bump would hold nothing
    into = float(np.ptp(met.common.points @ piece.features[told[0]].frames[0, :, 2]))
    short = use.arguments["reach"].value - into - BEFORE
    take = use.word.take("reach")
    if short < BEFORE or (take is not None and take.least is not None and short < take.least):
        return ""
    lines = " and ".join(sorted(piece.name_of(half.feature) for half in both_halves(piece, told[0])))
    return (
        f"its lip meets the step of a rebate: in the lines of {lines} write reach {rounded_down(short)} and "
        "leave bump out, as with every lip that stays before a step"
    )


def _loop_off(piece: Piece, met: tuple[int, Body, Body]) -> str:
    """What takes a loop off the other casting, of a feature, its body and the other: it lies flat, or it
    moves, tried on the two; "" where it is no loop, is all of its casting, or one hangs in the other."""
    loop, mine, other = met
    if not _hangs(piece, loop) or not set(mine.shell.owners) - {*of_one_line(piece, loop), -1}:
        return ""
    lines = [line_of(piece, piece.casting_measures.castings[body.casting].name) for body in (mine, other)]
    if any(line is not None and piece.call(line.index).given("hangs-in") for line in lines):
        return ""
    name, use = piece.name_of(loop), piece.call(loop).own_line
    if "stand" in use.arguments and use.arguments["stand"].given:
        return f"leave 'stand' out in the line of {name}: it then lies flat"
    whole = of_one_line(piece, loop)
    ring = join(piece.laid(whole))
    ways = (sign * far * axis for far in LOOP_STEPS for axis in np.eye(3)[::-1] for sign in (-1.0, 1.0))
    moves = (one for one in (move(piece, loop, way) for way in ways) if one)
    way = next((one for one in moves if (ring.translate(one.by) ^ other.solid).volume() < CLEAR), None)
    return f"move {name} {way.in_piece}" if way else ""


def _hangs(piece: Piece, feature: int) -> bool:
    """Whether it is what the piece hangs by: a loop, or a strap."""
    strap = piece.is_for(feature, Role.STRAP) or piece.is_for(feature, Role.BACK_BAIL)
    return strap or piece.features[feature].opening is not None


def _next_to(piece: Piece, met: Meeting, other: Body, mine: int) -> str:
    """What parts two rings on one finger that stand beside one another: the later one fitted to the other."""
    if not piece.is_for(mine, Role.SHANK) or piece.call(mine).word.take("below") is None:
        return ""
    band, call = piece.features[mine], piece.call(mine)
    for ring in (piece.features[one] for one in other.shell.owners if 0 <= one < mine):
        away = ring.frames[0, :, 3] - band.frames[0, :, 3]
        aside = abs(float(away @ ring.frames[0, :, 1]))
        if ring.shank is not None and aside > BESIDE and np.linalg.norm(away) < aside + NEAR:
            if call.given("next-to"):  # what stands out from it was put there later
                return f"write gap {rounded_up(call.get('gap', FITTED) + met.deep + ROOM)} in its line"
            told = [key for key in ("vee", "wave", "long") if call.given(key)]
            rest = f", in place of {' and '.join(told)}" if told else ""
            return f"say next-to {ring.name.split('.')[0]}{rest}: it then finds its place and its bow"
    return ""


def _apart(piece: Piece, met: Meeting, other: Body, body: Body, mine: int) -> str:
    """What parts them: the casting of a ``body`` moved off the ``other``, found by moving it; a ring about
    the axis of what it meets made wider or narrower."""
    feature, name = piece.features[mine], piece.name_of(mine)
    inside = feature.offers.get("inside") if piece.is_for(mine, Role.SHANK) else None
    if inside is not None:
        frame = feature.frames[0]
        out = met.at - frame[:, 3]
        out -= (out @ frame[:, 1]) * frame[:, 1]
        # What looks outward of the ring itself is in the way outside; of the other metal, inside.
        looks = float(met.way @ out / np.linalg.norm(out)) * (-1 if met.there else 1)
        lack = rounded_up(2 * (met.deep + ROOM))
        if looks > RADIAL:
            return f"make {name} {lack} wider inside"
        if looks < -RADIAL:
            return f"make {name} {rounded_up(met.deep + ROOM)} thinner"
        return f"make {name} {lack} narrower"
    casting = piece.casting_measures.castings[body.casting]
    line = line_of(piece, casting.name)
    if line is not None and piece.call(line.index).given("hangs-in"):
        larger = _lower(piece, piece.call(line.index).get("hangs-in"), body, other)
        return f"{larger}let {name} lie lower in its casting, farther from its loop"
    near = piece.casting_measures.castings[other.casting].name
    row = line.name if line is not None and casting.name != line.name == in_row(casting.name)[0] else ""
    if row and row == in_row(near)[0]:
        return farther_apart(piece, row, met.deep + 2 * ROOM)
    if moved := _moved(piece, met, body):
        return f"move {row or casting.called} {moved}"
    return "leave room between them: a smaller part, a larger opening, or a turn the other way"


def _lower(piece: Piece, host: Feature, body: Body, other: Body) -> str:
    """The inside of the lowest loop of its ``host`` in which a body hangs clear below another; "" where none
    is."""
    loop = min(openings(host), key=lambda one: float(one[1][:, 1, 3].min()), default=(None,))[0]
    down = (far for far in LOOP_STEPS if (body.solid.translate((0, -far, 0)) ^ other.solid).volume() < CLEAR)
    far = next(down, None)
    if loop is None or loop.opening is None or far is None or not piece.can_say(loop.index, "inside"):
        return ""
    inside = rounded_up(loop.opening[0] + far)
    return f"write inside {inside} in the line of {piece.name_of(loop.index)}: it then hangs clear below; or "


def _moved(piece: Piece, met: Meeting, body: Body) -> str:
    """How far, and which way of the piece, the casting of a body has to move to be clear of all others."""
    measures = piece.casting_measures
    cast = [one for one in measures.bodies if not measures.castings[one.casting].bought]
    mine, rest = (
        join([one.solid for one in cast if (one.casting == body.casting) is same]) for same in (True, False)
    )
    best: tuple[float, str] | None = None
    for axis, words in enumerate((("right", "left"), ("up", "down"), ("out", "inward"))):
        for sign, word in zip((1.0, -1.0), words, strict=True):
            step = sign * np.eye(3)[axis]
            far = sorted([*(times * met.deep + ROOM for times in TRIED), *FARTHER])
            free = (one for one in far if (mine.translate(one * step) ^ rest).volume() < CLEAR)
            low, high = 0.0, next(free, np.inf)
            if high == np.inf:
                continue
            while high - low > FINE:
                half = (low + high) / 2
                clear = (mine.translate(half * step) ^ rest).volume() < CLEAR
                low, high = (low, half) if clear else (half, high)
            if best is None or high < best[0]:
                best = high, word
    return f"{rounded_up(best[0] + 2 * ROOM)} {best[1]}" if best else ""
