"""Loops too small to hang by."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.digits import below, least, mm, place, rounded_up
from ..judging.rule import Level, Mend, Verdict

if TYPE_CHECKING:
    from ..bench.feature import Feature
    from ..judging.piece import Piece


def check(piece: Piece) -> Iterator[Verdict]:
    for feature in _loops(piece):
        yield from _smaller(piece, feature, "least", "this loop is very small", Level.WARNING)


def on_metal(piece: Piece) -> Iterator[Verdict]:
    """A single loop, from which a piece of known weight hangs."""
    loops = _loops(piece)
    if sum(len(feature.frames) for feature in loops) != 1 or piece.call(loops[0].index).get("chain"):
        return  # a chain that is told: see chain-too-big
    grams = piece.weight
    heavy, charm = (
        piece.bound("thin-loop", "heavy-mass"),
        piece.bound("thin-loop", "charm-mass"),
    )
    what = "heavy" if grams > heavy else "pendant" if grams > charm else "charm"
    if not below(_inside(loops[0]), piece.bound("small-loop", "least")):
        message = "the end ring of a chain for so heavy a piece may not pass this loop"
        yield from _smaller(piece, loops[0], what, message, Level.HINT, _with_its_chain(piece, loops[0]))


def _loops(piece: Piece) -> list[Feature]:
    return [f for f in piece.features if f.opening is not None and f.body is not None]


def _inside(feature: Feature) -> float:
    assert feature.opening is not None
    return feature.opening[0]


def _with_its_chain(piece: Piece, loop: Feature) -> str:
    """How the loop's line is told the chain, by which it is measured; nothing where it takes none."""
    lines = piece.source_lines
    line = lines.of(piece.call(loop.index), None, ()).line
    passes = math.floor(10 * (_inside(loop) - piece.bound("chain-too-big", "clearance")) + 1e-6) / 10
    ring = f"{passes:g} x 0.6 mm"
    told = line is not None and lines.can_say(line, "chain")
    return f"say its chain's end ring, outside and wire ('chain {ring}' passes), or " if told else ""


def _smaller(
    piece: Piece, feature: Feature, what: str, message: str, level: Level, done: str = ""
) -> Iterator[Verdict]:
    inside, limit = _inside(feature), piece.bound("small-loop", what, feature)
    if below(inside, limit):
        yield Verdict(
            message,
            feature.index,
            f"{mm(inside)} inside",
            least(mm(limit)),
            f"{done}make it larger, or hang the piece on a jump ring of its own",
            inside,
            limit,
            key="inside",
            keys=("inside",),
            place=place(feature.frames[0, :, 3]),
            level=level,
            mend=Mend("inside", rounded_up(limit), "least") if level is Level.WARNING else None,
        )
