"""The hole a finger or a wrist goes through: of a band, of bent metal, of a ring of wire.

Lengths mm."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..bench.feature import Lines
from ..bench.roles import Role
from ..geometry.circle import circle_near
from ..measures.kinds import Floats, cross, dot, frame_of, unit
from ..measures.skin import Skin
from .piece import Piece

LEAST = 6.525  # mm, the radius of the smallest hole in wire that is a finger's: 41 mm round, ISO 8653
FINGER = 14.0  # mm, the radius from which a hole is a wrist's and no finger's
ROUND = 0.06  # a line no farther than this share of its radius from a circle goes round a finger
LIES = 0.7  # of an axis up out of the piece: what is round so lies flat
OPEN = 90.0  # degrees it may stand open
BINS = 72
FEW = 0.1  # of those, which may come nearer the finger than the rest
LEANS = 0.9  # of its axis along the finger: a coil leans as it winds on


@dataclass(frozen=True, eq=False)
class Bore:
    """A round hole: its middle and its axis (3,), its radius, the feature that goes round, and whether
    the text says how wide it is, or the metal alone does."""

    middle: Floats
    axis: Floats
    radius: float
    feature: int
    stated: bool = True

    @property
    def whose(self) -> str:
        """What goes through it."""
        return "finger" if self.radius < FINGER else "wrist"

    def off(self, spot: Floats) -> float:
        """How far a spot (3,) is from the circle the hole is round, mm."""
        go = spot - self.middle
        along = float(go @ self.axis)
        return float(np.hypot(along, np.linalg.norm(go - along * self.axis) - self.radius))


def bore_of(piece: Piece) -> Bore | None:
    """The hole of the piece's own band or bent ring, else that of a ring of wire; None where
    nothing goes round, or where it hangs by a loop or goes through an ear."""
    wear = piece.wear_measures
    if wear.bore is not None:
        frame = wear.bore.frames[0]
        return Bore(frame[:, 3], frame[:, 1], wear.inner, wear.bore.index)
    if wear.loops or any(piece.with_role(Role.EAR_POST, Role.EAR_WIRE, Role.PIN, Role.BACK_BAIL)):
        return None
    linked = _linked(piece) if len(piece.parts) > 1 else set()
    found = [
        bore for bore in _wires(piece)
        if bore.radius >= LEAST and (bore.stated or bore.feature not in linked)
    ]
    return min(found, key=lambda bore: bore.radius, default=None)


def _linked(piece: Piece) -> set[int]:
    """The features of castings linked through one another: no finger goes into such a ring."""
    measures = piece.casting_measures
    ends = [end for joint in measures.joints if joint.how == "linked" for end in (joint.one, joint.two)]
    return {owner for end in ends for owner in measures.bodies[end].shell.owners}


def _wires(piece: Piece) -> list[Bore]:
    found = []
    for feature in piece.features:
        path = feature.look("path") if feature.body is not None and "path" in feature.offers else None
        set_there = piece.is_for(feature.index, Role.SETTING, Role.FINDING, Role.BEADED_EDGE)
        for line in path.lines if isinstance(path, Lines) else ():
            circle = _circle(line.points)
            # What is no wire may follow a rim; rope round a finger stands upright.
            wire = piece.is_for(feature.index, Role.WIRE)
            if circle is None or not (wire or (not set_there and abs(circle[1][2]) < LIES)):
                continue
            written = _written(piece, *circle, float(np.linalg.norm(line.points - circle[0], axis=1).min()))
            if written is not None:
                found.append(Bore(*written, feature.index))
            else:
                mine = np.isin(piece.skin_measures.skin.owner, [feature.index])
                inner = _inner(piece.skin_measures.skin, mine, *circle)
                if inner is not None and not _shut(piece.skin_measures.skin, *circle, inner):
                    found.append(Bore(*circle, inner, feature.index, False))
    return found


def _shut(skin: Skin, middle: Floats, axis: Floats, radius: float) -> bool:
    """Whether metal closes a hole all over, as a cup or a plate does that wire is laid round."""
    turn = np.linspace(0.0, 2 * np.pi, 8, endpoint=False)[:, None]
    one, two = frame_of(axis)
    rounds = [share * radius * (np.cos(turn) * one + np.sin(turn) * two) for share in (0.2, 0.6)]
    spots = middle + np.concatenate(rounds)
    way = np.repeat([axis, -axis], len(spots), axis=0)
    met = skin.grid.cast(np.concatenate((spots, spots)), way, leaving=False)[1] >= 0
    return bool(met.reshape(2, -1).any(axis=0).all())


def _written(
    piece: Piece, middle: Floats, axis: Floats, radius: float
) -> tuple[Floats, Floats, float] | None:
    """Middle, axis and radius of the closest finger that a line of the text goes about, of those that go
    through a circle with this middle, axis and ``radius``: of interlaced rings it is no ring's middle."""
    found = []
    for feature in piece.features:
        about = feature.about or 0.0
        for frame in feature.frames if about else ():
            home, way = frame[:, 3], frame[:, 1]
            aside = middle - home - ((middle - home) @ way) * way
            if abs(axis @ way) > LEANS and np.linalg.norm(aside) < max(ROUND * about, radius - about / 2):
                found.append((home, way, about / 2))
    return min(found, key=lambda one: one[2], default=None)


def _circle(points: Floats) -> tuple[Floats, Floats] | None:
    """Middle and axis of the circle that points lie on, nearly all round; None for another line."""
    if len(points) < 8:
        return None
    middle, axis, radius = circle_near(points)
    one, two = frame_of(axis)
    x, y = (points - middle) @ one, (points - middle) @ two
    turn = np.sort(np.degrees(np.arctan2(y, x)))
    gap = float(np.diff(np.append(turn, turn[0] + 360.0)).max())
    if np.abs(np.hypot(x, y) - radius).max() > ROUND * radius or gap > OPEN:
        return None
    return middle, axis


def inner_radius(skin: Skin, middle: Floats, axis: Floats) -> float | None:
    """The radius inside all metal round an axis, but for a tenth of the way round it, as where beads keep a
    ring upright; None where none goes round."""
    least = _inmost(skin.corners.reshape(-1, 3) - middle, axis)
    return float(np.quantile(least, FEW)) if len(least) > BINS / 2 else None


def _inner(skin: Skin, mine: np.ndarray, middle: Floats, axis: Floats) -> float | None:
    """The radius inside metal that goes round an axis: the middle one of all directions."""
    least = _inmost(skin.corners[mine].reshape(-1, 3) - middle, axis)
    return float(np.median(least)) if len(least) > BINS / 2 else None


def _inmost(go: Floats, axis: Floats) -> Floats:
    """How near an axis spots (n, 3) about it come in each direction there are some."""
    one, two = frame_of(axis)
    x, y = go @ one, go @ two
    which = (np.degrees(np.arctan2(y, x)) // (360.0 / BINS)).astype(int) % BINS
    least = np.full(BINS, np.inf)
    np.minimum.at(least, which, np.hypot(x, y))
    return least[np.isfinite(least)]


def standing_in(skin: Skin, bore: Bore, depth: float) -> dict[int, tuple[float, Floats]]:
    """Every feature that stands more than ``depth`` into a bore, as far along its axis as it is
    wide: how deep, and where."""
    one, two = frame_of(bore.axis)
    go = skin.corners - bore.middle
    flat = np.stack((go @ one, go @ two), axis=2)
    low, high = flat.min(axis=1), flat.max(axis=1)
    near = np.hypot(*np.maximum(np.maximum(low, -high), 0.0).T) < bore.radius - depth
    near &= np.abs(go @ bore.axis).min(axis=1) < bore.radius
    face = np.flatnonzero(near)
    off, spot = _nearest_axis(skin.corners[face] - bore.middle, unit(bore.axis))
    found: dict[int, tuple[float, Floats]] = {}
    deep = bore.radius - off
    for k in np.flatnonzero(deep > depth).tolist():
        owner = max(int(skin.owner[face[k]]), 0)
        if owner not in found or deep[k] > found[owner][0]:
            found[owner] = (float(deep[k]), spot[k] + bore.middle)
    return found


def _nearest_axis(corners: Floats, axis: Floats) -> tuple[Floats, Floats]:
    """How near each triangle's edges come to an axis through zero, and where; 0 where it passes
    through the triangle."""
    best, spot = np.full(len(corners), np.inf), corners[:, 0].copy()
    flat = corners - (corners @ axis)[..., None] * axis
    around = np.zeros((len(corners), 3))
    for i in range(3):
        start, way = flat[:, i], flat[:, (i + 1) % 3] - flat[:, i]
        t = np.clip(-dot(start, way) / np.maximum(dot(way, way), 1e-300), 0.0, 1.0)
        off = np.linalg.norm(start + t[:, None] * way, axis=1)
        at = corners[:, i] + t[:, None] * (corners[:, (i + 1) % 3] - corners[:, i])
        spot[off < best] = at[off < best]
        best = np.minimum(best, off)
        around[:, i] = cross(start, flat[:, (i + 1) % 3]) @ axis
    through = (around > 0).all(axis=1) | (around < 0).all(axis=1)
    return np.where(through, 0.0, best), spot

