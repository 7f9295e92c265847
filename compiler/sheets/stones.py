"""For the stone dealer: what stones, how many, with spares; and those that are there already."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from ...stdlib.cuts.tablet import spoken
from ...stdlib.gems import GEMS
from ...stdlib.stock_sizes import stock_sizes
from ..files.stone_weights import weight_said
from ..making.result import Stone
from .data import csv_bytes
from .handed import Handed, gem_of, hardness, numbered, size_of
from .html import Sheet, heading, paragraph, table

SAME = 0.005  # mm


@dataclass(frozen=True)
class Lot:
    """Stones alike: how many a piece takes, how many are ordered in all, spares among them, the carats
    of one; ``lot`` names stones that are there."""

    first: Stone
    numbers: tuple[int, ...]
    needed: int
    spares: int
    carats: float
    calibrated: bool | None
    lot: str
    measured: bool

    @property
    def total(self) -> int:
        """With the spares."""
        return self.needed + self.spares

    @property
    def in_carats(self) -> float:
        """The carats of one; none of a coin."""
        return 0.0 if GEMS[self.first.gem].is_metal else self.carats

    def said(self, carats: float) -> str:
        """A weight of these under a heading in carats: that of a coin says its grams."""
        return weight_said(self.first.gem, carats, "{:.3f}".format).removesuffix(" ct")


def lots_of(handed: Handed) -> list[Lot]:
    """Stones by gem, cut and size, the greatest first; each lot of the house's own apart."""
    groups: dict[tuple[object, ...], list[Stone]] = {}
    for stone in handed.built.stones:
        size = tuple(round(one, 3) for one in stone.size)
        own = handed.lot(stone), handed.measured(stone), round(stone.carats, 6) if stone.weighed else 0
        groups.setdefault((stone.gem, stone.cut, stone.form, size, *own), []).append(stone)
    lots = [_lot(handed, group) for group in groups.values()]
    return sorted(lots, key=lambda lot: (lot.first.gem, lot.first.cut, *(-one for one in lot.first.size)))


def _lot(handed: Handed, group: list[Stone]) -> Lot:
    first, house = group[0], handed.built.house
    measured = handed.measured(first)
    needed = len(group) * handed.count
    small = first.size[0] <= house.value("sheet", "spares-to") + SAME
    spares = math.ceil(needed * house.value("sheet", "spares") - 1e-9) if small and not measured else 0
    return Lot(
        first, tuple(stone.number for stone in group), needed, spares,
        sum(stone.carats for stone in group) / len(group), calibrated(first), handed.lot(first), measured,
    )  # fmt: skip


def calibrated(stone: Stone) -> bool | None:
    """Whether a stone is of a size that is sold; None for a cut whose sizes the table does not have."""
    sizes = stock_sizes().get(stone.cut)
    if sizes is None:
        return None
    own = stone.size if len(set(stone.size)) > 1 else stone.size[:1]
    return any(
        len(size) == len(own) and all(abs(a - b) <= SAME for a, b in zip(size, own, strict=True))
        for size in sizes
    )


_HEADS = (
    "Gem", "Cut", "Size, mm", "Calibrated", "A piece", "Pieces", "Spares", "To order", "ct each",
    "ct to order", "Numbers",
)  # fmt: skip


def _what(stone: Stone) -> tuple[str, str, str]:
    return gem_of(stone), spoken(stone.cut), size_of(stone)


def _rows(handed: Handed, lots: list[Lot]) -> list[list[object]]:
    words = {True: "yes", False: "no: cut to size", None: "ask"}
    return [
        [
            *_what(lot.first), words[lot.calibrated], len(lot.numbers), handed.count, lot.spares, lot.total,
            lot.said(lot.carats), lot.said(lot.carats * lot.total), numbered(list(lot.numbers)),
        ]
        for lot in lots
    ]  # fmt: skip


def stones_sheet(handed: Handed) -> bytes:
    """The sheet."""
    lots = lots_of(handed)
    ask, there = [lot for lot in lots if not lot.measured], [lot for lot in lots if lot.measured]
    parts: list[object] = []
    if ask:
        rows = _rows(handed, ask)
        each, spares = sum(len(lot.numbers) for lot in ask), sum(lot.spares for lot in ask)
        total, carats = sum(lot.total for lot in ask), sum(lot.in_carats * lot.total for lot in ask)
        foot = [("Together", "", "", "", each, "", spares, total, "", f"{carats:.3f}", "")]
        parts += [
            heading("To order"),
            table(_HEADS, rows, foot=foot),
            paragraph(_rule(handed), class_="fine"),
        ]
    if there:
        rows = [
            [
                lot.lot or "no name", *_what(lot.first), lot.needed,
                lot.said(lot.carats), "weighed" if lot.first.weighed else "by formula",
                numbered(list(lot.numbers)),
            ]
            for lot in there
        ]  # fmt: skip
        heads = ("Lot", "Gem", "Cut", "Size, mm", "How many", "ct each", "How known", "Numbers")
        parts += [heading("There already, not to order"), table(heads, rows)]
    if not lots:
        parts.append(paragraph("This piece has no stones."))
    else:
        parts += [heading("What each must be"), table(("Gem", "Also called", "Hardness, Mohs"), _gems(lots))]
        parts.append(paragraph(
            "Weights are by the trade's formulas for the cut and may differ by a tenth, by more in small "
            "stones; sizes are what counts for the seats.", class_="fine",
        ))  # fmt: skip
    return Sheet("For the stone dealer", handed.built.title, handed.stamp, parts).html()


def _rule(handed: Handed) -> str:
    house = handed.built.house
    share, to = house.entry("sheet", "spares"), house.value("sheet", "spares-to")
    assert share is not None  # the table has a usual one
    return (
        f"Spares: {100 * share.value:g} % of stones up to {to:g} mm, rounded up ({share.source}). "
        "Sizes are calibrated where the trade sells them so."
    )


def _gems(lots: list[Lot]) -> list[list[object]]:
    gems = (GEMS[name] for name in dict.fromkeys(lot.first.gem for lot in lots))
    return [[gem.title, ", ".join(gem.also), hardness(gem)] for gem in gems]


def stones_data(handed: Handed) -> tuple[dict[str, Any], dict[str, bytes]]:
    """The same as plain data, and as a table."""
    heads = (
        "gem", "cut", "size_mm", "calibrated", "a_piece", "pieces", "spares", "to_order", "ct_each",
        "ct_total", "lot", "there_already", "numbers",
    )  # fmt: skip
    rows = [
        [
            lot.first.gem, lot.first.cut, size_of(lot.first), lot.calibrated, len(lot.numbers), handed.count,
            lot.spares, 0 if lot.measured else lot.total, f"{lot.in_carats:.3f}",
            f"{lot.in_carats * lot.total:.3f}", lot.lot, lot.measured, " ".join(map(str, lot.numbers)),
        ]
        for lot in lots_of(handed)
    ]  # fmt: skip
    record = {**handed.record("stones"), "stones": [dict(zip(heads, row, strict=True)) for row in rows]}
    return record, {"stones.csv": csv_bytes(heads, rows)}
