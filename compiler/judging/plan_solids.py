"""Every single solid of a plan where it stands in the piece, copies and groups opened up."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from ..bench.plan import LET_IN, Step
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
    # Of one in bent metal: the frames of that metal, how it is bent, and the solid as it lay in the flat.
    bent: tuple[np.ndarray, Bend, PlanSolid] | None = None

    def stood(self, copy: int, spots: np.ndarray) -> np.ndarray:
        """Frames (n, 3, 4) that stand on the ground of one copy at ``spots`` (n, 2) of its own, carried
        round with the metal where it is bent."""
        if self.bent is None:
            local = fr.identity(len(spots))
            local[:, :2, 3] = spots
            return fr.compose(self.frames[copy : copy + 1], local)
        outer, bend, flat = self.bent
        at, inside = divmod(copy, len(flat.frames))
        return fr.compose(outer[at : at + 1], bend.frames(flat.stood(inside, spots)))

    def scaled(self, spots: np.ndarray, middle: np.ndarray, share: float) -> np.ndarray:
        """Frames (n, 3, 4) on the ground of all copies at ``spots`` (n, 2), as ``stood``, in bent metal, were
        all drawn ``share`` as large about a spot ``middle`` (3,) of that metal laid flat."""
        assert self.bent is not None
        outer, bend, flat = self.bent
        local = fr.identity(len(spots))
        local[:, :2, 3] = spots
        stood = fr.compose(flat.frames, local)
        stood[:, :, 3] = middle + share * (stood[:, :, 3] - middle)
        return fr.compose(outer, bend.frames(stood))


def plan_solids(
    steps: Iterable[Step], outer: np.ndarray | None = None, parts: tuple[int, ...] = ()
) -> Iterator[PlanSolid]:
    """Every single solid of a plan in the piece's own space, copies and groups opened up."""
    for step in steps:
        if step.shape.figures == LET_IN:
            continue  # of metal that another line stood there, where its cuts took some
        frames = step.frames if outer is None else fr.compose(outer, step.frames)
        if step.shape.kind == "part":
            yield from plan_solids(step.shape.steps, frames, (*parts, step.feature))
        elif step.shape.kind == "bent":
            bend = Bend(*step.shape.figures)
            for one in plan_solids(step.shape.steps, None, parts):
                stands = fr.compose(frames, bend.frames(one.frames))
                yield replace(one, frames=stands, bent=(frames, bend, one))
        else:
            cut = step.work == "cut"
            yield PlanSolid(step.shape.kind, step.shape.figures, frames, step.feature, cut, parts)
