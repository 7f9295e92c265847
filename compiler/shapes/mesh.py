"""A closed mesh that knows how far its facets lie inside the true surface.

Curved surfaces are inscribed: their points lie on the true surface, their chords inside (or, in a bore,
outside the metal). ``lift`` is the mean distance from a facet out to the true surface, along its outward
normal, in mm. After any booleans the metal missed by faceting is then the sum over surviving facets of area x
lift (negative where a cutter left the facet): no face that gaps and fits are measured on is ever moved."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ..measures.triangles import areas, volume

# The lift of a facet is the leading term of its distance to the true surface; what is left is
# bounded by this share of it.
LIFT_ERROR = 0.05


@dataclass(frozen=True, eq=False)
class SolidMesh:
    """``points`` (n, 3) mm, ``triangles`` (m, 3) outward counter-clockwise, ``face`` (m,) ids
    of flat faces counted from 0, ``lift`` (faces,) mm, ``exact`` the true volume in mm3 if
    known. ``doubt`` (faces,) mm is how far the lift may be off; LIFT_ERROR of it if not given."""

    points: np.ndarray
    triangles: np.ndarray
    face: np.ndarray
    lift: np.ndarray
    exact: float | None = None
    doubt: np.ndarray | None = None

    def lifts(self) -> np.ndarray:
        """Lift and doubt of each face, mm, (faces, 2)."""
        doubt = LIFT_ERROR * np.abs(self.lift) if self.doubt is None else self.doubt
        return np.stack([self.lift, doubt], axis=1)

    def areas(self) -> np.ndarray:
        """Area of each triangle, mm2."""
        return areas(self.points[self.triangles])

    def volume(self) -> float:
        """Volume of the mesh, mm3."""
        return volume(self.points, self.triangles)

    def fitted(self, exact: float | None = None) -> SolidMesh:
        """The same with lifts scaled so that area x lift makes up the ``exact`` volume, if known."""
        made = self if exact is None else replace(self, exact=exact)
        if made.exact is None:
            return made
        total = float((made.areas() * made.lift[made.face]).sum())
        if abs(total) < 1e-12:
            return made
        return replace(made, lift=made.lift * ((made.exact - made.volume()) / total))


def smooth_turns(points: np.ndarray) -> np.ndarray:
    """Curvature (1/mm, signed, counter-clockwise positive) of each chord of a closed flat polyline.

    A chord belongs to a curve when a neighbour of about its own length meets it at less than a corner's turn:
    so runs of equal arc chords count, straight sides between them do not. Returns (n,); chord i runs from
    point i to i + 1."""
    chords = np.roll(points, -1, axis=0) - points
    length = np.linalg.norm(chords, axis=1)
    after = np.roll(chords, -1, axis=0)
    cross = chords[:, 0] * after[:, 1] - chords[:, 1] * after[:, 0]
    turn = np.arctan2(cross, (chords * after).sum(axis=1))
    after_length = np.roll(length, -1)
    alike = (np.abs(after_length - length) <= 0.25 * np.maximum(after_length, length)) & (
        np.abs(turn) < np.radians(20.0)
    )
    bend = np.where(alike, 2.0 * np.sin(turn / 2) / ((length + after_length) / 2), 0.0)
    before_bend, before_alike = np.roll(bend, 1), np.roll(alike, 1)
    total = alike.astype(float) + before_alike
    return np.where(total > 0, (bend + before_bend) / np.maximum(total, 1.0), 0.0)
