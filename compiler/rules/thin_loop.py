"""Loops of wire too thin to hang by."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.digits import below, least, mm, place, rounded_up
from ..judging.rule import Finding, Level, Mend, Rule

if TYPE_CHECKING:
    from ..judging.piece import Piece


def _plan(piece: Piece) -> Iterator[Finding]:
    yield from _thinner(piece, "charm", "")


def _metal(piece: Piece) -> Iterator[Finding]:
    """With the weight known, what the plan did not find already."""
    grams, what = piece.weight, "charm"
    if grams > piece.bound("thin-loop", "heavy-mass"):
        what = "heavy"
    elif grams > piece.bound("thin-loop", "charm-mass"):
        what = "pendant"
    if what != "charm":
        known = {found.feature for found in _plan(piece)}
        for found in _thinner(piece, what, f" for a piece of {grams:.1f} g"):
            if found.feature not in known:
                yield found


def _thinner(piece: Piece, what: str, who: str) -> Iterator[Finding]:
    for feature in piece.features:
        if feature.opening is None or feature.body is None:
            continue
        wire, limit = feature.opening[1], piece.bound("thin-loop", what, feature)
        if below(wire, limit):
            yield Finding(
                f"the wire of this loop is thin{who}",
                feature.index,
                mm(wire),
                least(mm(limit)),
                f"take wire of {rounded_up(limit)}",
                wire,
                limit,
                key="wire",
                keys=("wire",),
                place=place(feature.frames[0, :, 3]),
                mend=Mend("wire", rounded_up(limit), "least"),
            )


RULE = Rule(
    "thin-loop",
    "The wire of a loop is too thin.",
    "plan",
    Level.WARNING,
    "The chain saws at the loop all its life; a thin one wears through, or bends open on a "
    "knock.",
    "Take 0.8 mm wire for a charm, 1.0 mm for a pendant, 1.2 mm and more for a heavy one.",
    "WF wholesale-findings.co.uk jump ring guide; SA sandysvintagecharms.com",
    _plan,
    _metal,
)
