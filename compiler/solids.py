"""From the plan to solids: the order of work carried out, each body by itself, joined at the end."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from . import frames as fr
from .bent import Bend, bent_solid
from .kernel import boxes_meet, join, remove, stamped
from .plan import Shape, Step
from .shapes.makers import make
from .shapes.mesh import SolidMesh

if TYPE_CHECKING:
    from manifold3d import Manifold

TRIANGLES_LIMIT = 8_000_000

# A body under way: for each alloy the solids that make it up, not yet joined.
Body = dict[str, list["Manifold"]]


@dataclass
class Memo:
    """What one long-lived process keeps between builds: meshes by shape, lifts by stamp."""

    meshes: dict[tuple[str, float], SolidMesh] = field(default_factory=dict)
    lifts: dict[int, np.ndarray] = field(default_factory=dict)
    owners: dict[int, str] = field(default_factory=dict)  # stamp -> digest of its step

    def mesh(self, shape: Shape, tolerance: float) -> SolidMesh:
        """The mesh of a simple shape."""
        key = (shape.digest(), tolerance)
        found = self.meshes.get(key)
        if found is None:
            found = self.meshes[key] = make(shape.kind, shape.figures, tolerance)
        return found

    def solid(self, step: Step, tolerance: float) -> Manifold:
        """One copy of a step's shape on its own ground, stamped for that step."""
        mesh = self.mesh(step.shape, tolerance)
        solid, mark = stamped(mesh)
        self.lifts[mark] = mesh.lift
        self.owners[mark] = step.digest
        return solid


class Workshop:
    """Carries out steps at one tolerance. ``metal`` is the piece's own alloy; ``progress`` is told
    each step's number."""

    def __init__(
        self,
        memo: Memo,
        tolerance: float,
        metal: str,
        progress: Callable[[int], None] | None = None,
    ) -> None:
        self.memo, self.tolerance, self.metal, self._progress = memo, tolerance, metal, progress

    def metals(self, steps: Sequence[Step]) -> dict[str, Manifold]:
        """The finished solid of each alloy, in order of first use; metals never overlap: what
        was there first keeps its place."""
        bodies = self._bodies(steps)
        names = list(dict.fromkeys(name for body in bodies.values() for name in body))
        if len(names) == 1:
            return {names[0]: join([s for body in bodies.values() for s in body[names[0]]])}
        return _apart(bodies, names)

    def _bodies(self, steps: Sequence[Step]) -> dict[int, Body]:
        bodies: dict[int, Body] = {}
        for number, step in enumerate(steps):
            if self._progress is not None:
                self._progress(number)
            if step.work == "add":
                _merge(bodies.setdefault(step.body, {}), self._added(step))
            else:
                self._cut(bodies, step)
        return bodies

    def _added(self, step: Step) -> Body:
        if not step.shape.steps:
            return {step.metal or self.metal: self._instances(step)}
        inside = self.metals(step.shape.steps)
        if step.shape.kind == "bent":
            bend = Bend(*step.shape.figures)
            inside = {
                name: bent_solid(solid, bend, self.memo, self.tolerance)
                for name, solid in inside.items()
            }
        return {
            name: [solid.transform(frame) for frame in step.frames]
            for name, solid in inside.items()
        }

    def _instances(self, step: Step) -> list[Manifold]:
        solid = self.memo.solid(step, self.tolerance)
        ground = fr.identity()[0]
        return [
            solid if np.array_equal(frame, ground) else solid.transform(frame)
            for frame in step.frames
        ]

    def _cut(self, bodies: dict[int, Body], step: Step) -> None:
        tools = self._instances(step)
        boxes = [tool.bounding_box() for tool in tools]
        targets = list(bodies) if step.into is None else [b for b in step.into if b in bodies]
        for number in targets:
            for name, solids in bodies[number].items():
                bodies[number][name] = [*_cut_each(solids, tools, boxes)]


def _cut_each(
    solids: list[Manifold], tools: list[Manifold], boxes: list[tuple[float, ...]]
) -> Iterator[Manifold]:
    """Each solid less the tools that reach it; solids nothing reaches are handed on as they are."""
    for solid in solids:
        box = solid.bounding_box()
        near = [tool for tool, other in zip(tools, boxes, strict=True) if boxes_meet(box, other)]
        yield remove(solid, near)


def _merge(body: Body, more: Body) -> None:
    for name, solids in more.items():
        body.setdefault(name, []).extend(solids)


def _apart(bodies: dict[int, Body], names: list[str]) -> dict[str, Manifold]:
    """Each alloy's solid where several meet: a later body yields to earlier ones of other alloys."""
    done: dict[str, list[Manifold]] = {name: [] for name in names}
    for body in bodies.values():
        for name, solids in body.items():
            others = [s for other in names if other != name for s in done[other]]
            boxes = [s.bounding_box() for s in others]
            done[name].extend(_cut_each(solids, others, boxes))
    return {name: join(solids) for name, solids in done.items()}


def triangles_of(steps: Sequence[Step], memo: Memo, tolerance: float) -> Iterator[tuple[Step, int]]:
    """For each step, how many triangles its copies bring to the bench (before any cut)."""
    for step in steps:
        if step.shape.steps:
            inner = sum(count for _, count in triangles_of(step.shape.steps, memo, tolerance))
            yield step, inner * len(step.frames)
        else:
            yield step, len(memo.mesh(step.shape, tolerance).triangles) * len(step.frames)


def owners_of(steps: Sequence[Step]) -> Iterator[tuple[str, int]]:
    """(digest, feature index) of every simple step, those inside parts included."""
    for step in steps:
        if step.shape.steps:
            yield from owners_of(step.shape.steps)
        else:
            yield step.digest, step.feature
