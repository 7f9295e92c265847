"""inward-table: a stone that looks to the finger, the wrist or the back."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...judging.digits import above, place
from ...judging.rule import Level, Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece


def check(piece: Piece) -> Iterator[Verdict]:
    from ...judging.tables_up import turned_in

    if len(piece.casting_measures.castings) > 1:
        return  # castings lie as they fit beside one another, not as they are worn
    angles, side = turned_in(piece)
    for stone, angle in enumerate(angles.tolist()):
        feature = int(piece.stones.feature[stone])
        bound = piece.bound("inward-table", "most", feature)
        if above(angle, bound) and piece.stones.of(stone).cut != "pearl":
            yield Verdict(
                f"the table of this stone looks to the {side}",
                feature,
                f"{angle:.0f} degrees from the way out",
                f"{bound:g} degrees or less",
                "turn the stone over with 'lean 180 deg'; where it follows a path, let that path say "
                "'facing away'",
                angle,
                bound,
                place=place(piece.stones.frames[stone, :, 3]),
                level=Level.HINT if side == "back" else None,
            )
