"""Straight-sided bodies over one or more loops, their rims perhaps rounded or bevelled."""

from __future__ import annotations

import itertools
import math

import numpy as np

from ..geometry.outlines import LEAST_SEGMENTS, Outline, segments, trace_all
from .doubled import strips, welded
from .insets import inset_loop, inward
from .mesh import SolidMesh
from .prism import bends


def softened(
    outline: Outline, low: float, high: float, by: float, round_: bool, rims: str, tolerance: float
) -> SolidMesh:
    """The body over ``outline`` from ``low`` to ``high`` mm, its face's rim, its back's or both
    taken off by ``by`` mm: with a quarter round, or straight at 45 degrees."""
    loops = trace_all(outline, tolerance)
    profile = rim_profile(low, high, by, round_, rims, tolerance)
    points: list[np.ndarray] = []
    triangles: list[np.ndarray] = []
    face: list[np.ndarray] = []
    lift: list[np.ndarray] = []
    for loop in loops:
        layers = [_layer(outline, loop, inset) for inset, _ in profile]
        at = sum(len(p) for p in points)
        grid, sides, rise = _walls(layers, profile, bends(outline, loop, tolerance))
        points.append(grid)
        triangles.append(sides + at)
        face.append(np.repeat(np.arange(len(rise)), 2) + sum(len(x) for x in lift))
        lift.append(rise)
    mesh = _capped(loops, outline, profile, points, triangles, face, lift)
    exact = exact_volume(outline, low, high, by, round_, rims)
    return mesh.fitted(exact)


def rim_profile(
    low: float, high: float, by: float, round_: bool, rims: str, tolerance: float
) -> list[tuple[float, float]]:
    """(inset, height) of the layers from back to face, mm."""
    steps = segments(by, tolerance, 90.0) if round_ and by > 0 else 1
    turns = [math.pi / 2 * k / steps for k in range(steps + 1)]
    rise = [(by * (1 - math.cos(t)), by * math.sin(t)) for t in turns]
    if not round_ or by <= 0:
        rise = [(0.0, 0.0), (by, by)] if by > 0 else [(0.0, 0.0)]
    front = [(inset, high - by + z) for inset, z in rise]
    back = [(inset, low + by - z) for inset, z in rise][::-1]
    if rims == "front" or by <= 0:
        back = [(0.0, low)]
    if rims == "back" or by <= 0:
        front = [(0.0, high)]
    if rims == "both" and high - low - 2 * by < 1e-9 and by > 0:
        back = back[:-1]  # the two roundings meet
    return back + front


def _layer(outline: Outline, loop: np.ndarray, inset: float) -> np.ndarray:
    """The loop moved into the metal, point for point."""
    if inset == 0.0:
        return loop
    if outline[0] == "rectangle":
        return _inset_rectangle(outline, loop, inset)
    moved = inset_loop(loop, inset)
    return loop + inset * inward(loop) if moved is None else moved


def _inset_rectangle(outline: Outline, loop: np.ndarray, inset: float) -> np.ndarray:
    _, wide, high, corner = outline
    half = np.array([wide / 2, high / 2])
    hub = np.sign(loop) * (half - corner)  # the middle of each point's own corner
    kept = max(corner - inset, 0.0)
    moved = np.sign(loop) * (half - max(corner, inset))
    way = (loop - hub) / corner if corner > 0 else np.zeros_like(loop)
    return np.asarray(moved + kept * way)


def _walls(
    layers: list[np.ndarray], profile: list[tuple[float, float]], bend: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    count = len(bend)
    heights = np.repeat([z for _, z in profile], count)
    grid = np.column_stack([np.concatenate(layers), heights])
    triangles = strips(len(layers), count, False, True).reshape(-1, 3)
    pairs = enumerate(itertools.pairwise(layers))
    rise = [_wall_lift(here, there, profile, k, bend) for k, (here, there) in pairs]
    return grid, triangles, np.concatenate(rise)


def _wall_lift(
    here: np.ndarray, there: np.ndarray, profile: list[tuple[float, float]], k: int, bend: np.ndarray
) -> np.ndarray:
    """Sagitta of the outline and of the rim's round, mean over each facet, mm."""
    (inset0, z0), (inset1, z1) = profile[k], profile[k + 1]
    slope = math.hypot(inset1 - inset0, z1 - z0)
    upright = (z1 - z0) / slope
    chord2 = ((np.roll(here, -1, 0) - here) ** 2).sum(1) + ((np.roll(there, -1, 0) - there) ** 2).sum(1)
    own = 1.0 - bend * (inset0 + inset1) / 2
    around = chord2 / 2 * np.where(own > 0.05, bend / np.maximum(own, 0.05), 0.0) / 12.0 * upright
    neighbours = [
        math.hypot(profile[m + 1][0] - profile[m][0], profile[m + 1][1] - profile[m][1])
        for m in (k - 1, k + 1)
        if 0 <= m < len(profile) - 1
    ]
    alike = any(abs(n - slope) < 0.01 * slope for n in neighbours) and inset0 != inset1
    turn = math.pi / 2 / max(1, round(math.pi / 2 / _step_turn(profile, k))) if alike else 0.0
    return np.asarray(around + slope * turn / 12.0)


def _step_turn(profile: list[tuple[float, float]], k: int) -> float:
    """The angle between one rim facet and the next, radians."""
    ways = [
        math.atan2(profile[m + 1][1] - profile[m][1], profile[m + 1][0] - profile[m][0])
        for m in range(len(profile) - 1)
    ]
    near = [abs(ways[k] - ways[m]) for m in (k - 1, k + 1) if 0 <= m < len(ways)]
    near = [turn for turn in near if turn > 1e-9]
    return min(near) if near else 2 * math.pi / LEAST_SEGMENTS


def _capped(
    loops: list[np.ndarray], outline: Outline, profile: list[tuple[float, float]], points: list[np.ndarray],
    triangles: list[np.ndarray], face: list[np.ndarray], lift: list[np.ndarray],
) -> SolidMesh:
    from manifold3d import triangulate

    faces = sum(len(x) for x in lift)
    starts = np.cumsum([0, *(len(p) for p in points)])
    for end, layer in ((0, 0), (1, len(profile) - 1)):
        rings = [_layer(outline, loop, profile[layer][0]) for loop in loops]
        gaps = (np.linalg.norm(ring - np.roll(ring, 1, axis=0), axis=1) for ring in rings)
        kept = [np.flatnonzero(gap > 1e-9) for gap in gaps]  # not their predecessor again
        cap = np.asarray(triangulate([rings[n][keep] for n, keep in enumerate(kept)]), dtype=np.int64)
        known = np.concatenate([starts[n] + layer * len(loops[n]) + keep for n, keep in enumerate(kept)])
        cap = known[cap]
        triangles.append(cap if end else cap[:, ::-1])
        face.append(np.full(len(cap), faces + end))
    lift.append(np.zeros(2))
    grid, sides, faces_of, rise = map(np.concatenate, (points, triangles, face, lift))
    return welded(grid, sides, faces_of, rise)


def inset_area(outline: Outline, inset: np.ndarray) -> np.ndarray:
    """Area, mm2, of an outline moved in by each of ``inset`` mm (k,)."""
    if outline[0] == "rectangle":
        _, wide, high, corner = outline
        left = np.maximum(corner - inset, 0.0)
        return np.asarray((wide - 2 * inset) * (high - 2 * inset) - (4 - math.pi) * left**2)
    if outline[0] == "circle":
        return np.asarray(math.pi * (outline[1] / 2 - inset) ** 2)
    from manifold3d import CrossSection, FillRule, JoinType

    # Drawings and lines of one's own are what they are, point by point; the others are curves.
    loops = trace_all(outline, 1e-5 if outline[0] in ("ellipse", "stone") else None)
    whole = CrossSection(loops, FillRule.NonZero)
    return np.array([whole.offset(-by, JoinType.Miter, 10.0).area() for by in inset.tolist()])


def exact_volume(outline: Outline, low: float, high: float, by: float, round_: bool, rims: str) -> float:
    """Volume, mm3: the areas of its layers, summed over a rim by Gauss-Legendre quadrature."""
    nodes, weights = np.polynomial.legendre.leggauss(32)
    angle = (nodes + 1) * math.pi / 4
    if round_:
        area = inset_area(outline, by * (1 - np.cos(angle)))
        rim = float((weights * area * by * np.cos(angle)).sum() * math.pi / 4)
    else:
        area = inset_area(outline, by * (nodes + 1) / 2)
        rim = float((weights * area).sum() * by / 2)
    number = 2 if rims == "both" else 1
    straight = high - low - number * by
    return float(inset_area(outline, np.zeros(1))[0]) * straight + number * rim
