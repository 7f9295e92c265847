"""small-bangle: a closed bangle that goes over no grown hand."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..bench.roles import Role
from ..judging.digits import below, least, mm, place
from ..judging.rule import Level, Rule, Verdict

if TYPE_CHECKING:
    from ..judging.piece import Piece

BANGLE = 30.0  # mm inside; a smaller band goes on a finger: see odd-finger-size


def _check(piece: Piece) -> Iterator[Verdict]:
    for feature, call in piece.with_role(Role.SHANK):
        inside = feature.look("inside")
        if inside is None or inside.value < BANGLE or call.get("open"):
            continue
        bound = piece.bound("small-bangle", "least", feature)
        if below(float(inside.value), bound):
            yield Verdict(
                "this closed bangle goes over no grown hand",
                feature.index,
                f"{mm(float(inside.value))} inside",
                least(mm(bound)),
                "make it wider, leave it open, or keep it as a child's",
                float(inside.value),
                bound,
                key="inside",
                keys=("inside",),
                place=place(feature.frames[0, :, 3]),
            )


RULE = Rule(
    "small-bangle",
    "A closed bangle is small.",
    "plan",
    Level.HINT,
    "A closed bangle has to pass the hand, which is broader than the wrist; children's are smaller.",
    "Make it 60 to 70 mm inside.",
    "common practice, no source",
    _check,
)
