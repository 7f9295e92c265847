"""How each prong grips each stone, a plain record for each pair. Lengths mm."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ...stdlib.limits import prong_wire
from ..bench.roles import Role
from ..bench.stone_kind import DOME
from .digits import mm, rounded_up
from .figure_rule import Reading
from .prongs import Prongs, prongs_of

if TYPE_CHECKING:
    from .bound import Bound
    from .piece import Piece

ASTRAY = 1.5  # mm, a prong farther than this from all stones was made for none of them


@dataclass(frozen=True)
class Grip:
    """One prong at one stone: the prong's line, its wire, how far it lies over the girdle (negative: short of
    it), its tip above the middle of the girdle, the stone's narrow side, how many prongs that stone has,
    where the wire passes the girdle plane, and how far a dome goes on above where prongs are laid on it."""

    feature: int
    stone: int
    rod: int
    wire: float
    bite: float
    tip: float
    width: float
    count: int
    spot: tuple[float, float, float]
    dome: float


def grips_of(piece: Piece) -> list[Grip]:
    """Every prong at every stone it touches or nearly touches, by stone."""
    return _grips(piece, piece.prongs)


def astray(piece: Piece) -> list[Grip]:
    """What the text says is a prong and that touches no stone, at the nearest one."""
    prongs = [f.index for f, _ in piece.with_role(Role.PRONG) if not piece.is_for(f.index, Role.GRAINS)]
    idle = np.isin(piece.rods.feature, prongs)
    idle[piece.prongs.rod] = False
    if not idle.any():
        return []
    near = prongs_of(piece.stones, piece.rods, piece.services.may_hold, ASTRAY)
    return best_of([grip for grip in _grips(piece, near) if idle[grip.rod]])


def _grips(piece: Piece, prongs: Prongs) -> list[Grip]:
    rods, stones = piece.rods, piece.stones
    count: dict[int, int] = {}
    for stone in prongs.stone[prongs.holding].tolist():
        count[stone] = count.get(stone, 0) + 1
    grips = []
    for k, (stone, rod) in enumerate(zip(prongs.stone.tolist(), prongs.rod.tolist(), strict=True)):
        setting = stones.of(stone)
        if setting.cut == "pearl":
            continue  # drilled for a peg, which is no prong
        x, y, z = prongs.spot[k].tolist()
        grips.append(
            Grip(
                int(rods.feature[rod]), stone, rod, float(rods.wire[rod]), float(prongs.bite[k]),
                float(prongs.tip[k]), min(setting.width, setting.length), count.get(stone, 0), (x, y, z),
                setting.crown() - setting.laid(),
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


def wires(piece: Piece) -> Iterator[Reading]:
    """The wire of each prong."""
    for grip in piece.grips:
        usual = prong_wire(grip.width, piece.family(grip.feature), grip.count)
        said = {"which": mm(grip.width), "usual": mm(usual)}
        yield Reading(grip.feature, grip.wire, grip.spot, usual, words=said)


def bites(piece: Piece) -> Iterator[Reading]:
    """How much of its wire lies over the girdle."""
    for grip in piece.grips:
        figure = grip.bite / grip.wire
        yield Reading(grip.feature, figure, grip.spot, value=lambda bound: f"{bound * 100:g} %")


def rises(piece: Piece) -> Iterator[Reading]:
    """How far each prong rises above the table."""
    for grip in piece.grips:
        if grip.bite > 0:
            rise = grip.tip - piece.stones.of(grip.stone).crown()
            yield Reading(
                grip.feature, rise + grip.dome, grip.spot, grip, words={"where": _where(grip)},
                value=lambda bound, grip=grip: rounded_up(max(bound - grip.dome, 0.0)),
            )  # fmt: skip


def _where(grip: Grip) -> str:
    return "the table" if grip.dome == 0 else f"{DOME * 100:g} % of its dome"


def spare_of(grips: list[Grip], piece: Piece) -> dict[int, float]:
    """How far each rod rises above the highest of the tables that it stands by, mm."""
    spare: dict[int, float] = {}
    for grip in grips:
        if grip.bite > 0:
            rise = grip.tip - piece.stones.of(grip.stone).crown()
            spare[grip.rod] = min(rise, spare.get(grip.rod, rise))
    return spare


def spares(piece: Piece) -> Iterator[Reading]:
    """The same, of one that two stones share above the higher of theirs."""
    spare = spare_of(piece.grips, piece)
    for grip in piece.grips:
        if grip.bite > 0:
            yield Reading(grip.feature, spare[grip.rod], grip.spot, grip)


def of_usual(_: Piece, share: Bound, reading: Reading) -> Bound:
    """A share of the wire that is usual for the stone, mm."""
    return share * reading.of


def of_stone(_: Piece, limit: Bound, reading: Reading) -> Bound:
    """A share of how wide the stone is, mm."""
    return limit * reading.of.width


def allowed(piece: Piece, spare: Bound, reading: Reading) -> Bound:
    """How far a prong may rise above its stone, mm: more above a wide one."""
    return max(spare, piece.bound("short-prong", "past-stone") * (1.5 * reading.of.width))
