"""Stones too soft for a ring."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ...stdlib.gems import GEMS
from ..bench.roles import Role
from ..judging.digits import below, least
from ..judging.rule import Level, Verdict

if TYPE_CHECKING:
    from ..judging.piece import Piece


ASKED = "choose a harder stone; tell the customer"
OPEN = "tell the customer: a ring for occasions, put on last and taken off first; or let it stand low"


def check(piece: Piece) -> Iterator[Verdict]:
    if not piece.rings:
        return
    usual, floor = piece.bound("soft-stone", "ring"), piece.bound("soft-stone", "ring-least")
    told: set[tuple[int, str]] = set()
    for group in piece.stone_sets:
        gem = GEMS[group.setting.gem]
        if (group.feature, gem.name) in told or not below(gem.mohs_low, usual):
            continue
        told.add((group.feature, gem.name))
        soft = below(gem.mohs_low, floor)
        guarded = _guarded(piece, group.feature)
        if guarded and not soft:
            continue  # what would be advised is done
        bound = floor if soft else usual
        remedy = ASKED if guarded else f"set it low behind a bezel, or {ASKED}"
        yield Verdict(
            f"{gem.title.lower()} is soft for a ring",
            group.feature,
            f"{gem.mohs_low:g} on Mohs' scale",
            least(f"{bound:g}"),
            OPEN if group.setting.cut == "pearl" else remedy,
            gem.mohs_low,
            bound,
            key="gem",
            keys=("gem",),
            level=Level.WARNING if soft else Level.HINT,
        )


def _guarded(piece: Piece, line: int) -> bool:
    """Whether metal stands round every stone of a line: it lies in a bezel, or let in."""
    seats = [piece.seated.get(int(stone)) for stone in np.flatnonzero(piece.stones.feature == line)]
    return all(seat is not None and piece.is_for(seat, Role.RIM, Role.INLAY) for seat in seats)
