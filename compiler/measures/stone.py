"""A set stone as the measures see it: a convex body with a girdle plane and an axis."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from .kinds import Floats, cross, unit


@dataclass(frozen=True, eq=False)
class Stone:
    """A convex stone: points (m, 3) mm where it sits, origin (3,) in its girdle plane on its
    axis, axis (3,) from culet to table, right (3,) the direction of 0 degrees."""

    points: Floats
    origin: Floats
    axis: Floats
    right: Floats

    @cached_property
    def turn(self) -> Floats:
        """Rows right, forward, axis: takes world directions to the stone's own."""
        up = unit(np.asarray(self.axis, dtype=float))
        side = np.asarray(self.right, dtype=float)
        side = unit(side - (side @ up) * up)
        return np.stack((side, cross(up, side), up))

    def own(self, at: Floats) -> Floats:
        """World positions (..., 3) in the stone's own axes: across, along, up."""
        at = np.asarray(at)
        # One flat product: a pile of small ones is many times slower.
        flat = (at - self.origin).reshape(-1, 3) @ self.turn.T
        return np.asarray(flat.reshape(at.shape))

    def world(self, at: Floats) -> Floats:
        """Positions (..., 3) in the stone's own axes, back in the world."""
        return np.asarray(at @ self.turn + self.origin)

    def box(self, reach: float, low: float, high: float) -> tuple[Floats, Floats]:
        """The box in the world (low and high corner, (3,)) of what lies within ``reach`` mm of its axis both
        ways, from ``low`` to ``high`` mm over its girdle plane."""
        span = (-reach, reach), (-reach, reach), (low, high)
        corners = self.world(np.stack(np.meshgrid(*span), axis=-1).reshape(-1, 3))
        return corners.min(axis=0), corners.max(axis=0)

    @cached_property
    def _shape(self) -> Floats:
        return self.own(np.asarray(self.points, dtype=float))

    @cached_property
    def outline(self) -> Floats:
        """The girdle outline seen from above, (k, 2) mm counter-clockwise, convex."""
        return hull(self._shape[:, :2])

    @cached_property
    def girdle(self) -> tuple[float, float]:
        """Lower and upper edge of the girdle, mm along the axis from the girdle plane."""
        start = self.outline
        out = _outs(start)
        off = (out * start).sum(axis=1)[None] - self._shape[:, :2] @ out.T
        rim = off.min(axis=1) < 1e-3 * float(np.abs(start).max())
        heights = self._shape[rim, 2]
        return float(heights.min()), float(heights.max())

    @property
    def tip(self) -> Floats:
        """The lowest point (the culet) in the stone's own axes."""
        low = self._shape[:, 2].min()
        return np.asarray(self._shape[self._shape[:, 2] < low + 1e-6].mean(axis=0))

    def radius(self, angles: Floats) -> Floats:
        """Distance from the axis to the outline in directions given in degrees."""
        return rim(self.outline, angles)[0]


def rim(outline: Floats, angles: Floats) -> tuple[Floats, Floats]:
    """A convex outline (k, 2) in directions, degrees: how far off it is and which way it looks, degrees."""
    way = np.stack((np.cos(np.radians(angles)), np.sin(np.radians(angles))), axis=1)
    out = _outs(outline)
    slope = way @ out.T
    far = (out * outline).sum(axis=1)[None] / np.where(slope > 1e-12, slope, np.nan)
    looks = out[np.nanargmin(far, axis=1)]
    return np.asarray(np.nanmin(far, axis=1)), np.degrees(np.arctan2(looks[:, 1], looks[:, 0]))


def _outs(outline: Floats) -> Floats:
    side = np.roll(outline, -1, axis=0) - outline
    return unit(np.stack((side[:, 1], -side[:, 0]), axis=1))


def hull(points: Floats) -> Floats:
    """Convex hull of (n, 2) points, counter-clockwise (Andrew's monotone chain)."""
    order = [tuple(p) for p in np.unique(np.round(points, 9), axis=0).tolist()]
    both = []
    for line in (order, order[::-1]):
        chain: list[tuple[float, ...]] = []
        for p in line:
            while len(chain) > 1:
                (ax, ay), (bx, by) = chain[-2:]
                if (bx - ax) * (p[1] - ay) - (by - ay) * (p[0] - ax) > 1e-12:
                    break
                chain.pop()
            chain.append(p)
        both += chain[:-1]
    return np.array(both)
