"""What a long-lived process keeps between builds: meshes, solids and finished metal, by content.

Every kept thing is a pure function of its key, and a key is a hash of contents alone: no line numbers, no
body numbers, nothing of the edits before. So a build with a full memo gives the bytes of a build with an
empty one.

What no build asked for in the last rounds goes; so do the oldest things when all that is kept passes a number
of triangles."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeVar

from ..bench.plan import hashed

if TYPE_CHECKING:
    from ..bench.plan import Shape
    from ..shapes.mesh import SolidMesh

ROUNDS = 10  # builds a kept thing outlives without being asked for
TRIANGLES = 6_000_000  # kept at most, all together; a triangle is some 150 bytes in the kernel

Kept = TypeVar("Kept")


def key_of(*parts: Any) -> str:
    """A short content hash of texts, numbers and bytes."""
    return hashed(*parts)[:32]


@dataclass
class _Entry:
    value: Any
    triangles: int
    round: int


class Memo:
    """Kept by a session. ``made`` counts what had to be made since ``begin``."""

    def __init__(self, rounds: int = ROUNDS, triangles: int = TRIANGLES) -> None:
        self.rounds, self.triangles = rounds, triangles
        self.made = 0
        self._round = 0
        self._entries: dict[str, _Entry] = {}

    def begin(self) -> None:
        """A new build: let go of what was not asked for in the last rounds."""
        self._round += 1
        self.made = 0
        last = self._round - self.rounds
        self._entries = {k: e for k, e in self._entries.items() if e.round >= last}

    def trim(self) -> None:
        """After a build: let the longest unused go while too many triangles are kept."""
        total = self.size()
        for key, entry in sorted(self._entries.items(), key=lambda item: item[1].round):
            if total <= self.triangles:
                return
            total -= entry.triangles
            del self._entries[key]

    def size(self) -> int:
        """Triangles kept, all together."""
        return sum(entry.triangles for entry in self._entries.values())

    def kept(self, key: str) -> bool:
        """Whether a thing is at hand."""
        return key in self._entries

    def take(self, key: str, make: Callable[[], Kept], size: Callable[[Kept], int]) -> Kept:
        """The thing of this key, made now if it is not at hand; ``size`` gives its triangles."""
        entry = self._entries.get(key)
        if entry is None:
            self.made += 1
            value = make()
            entry = self._entries[key] = _Entry(value, size(value), self._round)
        entry.round = self._round
        return entry.value  # type: ignore[no-any-return]

    def mesh(self, shape: Shape, tolerance: float) -> SolidMesh:
        """The mesh of a simple shape."""
        from ..shapes.makers import make

        return self.take(
            f"mesh {shape.digest()} {tolerance}", lambda: make(shape.kind, shape.figures, tolerance),
            lambda mesh: len(mesh.triangles),
        )
