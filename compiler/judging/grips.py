"""How each prong grips each stone, a plain record for each pair. Lengths mm."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from ...lang.lean import dataclass

if TYPE_CHECKING:
    from .piece import Piece


@dataclass(frozen=True)
class Grip:
    """One prong at one stone: the prong's line, its wire, how far it lies over the girdle
    (negative: short of it), its tip above the middle of the girdle, the stone's narrow side,
    how many prongs that stone has, and where the wire passes the girdle plane."""

    feature: int
    stone: int
    rod: int
    wire: float
    bite: float
    tip: float
    width: float
    count: int
    spot: tuple[float, float, float]


def grips_of(piece: Piece) -> list[Grip]:
    """Every prong at every stone it touches or nearly touches, by stone."""
    prongs, rods, stones = piece.prongs, piece.rods, piece.stones
    count: dict[int, int] = {}
    for stone in prongs.stone[prongs.holding].tolist():
        count[stone] = count.get(stone, 0) + 1
    grips = []
    for k, (stone, rod) in enumerate(
        zip(prongs.stone.tolist(), prongs.rod.tolist(), strict=True)
    ):
        setting = stones.of(stone)
        if setting.cut == "pearl":
            continue  # drilled for a peg, which is no prong
        x, y, z = prongs.spot[k].tolist()
        grips.append(
            Grip(
                int(rods.feature[rod]), stone, rod, float(rods.wire[rod]),
                float(prongs.bite[k]), float(prongs.tip[k]),
                min(setting.width, setting.length), count.get(stone, 0),
                (x, y, z),
            )
        )  # fmt: skip
    return grips


def by_stone(grips: list[Grip]) -> Mapping[int, list[Grip]]:
    """The prongs that touch each stone."""
    found: dict[int, list[Grip]] = {}
    for grip in grips:
        if grip.bite > 0:
            found.setdefault(grip.stone, []).append(grip)
    return found


def best_of(grips: list[Grip]) -> list[Grip]:
    """For each prong the stone it lies over most."""
    best: dict[int, Grip] = {}
    for grip in grips:
        known = best.get(grip.rod)
        if known is None or grip.bite > known.bite:
            best[grip.rod] = grip
    return list(best.values())
