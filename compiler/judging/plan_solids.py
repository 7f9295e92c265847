"""Every single solid of a plan where it stands in the piece, copies and groups opened up."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import Any

import numpy as np

from ...lang.lean import dataclass
from ..bench.plan import Step
from ..geometry import frames as fr
from ..geometry.bend import Bend


@dataclass(frozen=True, eq=False)
class PlanSolid:
    """One kind of solid as laid out: its shape, where each stands (n, 3, 4), its line, and the
    lines of the groups and copies it is part of."""

    kind: str
    figures: tuple[Any, ...]
    frames: np.ndarray
    feature: int
    cut: bool
    parts: tuple[int, ...] = ()


def plan_solids(
    steps: Iterable[Step], outer: np.ndarray | None = None, parts: tuple[int, ...] = ()
) -> Iterator[PlanSolid]:
    """Every single solid of a plan in the piece's own space, copies and groups opened up."""
    for step in steps:
        frames = step.frames if outer is None else fr.compose(outer, step.frames)
        if step.shape.kind == "part":
            yield from plan_solids(step.shape.steps, frames, (*parts, step.feature))
        elif step.shape.kind == "bent":
            bend = Bend(*step.shape.figures)
            for one in plan_solids(step.shape.steps, None, parts):
                yield replace(one, frames=fr.compose(frames, bend.frames(one.frames)))
        else:
            cut = step.work == "cut"
            yield PlanSolid(step.shape.kind, step.shape.figures, frames, step.feature, cut, parts)
