"""The lines in which an outline is its own mirror image, and how far what lies in it repeats."""

from __future__ import annotations

from copy import copy

import numpy as np

from ..measures.kinds import Floats, flat_cross
from .inside import inside_loops
from .parallels import next_of

ALIKE = 0.004  # of its width, within which an outline lies on its image
ROUND = 0.01  # of its reach, by which the rim of a circle comes and goes
MOST = 12


class Mirrors:
    """The mirror lines of closed loops: ``middle`` (2,) where they meet, ``axes`` (k, 2), unit ways that
    follow one another an equal turn apart, and ``turns`` (2 k or 1, 2, 2), all that carry the loops onto
    themselves."""

    def __init__(self, loops: list[Floats]) -> None:
        rim, after = loops[0], next_of(loops[0])
        parts = flat_cross(rim, after)
        self.middle = np.asarray(((rim + after) * parts[:, None]).sum(axis=0) / (3 * parts.sum()))
        self._kept(self._axes(loops))

    def _kept(self, axes: Floats) -> None:
        self.axes = axes
        flips = [2 * np.outer(way, way) - np.eye(2) for way in self.axes]
        twice = [flip @ first for flip in flips for first in (np.eye(2), flips[0])]
        self.turns = np.array(twice or [np.eye(2)])

    def fewer(self) -> Mirrors | None:
        """Two of more lines, square to one another, or one alone; None of no more than that."""
        count = len(self.axes)
        if count < 3:
            return None
        less = copy(self)
        less._kept(self.axes[:: count // 2][: 2 - count % 2])
        return less

    def _axes(self, loops: list[Floats]) -> Floats:
        spots = np.concatenate(loops)
        rim = np.stack([loops[0], (loops[0] + next_of(loops[0])) / 2], axis=1)
        off = rim.reshape(-1, 2) - self.middle
        far = np.linalg.norm(off, axis=1)
        ways = np.array([[0.0, 1.0]])
        if np.ptp(far) > ROUND * far.max():  # a mirror line meets the rim where it is farthest off or nearest
            last, after = np.roll(far, 1), next_of(far)
            ways = np.concatenate([ways, [[1.0, 0.0]], off[(far - last) * (after - far) <= 0]])
        found: list[float] = []
        for turn in (np.arctan2(ways[:, 1], ways[:, 0]) % np.pi).tolist():
            if all(np.pi / 2 - abs(abs(turn - one) - np.pi / 2) > 0.02 for one in found):
                found += [turn] * self._same(loops, spots, turn)
        count = len(found)
        even = np.pi / count if count else 0.0
        steps = (np.array(found) - found[0]) / even if count else np.zeros(0)
        if count > MOST or np.abs(steps - steps.round()).max(initial=0.0) > 0.05:
            count = 1
        turns = (found[0] if found else 0.0) + np.arange(count) * even
        return np.stack([np.cos(turns), np.sin(turns)], axis=1)

    def _same(self, loops: list[Floats], spots: Floats, turn: float) -> bool:
        way = np.array([np.cos(turn), np.sin(turn)])
        flipped = (spots - self.middle) @ (2 * np.outer(way, way) - np.eye(2)) + self.middle
        return bool(np.abs(inside_loops(loops, flipped)).max() < ALIKE * np.ptp(loops[0], axis=0).max())

    def images(self, spots: Floats) -> Floats:
        """Spots (n, 2) and all their images, (2 k, n, 2)."""
        return np.einsum("kij,nj->kni", self.turns, spots - self.middle) + self.middle

    def beside(self, spots: Floats) -> Floats:
        """How far spots (n, 2) lie from the lines that bound one of the parts that repeat, (1 or 2, n),
        positive in it: from one line to the next, counter-clockwise."""
        off = spots - self.middle
        sides = [off @ (-way[1], way[0]) for way in self.axes[:1]]
        sides += [off @ (way[1], -way[0]) for way in self.axes[1:2]]
        return np.array(sides).reshape(len(sides), len(spots))
