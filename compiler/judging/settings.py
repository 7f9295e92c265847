"""How each stone is set, one record a stone, for those who set it or reckon with it. Lengths mm."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...stdlib import setting_kinds as kinds
from ..bench.roles import Role
from .beds import Bed
from .bezels import Bezel
from .grips import Grip
from .piece import Piece
from .seats import cut_into

UNSET = "nothing holds it"
HOLDS = frozenset((Role.SETTING, Role.PRONG, Role.RIM, Role.GRAINS, Role.SEAT))


@dataclass(frozen=True)
class Peg:
    """The pin that a half-drilled pearl is glued on: how thick it is, and how deep it stands in the pearl."""

    wire: float
    deep: float


@dataclass(frozen=True)
class Setting:
    """How one stone is set.

    ``stone`` is its index in ``piece.stones``, its number less one. ``kind`` tells what is pushed over it;
    ``words`` are those of the text that hold it, the outermost first, ``lines`` the names of their lines.
    ``bed`` is the body its seat is cut into, ``hole`` the width of the light hole in the bed, ``closed``
    whether that hole is shut below. ``crown`` and ``pavilion`` are heights above and below the middle of the
    girdle."""

    stone: int
    kind: str
    words: tuple[str, ...]
    lines: tuple[str, ...]
    prongs: tuple[Grip, ...]
    beads: tuple[Grip, ...]
    bezel: Bezel | None
    bed: Bed | None
    hole: float | None
    closed: bool
    clearance: float | None
    crown: float
    pavilion: float
    peg: Peg | None = None

    @property
    def name(self) -> str:
        """As a setter would call it: "basket, prongs", "shared prongs"."""
        first = self.words[0] if self.words else ""
        if self.kind == kinds.RIM:
            return first or "metal beside it"
        how = kinds.PEG if self.kind == kinds.PEARL else self.kind
        return how if first in how else f"{first}, {how}"

    @property
    def spare(self) -> float | None:
        """How far what is pushed over stands above what it is pushed onto: prongs above the table, beads, a
        wall and a face above the middle of the girdle; the least of them. None where nothing is told."""
        if self.prongs:
            return min(grip.tip for grip in self.prongs) - self.crown
        if self.beads:
            return min(grip.tip for grip in self.beads)
        if self.bezel:
            return self.bezel.lip
        return self.bed.sunk if self.kind == kinds.RIM and self.bed and self.bed.sunk > 0 else None


def settings_of(piece: Piece) -> list[Setting]:
    """The setting of every stone, in the order of their numbers."""
    held: dict[int, list[int]] = {}
    for feature in piece.features:
        for line in piece.services.lines(feature.index):
            held.setdefault(line, []).append(feature.index)
    beds = {bed.stone: bed for bed in piece.beds}
    bezels = {bezel.stone: bezel for bezel in piece.bezels}
    grains: dict[int, list[Grip]] = {}
    for grain in piece.grains:
        if grain.bite > 0:
            grains.setdefault(grain.stone, []).append(grain)
    return [
        _setting(piece, stone, held, beds.get(stone), bezels.get(stone), tuple(grains.get(stone, ())))
        for stone in range(len(piece.stones.kind))
    ]


def _setting(
    piece: Piece, stone: int, held: dict[int, list[int]], bed: Bed | None, bezel: Bezel | None,
    beads: tuple[Grip, ...],
) -> Setting:  # fmt: skip
    prongs = tuple(piece.grips_by_stone.get(stone, ()))
    seat = piece.seated.get(stone)
    call = None if seat is None else piece.call(seat)
    setting = piece.stones.of(stone)
    own = int(piece.stones.line[stone])
    holders = [*held.get(own, ()), *(grip.feature for grip in prongs), *([seat] if seat is not None else [])]
    words, lines = _named(piece, holders, own)
    beneath = seat is not None and bed is not None and cut_into(piece, seat, bed)
    hole = call.get("hole") if call is not None and beneath else None
    shut = hole == 0 or (bool(piece.parts) and stone in piece.shut and not piece.shut[stone].way)
    return Setting(
        stone, _kind(piece, stone, prongs, beads, bezel, holders), words, lines, prongs, beads, bezel,
        bed if beneath or bezel is not None else None, None if hole is None else hole * setting.width, shut,
        None if call is None else call.get("clearance"), setting.crown(), setting.pavilion(),
        _peg(piece, stone) if setting.cut == "pearl" else None,
    )  # fmt: skip


def _peg(piece: Piece, stone: int) -> Peg | None:
    """The rod that ends in a pearl."""
    rods, radius = piece.rods, piece.stones.of(stone).width / 2
    tips = rods.foot + rods.long[:, None] * rods.way - piece.stones.frames[stone][:, 3]
    found = np.flatnonzero((tips**2).sum(axis=1) < radius**2)
    if not len(found):
        return None
    along = float(tips[found[0]] @ rods.way[found[0]])
    aside = float((tips[found[0]] ** 2).sum()) - along**2
    return Peg(float(rods.wire[found[0]]), along + (radius**2 - aside) ** 0.5)


def _kind(
    piece: Piece, stone: int, prongs: tuple[Grip, ...], beads: tuple[Grip, ...], bezel: Bezel | None,
    holders: list[int],
) -> str:  # fmt: skip
    """What is pushed over the stone, in the trade's words."""
    if piece.stones.of(stone).cut == "pearl":
        return kinds.PEARL
    if any(piece.is_for(holder, Role.INLAY) for holder in holders):
        return kinds.CEMENT
    if bezel is not None:
        return kinds.BEZEL_AND_PRONGS if prongs else kinds.BEZEL
    if beads:
        return kinds.BEADS
    if prongs:
        return kinds.SHARED if stone in piece.shared else kinds.PRONGS
    for role, kind in ((Role.PRONG, kinds.PRONGS), (Role.RIM, kinds.RIM)):  # made otherwise than of wire
        if any(piece.is_for(holder, role) for holder in holders):
            return kind
    return UNSET


def _named(piece: Piece, holders: list[int], own: int) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Words and lines of what holds a stone; the words the stone was laid by come first."""
    words: dict[str, None] = {}
    lines: dict[str, None] = {}
    for index in dict.fromkeys(holders):
        call = piece.call(index)
        lines[piece.name_of(index)] = None
        for word in (*(use.word for use in call.within), call.word):
            if not HOLDS.isdisjoint(word.roles):
                words[word.name] = None
    laid = [use.word.name for use in piece.call(own).within if not HOLDS.isdisjoint(use.word.roles)]
    return tuple(dict.fromkeys([*laid, *words])), tuple(lines)
