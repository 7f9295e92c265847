"""Stones that ultrasonic or steam cleaning would harm."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...stdlib.gems import SAFETY, Gem
from ..judging.gems_at_risk import Gems, gems_at_risk, listed
from ..judging.rule import Verdict

if TYPE_CHECKING:
    from ..judging.piece import Piece


def check(piece: Piece) -> Iterator[Verdict]:
    return gems_at_risk(
        piece, _worst, _told, "safe or usually safe in both",
        "clean and polish before setting; afterwards lukewarm water and a soft brush",
    )  # fmt: skip


def _worst(gem: Gem) -> str:
    return max(gem.ultrasonic, gem.steam, key=SAFETY.index)


def _told(risky: Gems, never: Gems) -> tuple[str, str]:
    gems = [*never, *risky]
    each = [f"{gem.spoken}: ultrasonic {gem.ultrasonic}, steam {gem.steam}" for gem in gems]
    return f"{listed(gems)} may not go through every cleaning", "; ".join(each)
