"""Flat metal bent: round a mandrel to a ring, or domed over a ball; the maps of space.

Both keep lengths on the middle of the metal's thickness, as the bench rule has it (strip length = pi x
(inside diameter + thickness)); the inner side is pressed together, the outer stretched."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..measures.kinds import unit
from . import frames as fr
from .line import Line

NUDGE = 1e-4  # mm, for the derivatives of a map


@dataclass(frozen=True)
class Bend:
    """``kind`` "round" (about the finger's axis, y) or "ball"; ``radius`` of the inner side, ``thick`` of the
    metal, mm; ``stretch`` multiplies lengths round the bend (1: none); ``cupped`` turns a dome's hollow side
    to the onlooker; ``closed`` joins the ends of a ring.

    The flat metal lies with its back on z = 0; a ring's back goes to the finger."""

    kind: str
    radius: float
    thick: float
    stretch: float = 1.0
    closed: bool = False
    cupped: bool = False

    @property
    def neutral(self) -> float:
        """Radius at which lengths are kept, mm."""
        return self.radius + self.thick / 2

    def apply(self, points: np.ndarray) -> np.ndarray:
        """Flat points (n, 3) bent."""
        return self._round(points) if self.kind == "round" else self._ball(points)

    def _round(self, points: np.ndarray) -> np.ndarray:
        angle = points[:, 0] * self.stretch / self.neutral
        out = self.radius + points[:, 2]
        # Both ends of a closed ring come to the very same spots.
        sine, cosine = np.round(np.sin(angle), 12), np.round(np.cos(angle), 12)
        return np.stack([out * sine, points[:, 1], out * cosine], axis=1)

    def _ball(self, points: np.ndarray) -> np.ndarray:
        flat = points[:, :2]
        away = np.linalg.norm(flat, axis=1)
        height = self.thick - points[:, 2] if self.cupped else points[:, 2]
        angle = away / self.neutral
        out = self.radius + height
        share = np.where(away > 1e-12, np.sin(angle) / np.maximum(away, 1e-12), 1 / self.neutral)
        rise = out * np.cos(angle) - self.radius
        rise = self.thick - rise if self.cupped else rise
        return np.column_stack([flat * (out * share)[:, None], rise])

    def swell(self, points: np.ndarray) -> np.ndarray:
        """Volume after over volume before, at each flat point (n,)."""
        columns = [self._moved(points, way) / (2 * NUDGE) for way in np.eye(3)]
        return np.asarray(np.linalg.det(np.stack(columns, axis=-1)))

    def _moved(self, points: np.ndarray, ways: np.ndarray) -> np.ndarray:
        """How far bent points come apart that lie two nudges apart on the flat."""
        return self.apply(points + NUDGE * ways) - self.apply(points - NUDGE * ways)

    def frames(self, flat: np.ndarray) -> np.ndarray:
        """Frames (n, 3, 4) carried along; they stay square, and mirrored ones mirrored."""
        if len(flat) == 0:
            return flat
        origin = self.apply(flat[:, :, 3])
        x, z = (self._moved(flat[:, :, 3], flat[:, :, k]) for k in (0, 2))
        bent = fr.from_axes(origin, x, z)
        bent[fr.mirrored(flat), :, 1] *= -1.0
        return bent

    def line(self, flat: Line) -> Line:
        """A line carried along."""
        points = self.apply(flat.points)
        return Line(points, unit(self.apply(flat.points + NUDGE * flat.outs) - points), flat.closed)
