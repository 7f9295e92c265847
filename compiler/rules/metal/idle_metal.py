"""idle-metal: metal that lies wholly inside other metal, or is cut away again."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...judging.digits import place
from ...judging.ring_mates import farther_round
from ...judging.rule import Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece


def check(piece: Piece) -> Iterator[Verdict]:
    for feature, hidden, count in piece.skin_measures.hidden:
        frames = piece.features[feature].frames
        many = f"{hidden} of {count}" if count > 1 else "nothing"
        yield Verdict(
            f"{piece.name_of(feature)} is not to be seen: other metal holds it wholly, the same stands "
            "there already, or it is cut away",
            feature,
            f"{many} {'lie inside' if count > 1 else 'of it on the surface'}",
            "some of it on the surface",
            farther_round(piece, feature) or "move it outward, or take the line out",
            float(hidden),
            0.0,
            place=place(frames[0, :, 3]) if len(frames) else None,
        )
