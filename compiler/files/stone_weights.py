"""What stones weigh, as it is said: gems in carats, coins in grams."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from ...lang.values import UNITS
from ...stdlib.gems import GEMS
from .digits import shown

if TYPE_CHECKING:
    from ..making.weights import Weights


def weight_said(gem: str, carats: float, digits: Callable[[float], str] = shown) -> str:
    """The weight of stones of one kind with its unit: "0.530 ct", of a coin "3.990 g"."""
    return f"{digits(carats * UNITS['ct'][1])} g" if GEMS[gem].is_metal else f"{digits(carats)} ct"


def stones_said(weights: Weights, carats: Callable[[Weights], str]) -> str:
    """How many stones a piece has and what they weigh, then its coins, as "2 stones, 1 ct, 1 coin, 3.990 g";
    ``carats`` says the weight of the stones."""
    gems = sum(row.count for row in weights.stones if not row.is_metal)
    coins = [row for row in weights.stones if row.is_metal]
    count, grams = sum(row.count for row in coins), sum(row.carats for row in coins) * UNITS["ct"][1]
    said = [f"{gems} stone{'s' * (gems > 1)}{carats(weights)}"] if gems else []
    return ", ".join([*said, *([f"{count} coin{'s' * (count > 1)} {shown(grams)} g"] if coins else [])])
