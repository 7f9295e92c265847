"""covered-table: metal over a stone, so that it does not go in."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...judging.digits import below, least, mm, place
from ...judging.rule import Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece


def check(piece: Piece) -> Iterator[Verdict]:
    from ...judging.tables_up import metal_above

    far, owners = metal_above(piece)
    alone = len(piece.casting_measures.castings) < 2
    for stone, (gap, owner) in enumerate(zip(far.tolist(), owners.tolist(), strict=True)):
        form = piece.stone_measures.form(stone)
        bound = piece.bound("covered-table", "least", max(owner, 0)) * (form.top - form.tip)
        if owner < 0 or piece.stones.of(stone).cut == "pearl" or not below(gap, bound):
            continue
        home = piece.stones.frames[stone, :, 3]
        own = None if alone else piece.casting_measures.casting_at(home)
        if own is None or owner in own.skin.owner:
            yield Verdict(
                f"{piece.name_of(owner)} stands over a stone of "
                f"{piece.name_of(int(piece.stones.feature[stone]))}: it does not go in",
                owner,
                f"{mm(gap)} above the table of stone {stone + 1}",
                f"{least(mm(bound))}, the height of the stone",
                _way_out(piece, owner),
                gap,
                bound,
                place=place(home),
                others=(int(piece.stones.feature[stone]),),
            )


def _way_out(piece: Piece, owner: int) -> str:
    """What to try: a roof that the stone's own seat left is metal it was laid too deep in."""
    if owner in piece.sets.seats:
        return "raise the stone (out) until its table comes to the face of the metal"
    return "move the metal aside, or make it a part of its own that is put on after setting"
