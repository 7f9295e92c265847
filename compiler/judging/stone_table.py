"""All stones of a piece side by side, and the heights and outlines of one. Lengths mm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from ...stdlib.cuts import CUTS

if TYPE_CHECKING:
    from ..bench.stone_kind import StoneKind
    from ..bench.stone_rows import StoneSet


@dataclass(frozen=True, eq=False)
class Stones:
    """All stones of a piece side by side: ``frames`` (n, 3, 4), ``kind`` (n,) index into
    ``kinds``, ``feature`` (n,) the feature of each, ``line`` (n,) the one that first laid it."""

    frames: np.ndarray
    kind: np.ndarray
    feature: np.ndarray
    line: np.ndarray
    kinds: tuple[StoneKind, ...]

    def of(self, stone: int) -> StoneKind:
        """What one stone is."""
        return self.kinds[int(self.kind[stone])]


def stone_table(groups: Sequence[StoneSet]) -> Stones:
    """The stones of all lines, in their order."""
    kinds: list[StoneKind] = []
    index: dict[tuple[Any, ...], int] = {}
    which, features, lines, frames = [], [], [], []
    for group in groups:
        key = (*group.setting.figures, group.setting.gem, group.setting.drilled)
        if key not in index:
            index[key] = len(kinds)
            kinds.append(group.setting)
        which.append(np.full(len(group.frames), index[key]))
        features.append(np.full(len(group.frames), group.feature))
        lines.append(np.full(len(group.frames), group.line))
        frames.append(group.frames)
    if not frames:
        none = np.zeros(0, dtype=int)
        return Stones(np.zeros((0, 3, 4)), none, none, none, ())
    return Stones(
        np.concatenate(frames), np.concatenate(which), np.concatenate(features),
        np.concatenate(lines), tuple(kinds),
    )


def reach_of(setting: StoneKind) -> float:
    """From the middle of a stone to its farthest point in the girdle plane, mm, about."""
    return float(np.hypot(setting.length, setting.width)) / (1.4 if setting.cut == "round" else 1.0)


def pavilion_of(setting: StoneKind) -> float:
    """From the middle of the girdle to the culet, mm."""
    cut, sizes = CUTS[setting.form], (setting.length, setting.width)
    return cut.pavilion_depth(*sizes) + cut.girdle_thickness(*sizes) / 2


def outline_of(setting: StoneKind) -> tuple[Any, ...]:
    """The girdle as a flat outline."""
    if setting.cut == "round":
        return ("circle", setting.width)
    return setting.outline
