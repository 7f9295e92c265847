"""Balls and beads: the kernel's even sphere, with its faceting error."""

from __future__ import annotations

import math

import numpy as np

from .mesh import SolidMesh


def ball(across: float, count: int) -> SolidMesh:
    """A ball ``across`` mm wide about the origin, ``count`` chords to its equator."""
    from manifold3d import Manifold

    radius = across / 2
    mesh = Manifold.sphere(radius, count).to_mesh64()
    points = np.array(mesh.vert_properties, dtype=float)[:, :3]
    triangles = np.array(mesh.tri_verts, dtype=np.int64)
    corner = points[triangles]
    edges = corner - np.roll(corner, -1, axis=1)
    # Quadratic surface over a triangle: mean height = sum of edge^2 x curvature / 24.
    lift = (edges**2).sum(axis=(1, 2)) / (24 * radius)
    exact = 4 / 3 * math.pi * radius**3
    return SolidMesh(points, triangles, np.arange(len(triangles)), lift, exact).fitted()
