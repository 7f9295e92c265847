"""Flat metal bent: round a mandrel to a ring, or domed over a ball. The maps, and their solids.

Both keep lengths on the middle of the metal's thickness, as the bench rule has it (strip length
= pi x (inside diameter + thickness)); the inner side is pressed together, the outer stretched.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np

from ...lang.lean import dataclass
from .. import frames as fr
from ..feature import Feature, Lines, Offer, Places
from ..lines import Line
from ..surfaces import Carried
from .kernel import Readout, join, marked, read
from .owners import mark_of

if TYPE_CHECKING:
    from manifold3d import Manifold

    from .parts import Origin

NUDGE = 1e-4  # mm, for the derivatives of a map


@dataclass(frozen=True)
class Bend:
    """``kind`` "round" (about the finger's axis, y) or "ball"; ``radius`` of the inner side,
    ``thick`` of the metal, mm; ``stretch`` multiplies lengths round the bend (1: none);
    ``cupped`` turns a dome's hollow side to the onlooker; ``closed`` joins the ends of a ring.

    The flat metal lies with its back on z = 0; a ring's back goes to the finger.
    """

    kind: str
    radius: float
    thick: float
    stretch: float = 1.0
    closed: bool = False
    cupped: bool = False

    @property
    def neutral(self) -> float:
        """Radius at which lengths are kept, mm."""
        return self.radius + self.thick / 2

    def apply(self, points: np.ndarray) -> np.ndarray:
        """Flat points (n, 3) bent."""
        return self._round(points) if self.kind == "round" else self._ball(points)

    def _round(self, points: np.ndarray) -> np.ndarray:
        angle = points[:, 0] * self.stretch / self.neutral
        out = self.radius + points[:, 2]
        # Both ends of a closed ring come to the very same spots.
        sine, cosine = np.round(np.sin(angle), 12), np.round(np.cos(angle), 12)
        return np.stack([out * sine, points[:, 1], out * cosine], axis=1)

    def _ball(self, points: np.ndarray) -> np.ndarray:
        flat = points[:, :2]
        away = np.linalg.norm(flat, axis=1)
        height = self.thick - points[:, 2] if self.cupped else points[:, 2]
        angle = away / self.neutral
        out = self.radius + height
        share = np.where(
            away > 1e-12, np.sin(angle) / np.maximum(away, 1e-12), 1 / self.neutral
        )
        rise = out * np.cos(angle) - self.radius
        rise = self.thick - rise if self.cupped else rise
        return np.column_stack([flat * (out * share)[:, None], rise])

    def swell(self, points: np.ndarray) -> np.ndarray:
        """Volume after over volume before, at each flat point (n,)."""
        columns = [
            (self.apply(points + step) - self.apply(points - step)) / (2 * NUDGE)
            for step in NUDGE * np.eye(3)
        ]
        return np.asarray(np.linalg.det(np.stack(columns, axis=-1)))

    def frames(self, flat: np.ndarray) -> np.ndarray:
        """Frames (n, 3, 4) carried along; they stay square, and mirrored ones mirrored."""
        if len(flat) == 0:
            return flat
        origin = self.apply(flat[:, :, 3])
        x, z = (
            (
                self.apply(flat[:, :, 3] + NUDGE * flat[:, :, k])
                - self.apply(flat[:, :, 3] - NUDGE * flat[:, :, k])
            )
            for k in (0, 2)
        )
        bent = fr.from_axes(origin, x, z)
        mirrored = np.linalg.det(flat[:, :, :3]) < 0
        bent[mirrored, :, 1] *= -1.0
        return bent

    def line(self, flat: Line) -> Line:
        """A line carried along."""
        points = self.apply(flat.points)
        outs = self.apply(flat.points + NUDGE * flat.outs) - points
        outs = outs / np.linalg.norm(outs, axis=1, keepdims=True)
        return Line(points, outs, flat.closed)

    def carried(self, value: object) -> object:
        """Places and lines carried along; other answers as they are."""
        if isinstance(value, Places):
            return Places(self.frames(value.frames), value.figures)
        if isinstance(value, Lines):
            return Lines(tuple(self.line(line) for line in value.lines))
        return value


def reshape(feature: Feature, bend: Bend, outer: np.ndarray) -> None:
    """Carry a feature along whose metal was bent: it stands and offers what comes of that, as
    seen from the ``outer`` frames. Stones stay as they are cut, and so does what they offer."""
    flat = feature.frames if feature.ground is None else feature.ground
    feature.frames = fr.compose(outer, bend.frames(feature.frames))
    if feature.stones:
        return

    def again(offer: Offer) -> Offer:
        def bent() -> object:
            value = offer()
            if isinstance(value, Places | Lines):
                value = value.seen_from(flat)
            return bend.carried(value)

        return bent

    feature.offers = {name: again(offer) for name, offer in feature.offers.items()}
    if feature.surface is not None:
        feature.surface = Carried(feature.surface, flat, bend.frames)
    feature.ground, feature.outline = outer, None


def bent_solid(
    solid: Manifold,
    bend: Bend,
    tolerance: float,
    key: str,
    origin: Callable[[int], Origin | None],
) -> tuple[Manifold, dict[int, Origin]]:
    """``solid``, flat, bent: fine enough that its new curves keep to the tolerance.

    ``origin`` tells for a mark of the flat solid its step and lifts; the second value does so
    for the new marks, which are made of ``key`` (what the outcome will be, as a hash)."""
    outer = bend.radius + bend.thick
    step = 2 * math.acos(max(-1.0, 1 - tolerance / outer)) * bend.neutral
    parts = [solid]
    if bend.closed:
        parts = [
            part for part in solid.split_by_plane((1.0, 0.0, 0.0), 0.0) if not part.is_empty()
        ]
    origins: dict[int, Origin] = {}
    warped = []
    for number, part in enumerate(parts):
        fine = part.refine_to_length(max(step, 0.05))
        warped.append(_warped(read(fine), bend, f"{key} {number}", origin, origins))
    return join(warped), origins


def _warped(
    out: Readout,
    bend: Bend,
    key: str,
    origin: Callable[[int], Origin | None],
    origins: dict[int, Origin],
) -> Manifold:
    """Bend a solid's mesh, with what is known of its facets, marked anew."""
    lift = _lifts(out.points, out.triangles, bend)
    before = out.areas()
    points = bend.apply(out.points)
    after = _areas(points, out.triangles)
    starts = np.flatnonzero(np.r_[True, out.mark[1:] != out.mark[:-1]])
    stops = np.r_[starts[1:], len(out.mark)]
    middles = out.points[out.triangles].mean(axis=1)
    share = before * bend.swell(middles) / np.maximum(after, 1e-12)
    patches = []
    for k, (a, b) in enumerate(zip(starts, stops, strict=True)):
        known = origin(int(out.mark[a]))
        mark = mark_of(f"{key} {out.mark[a]} {k}")
        if known is not None:
            own = known[1][out.face[a:b]] * np.where(out.cut[a:b], -1.0, 1.0)
            lift[a:b] += own * np.clip(share[a:b], 0.0, 10.0)
            origins[mark] = known[0], lift[a:b]
        patches.append((mark, out.triangles[a:b]))
    return marked(points, patches)


def _lifts(flat: np.ndarray, triangles: np.ndarray, bend: Bend) -> np.ndarray:
    """Mean distance of each bent facet to the bent surface (a quadratic patch), mm."""
    corners = [flat[triangles[:, k]] for k in range(3)]
    bent = [bend.apply(corner) for corner in corners]
    total = np.zeros_like(bent[0])
    for k in range(3):
        middle = bend.apply((corners[k] + corners[k - 1]) / 2)
        total += middle - (bent[k] + bent[k - 1]) / 2
    normal = np.cross(bent[1] - bent[0], bent[2] - bent[0])
    size = np.maximum(np.linalg.norm(normal, axis=1), 1e-300)
    return np.asarray((normal * total).sum(axis=1) / size / 3.0)


def _areas(points: np.ndarray, triangles: np.ndarray) -> np.ndarray:
    a, b, c = (points[triangles[:, k]] for k in range(3))
    return np.asarray(0.5 * np.linalg.norm(np.cross(b - a, c - a), axis=1))
