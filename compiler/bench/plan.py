"""The plan: bench steps as immutable, content-hashed data. No line numbers enter a hash."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np

# Raised by hand when a shape's mesh changes for the same figures, so that no stale memo is used.
PLAN_VERSION = "1"


# Kinds of shapes that others ask for.
ROD, LATHE, SEAT, PRISM, LAID = "rod", "lathe", "seat", "prism", "laid"

# What metal is of: its alloy ("" for the piece's own), and behind this mark the casting or bought
# part it belongs to, if it is not the piece's own casting.
OF = "@"
BY_HAND = "by hand"  # the ``metal`` of a cut that is made after casting


def labelled(alloy: str, casting: str) -> str:
    """An alloy and a casting as the ``metal`` of a step."""
    return f"{alloy}{OF}{casting}" if casting else alloy


def alloy_of(label: str) -> str:
    """The alloy in the ``metal`` of a step; "" for the piece's own."""
    return label.partition(OF)[0]


def casting_of(label: str) -> str:
    """The casting or bought part in the ``metal`` of a step; "" for the piece's own casting."""
    return label.partition(OF)[2]


LET_IN = ("let-in",)  # the figures of a part of metal that fills what was cut from another


@dataclass(frozen=True)
class Shape:
    """One solid of its own: ``kind`` names its maker, ``figures`` are plain hashable numbers,
    texts and tuples (mm, degrees). ``steps`` holds a part built by itself (kind "part")."""

    kind: str
    figures: tuple[Any, ...] = ()
    steps: tuple[Step, ...] = ()

    def digest(self) -> str:
        """Content hash, hex."""
        return self._hash

    @cached_property
    def _hash(self) -> str:
        return _digest(self.kind, repr(self.figures), *(step.digest for step in self.steps))


@dataclass(frozen=True, eq=False)
class Step:
    """One step at the bench: ``work`` is "add", "cut", or, in a part that is let in, "keep" (what lies in its
    shape is all that stays); ``frames`` (n, 3, 4) where copies stand.

    ``body`` numbers the body an add makes; ``into`` the bodies a cut works on (None: all metal there is).
    ``metal`` is what an add is of, see ``labelled``; of a cut made by hand after casting, BY_HAND.
    ``feature`` indexes the text's features and is not part of the hash. ``content`` leaves the numbers of
    bodies out too: those change with every line put in above.
    """

    work: str
    shape: Shape
    frames: np.ndarray
    body: int
    metal: str = ""
    into: tuple[int, ...] | None = None
    feature: int = -1

    @cached_property
    def content(self) -> str:
        """Content hash without the numbers of bodies, hex."""
        shape = self.shape
        inside = [step.content for step in shape.steps]
        figures = (shape.kind, repr(shape.figures)) if inside else (shape.digest(),)
        return _digest(self.work, *figures, *inside, self.frames.tobytes(), self.metal)

    @cached_property
    def digest(self) -> str:
        """Content hash, hex."""
        return _digest(self.content, self.body, self.into)


def is_by_hand(step: Step) -> bool:
    """Whether the work is done by hand on what was cast, and is not in the mould."""
    return step.metal == BY_HAND


def cast_steps(steps: Iterable[Step]) -> tuple[Step, ...]:
    """The steps without what is done by hand after casting."""
    kept = []
    for step in steps:
        if any(is_by_hand(one) for one in simple_steps(step.shape.steps)):
            shape = Shape(step.shape.kind, step.shape.figures, cast_steps(step.shape.steps))
            step = replace(step, shape=shape)
        if not is_by_hand(step):
            kept.append(step)
    return tuple(kept)


def relabelled(step: Step, casting: Callable[[str], str]) -> Step:
    """The same step with another casting for each that it makes metal of, parts included."""
    shape = step.shape
    if shape.steps:
        inner = tuple(relabelled(one, casting) for one in shape.steps)
        shape = Shape(shape.kind, shape.figures, inner)
        metal = step.metal
    elif step.work == "add":
        metal = labelled(alloy_of(step.metal), casting(casting_of(step.metal)))
    else:
        metal = step.metal
    return replace(step, shape=shape, metal=metal)


def labels_of(steps: Iterable[Step]) -> dict[str, None]:
    """What the metal of ``steps`` is of, parts included, in order of first use."""
    found: dict[str, None] = {}
    for step in steps:
        if step.shape.steps:
            found |= labels_of(step.shape.steps)
        elif step.work == "add":
            found[step.metal] = None
    return found


@dataclass(frozen=True)
class Plan:
    """All steps in order."""

    steps: tuple[Step, ...]

    def digest(self) -> str:
        """Content hash of the whole order of work."""
        return _digest(*(step.digest for step in self.steps))


def _digest(*parts: Any) -> str:
    return hashed(*parts, version=PLAN_VERSION)


def hashed(*parts: Any, version: str = "") -> str:
    """A content hash of texts, numbers and bytes, hex."""
    from hashlib import sha256  # slow to load, and no check wants it

    maker = sha256(version.encode())
    for part in parts:
        data = part if isinstance(part, bytes) else str(part).encode()
        maker.update(len(data).to_bytes(8, "little"))
        maker.update(data)
    return maker.hexdigest()


def simple_steps(steps: Sequence[Step]) -> Iterator[Step]:
    """Every step that has a mesh of its own, in the order of work."""
    for step in steps:
        if step.shape.steps:
            yield from simple_steps(step.shape.steps)
        else:
            yield step
