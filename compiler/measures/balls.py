"""The largest ball inside the metal that touches the skin at a given point.

A contact counts when it opposes: seen from the ball's middle it is within `facing` degrees of opposite to the
point. It is either on a face that opposes, or on an inner edge or corner (the root of a groove, the tip of a
drill hole) where the ball rests. Side walls do not count, so the ball is not squeezed to nothing at the
square edge of a plate.

The ball through p with inward normal d that touches q has radius |q-p|^2 / 2 d.(q-p); the least over all
contacts is found by shrinking from a start (exact for the mesh)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .closest import on_face
from .folds import rests
from .kinds import Flags, Floats, Ints, dot, least_by_row
from .skin import Skin

BATCH = 1_000
AT_REST = 0.9  # of its radius: a ball that what it touches comes nearer than this found no hold


@dataclass(eq=False)
class Balls:
    """Balls touching the skin at p (n, 3), middle along inward (n, 3), radius (n,) mm, the
    triangle touched (n,), -1 while nothing opposes within the radius."""

    p: Floats
    inward: Floats
    radius: Floats
    touch: Ints

    def some(self, keep: Ints | Flags) -> Balls:
        """Only some of the balls (a copy)."""
        return Balls(self.p[keep], self.inward[keep], self.radius[keep], self.touch[keep])

    @property
    def middle(self) -> Floats:
        """Middles of the balls, (n, 3) mm."""
        return self.p + self.radius[:, None] * self.inward


def shrink(skin: Skin, balls: Balls, facing: float, aside: float | None = None) -> Balls:
    """Shrink the balls until no opposing contact reaches into them; changes and returns them.

    `aside` is how far (degrees, as seen from p) a contact may lie from straight in; facing/2 unless a search
    wants to see further round."""
    least = float(np.cos(np.radians((facing / 2 if aside is None else aside) + 0.5)))
    for some in np.array_split(np.arange(len(balls.p)), 1 + len(balls.p) // BATCH):
        part = balls.some(some)
        row, face, opposed = _candidates(skin, part, facing)
        for _ in range(16):
            row, face, opposed, moved = _round(skin, part, row, face, opposed, least)
            if not moved:
                break
        _let_go(skin, part)
        balls.radius[some], balls.touch[some] = part.radius, part.touch
    return balls


def _let_go(skin: Skin, balls: Balls) -> None:
    """Touch nothing where what a ball touches still reaches far into it: beside a square corner an edge that
    runs straight in is followed down to nothing, and opposes nowhere."""
    held = np.flatnonzero(balls.touch >= 0)
    middle = balls.middle[held]
    off = on_face(middle, skin.corners[balls.touch[held]])[0] - middle
    inside = dot(off, off) < (AT_REST * balls.radius[held]) ** 2
    balls.touch[held[inside]] = -1


def _candidates(skin: Skin, balls: Balls, facing: float) -> tuple[Ints, Ints, Flags]:
    """Faces that may touch each ball: (ball, face, does the face itself oppose)."""
    middle, reach = balls.middle, balls.radius[:, None]
    row, face = skin.grid.near(middle - reach, middle + reach)
    square = dot(balls.inward[row], skin.normals[face])
    opposed = (square > np.cos(np.radians(facing)) + 1e-4) & skin.sound[face]
    keep = opposed | ((square > 0.02) & skin.hollows[face])
    row, face, opposed, square = row[keep], face[keep], opposed[keep], square[keep]
    deep = dot(skin.normals[face], skin.corners[face, 0] - balls.p[row])
    keep = (deep < balls.radius[row] * (1 + square)) & (deep > -1e-9)
    return row[keep], face[keep], opposed[keep]


def _round(
    skin: Skin, balls: Balls, row: Ints, face: Ints, opposed: Flags, least: float
) -> tuple[Ints, Ints, Flags, bool]:
    """One round of shrinking; hands on the faces that still reach into their ball.

    Contacts inside opposing faces first; rims, which need a look at their neighbours, only when those are
    done, for then few are left."""
    middle = balls.middle[row]
    spot, inner = on_face(middle, skin.corners[face])
    off = spot - middle
    keep = dot(off, off) < (balls.radius[row] * (1 - 1e-7)) ** 2
    row, face, opposed = row[keep], face[keep], opposed[keep]
    spot, flat = spot[keep], inner[keep] & opposed
    moved = _take(balls, row[flat], face[flat], _radius(balls, row[flat], spot[flat], least))
    if not moved:
        rim = ~inner[keep]
        size = _at_rim(skin, balls, row[rim], face[rim], spot[rim], least)
        moved = _take(balls, row[rim], face[rim], size)
    return row, face, opposed, moved


def _take(balls: Balls, row: Ints, face: Ints, size: Floats) -> bool:
    """Shrink each ball to the least size offered to it, if that is smaller."""
    rows, best = least_by_row(row, size)
    closer = size[best] < balls.radius[rows] * (1 - 1e-7)
    rows, best = rows[closer], best[closer]
    balls.radius[rows], balls.touch[rows] = size[best], face[best]
    return bool(len(rows))


def _at_rim(skin: Skin, balls: Balls, row: Ints, face: Ints, spot: Floats, least: float) -> Floats:
    """Radius of the ball resting on the rim of each face; inf where it cannot rest there."""
    size = _radius(balls, row, spot, least)
    maybe = np.flatnonzero(size < balls.radius[row])
    ball, face = row[maybe], face[maybe]
    middle = balls.p[ball] + size[maybe, None] * balls.inward[ball]
    rest, ok = rests(skin.points, skin.triangles, skin.folds, skin.fans, middle, face)
    size[:] = np.inf
    size[maybe[ok]] = _radius(balls, ball[ok], rest[ok], least)
    return size


def _radius(balls: Balls, row: Ints, spot: Floats, least: float) -> Floats:
    """Radius of each ball made to touch a spot; inf if the spot lies too far to the side."""
    go, inward = spot - balls.p[row], balls.inward[row]
    up, far = dot(inward, go), dot(go, go)
    ok = (up > 1e-12) & (up >= least * np.sqrt(far))
    return np.where(ok, far / np.where(ok, 2 * up, 1.0), np.inf)
