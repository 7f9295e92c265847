"""The seat cutter: a way in above the girdle, a bearing that follows the pavilion, a light hole."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from ...stdlib.cuts import CUTS
from ..geometry.outlines import inset, segments, trace, without_repeats
from .doubled import halved, skin
from .mesh import SolidMesh
from .revolve import revolve, ring_volume

# How finely the stone is cut whose seat it is, mm: the seat is the same at every tolerance.
FACETS = 0.002
# What is not known of a facet's distance to the true seat: as a share of how far it stands out to
# touch a turned one, and of its lift on one that follows facets (measured against finer seats).
PART = 0.1
CREASES = 0.2
# Heights of the bearing at which a shaped seat follows its stone.
LEVELS = 16
LEDGE = 0.02  # mm from a flat back down to its ledge
# Points along the narrow side of a straight-sided stone.
SIDE_STEPS = 48


def seat(
    setting: tuple[Any, ...], clearance: float, hole: float, rise: float, mouth: float | str | None,
    deep: float, tolerance: float,
) -> SolidMesh:
    """The cutter for a stone ``(cut, length, width[, narrow])`` in the stone's own frame.

    ``clearance`` mm all round the stone; ``hole`` light hole as a share of the width; ``rise`` and ``deep``
    mm above and below the girdle plane. Round stones get turned cutters. With a ``mouth``, mm above the
    girdle plane and below the table, a turned cutter goes straight up no farther than that, then follows the
    crown to the table: a groove that holds the girdle; RISING is as none."""
    name, long, wide, *rest = setting
    narrow = rest[0] if rest else None
    facets = CUTS[name].facets(long, wide, narrow, tolerance=FACETS)
    if CUTS[name].turned(long, wide):
        profile = turned_profile(facets.points, wide / 2, clearance, hole, rise, deep)
        if isinstance(mouth, float):
            over = _over_crown(facets.points, profile[-2], mouth, clearance, rise)
            profile = np.vstack([profile[:-2], over])
        count = segments(wide / 2 + clearance, tolerance)
        # Facets of the cutter must clear a true circle of the stone: grow to circumscribe it.
        return _circumscribed(profile, count, 1.0 / math.cos(math.pi / count))
    return _shaped(setting, facets, clearance, hole, rise, deep, tolerance)


def _over_crown(
    points: np.ndarray, rim: np.ndarray, mouth: float, clearance: float, rise: float
) -> np.ndarray:
    """The half section from ``mouth`` up: along the crown, then straight up from the table, (n, 2)."""
    crown = points * (1.0, 1.0, -1.0)  # upside down, as the bearing is followed
    crown = crown[crown[:, 2] <= _girdle(crown) + 1e-9]
    over = _envelope(np.hypot(crown[:, 0], crown[:, 1]), crown[:, 2], np.inf)
    along = [(min(r + clearance, rim[0]), max(clearance - z, mouth)) for r, z in over]
    return without_repeats(np.array([(rim[0], mouth), *along, (along[-1][0], rise), (0.0, rise)]), 1e-7)


def turned_profile(
    points: np.ndarray, radius: float, clearance: float, hole: float, rise: float, deep: float
) -> np.ndarray:
    """Half section of a turned seat, closed, (n, 2) as (radius, height); mm in the stone's frame."""
    girdle = _girdle(points)
    lower = points[points[:, 2] <= girdle + 1e-9]
    around = np.hypot(lower[:, 0], lower[:, 1]) + clearance
    outer = radius + clearance
    bearing = _envelope(around, lower[:, 2], outer)
    bore = hole * radius
    below = [(r, z) for r, z in bearing if r > bore + 1e-6]
    following = [(r, z) for r, z in bearing if r <= bore + 1e-6]
    profile = [(0.0, rise), (outer, rise), (outer, girdle)]
    profile += [p for p in below if p[1] < girdle - 1e-6]
    # A flat back: the ledge lies a hair below it, and ends in the hole.
    if bore > 0 and lower[:, 2].min() > girdle - 1e-6:
        profile += [(outer, girdle - LEDGE), (bore, girdle - LEDGE - 0.01)]
    elif following and below:  # the bearing meets the hole part of the way along a slope
        (r0, z0), (r1, z1) = below[-1], following[0]
        share = (r0 - bore) / max(r0 - r1, 1e-9)
        profile.append((bore, z0 + share * (z1 - z0)))
    lowest = min(z for _, z in profile)
    profile += [(profile[-1][0], -max(deep, -lowest + 0.01))]
    profile += [(0.0, profile[-1][1])]
    return without_repeats(np.array(profile)[::-1], 1e-7)


def _circumscribed(profile: np.ndarray, count: int, grow: float) -> SolidMesh:
    """The turned solid with its facets touching the true surface from outside."""
    mesh = revolve(profile, count, curved=False)
    points = mesh.points * (grow, grow, 1.0)
    after = np.roll(profile, -1, axis=0)
    chord = after - profile
    outward = chord[:, 1] / np.maximum(np.linalg.norm(chord, axis=1), 1e-300)
    beyond = (grow - 1.0) * (profile[:, 0] + after[:, 0]) / 2 * outward
    lift = mesh.lift - np.repeat(beyond, count)
    made = SolidMesh(points, mesh.triangles, mesh.face, lift).fitted(ring_volume(profile))
    # Over a whole facet that evens out; metal may keep a strip of it.
    return replace(made, doubt=PART * np.repeat(np.abs(beyond), count))


def _girdle(points: np.ndarray) -> float:
    """Height of the lower rim of the girdle: the lowest of the widest points."""
    around = np.hypot(points[:, 0], points[:, 1])
    return float(points[around > around.max() - 1e-6][:, 2].min())


def _envelope(around: np.ndarray, height: np.ndarray, outer: float) -> list[tuple[float, float]]:
    """Convex outside of (radius, height) pairs from the girdle down to the axis."""
    order = sorted({(round(float(z), 9), round(float(r), 9)) for r, z in zip(around, height, strict=True)})
    chain: list[tuple[float, float]] = []
    for z, r in reversed(order):  # from the girdle down
        point = (min(r, outer), z)
        while len(chain) >= 2 and _inside(chain[-2], chain[-1], point):
            chain.pop()
        if chain and abs(chain[-1][1] - z) < 1e-9:
            continue
        chain.append(point)
    return chain


def _inside(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> bool:
    """Whether ``b`` lies inside the straight from a down to c."""
    share = (a[1] - b[1]) / max(a[1] - c[1], 1e-12)
    return b[0] <= a[0] + share * (c[0] - a[0]) + 1e-9


def _shaped(
    setting: tuple[Any, ...], facets: Any, clearance: float, hole: float, rise: float, deep: float,
    tolerance: float,
) -> SolidMesh:
    """A cutter of rings: the girdle's outline, the pavilion measured ray by ray, the hole."""
    outline = inset(("stone", *setting), -clearance)
    long, wide = np.ptp(trace(outline), axis=0)
    step = float(min(long, wide)) / SIDE_STEPS
    # Curves are traced in steps of that length at least, so that only straight sides are divided.
    ring = _doubled(trace(outline, min(tolerance, step**2 / (4 * max(long, wide)))), 1.01 * step)
    angles = np.arctan2(ring[:, 1], ring[:, 0])
    reach = np.hypot(ring[:, 0], ring[:, 1])
    girdle = _girdle_of(facets)
    floor = float(facets.points[:, 2].min())
    levels = [(rise, reach), (girdle, reach)]
    bore = hole * (reach - clearance)
    bottom = floor - 0.01
    for height, measured in _bearing(facets, angles, girdle, floor):
        radius = np.maximum(np.minimum(measured + clearance, reach), bore)
        levels.append((height, radius))
        if (radius <= bore + 1e-9).all():
            bottom = height
            break
    else:  # a flat back: the ledge lies a hair below it, and ends in the hole
        levels.append((floor - (LEDGE if hole > 0 else max(deep, LEDGE)), levels[-1][1]))
        bottom = floor - LEDGE - 0.01
        if hole > 0:
            levels.append((bottom, np.maximum(bore, 1e-3)))
    if hole > 0:
        levels.append((-max(deep, -bottom + 0.02), np.maximum(bore, 1e-3)))
    return _stack(levels, angles)


def _bearing(facets: Any, angles: np.ndarray, girdle: float, floor: float) -> list[tuple[float, np.ndarray]]:
    """Heights going down from the girdle and how far the stone reaches there along each ray.

    A stone bulges between two heights; each ring is let out by as much, so that the straight wall between
    rings never enters the stone."""
    if girdle - floor < 1e-6:
        return []
    heights = girdle + (floor - girdle) * np.arange(2 * LEVELS + 1) / (2 * LEVELS)
    heights[-1] += 1e-6 * (girdle - floor)
    faces = [facets.points[list(face)] for face in facets.faces]
    spans = np.array([(face[:, 2].min(), face[:, 2].max()) for face in faces])
    ways = np.stack([np.cos(angles), np.sin(angles)], axis=1)
    reach = np.stack([_rays(faces, spans, ways, float(height)) for height in heights])
    rings = reach[::2].copy()
    bulge = np.maximum(reach[1::2] - (rings[:-1] + rings[1:]) / 2, 0.0)
    rings[:-1] += bulge
    rings[1:] = np.maximum(rings[1:], reach[2::2] + bulge)
    return [(float(height), ring) for height, ring in zip(heights[2::2], rings[1:], strict=True)]


def _doubled(ring: np.ndarray, step: float) -> np.ndarray:
    """The ring with points along its straight sides too, no further apart than ``step`` mm (the
    pavilion below a side is not straight from corner to corner), and one between every two."""
    length = np.linalg.norm(np.roll(ring, -1, axis=0) - ring, axis=1)
    counts = np.maximum(1, np.ceil(length / step)).astype(int)
    return halved(ring, [np.arange(1, count) / count for count in counts])


def _girdle_of(facets: Any) -> float:
    heights = [
        facets.points[list(face)][:, 2].min()
        for face, name in zip(facets.faces, facets.names, strict=True)
        if name == "girdle"
    ]
    return float(max(heights)) if heights else 0.0


def _rays(faces: Sequence[np.ndarray], spans: np.ndarray, ways: np.ndarray, height: float) -> np.ndarray:
    """How far a stone of ``faces`` (k, 3) each, their least and most heights in ``spans``, reaches
    from its axis at ``height`` along each of ``ways`` (n, 2), mm (convex stones; for a heart the
    widest of its two lobes' planes is never less than the stone)."""
    best = np.zeros(len(ways))
    there = (height >= spans[:, 0] - 1e-9) & (height <= spans[:, 1] + 1e-9)
    for number in np.flatnonzero(there).tolist():
        cut = _crossing(faces[number], height)
        if len(cut) < 2:
            continue
        best = np.maximum(best, _hits(cut, ways))
    return best


def _crossing(corner: np.ndarray, height: float) -> np.ndarray:
    """Where the edges of a face cross a height, (k, 2)."""
    after = np.roll(corner, -1, axis=0)
    z0, z1 = corner[:, 2] - height, after[:, 2] - height
    hit = (z0 <= 0) != (z1 <= 0)
    if not hit.any():
        return np.zeros((0, 2))
    share = (z0[hit] / (z0[hit] - z1[hit]))[:, None]
    return (corner[hit] + share * (after[hit] - corner[hit]))[:, :2]


def _hits(cut: np.ndarray, ways: np.ndarray) -> np.ndarray:
    """Distance along each way to the stretch between the first and last of ``cut``, else 0."""
    a, b = cut[0], cut[-1]
    edge = b - a
    cross = ways[:, 0] * edge[1] - ways[:, 1] * edge[0]
    safe = np.where(np.abs(cross) < 1e-12, np.inf, cross)
    distance = (a[0] * edge[1] - a[1] * edge[0]) / safe
    share = (a[0] * ways[:, 1] - a[1] * ways[:, 0]) / safe
    good = (distance > 0) & (share >= -1e-6) & (share <= 1 + 1e-6) & np.isfinite(safe)
    return np.where(good, distance, 0.0)


def _stack(levels: list[tuple[float, np.ndarray]], angles: np.ndarray) -> SolidMesh:
    """Rings of star-shaped outlines joined from the highest level down, capped at both ends. Every
    second point of a ring tells how the outline bends between its neighbours."""
    ways = np.stack([np.cos(angles), np.sin(angles)], axis=1)
    rings = np.stack([
        np.concatenate([radius[:, None] * ways, np.full((len(angles), 1), height)], axis=1)
        for height, radius in reversed(levels)
    ])  # fmt: skip
    fine = np.empty((2 * len(rings) - 1, *rings.shape[1:]))
    fine[::2], fine[1::2] = rings, (rings[:-1] + rings[1:]) / 2  # straight from ring to ring
    points, triangles, lift = skin(fine, False, True)
    count = len(angles) // 2
    here, last = np.arange(count), len(points) - count
    low, top = np.full(count, len(points)), np.full(count, len(points) + 1)
    after = np.roll(here, -1)
    faces = np.concatenate([
        triangles, np.stack([low, after, here], 1), np.stack([top, here + last, after + last], 1)
    ])  # fmt: skip
    hubs = np.array([[0.0, 0.0, height] for height in (rings[0, 0, 2], rings[-1, 0, 2])])
    lifts = np.concatenate([lift, np.zeros(2 * count)])
    # Creases of the pavilion run between the points of a ring.
    doubt = CREASES * np.abs(lifts)
    return SolidMesh(np.concatenate([points, hubs]), faces, np.arange(len(faces)), lifts, None, doubt)
