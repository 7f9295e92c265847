"""inward-table: a stone that looks to the finger, the wrist or the back."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...judging.digits import above, mm, place, rounded_up
from ...judging.rule import Level, Rule, Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece

LEVEL = 0.5  # of an axis up or down, which such a finger does not lie along


def _check(piece: Piece) -> Iterator[Verdict]:
    from ...judging.tables_up import turned_in

    if len(piece.casting_measures.castings) > 1:
        return  # castings lie as they fit beside one another, not as they are worn
    yield from _at_the_palm(piece)
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


def _at_the_palm(piece: Piece) -> Iterator[Verdict]:
    """A ring of wire all of whose stones stand on its under side."""
    hole, frames = piece.wear_measures.hole, piece.stones.frames
    if piece.wear_measures.bore is not None or hole is None or not len(frames) or abs(hole.axis[2]) > LEVEL:
        return
    high = frames[:, 2, 3] - hole.middle[2]
    if float(high.max()) < 0:
        top = float(piece.skin_measures.skin.box[1][2])
        yield Verdict(
            "the stones of this ring stand at the palm",
            int(piece.stones.feature[int(high.argmax())]),
            f"{mm(-float(high.max()))} below the middle of the finger",
            "above it",
            f"set them on top: without a place of their own at 'out {rounded_up(top)}' or more",
            float(high.max()),
            0.0,
            keys=("at",),
            place=place(frames[int(high.argmax()), :, 3]),
        )


RULE = Rule(
    "inward-table",
    "A stone looks to the finger, the wrist or the back.",
    "metal",
    Level.WARNING,
    "Nobody sees a stone from behind, and its table rubs the skin.",
    "Turn the stone over.",
    "elementary geometry; the angle is a house choice, no source",
    _check,
)
