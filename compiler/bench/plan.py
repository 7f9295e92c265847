"""The plan: bench steps as immutable, content-hashed data. No line numbers enter a hash."""

from __future__ import annotations

import hashlib
from dataclasses import field
from functools import cached_property
from typing import Any

import numpy as np

from ...lang.lean import dataclass

# Raised by hand when a shape's mesh changes for the same figures, so that no stale memo is used.
PLAN_VERSION = "1"


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
    """One step at the bench: ``work`` is "add" or "cut"; ``frames`` (n, 3, 4) where copies stand.

    ``body`` numbers the body an add makes; ``into`` the bodies a cut works on (None: all metal
    there is). ``metal`` is the alloy of an add. ``feature`` indexes the text's features and is
    not part of the hash. ``content`` is the hash without the numbers of bodies: those change with
    every line put in above.
    """

    work: str
    shape: Shape
    frames: np.ndarray
    body: int
    metal: str = ""
    into: tuple[int, ...] | None = None
    feature: int = -1
    digest: str = field(default="", init=False)
    content: str = field(default="", init=False)

    def __post_init__(self) -> None:
        shape = self.shape
        inside = [step.content for step in shape.steps]
        figures = (shape.kind, repr(shape.figures)) if inside else (shape.digest(),)
        content = _digest(self.work, *figures, *inside, self.frames.tobytes(), self.metal)
        object.__setattr__(self, "content", content)
        object.__setattr__(self, "digest", _digest(content, self.body, self.into))


@dataclass(frozen=True)
class Plan:
    """All steps in order."""

    steps: tuple[Step, ...]

    def digest(self) -> str:
        """Content hash of the whole order of work."""
        return _digest(*(step.digest for step in self.steps))


def _digest(*parts: Any) -> str:
    maker = hashlib.sha256(PLAN_VERSION.encode())
    for part in parts:
        data = part if isinstance(part, bytes) else str(part).encode()
        maker.update(len(data).to_bytes(8, "little"))
        maker.update(data)
    return maker.hexdigest()
