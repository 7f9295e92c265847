"""Rose cut: a flat back under 24 facets, 6 stars that meet in a point and 18 of the dentelle below them.

Its frame, outline and prongs are those of a cabochon. A dentelle facet hangs from the base of each star, its
point on the girdle; between two of them a pair meets in a ridge (Ure, A Dictionary of Arts, Manufactures,
and Mines, 1839, "Diamond")."""

from __future__ import annotations

import numpy as np

from . import cabochon
from .brilliant import girdle
from .parts import Proportions, Size
from .solid import Facets, Plane, from_planes, plane_through
from .tablet import middle

BASE = 0.6  # height of the stars' bases, share of the whole; from memory
FOLD = 12  # stations on the girdle: where pairs meet, and where a dentelle facet ends, by turns


class Rose(cabochon.Over):
    """The shape of a rose cut over a convex outline, its point over the middle of its area.

    Where its girdle is thinnest, between two stations, it is as high as the wall of its proportions."""

    def facets(self, size: Size, p: Proportions, tolerance: float) -> Facets:
        """The mesh: back, girdle, dentelle, stars."""
        rim, top = self.outline(size, p, tolerance), p.depth * size.width
        centre = np.round(middle(rim), 12)
        spots = _stations(rim, centre, size)
        tips = centre + p.star * (spots[::2] - centre)
        share, base = _bowed(rim, spots, tips), BASE * top
        level = (p.girdle * size.width + share * base) / (1 + share)
        near, far, (apex,), (inside,) = (
            [(float(x), float(y), z) for x, y in row]
            for row, z in ((spots, level), (tips, base), ([centre], top), ([centre], level / 4))
        )
        planes = [Plane("back", (0.0, 0.0, -1.0), 0.0), *girdle([*rim.tolist(), rim[0].tolist()])]
        for k, tip in enumerate(far):
            after = far[(k + 1) % len(far)]
            sides = [(tip, near[2 * k - 1], near[2 * k]), (tip, near[2 * k], near[2 * k + 1])]
            for corners in (*sides, (tip, near[2 * k + 1], after)):
                planes.append(plane_through("dentelle", *corners, inside))
            planes.append(plane_through("star", tip, after, apex, inside))
        return from_planes(planes, 2 * size.length + top)


def _stations(rim: np.ndarray, centre: np.ndarray, size: Size) -> np.ndarray:
    """(FOLD, 2): where rays from the centre, in equal steps of an ellipse from +x round, leave the rim."""
    turns = 2 * np.pi * np.arange(FOLD) / FOLD
    rays = np.column_stack([np.cos(turns) * size.length / size.width, np.sin(turns)])
    from_, along = rim - centre, np.roll(rim, -1, axis=0) - rim
    normal = np.column_stack([along[:, 1], -along[:, 0]])
    with np.errstate(divide="ignore"):
        reach = (normal * from_).sum(axis=1) / (rays @ normal.T)
    return np.asarray(centre + rays * np.where(reach > 0, reach, np.inf).min(axis=1)[:, None])


def _bowed(rim: np.ndarray, spots: np.ndarray, tips: np.ndarray) -> float:
    """How far the rim stands out over the chords between stations, at most, against their way to a tip."""
    along = np.roll(spots, -1, axis=0) - spots
    normal = np.column_stack([along[:, 1], -along[:, 0]])
    chord = (normal * spots).sum(axis=1)
    tip = tips[np.arange(1, FOLD + 1) // 2 % len(tips)]
    return float((((rim @ normal.T).max(axis=0) - chord) / (chord - (normal * tip).sum(axis=1))).max())


SHAPE = Rose(cabochon)
