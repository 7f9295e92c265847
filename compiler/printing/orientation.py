"""Which way up a piece is printed: reckoned on its triangles for many ways, the best cut into layers.

What counts is work at the bench: every square millimetre of a face that hangs out is a face with
stubs of support to be filed off, and more where it shows."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..measures.kinds import Flags, Floats, Ints, cross, frame_of, length, unit
from .fine import Work

TRIED = 92  # ways up spread evenly over the sphere, besides the six along the axes
ISLAND = 0.6  # mm2 of filing that a point which begins in mid air costs; house choice, no source
BARRED = 100.0  # mm2 of filing that a grain in mid air costs which no prop may hold; likewise
TALL = 0.25  # mm2 of filing that a millimetre of height is worth in time; likewise


@dataclass(frozen=True, eq=False)
class Way:
    """One way up: ``turn`` (3, 3) takes the piece into the build frame. ``overhang`` mm2 of faces that
    hang out, ``showing`` mm2 of those that show, ``islands`` points that begin in mid air, ``barred`` those
    of them that lie on fine work alone, ``tall`` mm."""

    turn: Floats
    overhang: float
    showing: float
    islands: int
    barred: int
    tall: float

    @property
    def plain(self) -> float:
        """What all that comes to in filing, in mm2 of a hidden face, could props stand everywhere."""
        return self.overhang + 3.0 * self.showing + ISLAND * self.islands + TALL * self.tall

    @property
    def filing(self) -> float:
        """The same with what no prop may hold."""
        return self.plain + BARRED * self.barred

    @property
    def tilt(self) -> float:
        """Degrees by which the face (z of the piece) leans away from straight up."""
        return float(np.degrees(np.arccos(np.clip(self.turn[2, 2], -1.0, 1.0))))


def ways_up(work: Work, shows: Floats, slope: float, on_plate: bool = False) -> list[Way]:
    """Ways to print a closed part, best first. ``shows`` (m,) 1 for faces that show, 0 for hidden ones;
    ``slope`` degrees from the level at which a face prints by itself. ``on_plate``: what lies lowest
    stands on the plate, and hangs from nothing."""
    points, triangles = work.points, work.triangles
    corners = points[triangles]
    out = cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    area, normal = length(out) / 2, unit(out)
    sides = np.concatenate((triangles[:, :2], triangles[:, 1:], triangles[:, ::2]))
    ends = np.unique(np.sort(sides, axis=1), axis=0)
    face = triangles if on_plate else None
    coarse = np.zeros(len(points), dtype=bool)
    coarse[triangles[~work.fine]] = True
    found = [_way(up, points, ends, area, normal, shows, slope, face, coarse) for up in _directions()]
    return sorted(found, key=lambda way: (round(way.filing, 6), *np.round(way.turn[2], 6).tolist()))


def _directions() -> Floats:
    """Directions up: the axes, then a spiral over the sphere (each of the same share of it)."""
    k = np.arange(TRIED)
    z = 1 - (2 * k + 1) / TRIED
    angle = k * np.pi * (3 - np.sqrt(5.0))
    ring = np.sqrt(1 - z**2)
    spiral = np.stack((ring * np.cos(angle), ring * np.sin(angle), z), axis=1)
    return np.concatenate((np.eye(3), -np.eye(3), spiral))


def _way(
    up: Floats, points: Floats, ends: Ints, area: Floats, normal: Floats, shows: Floats, slope: float,
    standing: Ints | None, coarse: Flags,
) -> Way:
    high = points @ up
    low = high.min()
    hangs = (normal @ up < -np.cos(np.radians(slope))) * area
    if standing is not None:
        hangs = hangs * ~(high[standing].max(axis=1) < low + 1e-3)
    one, two = ends.T
    lowest = np.ones(len(points), dtype=bool)
    lowest[one[high[one] >= high[two]]] = False
    lowest[two[high[two] >= high[one]]] = False
    across, along = frame_of(up)
    return Way(
        np.stack((across, along, up)), float(hangs.sum()), float((hangs * shows).sum()),
        int(lowest.sum()), int((lowest & ~coarse).sum()), float(high.max() - low),
    )  # fmt: skip
