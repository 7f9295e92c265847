"""shut-stone: so much metal over a stone's girdle that it cannot be let in."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...bench.roles import Role
from ...judging.digits import above, place
from ...judging.rule import Verdict
from ...judging.stone_metal import metal_on_axes

if TYPE_CHECKING:
    from ...judging.piece import Piece

# Pushed over once the stone lies in its seat; or no setting at all, see stone-in-metal.
LOOSE = Role.PRONG, Role.GRAINS, Role.FINDING, Role.EAR_POST, Role.PIN


def check(piece: Piece) -> Iterator[Verdict]:
    for stone, around in enumerate(piece.stone_measures.surrounds):
        feature = int(piece.stones.feature[stone])
        most = piece.bound("shut-stone", "metal", feature)
        seat = piece.seated.get(stone, feature)
        fast = (lap for lap in around.laps if not piece.is_for(lap.owner, *LOOSE))
        covered = sum(lap.end - lap.start for lap in fast)
        if not above(covered, most) or piece.stones.of(stone).cut == "pearl":
            continue
        form, set_stone = piece.stone_measures.form(stone), piece.stone_measures.stones[stone]
        if metal_on_axes([form], [set_stone], piece.skin_measures.skin)[0] >= 0:
            continue  # it stands in metal altogether: see stone-in-metal
        yield Verdict(
            "too much metal lies over this stone: it cannot be let in",
            seat,
            f"{covered:.0f} degrees of its girdle lie under metal",
            f"{most:g} degrees or less",
            "open the way in: "
            + ("leave 'mouth' out of its seat, or " if "mouth" in piece.clauses_of(seat) else "")
            + "cut the metal over it away",
            covered,
            most,
            key="for",
            place=place(piece.stones.frames[stone, :, 3]),
        )
