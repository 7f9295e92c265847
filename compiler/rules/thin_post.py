"""Ear posts too thin."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.digits import below, least, mm, place, rounded_up
from ..judging.posts import posts_of
from ..judging.rule import Finding, Level, Mend, Rule

if TYPE_CHECKING:
    from ..judging.piece import Piece


def _check(piece: Piece) -> Iterator[Finding]:
    for line, wire, foot in posts_of(piece):
        floor, advised = (
            piece.bound("thin-post", "least", line),
            piece.bound("thin-post", "advised", line),
        )
        if below(wire, advised):
            thin = below(wire, floor)
            bound = floor if thin else advised
            yield Finding(
                "this ear post is too thin" if thin else "this ear post is rather thin",
                line,
                mm(wire),
                least(mm(bound)),
                f"take wire of {rounded_up(advised)}",
                wire,
                bound,
                key="across",
                keys=("wire",),
                place=place(foot),
                level=Level.WARNING if thin else Level.NOTE,
                mend=Mend("across", rounded_up(advised), "least"),
            )


RULE = Rule(
    "thin-post",
    "An ear post is too thin.",
    "plan",
    Level.WARNING,
    "A thin post bends, cuts into the piercing, and slips through the clutch.",
    "Take 0.8 mm wire; solder a drawn one on rather than cast it.",
    "MJ misterjewel.com; common practice, no source",
    _check,
)
