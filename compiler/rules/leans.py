"""leans: a piece that hangs crooked."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.digits import above, mm, place
from ..judging.rule import Level, Rule, Verdict

if TYPE_CHECKING:
    from ..judging.hanging import Loop
    from ..judging.piece import Piece


def _check(piece: Piece) -> Iterator[Verdict]:
    for casting, rest in piece.casting_measures.rests:
        if rest.hang.flips:
            continue  # see top-heavy
        lean, loop = rest.hang.tilt_side, rest.loops[-1]
        bound = piece.bound("leans", "most", loop.feature)
        if above(abs(lean), bound):
            off = float(casting.centre[1][0] - loop.middle[0])
            side = "right" if lean > 0 else "left"
            one = len(rest.loops) == 1
            yield Verdict(
                f"it hangs crooked, its {side} side low",
                loop.feature,
                f"{abs(lean):.1f} degrees",
                f"{bound:g} degrees or less",
                _move(piece, loop, off, side) if one else "set both loops level",
                abs(lean),
                bound,
                keys=("right", "left", "up", "down"),
                place=place(casting.centre[1]),
            )


def _move(piece: Piece, loop: Loop, off: float, side: str) -> str:
    """Where to put the loop: further to a side of the piece; or, where its place looks sideways, so
    that the clauses for that go by other names, at an end that looks up."""
    turned = piece.features[loop.feature].frames[0, :, 0]
    if turned[0] > 0.5 or abs(turned[0]) < abs(turned[1]):
        return f"move the loop {mm(abs(off))} to the {side}"
    return (
        "its place looks to the left: hang it at an end that looks up. 'top' and 'right' turn with their "
        "part: what is to stand upright is drawn so, as oval 18 x 24 mm, without a turn"
    )


RULE = Rule(
    "leans",
    "The piece hangs crooked.",
    "metal",
    Level.WARNING,
    "On one loop a piece turns until its centre of mass is straight below; on two it hangs as "
    "level as they are set.",
    "Put the loop over the centre of mass, or both loops level.",
    "elementary statics; the figure is common practice, no source",
    _check,
)
