"""loose-bore: a ring laid along a path round a finger that comes out larger than that finger."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...judging.bores import inner_radius
from ...judging.digits import above, mm, most, place, rounded_up
from ...judging.rule import Mend, Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece


def check(piece: Piece) -> Iterator[Verdict]:
    for feature in piece.features:
        call = piece.call(feature.index)
        if not feature.about or not len(feature.frames):
            continue
        home, axis = feature.frames[0][:, 3], feature.frames[0][:, 1]
        inner = inner_radius(piece.skin_measures.skin, home, axis)
        bound = piece.bound("loose-bore", "most", feature)
        if inner is None or not above(slack := inner - feature.about / 2, bound):
            continue
        outset = float(call.get("outset") or 0.0) - slack
        yield Verdict(
            "no metal comes to the finger that this ring is for",
            feature.index,
            f"{mm(2 * inner)} inside, {mm(slack)} off a finger of {mm(feature.about)} all round",
            most(mm(bound)),
            f"write outset {max(outset, 0.0):.2f} mm" if outset > -bound
            else f"bring what runs along it {rounded_up(slack)} nearer",
            slack,
            bound,
            keys=("outset", "finger", "inside"),
            place=place(home),
            mend=Mend("outset", f"{max(outset, 0.0):.2f} mm") if outset > -bound else None,
        )  # fmt: skip
