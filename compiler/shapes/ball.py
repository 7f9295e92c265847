"""Balls and beads: the kernel's even sphere, with its faceting error."""

from __future__ import annotations

import math

import numpy as np

from .mesh import SolidMesh


def ball(across: float, count: int) -> SolidMesh:
    """A ball ``across`` mm wide about the origin, ``count`` chords to its equator."""
    radius = across / 2
    points, triangles, lift = _sphere(radius, count)
    exact = 4 / 3 * math.pi * radius**3
    return SolidMesh(points, triangles, np.arange(len(triangles)), lift, exact).fitted()


def round_tipped(radius: float, long: float, count: int, exact: float) -> SolidMesh:
    """A rod on z = 0, ``long`` mm to the top of its half-ball end; ``exact`` volume in mm3."""
    points, triangles, lift = _sphere(radius, count)
    upper = (points[triangles][:, :, 2] > -1e-9).all(axis=1)
    used, cap = np.unique(triangles[upper], return_inverse=True)
    points, cap = points[used], cap.reshape(-1, 3)
    rim = np.flatnonzero(np.abs(points[:, 2]) < 1e-9)
    rim = rim[np.argsort(np.arctan2(points[rim, 1], points[rim, 0]))]
    points = points + np.array([0.0, 0.0, long - radius])
    foot = np.arange(count) + len(points)
    points = np.concatenate([points, points[rim] * (1.0, 1.0, 0.0)])
    after, foot_after = np.roll(rim, -1), np.roll(foot, -1)
    walls = np.stack([foot, foot_after, after, foot, after, rim], axis=1).reshape(-1, 3)
    floor = np.stack([np.full(count - 2, foot[0]), foot[2:], foot[1:-1]], axis=1)
    faces = np.concatenate([
        np.arange(len(cap)), len(cap) + np.repeat(np.arange(count), 2),
        np.full(count - 2, len(cap) + count),
    ])  # fmt: skip
    chord = 2 * radius * math.sin(math.pi / count)
    lifts = np.concatenate([lift[upper], np.full(count, chord**2 / (12 * radius)), [0.0]])
    return SolidMesh(points, np.concatenate([cap, walls, floor]), faces, lifts, exact).fitted()


def _sphere(radius: float, count: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Points, triangles and the lift of each triangle."""
    from manifold3d import Manifold

    mesh = Manifold.sphere(radius, count).to_mesh64()
    points = np.array(mesh.vert_properties, dtype=float)[:, :3]
    triangles = np.array(mesh.tri_verts, dtype=np.int64)
    corner = points[triangles]
    edges = corner - np.roll(corner, -1, axis=1)
    # Quadratic surface over a triangle: mean height = sum of edge^2 x curvature / 24.
    return points, triangles, (edges**2).sum(axis=(1, 2)) / (24 * radius)
