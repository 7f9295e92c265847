"""The sharp edges of a skin that a wearer would feel."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from ...lang.lean import dataclass
from .folds import Folds
from .kinds import Flags, Floats, Ints, length, unit
from .labels import groups
from .skin import Skin


@dataclass(frozen=True)
class SharpEdge:
    """A run of sharp edge: length mm, least angle of metal (degrees), its place, features."""

    length: float
    angle: float
    at: tuple[float, float, float]
    owners: tuple[int, ...]


Region = Callable[[Floats, Floats], Flags]
"""Given points (k, 3) mm and outward unit directions (k, 3) there: does the edge count?"""


def sharp_edges(
    skin: Skin, region: Region, angle: float = 100.0, longer: float = 0.5
) -> list[SharpEdge]:
    """Convex edges with less than `angle` degrees of metal, in runs longer than `longer` mm.

    `region` picks the side that lies on skin: see `towards_back` and `in_bore`. Runs are edges
    that share a point; slivers are passed over. Exact for the mesh. Longest first.
    """
    edges = skin.folds
    keep = np.flatnonzero(edges.angle < angle)
    one, two, ends = edges.one[keep], edges.two[keep], edges.ends[keep]
    middle = 0.5 * (skin.points[ends[:, 0]] + skin.points[ends[:, 1]])
    facing = unit(skin.normals[one] + skin.normals[two])
    good = skin.sound[one] & skin.sound[two]
    good[good] = region(middle[good], facing[good])
    return _runs(skin, edges, keep[good], longer)


def _runs(skin: Skin, edges: Folds, keep: Ints, longer: float) -> list[SharpEdge]:
    """Join sharp edges end to end and report the long runs."""
    ends = edges.ends[keep]
    names, place = np.unique(ends, return_inverse=True)
    place = place.reshape(ends.shape).astype(np.int64)
    run = groups(len(names), place[:, 0], place[:, 1])[place[:, 0]] if len(keep) else keep
    sizes = length(skin.points[ends[:, 1]] - skin.points[ends[:, 0]])
    total = np.bincount(run, sizes) if len(keep) else np.zeros(0)
    found = []
    for number in np.flatnonzero(total > longer).tolist():
        part = np.flatnonzero(run == number)
        sharp = part[int(np.argmin(edges.angle[keep][part]))]
        x, y, z = skin.points[ends[sharp]].mean(axis=0).tolist()
        faces = np.r_[edges.one[keep[part]], edges.two[keep[part]]]
        owners = tuple(np.unique(skin.owner[faces]).tolist())
        sharpest = float(edges.angle[keep[sharp]])
        found.append(SharpEdge(float(total[number]), sharpest, (x, y, z), owners))
    return sorted(found, key=lambda edge: -edge.length)


def towards_back(back: Floats | None = None, steep: float = 30.0) -> Region:
    """Edges that look to the wearer: within 90 - `steep` degrees of `back` (default -z)."""
    way = np.array([0.0, 0.0, -1.0]) if back is None else np.asarray(back, dtype=float)
    least = float(np.sin(np.radians(steep)))
    return lambda at, out: np.asarray(out @ way / np.linalg.norm(way) >= least)


def in_bore(centre: Floats, axis: Floats, radius: float, near: float = 0.2) -> Region:
    """Edges at the inside of a band: within `near` mm of a bore of `radius` about an axis."""
    way = np.asarray(axis, dtype=float) / np.linalg.norm(axis)

    def counts(at: Floats, out: Floats) -> Flags:
        go = at - np.asarray(centre, dtype=float)
        go = go - np.outer(go @ way, way)
        return np.asarray(np.abs(length(go) - radius) <= near)

    return counts
