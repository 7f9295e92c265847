"""Prongs: too thin, thick, short, tall, few or uneven, too far over their stone, without room for a tool."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ..bench.roles import Role
from ..judging.digits import above, below, least, mm, most, place, share
from ..judging.figure_rule import LEAST, MOST, Test, Tier, figure_check
from ..judging.grips import PRONG_BITE, PRONG_RISE, PRONG_SPARE, PRONG_WIRE, of_usual, spare_of, usual_shown
from ..judging.pairs import near_pairs
from ..judging.rule import Level, Mend, Verdict

if TYPE_CHECKING:
    from ..judging.bound import Bound
    from ..judging.figure_rule import Reading
    from ..judging.piece import Piece


def _of_stone(_: Piece, limit: Bound, reading: Reading) -> Bound:
    return limit * reading.of.width


def _allowed(piece: Piece, spare: Bound, reading: Reading) -> Bound:
    return max(spare, piece.bound("short-prong", "past-stone") * (1.5 * reading.of.width))


thin_prong = figure_check(
    "thin-prong", LEAST,
    Test(
        PRONG_WIRE,
        (
            Tier("least", "this prong is too thin"),
            Tier("usual", "this prong is thin for its stone", bound=of_usual, more=usual_shown),
        ),
        "take wire of {value}", mend="wire",
    ),
)  # fmt: skip

thick_prong = figure_check(
    "thick-prong", MOST,
    Test(
        PRONG_WIRE, (Tier("most", "this prong is thick for its stone", bound=of_usual, more=usual_shown),),
        "take thinner wire: it is hard to bend and hides the stone", mend="wire",
    ),
)  # fmt: skip

short_prong = figure_check(
    "short-prong", LEAST,
    Test(
        PRONG_RISE,
        (
            Tier("spare", "this prong is too short to push over", Level.WARNING),
            Tier("past-stone", "this prong is short for so wide a stone", Level.HINT, _of_stone),
        ),
        "make it {more} longer", mend="rise",
    ),
)  # fmt: skip

tall_prong = figure_check(
    "tall-prong", MOST,
    Test(
        PRONG_SPARE, (Tier("spare", "this prong rises high above its stone", bound=_allowed),),
        "make it shorter: the rest is filed off", mend="rise",
    ),
)  # fmt: skip

prong_bite = figure_check(
    "prong-bite", MOST,
    Test(
        PRONG_BITE,
        (
            Tier("most", "the seat takes too much out of this prong", Level.WARNING),
            Tier("advised", "the seat takes too much out of this prong", Level.HINT),
        ),
        "move the prong outward, or take thicker wire", mend="bite",
    ),
)  # fmt: skip


def uneven_prongs(piece: Piece) -> Iterator[Verdict]:
    """Prongs of one stone that differ."""
    high, thick = piece.bound("uneven-prongs", "height"), piece.bound("uneven-prongs", "wire")
    spare = spare_of(piece.grips, piece)
    for grips in piece.grips_by_stone.values():
        tips, wires = [spare[g.rod] for g in grips], [g.wire for g in grips]
        step, spread = max(tips) - min(tips), max(wires) / min(wires) - 1
        odd = max(grips, key=lambda g: abs(spare[g.rod] - min(tips)) + abs(g.wire - min(wires)))
        if above(step, high):
            yield Verdict(
                "the prongs of one stone end at different heights",
                odd.feature,
                mm(step),
                most(mm(high)),
                "give them one height",
                step,
                high,
                key="long",
                keys=("rise",),
                place=place(odd.spot),
            )
        if above(spread, thick):
            yield Verdict(
                "the prongs of one stone are of different wire",
                odd.feature,
                f"{mm(min(wires))} to {mm(max(wires))}",
                f"{most(share(thick))} apart",
                "give them one wire",
                spread,
                thick,
                key="wire",
                keys=("wire",),
                place=place(odd.spot),
            )


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


def few_prongs(piece: Piece) -> Iterator[Verdict]:
    """Stones with too few prongs."""
    limit = piece.bound("few-prongs", "least")
    plates = _plates(piece)
    for stone, grips in piece.grips_by_stone.items():
        count = len(grips) + plates[stone]
        if below(count, limit) and stone not in piece.walled:
            yield Verdict(
                "this stone has too few prongs",
                grips[0].feature,
                f"{count} prong{'s' * (count != 1)}",
                least(f"{limit:g}"),
                "add prongs",
                float(count),
                limit,
                key="circle",
                keys=("count",),
                place=place(piece.stones.frames[stone, :, 3]),
                mend=Mend("count", "4", "least"),
            )


APART = "take thinner wire, or set the stones further apart"
SHARED = "let less of each wire lie over the girdle ('bite'), or bring the stones closer"


def no_tool_room(piece: Piece) -> Iterator[Verdict]:
    """Prongs too near one another for a tool."""
    floor, advised = (
        piece.bound("no-tool-room", "least"),
        piece.bound("no-tool-room", "advised"),
    )
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
        pair = len(two := stones[int(holding[i])]) > 1 and two == stones[int(holding[j])]
        if i >= j or room <= 0 or not below(room, floor if pair else max(floor, advised)):
            continue
        tight = below(room, floor)
        bound = floor if tight else advised
        yield Verdict(
            "two prongs leave hardly a slit between them"
            if tight
            else "two prongs leave no room for a graver between them",
            int(rods.feature[holding[j]]),
            mm(room),
            least(mm(bound)),
            SHARED if rods.feature[holding[j]] in shared else APART,
            room,
            bound,
            key="wire",
            keys=("wire",),
            place=place((tips[i] + tips[j]) / 2),
            level=Level.WARNING if tight else Level.HINT,
        )
