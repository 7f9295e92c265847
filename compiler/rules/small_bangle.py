"""small-bangle: a closed bangle that goes over no grown hand, a cuff that goes over no wrist."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..bench.roles import Role
from ..judging.digits import below, least, mm, place, rounded_up

if TYPE_CHECKING:
    from ..bench.feature import Feature
    from ..judging.piece import Piece
from ..judging.rule import Level, Verdict

BANGLE = 30.0  # mm inside; a smaller band goes on a finger: see odd-finger-size
SLEEVE = 0.5  # of its inside; a wider band goes on no wrist: a napkin ring, a sleeve


def check(piece: Piece) -> Iterator[Verdict]:
    for feature, call in piece.with_role(Role.SHANK):
        inside = feature.look("inside")
        wide = call.get("wide", 0.0)
        if inside is None or inside.value < BANGLE or wide > SLEEVE * inside.value:
            continue
        if call.get("open"):
            gap, bound = float(call.get("open")), piece.bound("small-bangle", "opening", feature)
            if below(gap, bound):
                yield _narrow(feature, gap, gap, bound)
            continue
        bound = piece.bound("small-bangle", "least", feature)
        if below(float(inside.value), bound):
            yield Verdict(
                "this closed bangle goes over no grown hand",
                feature.index,
                f"{mm(float(inside.value))} inside",
                least(mm(bound)),
                "make it wider, leave it open, or keep it as a child's, or for no hand",
                float(inside.value),
                bound,
                key="inside",
                keys=("inside",),
                place=place(feature.frames[0, :, 3]),
            )


def on_metal(piece: Piece) -> Iterator[Verdict]:
    """What is left between all metal and stones, where that is less than a line says."""
    from ..judging.openings import openings_of

    for one in openings_of(piece):
        feature, bound = piece.features[one.feature], piece.bound("small-bangle", "opening", one.feature)
        said = piece.call(one.feature).get("open")
        if below(one.wide, bound) and not (said and below(float(said), bound)):
            yield _narrow(feature, one.wide, None, bound)


def _narrow(cuff: Feature, gap: float, said: float | None, bound: float) -> Verdict:
    lack = bound - gap
    return Verdict(
        "the opening of this cuff goes over hardly any wrist",
        cuff.index,
        f"{mm(gap)} open" if said is not None else f"{mm(gap)} left between all metal and stones at its ends",
        least(mm(bound)),
        "open it wider" if said is not None
        else f"open it {rounded_up(lack)} wider, or take less at its ends",
        gap,
        bound,
        key="open",
        keys=("open", "along"),
        place=place(cuff.frames[0, :, 3]),
        level=Level.HINT if said is not None else Level.WARNING,
    )  # fmt: skip
