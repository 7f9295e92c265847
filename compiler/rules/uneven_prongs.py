"""Prongs of one stone that differ."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.digits import above, mm, most, place, share
from ..judging.grips import spare_of
from ..judging.rule import Verdict

if TYPE_CHECKING:
    from ..judging.piece import Piece


def check(piece: Piece) -> Iterator[Verdict]:
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
