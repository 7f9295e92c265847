"""Loops of wire too thin to hang by."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..bench.roles import FigureOf, Role
from ..judging.digits import below, least, mm, place, rounded_up
from ..judging.figures import figure, narrowest
from ..judging.rule import Mend, Verdict

if TYPE_CHECKING:
    from ..bench.feature import Feature
    from ..judging.piece import Piece


def check(piece: Piece) -> Iterator[Verdict]:
    for one in _wires(piece):
        yield from _thinner(piece, *one, "charm", "")


def on_metal(piece: Piece) -> Iterator[Verdict]:
    """With the weight known that hangs by each, what the plan did not find already."""
    from ..judging.loads import load_on

    heavy, charm = (piece.bound("thin-loop", what) for what in ("heavy-mass", "charm-mass"))
    for one in _wires(piece):
        grams = load_on(piece, one[0].index)
        what = "heavy" if grams > heavy else "pendant" if grams > charm else "charm"
        if what != "charm" and not any(_thinner(piece, *one, "charm", "")):
            yield from _thinner(piece, *one, what, f" for the {grams:.1f} g that hang by it")


def _thinner(piece: Piece, feature: Feature, wire: float, key: str, what: str, who: str) -> Iterator[Verdict]:
    limit = piece.bound("thin-loop", what, feature)
    if below(wire, limit):
        yield Verdict(
            f"{'the wire of this loop' if key == 'wire' else 'this strap'} is thin{who}",
            feature.index,
            mm(wire),
            least(mm(limit)),
            f"take wire of {rounded_up(limit)}" if key == "wire" else f"say 'thick {rounded_up(limit)}'",
            wire,
            limit,
            key=key,
            keys=("wire", "thick"),
            place=place(feature.frames[0, :, 3]),
            mend=Mend(key if key == "wire" else "thick", rounded_up(limit), "least"),
        )


def _wires(piece: Piece) -> Iterator[tuple[Feature, float, str]]:
    """Every loop and strap with the thickness of its wire and the clause that says it."""
    for feature in piece.features:
        if feature.body is None:
            continue
        if feature.opening is not None:
            yield feature, feature.opening[1], "wire"
        elif piece.is_for(feature.index, Role.STRAP):
            strap = figure(piece.call(feature.index), FigureOf.SECTION)
            if strap is not None and isinstance(strap[1], tuple):
                yield feature, narrowest(strap[1]), strap[0]
