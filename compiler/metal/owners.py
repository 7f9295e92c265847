"""Which step of work a triangle belongs to, by an id that the kernel carries along.

The kernel orders triangles by these ids, so they are hashes of contents: the same step has the same id in
every build, whatever was built before, and kept solids mix freely with new ones."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ..bench.plan import Shape, Step, simple_steps
from .memo import key_of

# Ids lie between these; below them the kernel counts its own.
LEAST_ID, MOST_ID = 1 << 26, (1 << 31) - 1


@dataclass(frozen=True)
class Owner:
    """A step as the kernel knows it: its content ``key``, ``id``, ``rank`` in the order of work,
    and the feature it is part of."""

    key: str
    id: int
    rank: int
    feature: int
    shape: Shape


class Owners:
    """The owners of all simple steps of a plan, those inside parts included."""

    def __init__(self, steps: Sequence[Step]) -> None:
        self._of: dict[tuple[str, int], Owner] = {}
        self.by_id: dict[int, Owner] = {}
        twins: dict[str, int] = {}
        for step in simple_steps(steps):
            if (step.content, step.feature) in self._of:
                continue  # the same again, in a copy of a part
            twin = twins[step.content] = twins.get(step.content, -1) + 1
            self._add(step, f"{step.content} {twin}")

    def _add(self, step: Step, key: str) -> None:
        number = mark_of(key)
        while number in self.by_id:  # two contents of one id: once in very many pieces
            key += "+"
            number = mark_of(key)
        owner = Owner(key, number, len(self.by_id), step.feature, step.shape)
        self.by_id[number] = self._of[step.content, step.feature] = owner

    def of(self, step: Step) -> Owner:
        """The owner of a simple step."""
        return self._of[step.content, step.feature]

    def work(self, steps: Sequence[Step]) -> str:
        """A key of the whole order of work, the same however its bodies are numbered."""
        numbers: dict[int, int] = {}
        rows: list[object] = []
        for step in steps:
            inside = self.work(step.shape.steps) if step.shape.steps else self.of(step).key
            body = numbers.setdefault(step.body, len(numbers)) if step.work == "add" else -1
            into = None if step.into is None else [numbers.get(b, -1) for b in step.into]
            rows += [step.work, step.content, inside, body, into]
        return key_of("work", *rows)


def mark_of(key: str) -> int:
    """An id made of a hash."""
    return LEAST_ID + int(key_of(key)[:12], 16) % (MOST_ID - LEAST_ID)
