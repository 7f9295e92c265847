"""small-bangle: a closed bangle that goes over no grown hand, a cuff that goes over no wrist."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..bench.roles import Role
from ..judging.digits import below, least, mm, place

if TYPE_CHECKING:
    from ..bench.feature import Feature
    from ..judging.piece import Piece
from ..judging.rule import Level, Rule, Verdict

BANGLE = 30.0  # mm inside; a smaller band goes on a finger: see odd-finger-size


def _check(piece: Piece) -> Iterator[Verdict]:
    for feature, call in piece.with_role(Role.SHANK):
        inside = feature.look("inside")
        if inside is None or inside.value < BANGLE:
            continue
        if call.get("open"):
            yield from _opening(piece, feature, float(call.get("open")))
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


def _opening(piece: Piece, cuff: Feature, gap: float) -> Iterator[Verdict]:
    bound = piece.bound("small-bangle", "opening", cuff)
    if below(gap, bound):
        yield Verdict(
            "the opening of this cuff goes over hardly any wrist",
            cuff.index,
            f"{mm(gap)} open",
            least(mm(bound)),
            "open it wider",
            gap,
            bound,
            key="open",
            keys=("open",),
            place=place(cuff.frames[0, :, 3]),
        )


RULE = Rule(
    "small-bangle",
    "A bangle or the opening of a cuff is small.",
    "plan",
    Level.HINT,
    "A closed bangle has to pass the hand, which is broader than the wrist, an open one the wrist's "
    "side; children's are smaller.",
    "Make a closed one 60 to 70 mm inside; open a cuff by 25 to 32 mm.",
    "common practice, no source",
    _check,
)
