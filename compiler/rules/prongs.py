"""Prongs: too thin, thick, short, tall, few or uneven, astray, far over their stone, without tool room."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from ..bench.roles import Role
from ..bench.stone_kind import corners_of
from ..geometry import frames as fr
from ..judging.digits import above, below, mm, rounded_down, rounded_up
from ..judging.figure_rule import Reading
from ..judging.grips import astray, spare_of
from ..judging.moves import told
from ..judging.pairs import near_pairs
from ..judging.prongs import head_of, lack_along
from ..judging.rule import Mend
from ..judging.stones_apart import apart_from

if TYPE_CHECKING:
    from ..judging.grips import Grip
    from ..judging.piece import Piece


def uneven_prongs(piece: Piece) -> Iterator[Reading]:
    """Prongs of one stone that differ."""
    spare = spare_of(piece.grips, piece)
    for grips in piece.grips_by_stone.values():
        tips, wires = [spare[g.rod] for g in grips], [g.wire for g in grips]
        odd = max(grips, key=lambda g: abs(spare[g.rod] - min(tips)) + abs(g.wire - min(wires)))
        yield Reading(odd.feature, max(tips) - min(tips), odd.spot)
        said = {"low": mm(min(wires)), "high": mm(max(wires))}
        yield Reading(odd.feature, max(wires) / min(wires) - 1, odd.spot, find="wire", words=said)


def _plates(piece: Piece) -> Counter[int]:
    """How many prongs that are no wire stand by each stone: vees round its points."""
    found: Counter[int] = Counter()
    stones, rods = piece.stones, set(piece.rods.feature.tolist())
    for feature, _ in piece.with_role(Role.PRONG):
        lines = piece.services.lines(feature.index)
        held = np.flatnonzero([line in lines for line in stones.line.tolist()])
        metal = feature.body is not None and not feature.members
        if metal and feature.index not in rods and len(held):
            for spot in feature.frames[:, :, 3]:
                away = np.linalg.norm(stones.frames[held, :, 3] - spot, axis=1)
                found[int(held[away.argmin()])] += 1
    return found


def few_prongs(piece: Piece) -> Iterator[Reading]:
    """Stones with too few prongs."""
    plates = _plates(piece)
    for stone, grips in piece.grips_by_stone.items():
        count = len(grips) + plates[stone]
        if stone not in piece.walled:
            said = {"prongs": f"{count} prong{'s' * (count != 1)}"}
            yield Reading(grips[0].feature, float(count), stone, words=said, value=lambda _: "4")


def claw_at_point(piece: Piece) -> Iterator[Reading]:
    """Round claws laid over the sharp points of a stone, told once for each line of claws."""
    for stone, grips in piece.grips_by_stone.items():
        kind, feature = piece.stones.of(stone), grips[0].feature
        call, bound = piece.call(feature), piece.bound("claw-at-point", "most", feature)
        if stone in piece.shared or not above(kind.width, bound):
            continue
        sharp = fr.compose(piece.stones.frames[stone][None], corners_of(kind, sharp=True).frames)
        points = sharp[:, :, 3].tolist()
        over = [grip for grip in grips if any(math.dist(grip.spot, spot) < grip.wire for spot in points)]
        if over:
            yield Reading(
                feature, kind.width, over[0].spot, cure=_vee(piece, over[0].feature),
                words={"which": piece.name_of(int(piece.stones.line[stone])), "over": str(len(over))},
                once=call.trail[0] if call.trail else call.span,
            )  # fmt: skip


def _vee(piece: Piece, prong: int) -> str:
    """How the line of a prong is written to make a vee at each point."""
    home, name = piece.source_lines.of(piece.call(prong), None, ()).line, piece.name_of(prong)
    tip = piece.source_lines.takes_of(home).get("tip") if home is not None else None
    if home is None or tip is None or "vee" not in tip.choices:
        return f"take vee-prong as the word of the line of {name}; or leave it, and file its tip to a vee"
    said = {clause.key.name for clause in home.clauses}
    gone = "".join(f" and leave {key} out" for key in ("count", "double") if key in said)
    return f"say 'tip vee' in the line of {name}{gone}"


EASE = 0.02  # mm, told beyond the room that lacks: stones move as their clauses go, not just away
APART = "take thinner wire, or set the stones further apart"
CLOSER = "bring the stones closer, or take larger ones"


def no_tool_room(piece: Piece) -> Iterator[Reading]:
    """Prongs too near one another for a tool."""
    floor, advised = (piece.bound("no-tool-room", "least"), piece.bound("no-tool-room", "advised"))
    rods = piece.rods
    holding = np.array(sorted({g.rod for g in piece.grips if g.bite > 0}), dtype=int)
    if len(holding) < 2:
        return
    shared = {grip.feature for grip in piece.grips if grip.stone in piece.shared}
    stones: dict[int, set[int]] = {}
    for grip in piece.grips:
        stones.setdefault(grip.rod, set()).add(grip.stone)
    tips = (rods.foot + rods.way * rods.long[:, None])[holding]
    wire = rods.wire[holding]
    first, second = near_pairs(tips, tips, float(wire.max()) + max(floor, advised))
    for i, j in zip(first, second, strict=True):
        room = float(np.linalg.norm(tips[i] - tips[j])) - float(wire[i] + wire[j]) / 2
        # A pair that holds the same two stones is pushed over and finished as one.
        two, at_end = stones[int(holding[j])], int(rods.feature[holding[j]]) in shared
        pair = two == stones[int(holding[i])] and (len(two) > 1 or at_end)
        if i >= j or room <= 0 or not below(room, floor if pair else max(floor, advised)):
            continue
        bound = floor if below(room, floor) else advised
        one, other = (int(rods.feature[holding[k]]) for k in (i, j))
        of_one = bool(stones[int(holding[i])] & two)
        apart = head_of(piece, one) != head_of(piece, other) and not of_one
        remedy, mend = _thinner(piece, other, (1 + (one != other)) * (bound + EASE - room)), None
        if other in shared and piece.can_say(other, "bite"):
            remedy = _less_bite(piece, int(holding[j]), tips[j] - tips[i], bound + EASE - room) or CLOSER
        if apart:
            (near, far), off = (min(stones[int(holding[k])]) for k in (j, i)), tips[j] - tips[i]
            way = piece.stones.frames[near, :, 3] - piece.stones.frames[far, :, 3]
            lack = lack_along(off, way, bound + EASE + float(wire[i] + wire[j]) / 2)
            remedy, mend = apart_from(piece, near, far, lack)
        between = piece.call(other).figure("room")
        if isinstance(between, float) and not of_one and piece.can_say(other, "room"):
            wider = rounded_up(between + bound + EASE - room)
            remedy, mend = f"write room {wider}; or {remedy}", Mend("room", wider, "least")
        both = f"a prong of {piece.name_of(other)} and one of {piece.name_of(one)}" if apart else "two prongs"
        yield Reading(
            other, room, (tips[i] + tips[j]) / 2, words={"both": both}, cure=remedy, mend=mend,
            others=(one,) if apart else (),
        )  # fmt: skip


def _thinner(piece: Piece, prong: int, lack: float) -> str:
    """Prongs of a line thinner by what lacks between two, where they stay strong enough; else fewer, where
    their number is said."""
    wire, home = float(piece.rods.wire[piece.rods.feature == prong].max()) - lack, piece.name_of(prong)
    if not piece.can_say(prong, "wire") or below(wire, piece.bound("thin-prong", "least", prong)):
        count = piece.call(prong).figure("count")
        many = isinstance(count, int) and count > FOUR and piece.can_say(prong, "count")
        return f"write count {count - 1} in the line of {home}; or {APART}" if many else APART
    return f"write wire {rounded_down(wire)} in the line of {home}; or set the stones further apart"


FOUR = 4  # prongs, that a stone is left


def _less_bite(piece: Piece, rod: int, apart: np.ndarray, lack: float) -> str:
    """How much of its wire a shared prong may lay over its girdle, so that it stands ``lack`` mm farther from
    the other of its pair, ``apart`` (3,) from it; "" where no more than cleaning takes is left then."""
    grip = min((one for one in piece.grips if one.rod == rod), key=lambda one: one.bite)
    frame, half = piece.stones.frames[grip.stone], float(np.linalg.norm(apart)) / 2
    flat = (np.array(grip.spot) - frame[:, 3]) @ frame[:, :2]
    across = float(np.hypot(*flat))
    left = grip.bite - (math.sqrt(max(across**2 - half**2 + (half + lack / 2) ** 2, 0.0)) - across)
    if below(left, piece.bound("uncovered-girdle", "least", grip.feature) + CHORDS):
        return ""
    return f"write bite {math.floor(100 * left / grip.wire)} % in the line of {piece.name_of(grip.feature)}"


CHORDS = 0.01  # mm, what facets and a lean take of a prong's lap
CLEAR = 0.1  # mm that a prong must rise past the height where metal over the girdle is looked for
BESIDE = 8.0  # degrees
USUAL_BITE = 0.25  # of the wire


def prong_astray(piece: Piece) -> Iterator[Reading]:
    """Prongs that miss their stone."""
    for grip in [*piece.best_grips, *astray(piece)]:
        missed = not grip.bite > 1e-9
        yield Reading(
            grip.feature, grip.bite / grip.wire, grip.spot, find="misses" if missed else "",
            words={"short": mm(-grip.bite)}, cure=partial(_to_its_stone, piece, grip),
        )  # fmt: skip


def _to_its_stone(piece: Piece, grip: Grip, limit: float) -> tuple[str, Mend]:
    """What lets a prong lap over its stone as far as it should."""
    lack = limit + SPARE - grip.bite / grip.wire
    more = Mend("bite", _more_bite(piece, grip.feature, lack), "least")
    return f"move the prong {_inward(piece, grip, lack * grip.wire)}", more


SPARE = 0.02  # of its wire, by which a prong that is mended laps over its girdle more than it must


def _inward(piece: Piece, grip: Grip, far: float) -> str:
    """The way of one prong toward the axis of its stone, mm."""
    frame = piece.stones.frames[grip.stone]
    way = frame[:, 3] - np.array(grip.spot)
    way -= (way @ frame[:, 2]) * frame[:, 2]
    alone = len(piece.features[grip.feature].frames) == 1
    step = way * far / max(float(np.linalg.norm(way)), 1e-9)
    return told(piece, grip.feature, step, "inward", int(piece.stones.feature[grip.stone])) if alone else (
        f"{rounded_up(far)} toward the stone"
    )


def _more_bite(piece: Piece, prong: int, lack: float) -> str:
    """A share of the wire that is as much more than what its line says, but no less than is usual."""
    said = (use.arguments.get("bite") for use in reversed(piece.call(prong).within))
    now = next((one.value for one in said if one is not None), 0.0)
    return f"{math.ceil(100 * max(now + lack, USUAL_BITE) - 1e-6)} %"


def prong_astray_on_metal(piece: Piece) -> Iterator[Reading]:
    """Prongs that a later cut took away where they lie over their stone, others of which are left; of a
    stone without any see loose-stone."""
    from ..judging.forms import OVER

    for grip in piece.grips:
        measures = piece.stone_measures
        form = measures.form(grip.stone)
        limit = piece.bound("prong-astray", "least", grip.feature)
        over = (form.high - form.low) / 2 + OVER[0] * (form.top - form.high)
        if below(grip.bite / grip.wire, limit) or grip.tip < over + CLEAR:
            continue  # it lies over nothing by its own line
        if form.top - form.high < CLEAR:
            continue  # over a flat stone it lies once it is pushed over
        across, along, _ = measures.stones[grip.stone].own(np.array(grip.spot)).tolist()
        way = float(np.degrees(np.arctan2(along, across)))
        laps = measures.surrounds[grip.stone].laps
        over_it = ((way - lap.start + BESIDE) % 360.0 <= lap.end - lap.start + 2 * BESIDE for lap in laps)
        if laps and not any(over_it):
            said = {"which": str(grip.stone + 1)}
            yield Reading(grip.feature, 0.0, grip.spot, find="cut-away", words=said)
