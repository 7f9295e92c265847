"""A chain that runs through a loop, so that what has the loop slides on it. Lengths mm."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

import numpy as np

from ...lang.bench import Call
from ..geometry import frames as fr
from ..geometry.circle import circle_near
from .feature import Feature, Lines
from .linked import link_wires
from .roles import Role

ROUND = 0.05  # of its radius, how far a strap may be off a circle
BENT = 0.2  # of its length, how far a strap is bent at least
SPOTS = 96  # looked at round a link


def straps(
    features: Iterable[Feature], lines: Mapping[int, Call] | Sequence[Call]
) -> Iterator[tuple[Feature, np.ndarray]]:
    """Straps bent to a loop, by their role among ``lines`` of the work, and where each stands (1, 3, 4);
    their left and right halves as one."""
    told: list[np.ndarray] = []
    for feature in features:
        wire = Role.STRAP in lines[feature.index].roles and {"path", "thick"} <= feature.offers.keys()
        path = feature.look("path") if wire else None
        for line in path.lines if isinstance(path, Lines) else ():
            middle, axis, radius = circle_near(line.points)
            off = np.abs(np.linalg.norm(line.points - middle, axis=1) - radius).max()
            sizes = np.linalg.svd(line.points - line.points.mean(axis=0), compute_uv=False)
            inside = 2 * radius - (thick := float(feature.look("thick").value))
            bent = len(line.points) > 3 and sizes[1] > BENT * sizes[0] and off < ROUND * radius and inside > 0
            if bent and not any(np.linalg.norm(middle - one) < ROUND for one in told):
                told.append(middle)
                at = fr.from_axes(middle[None], (line.points[:1] - middle) / radius, axis[None])
                yield replace(feature, opening=(inside, thick)), at


class Through:
    """A ``chain`` that runs through a ``loop`` that stands at ``own`` (3, 4), near its link ``at`` (3, 4)."""

    def __init__(
        self, chain: Feature, at: np.ndarray, loop: Feature, own: np.ndarray, down: np.ndarray
    ) -> None:
        self._inside, wire = loop.opening or (0.0, 0.0)
        wide = loop.look("wide") if "wide" in loop.offers else None
        half = (wire if wide is None else float(wide.value)) / 2
        self._high, self._side, self._thick = np.empty(0), np.empty(0), np.empty(0)
        for _, line, thick in link_wires([chain]):
            off = np.linalg.norm(line.points.mean(axis=0) - at[:, 3])
            if off > 2 * np.ptp(line.points, axis=0).max() + half:
                continue  # on the other side of a round
            spots = along(line.points) - at[:, 3]
            near = np.abs(spots @ own[:, 2]) < half + thick / 2
            self._high = np.append(self._high, -spots[near] @ down)
            self._side = np.append(self._side, spots[near] @ np.cross(own[:, 2], down))
            self._thick = np.append(self._thick, np.full(near.sum(), thick))

    def least(self, room: float) -> float:
        """The least inside of a loop it runs through with that room all round."""
        return float((2 * np.hypot(self._high, self._side) + self._thick).max(initial=0.0)) + 2 * room

    def below(self, room: float) -> float:
        """How far below the link the middle of the loop hangs on it."""
        reach = (self._inside - self._thick) / 2 - room
        return float((np.sqrt(reach**2 - self._side**2) - self._high).min())


def along(points: np.ndarray) -> np.ndarray:
    """Spots (n, 3) evenly along a closed line."""
    closed = np.concatenate([points, points[:1]])
    far = np.append(0.0, np.cumsum(np.linalg.norm(np.diff(closed, axis=0), axis=1)))
    at = np.linspace(0.0, far[-1], SPOTS, endpoint=False)
    return np.stack([np.interp(at, far, one) for one in closed.T], axis=1)
