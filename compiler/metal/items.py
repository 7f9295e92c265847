"""What a body under way is made of: copies of meshes, and solids still to be made."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from ..bench.plan import Step
from .copies import Copies
from .crumbs import Crumb
from .locality import around, meeting, met
from .parts import Sorted

if TYPE_CHECKING:
    from manifold3d import Manifold

@dataclass(frozen=True, eq=False)
class Solid:
    """A solid by the ``key`` of its contents; ``box`` (6,) mm holds it, ``triangles`` estimates
    it. ``make`` does the work; ask ``Workshop.made`` for it. One that was cut knows from which
    solid (``whole``) and by what."""

    key: str
    box: np.ndarray
    triangles: int
    make: Callable[[], Manifold]
    whole: Solid | None = None
    tools: tuple[Item, ...] = ()

    @property
    def boxes(self) -> np.ndarray:
        """Its box as one row."""
        return self.box[None]


Item = Copies | Solid
# A body under way: for each alloy what makes it up, not yet joined.
Body = dict[str, list[Item]]


@dataclass(frozen=True, eq=False)
class Metal:
    """All metal of one alloy, finished: its mesh in the order of work, or the kernel's ``trouble``;
    with the ``crumbs`` left out that are worth telling."""

    mesh: Sorted | None
    trouble: str | None = None
    whole: Manifold | None = field(default=None, repr=False)
    crumbs: tuple[Crumb, ...] = ()

    def solid(self) -> Manifold:
        """The metal as a solid of the kernel; empty when there was trouble."""
        from manifold3d import Manifold

        if self.whole is None:
            whole = Manifold() if self.mesh is None else self.mesh.solid()
            object.__setattr__(self, "whole", whole)
        assert self.whole is not None
        return self.whole


def reaching(tools: Sequence[Item], boxes: np.ndarray) -> Iterator[Item]:
    """The tools, or the copies of them, that may reach any of ``boxes``."""
    whole = around(boxes)
    for tool in tools:
        chosen = meeting(tool.boxes, whole)
        if not chosen.any():
            continue
        if len(boxes) > 1:
            reached = met(tool.boxes[chosen], boxes)
            if reached is not None:
                chosen[chosen] = reached
        if chosen.all():
            yield tool
        elif chosen.any() and isinstance(tool, Copies):
            yield tool.part(chosen)


def loose_of(step: Step, frames: np.ndarray) -> list[tuple[Step, np.ndarray]] | None:
    """The simple steps of a step with where their copies stand; None for parts that are cut or bent."""
    if not step.shape.steps:
        return [(step, frames)]
    if step.shape.kind == "bent" or any(inner.work != "add" for inner in step.shape.steps):
        return None
    found: list[tuple[Step, np.ndarray]] = []
    for inner in step.shape.steps:
        deeper = loose_of(inner, composed(frames, inner.frames))
        if deeper is None:
            return None
        found += deeper
    return found


def composed(outer: np.ndarray, inner: np.ndarray) -> np.ndarray:
    """Every frame of ``inner`` (m, 3, 4) in every frame of ``outer`` (n, 3, 4), (n m, 3, 4)."""
    turned = outer[:, None, :, :3] @ inner[None]
    turned[..., 3] += outer[:, None, :, 3]
    return np.asarray(turned.reshape(-1, 3, 4))


def kinds_of(tools: Sequence[Item]) -> set[str]:
    """What the tools are; nothing in common with other parts for a part built by itself."""
    return {tool.owner.shape.kind if isinstance(tool, Copies) else f"part {tool.key}" for tool in tools}


def merge(body: Body, more: Mapping[str, list[Item]]) -> None:
    """Put more items into a body."""
    for name, items in more.items():
        body.setdefault(name, []).extend(items)
