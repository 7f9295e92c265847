"""Ear posts too thick."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.digits import above, mm, most, place, rounded_down
from ..judging.posts import posts_of
from ..judging.rule import Finding, Level, Mend, Rule

if TYPE_CHECKING:
    from ..judging.piece import Piece


def _check(piece: Piece) -> Iterator[Finding]:
    for line, wire, foot in posts_of(piece):
        limit = piece.bound("thick-post", "most", line)
        if above(wire, limit):
            yield Finding(
                "this ear post is thick",
                line,
                mm(wire),
                most(mm(limit)),
                f"take wire of {rounded_down(limit)}",
                wire,
                limit,
                key="across",
                keys=("wire",),
                place=place(foot),
                mend=Mend("across", rounded_down(limit), "most"),
            )


RULE = Rule(
    "thick-post",
    "An ear post is too thick.",
    "plan",
    Level.WARNING,
    "Usual piercings and clutches take 0.7 to 0.9 mm.",
    "Take 0.8 mm wire.",
    "MJ misterjewel.com; common practice, no source",
    _check,
)
