"""How stones are set, in figures: alike ones together, in the order in which they are best set."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from ...stdlib import setting_kinds as kinds
from ...stdlib.gems import GEMS, Gem
from ..judging.settings import Setting
from ..making.result import Stone
from .handed import Handed, size_of

SOFT = 7.0  # Mohs: dust of quartz scratches what is softer


@dataclass(frozen=True)
class Group:
    """Stones alike in gem, cut, size and in how they are set; ``first`` stands for all in drawings."""

    first: Setting
    stone: Stone
    numbers: tuple[int, ...]


def groups_of(handed: Handed) -> list[Group]:
    """Stones set alike, in the order in which they are best set.

    Hard stones come before soft ones and those that stand no heat, small ones before large ones: so what
    would be harmed by work beside it comes last (common practice, no source)."""
    found: dict[tuple[object, ...], list[int]] = {}
    for setting, stone in zip(handed.settings, handed.built.stones, strict=True):
        size = tuple(round(one, 3) for one in stone.size)
        found.setdefault((stone.gem, stone.cut, size, setting.name, *_key(setting)), []).append(setting.stone)
    groups = [
        Group(handed.settings[k[0]], handed.built.stones[k[0]], tuple(one + 1 for one in k))
        for k in found.values()
    ]
    return sorted(groups, key=lambda one: (is_tender(GEMS[one.stone.gem]), max(one.stone.size), one.numbers))


def _key(setting: Setting) -> tuple[object, ...]:
    """What tells two settings of one name apart."""
    bezel = setting.bezel
    return (
        len(setting.prongs), tuple(sorted({round(grip.wire, 2) for grip in setting.prongs})),
        setting.bed is None, setting.hole is None, setting.closed,
        None if bezel is None else (round(bezel.wall, 2), round(bezel.lip, 2)),
    )  # fmt: skip


def is_tender(gem: Gem) -> bool:
    """Whether a stone is better set after the others."""
    return gem.mohs_low < SOFT or "never" in (gem.ultrasonic, gem.torch)


# -- the figures of one stone

HEADS = (
    "number", "gem", "cut", "size_mm", "setting", "girdle_below_face_mm", "depth_below_girdle_mm", "held_by",
    "wire_mm", "over_girdle_mm", "spare_mm", "spare_above", "light_hole_mm", "clearance_mm", "peg_deep_mm",
    "lot",
)  # fmt: skip


def every(handed: Handed) -> list[dict[str, Any]]:
    """The figures of every stone."""
    pairs = zip(handed.settings, handed.built.stones, strict=True)
    return [_figures(handed, setting, stone) for setting, stone in pairs]


def _figures(handed: Handed, setting: Setting, stone: Stone) -> dict[str, Any]:
    """The figures of one stone, mm as text; "" where there is none."""
    held, wires, over = _held(setting)
    spare = setting.spare
    bed = setting.bed
    return {
        "number": stone.number,
        "gem": stone.gem,
        "cut": stone.cut,
        "size_mm": size_of(stone),
        "setting": setting.name,
        "girdle_below_face_mm": "" if bed is None else _mm(bed.sunk),
        "depth_below_girdle_mm": _mm(setting.pavilion),
        "held_by": held,
        "wire_mm": wires,
        "over_girdle_mm": over,
        "spare_mm": "" if spare is None else _mm(spare),
        "spare_above": "" if spare is None else "table" if setting.prongs else "girdle",
        "light_hole_mm": "" if setting.hole is None or setting.closed else _mm(setting.hole),
        "clearance_mm": "" if setting.clearance is None else _mm(setting.clearance),
        "peg_deep_mm": "" if setting.peg is None else _mm(setting.peg.deep),
        "lot": handed.lot(stone),
    }


def _held(setting: Setting) -> tuple[str, str, str]:
    """What holds a stone, how thick it is, and how far it lies over the girdle."""
    grips = setting.prongs or setting.beads
    if grips:
        what = f"{len(grips)} {'prongs' if setting.prongs else 'beads'}"
        return what, _range([one.wire for one in grips]), _range([one.bite for one in grips])
    if setting.bezel is not None:
        return "a wall all round", _mm(setting.bezel.wall), ""
    if setting.kind == kinds.PEARL:
        return kinds.PEG, "" if setting.peg is None else _mm(setting.peg.wire), ""
    return "the metal beside it" if setting.kind == kinds.RIM else setting.kind, "", ""


def _range(figures: list[float]) -> str:
    """A figure, or the least and the greatest of several."""
    ends = dict.fromkeys((_mm(min(figures)), _mm(max(figures))))
    return " to ".join(ends)


def _mm(figure: float) -> str:
    """To 0.01 mm, halves up whatever the noise of binary figures, never minus zero."""
    return f"{round(round(figure, 6) + 1e-9, 2) + 0.0:.2f}"
