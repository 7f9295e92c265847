"""The sharp edges of a skin that a wearer would feel."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from .folds import Folds
from .kinds import Flags, Floats, Ints, dot, length, place_of, unit
from .labels import groups
from .skin import Skin


@dataclass(frozen=True)
class SharpEdge:
    """A run of sharp edge: length mm, least angle of metal (degrees), its place, features."""

    length: float
    angle: float
    at: tuple[float, float, float]
    owners: tuple[int, ...]


SMOOTH = 20.0  # degrees; facets that turn less from one to the next stand for a curve
SEAM = 1.0  # degrees; what is sharper is a face that lies back on another where solids touch
FLAT = 0.05  # degrees; triangles that turn less are one facet
NEAR_BORE = 0.2  # mm
LEVEL = 0.9  # cosine to an edge of what lies across a facet from it

Region = Callable[[Floats, Floats], Flags]
"""Given points (k, 3) mm and outward unit directions (k, 3) of a face there: does its edge count?"""


def sharp_edges(
    skin: Skin, region: Region, angle: float = 100.0, longer: float = 0.5, beside: Flags | None = None
) -> list[SharpEdge]:
    """Convex edges with less than `angle` degrees of metal, in runs longer than `longer` mm.

    `region` picks the side that lies on skin: see `towards_back` and `in_bore`; edges of faces flagged by
    `beside` (m,) are left out, and seams, where two faces lie back on each other. Runs are edges that share a
    point; slivers are passed over. Where the mesh stands for curves the angle is that between the curves:
    each goes on beyond its last facet by half the turn to the facet before. Longest first."""
    edges = skin.folds
    keep = np.flatnonzero((edges.angle < angle + SMOOTH) & (edges.angle > SEAM))
    one, two = edges.one[keep], edges.two[keep]
    good = skin.sound[one] & skin.sound[two]
    if beside is not None:
        good &= ~(beside[one] | beside[two])
    ends = edges.ends[keep[good]]
    middle = 0.5 * (skin.points[ends[:, 0]] + skin.points[ends[:, 1]])
    # The sharper an edge, the less the way between its faces says of either.
    ways = (skin.normals[face[good]] for face in (one, two))
    good[good] = np.any([region(middle, way) for way in ways], axis=0)
    keep = keep[good]
    run, total = _joined(skin, edges, keep)
    keep = keep[total[run] > longer]  # what is left out below only makes runs shorter
    metal = _between_curves(skin, keep)
    good = metal < angle
    return _runs(skin, edges, keep[good], metal[good], longer)


def _between_curves(skin: Skin, keep: Ints) -> Floats:
    """Degrees of metal at some edges between the curves that the faces on both sides stand for."""
    edges = skin.folds
    metal = edges.angle[keep].copy()
    if not len(keep):
        return metal
    sides = np.stack((edges.one, edges.two), axis=1)
    flat = np.flatnonzero(np.abs(edges.angle - 180.0) < FLAT)
    mine = np.zeros(len(skin.triangles), dtype=bool)
    mine[sides[keep]] = True
    mine[sides[flat[mine[sides[flat]].any(axis=1)]]] = True  # the other half of four corners
    around = _folds_of(sides, mine)
    return metal + sum(_half_turns(skin, keep, face, around) for face in sides[keep].T)


def _folds_of(sides: Ints, mine: Flags) -> Ints:
    """The edges (m, 3) of the faces that are `mine` (m,), -1 for none."""
    fold, side = np.nonzero(mine[sides])
    face = sides[fold, side]
    order = np.argsort(face, kind="stable")
    starts = np.r_[0, np.cumsum(np.bincount(face, minlength=len(mine)))]
    place = np.arange(len(face)) - starts[face[order]]
    around = np.full((len(mine), 3), -1, dtype=np.int64)
    around[face[order], place] = fold[order]
    return around


def _half_turns(skin: Skin, keep: Ints, face: Ints, around: Ints) -> Floats:
    """Half the turn, degrees, from the facet on one side of some edges to the one before it,
    across from each edge; 0 where the surface is flat there, or ends in another edge."""
    edges = skin.folds
    own = around[face]
    own = np.where(own == keep[:, None], -1, own)
    level = (own >= 0) & (np.abs(edges.angle[own] - 180.0) < FLAT)
    other = np.where(level, edges.one[own] + edges.two[own] - face[:, None], 0)
    more = np.where(level[:, :, None], around[other], -1)
    more = np.where(more == own[:, :, None], -1, more).reshape(len(keep), -1)
    about = np.concatenate((own, np.where(more == keep[:, None], -1, more)), axis=1)
    way = skin.points[edges.ends[about, 1]] - skin.points[edges.ends[about, 0]]
    mine = skin.points[edges.ends[keep, 1]] - skin.points[edges.ends[keep, 0]]
    alike = np.where(about >= 0, np.abs(dot(unit(way), unit(mine)[:, None])), 0.0)
    # Of edges alike the one with the greatest number.
    best = np.where(alike == alike.max(axis=1)[:, None], about, -1).max(axis=1)
    turn = 180.0 - edges.angle[best]
    return np.where((alike.max(axis=1) > LEVEL) & (np.abs(turn) < SMOOTH), turn / 2, 0.0)


def _runs(skin: Skin, edges: Folds, keep: Ints, metal: Floats, longer: float) -> list[SharpEdge]:
    """Join sharp edges end to end and report the long runs."""
    ends = edges.ends[keep]
    run, total = _joined(skin, edges, keep)
    found = []
    for number in np.flatnonzero(total > longer).tolist():
        part = np.flatnonzero(run == number)
        sharp = part[int(np.argmin(metal[part]))]
        at = place_of(skin.points[ends[sharp]].mean(axis=0))
        faces = np.r_[edges.one[keep[part]], edges.two[keep[part]]]
        owners = tuple(np.unique(skin.owner[faces]).tolist())
        found.append(SharpEdge(float(total[number]), float(metal[sharp]), at, owners))
    return sorted(found, key=lambda edge: -edge.length)


def _joined(skin: Skin, edges: Folds, keep: Ints) -> tuple[Ints, Floats]:
    """The run that each of some edges belongs to, and the length of each run, mm."""
    if not len(keep):
        return keep, np.zeros(0)
    ends = edges.ends[keep]
    names, place = np.unique(ends, return_inverse=True)
    place = place.reshape(ends.shape).astype(np.int64)
    run = groups(len(names), place[:, 0], place[:, 1])[place[:, 0]]
    sizes = length(skin.points[ends[:, 1]] - skin.points[ends[:, 0]])
    return run, np.asarray(np.bincount(run, sizes), dtype=np.float64)


def towards_back(at: Floats, out: Floats) -> Flags:
    """Edges of faces that look to the wearer: within 60 degrees of the back, -z."""
    return np.asarray(-out[:, 2] >= np.sin(np.radians(30.0)))


def anywhere(at: Floats, out: Floats) -> Flags:
    """All edges."""
    return np.ones(len(at), dtype=bool)


def in_bore(centre: Floats, axis: Floats, radius: float) -> Region:
    """Edges at the inside of a band: within `NEAR_BORE` mm of a bore of `radius` about an axis."""
    way = np.asarray(axis, dtype=float) / np.linalg.norm(axis)

    def counts(at: Floats, out: Floats) -> Flags:
        go = at - np.asarray(centre, dtype=float)
        go = go - np.outer(go @ way, way)
        return np.asarray(np.abs(length(go) - radius) <= NEAR_BORE)

    return counts
