"""The two strands of a split shank, parted at the head or crossed. Mm, radians from the head."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ..geometry.line import Line
from ..geometry.outlines import fine_segments

# How far the strands run on into the one shank at the back, degrees; after what share of that it stands
# full, and after what they have sunk into it, so that they begin to run out there.
MEETING, FULL, RUN_OUT = 40.0, 0.3, 0.4
# How far they lie into each other where they run together.
WELD = 0.06
# How far they sink into the one shank once it stands full, away from the finger: surfaces that only touch
# leave slivers, and what stands proud of it a ledge on the finger.
SUNK = 0.0265
# How much of its thickness a strand is lifted to pass over the other, and for what share of the way.
LIFTED, BESIDE = 0.4, 0.6


@dataclass(frozen=True)
class Split:
    """Two strands whose middles lie at ``radius``, together ``wide`` at the back and ``thick``, that part
    ``start`` from the head, and stand ``gap`` apart there, or beside the place where they are ``crossed``."""

    radius: float
    wide: float
    thick: float
    gap: float
    start: float
    crossed: bool
    grooved: bool = False

    @property
    def lift(self) -> float:
        """How far the upper strand is lifted where it passes over the other."""
        return LIFTED * self.thick if self.crossed else 0.0

    def strands(self) -> tuple[Line, Line]:
        """The middles of both, closed ones beside each other or open ones that cross; the upper one first."""
        count = 2 * fine_segments(self.radius)
        angle = np.arange(count) * (2 * math.pi / count)
        if self.crossed:
            angle = np.linspace(-self.end, self.end, count + 1)
        return self._line(angle, 1.0), self._line(angle, -1.0)

    def _line(self, angle: np.ndarray, side: float) -> Line:
        off = np.abs((angle + math.pi) % (2 * math.pi) - math.pi)
        outs = np.stack([np.sin(angle), np.zeros(len(angle)), np.cos(angle)], axis=1)
        share = np.clip(off / self.start, 0.0, 1.0)
        if self.crossed:
            raised = self.lift * np.clip(1 - (share / BESIDE) ** 2, 0.0, 1.0) ** 2 if side > 0 else 0.0
            points = outs * (self._middle(off) + raised)[:, None]
            points[:, 1] = side * np.sign(angle) * self._away(share)
            return Line(points, outs, False)
        points = outs * self._middle(off)[:, None]
        points[:, 1] = side * self._away(share)
        return Line(points, outs, True)

    def _middle(self, off: np.ndarray) -> np.ndarray:
        """How far the middle of a strand lies from that of the finger, so many radians from the head."""
        share = np.clip((off - self.full) / (self.run_out - self.full), 0.0, 1.0)
        return self.radius + (0.0 if self.grooved else SUNK) * share**2 * (3 - 2 * share)

    @property
    def _beside(self) -> float:
        """How far the middle of a strand lies from that of the shank at the back."""
        return (self.wide - 2 * WELD) / 4

    def _away(self, share: np.ndarray) -> np.ndarray:
        """How far a strand's middle is from the shank's, a share of the way from the head to the parting."""
        if self.crossed:
            return self._bowed(share, self._bow)
        return self._beside + (self.gap / 2 + WELD) * (1 - share) ** 2 * (1 + 2 * share)

    @property
    def end(self) -> float:
        """How far the strands run, radians from the head."""
        return min(self.start + math.radians(MEETING), 0.98 * math.pi)

    @property
    def full(self) -> float:
        """From where the shank at the back stands full, radians from the head."""
        return self.start + FULL * (self.end - self.start)

    @property
    def run_out(self) -> float:
        """From where the strands run out in it, radians from the head."""
        return self.start + RUN_OUT * (self.end - self.start)

    @property
    def crotch(self) -> float:
        """Where the strands begin to run into each other, half their weld deep, radians from the head."""
        share = np.linspace(0.0, 1.0, 2001)
        apart = self._away(share) > self._beside + WELD / 2
        return self.start * float(share[apart].max())

    def _bowed(self, share: np.ndarray, bow: float) -> np.ndarray:
        return self._beside * np.sin(math.pi / 2 * share) + bow * _bulge(share)

    @cached_property
    def _bow(self) -> float:
        """How far they bow apart beside the crossing, so that they stand ``gap`` apart where it is most."""
        share, low, high = np.linspace(0.0, 1.0, 401), 0.0, self.gap + self.wide
        for _ in range(50):
            bow = (low + high) / 2
            far = self._bowed(share, bow).max()
            low, high = (bow, high) if far < self.wide / 4 + (self.gap + WELD) / 2 else (low, bow)
        return low

    def outside(self, which: int) -> Line:
        """The line on the outside of a strand, from where they part on the left to there on the right."""
        line = self.strands()[which]
        angle = np.arctan2(line.points[:, 0], line.points[:, 2])
        kept = np.abs(angle) <= self.start
        return Line(line.points[kept] + self.thick / 2 * line.outs[kept], line.outs[kept], False)

    def spots(self, angle: float) -> np.ndarray:
        """Frames (2, 3, 4) on the strands' outsides, radians right of the head; none where they are one."""
        near = [self._line(angle + np.array([-1e-3, 0.0, 1e-3]), side) for side in (1.0, -1.0)]
        if np.ptp([one.points[1, 1] for one in near]) <= self.wide / 2 + 2 * WELD:
            return np.zeros((0, 3, 4))
        open_ones = (Line(one.points + self.thick / 2 * one.outs, one.outs, False) for one in near)
        return np.concatenate([one.frames_at(np.array([one.length() / 2])) for one in open_ones])

    def beside_crossing(self) -> tuple[Line, Line]:
        """The lines on the outside of the lower strand, left and right of the upper one."""
        upper, lower = self.outside(0), self.outside(1)
        apart = np.linalg.norm(lower.points[:, None, :] - upper.points[None], axis=2).min(axis=1)
        middle = len(apart) // 2
        clear = np.flatnonzero(apart >= self.wide / 4 + WELD)
        left, right = clear[clear < middle], clear[clear > middle]
        last, first = int(left[-1]) + 1, int(right[0])
        return (
            Line(lower.points[:last], lower.outs[:last], False),
            Line(lower.points[first:], lower.outs[first:], False),
        )


def _bulge(share: np.ndarray) -> np.ndarray:
    """From none at the crossing to 1 and back, level where the strands run together."""
    return np.asarray(np.sin(math.pi * share) * (1 - share**2) / 0.8)
