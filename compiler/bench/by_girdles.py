"""What metal stands by the girdles of stones: walls, claws, and a face that falls away."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from ..geometry import frames as fr
from ..measures.kinds import unit
from ..measures.section import cuts
from .feature import Places
from .lumps import metal_of
from .plan import Step
from .sides import WAYS, heights_at

if TYPE_CHECKING:
    from ..measures.kinds import Floats

WALL = 2.0  # mm from a girdle, further out no wall is the stone's own
BELOW = 1.5  # mm below a girdle, where it is seen which way a claw leans
CLAW = 0.65  # of a stone's width, thicker metal at its girdle is no claw


def falls(
    steps: Sequence[Step], frames: np.ndarray, rounds: Sequence[np.ndarray], reach: float
) -> np.ndarray:
    """How far the face of the metal of ``steps`` lies below each frame (n, 3, 4), (n,) mm, at the
    lowest of the spots round it (k, 2) in its own x-y plane; 0 where it lies no lower. Metal more
    than ``reach`` mm above or below is another face."""
    metal = [corners for _, corners in metal_of(steps, {step.feature for step in steps})]
    corners = np.concatenate(metal) if metal else np.zeros((0, 3, 3))
    low, high = corners.min(axis=1), corners.max(axis=1)
    found = np.zeros(len(frames))
    for k, (frame, spots) in enumerate(zip(frames, rounds, strict=True)):
        wide = reach + float(np.linalg.norm(spots, axis=1).max())
        near = ((low < frame[:, 3] + wide) & (high > frame[:, 3] - wide)).all(axis=1)
        own = fr.apply(fr.inverse(frame), corners[near].reshape(-1, 3)).reshape(-1, 3, 3)
        for spot in spots:
            heights = heights_at(own, spot)
            within = heights[np.abs(heights) < reach]
            found[k] = max(found[k], -within.max() if len(within) else 0.0)
    return found


def wall_round(steps: Sequence[Step], frame: np.ndarray, girdle: np.ndarray) -> float:
    """How far a wall of the metal of ``steps`` stands out from a girdle (k, 2) in the plane of
    ``frame``, mm; 0 where none goes three quarters of the way round or more."""
    metal = [corners for _, corners in metal_of(steps, {step.feature for step in steps})]
    if not metal:
        return 0.0
    own = fr.apply(fr.inverse(frame), np.concatenate(metal).reshape(-1, 3)).reshape(-1, 3, 3)
    start, end, _, _ = cuts(np.ascontiguousarray(own), np.zeros(1))
    way, out = _polar(start, end)
    edge = np.interp(way, *_polar(girdle, np.roll(girdle, -1, axis=0)), period=2 * np.pi)
    near = (out > edge) & (out < edge + WALL)
    part = ((way[near] + np.pi) * WAYS / (2 * np.pi)).astype(int) % WAYS
    beyond = (out - edge)[near]
    walls = [float(beyond[part == k].max()) for k in np.unique(part)]
    return float(np.median(walls)) if 4 * len(walls) >= 3 * WAYS else 0.0


def claws_round(steps: Sequence[Step], frame: np.ndarray, girdle: np.ndarray) -> Places:
    """Where upright metal of ``steps`` passes a girdle (k, 2) in the plane of ``frame``, x pointing away from
    its middle and z along the metal, how ``wide`` it is along the girdle, and how far ``past`` that it
    reaches: slender, no farther from it than it is thick."""
    found, wide, past = [np.zeros((0, 3, 4))], [], []
    edge = _between(girdle, np.roll(girdle, -1, axis=0))
    for _, corners in metal_of(steps, {step.feature for step in steps}):
        own = fr.apply(fr.inverse(frame), corners.reshape(-1, 3)).reshape(-1, 3, 3)
        start, _, _, _ = cuts(np.ascontiguousarray(own), np.zeros(1))
        thick = float(np.ptp(start, axis=0).max()) if len(start) else np.inf
        if thick > CLAW * np.ptp(girdle, axis=0).min() or np.ptp(own[:, :, 2]) < 1.5 * thick:
            continue
        spot = (start.min(axis=0) + start.max(axis=0)) / 2
        if np.linalg.norm(girdle - spot, axis=1).min() < thick:
            way = fr.turned(2, float(np.degrees(np.arctan2(spot[1], spot[0]))))
            deep = max(float(own[:, :, 2].min()), -BELOW)
            foot, _, _, _ = cuts(np.ascontiguousarray(own), np.array([deep * 0.9]))
            out = unit(np.append(spot - (foot.min(axis=0) + foot.max(axis=0)) / 2, -deep * 0.9)[None])
            away = way[:, :, 0] - (way[:, :, 0] * out).sum() * out
            found.append(fr.compose(frame[None], fr.from_axes(np.append(spot, 0.0)[None], away, out)))
            wide.append(float(np.ptp(start @ way[0, :2, 1])))
            past.append(float(np.linalg.norm(start[:, None] - edge, axis=2).min(axis=1).max()))
    sizes = {"wide": np.round(wide, 6), "past": np.round(past, 6)}
    return Places(fr.rounded(np.concatenate(found)), sizes)


def _between(start: Floats, end: Floats) -> Floats:
    """Spots along chords (k, 2)."""
    return np.concatenate([start + share * (end - start) for share in np.arange(WAYS) / WAYS])


def _polar(start: Floats, end: Floats) -> tuple[Floats, Floats]:
    """Angles and distances from the middle of spots along chords (k, 2)."""
    spots = _between(start, end)
    return np.arctan2(spots[:, 1], spots[:, 0]), np.hypot(spots[:, 0], spots[:, 1])
