"""From a shape's figures to its mesh, by kind. A new kind of solid is added here alone."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np

from ..geometry import outlines as ol
from ..geometry.line import thawed
from ..geometry.outlines import segments
from .ball import ball, round_tipped
from .mesh import SolidMesh
from .prism import prism
from .revolve import revolve, ring_volume
from .sections import EDGE, Profile, belly_of
from .shank import Shank, round_shank, shank
from .signet import Table, hollow, table
from .softened import softened
from .sweep import sweep

Maker = Callable[..., SolidMesh]


def _prism(outline: ol.Outline, low: float, high: float, tolerance: float) -> SolidMesh:
    if outline[0] == "drawing":
        return softened(outline, low, high, 0.0, False, "front", tolerance)
    return prism(outline, low, high, tolerance)


def _lathe(profile: tuple[Any, ...], radius: float, tolerance: float) -> SolidMesh:
    points = np.array(profile, dtype=float)
    return revolve(points, segments(radius, tolerance), curved=False).fitted(ring_volume(points))


def _rod(across: float, long: float, tip: str, tolerance: float) -> SolidMesh:
    radius = across / 2
    count = segments(radius, tolerance)
    exact = math.pi * radius**2 * long
    if tip != "flat":
        # A cylinder less the corner that a half ball leaves.
        exact -= math.pi * radius**3 / 3
        return round_tipped(radius, long, count, exact)
    profile = np.array([(0.0, 0.0), (radius, 0.0), (radius, long), (0.0, long)])
    return revolve(profile, count).fitted(exact)


def _laid(
    outline: ol.Outline, low: float, high: float, points: tuple[Any, ...], triangles: tuple[Any, ...],
    tolerance: float,
) -> SolidMesh:  # fmt: skip
    """A mark as it lies on a curved face, drawn where it stands."""
    faces = np.array(triangles)
    return SolidMesh(np.array(points), faces, np.zeros(len(faces), dtype=int), np.zeros(1))


def _ball(across: float, tolerance: float) -> SolidMesh:
    made = ball(across, segments(across / 2, tolerance))
    return replace(made, points=made.points + np.array([0.0, 0.0, across / 2]))


def _dome(across: float, high: float, wall: float, tolerance: float) -> SolidMesh:
    outer = _cap(across / 2, high, tolerance)
    exact = math.pi * high * (3 * (across / 2) ** 2 + high**2) / 6
    if wall <= 0:
        profile = np.concatenate([[(0.0, 0.0)], outer])
    else:
        radius = (across**2 / 4 + high**2) / (2 * high)
        floor = high - radius  # height of the ball's middle
        inner_radius = radius - wall
        reach = math.sqrt(max(inner_radius**2 - floor**2, 0.0))
        inner = _cap(reach, high - wall, tolerance)
        profile = np.concatenate([outer, inner[::-1]])
        exact -= math.pi * (high - wall) * (3 * reach**2 + (high - wall) ** 2) / 6
    return revolve(profile, segments(across / 2, tolerance)).fitted(exact)


def _cap(reach: float, high: float, tolerance: float) -> np.ndarray:
    """Half section of a cap of a ball from its rim (reach, 0) to its top (0, high)."""
    radius = (reach**2 + high**2) / (2 * high)
    half = math.atan2(reach, radius - high)
    steps = max(2, segments(radius, tolerance, math.degrees(half)))
    angles = half * (1 - np.arange(steps + 1) / steps)
    points = np.stack([radius * np.sin(angles), high - radius + radius * np.cos(angles)], axis=1)
    points[0] = (reach, 0.0)
    points[-1] = (0.0, high)
    return points


def _loop(wire: float, inside: float, tolerance: float) -> SolidMesh:
    minor, major = wire / 2, (inside + wire) / 2
    profile = ol.circle(minor, segments(minor, tolerance)) + np.array([major, 0.0])
    return revolve(profile, segments(major + minor, tolerance)).fitted(2 * math.pi**2 * major * minor**2)


def _band(
    inside: float, wide: float, thick: float, profile: str, comfort: bool, tolerance: float
) -> SolidMesh:
    section = band_section(inside, wide, thick, profile, comfort, tolerance)
    mesh = revolve(section, segments(inside / 2 + thick, tolerance))
    # The lathe's axis becomes the finger's.
    return SolidMesh(mesh.points[:, [0, 2, 1]] * (1.0, 1.0, -1.0), mesh.triangles, mesh.face, mesh.lift)


def band_section(
    inside: float, wide: float, thick: float, profile: str, comfort: bool, tolerance: float
) -> np.ndarray:
    """Section of a shank (n, 2) as (radius, along the finger), counter-clockwise.

    flat: square edges. d: outside an arc rising from half the thickness at the edges. court: the same outside
    and a little inside too. half-round: an arc from edge to edge. knife-edge: two slopes from half the
    thickness to a ridge. `comfort` rounds the inside of any."""
    inner, outer, half = inside / 2, inside / 2 + thick, wide / 2
    edge, belly = EDGE[profile], belly_of(Profile(profile, comfort), thick)
    low = np.array([(inner + belly, -half), (inner + belly, half)])
    if belly > 0:
        low = _arc(inner + belly, half, -belly, tolerance)
    side = inner + belly + edge * (thick - belly)
    if profile == "flat":
        high = np.array([(outer, half), (outer, -half)])
    elif profile == "knife-edge":
        high = np.array([(side, half), (outer, 0.0), (side, -half)])
    else:
        high = _arc(side, half, outer - side, tolerance)[::-1]
    section = np.concatenate([low, high])
    keep = np.linalg.norm(section - np.roll(section, 1, axis=0), axis=1) > 1e-9
    section = section[keep]
    return section if ol.signed_area(section) > 0 else section[::-1].copy()


def _arc(base: float, half: float, rise: float, tolerance: float) -> np.ndarray:
    """From (base, -half) to (base, half) by an arc whose middle lies ``rise`` further out."""
    if abs(rise) > half:  # taller than a half circle: an ellipse, as filed
        count = segments(max(abs(rise), half), tolerance, 180.0)
        angles = -math.pi / 2 + math.pi * np.arange(count + 1) / count
        points = np.stack([base + rise * np.cos(angles), half * np.sin(angles)], axis=1)
        points[0], points[-1] = (base, -half), (base, half)
        return points
    arc = ol.arc_points((base, -half), (base + rise, 0.0), (base, half), tolerance)
    return np.concatenate([[(base, -half)], arc])


def _wire(
    line: tuple[Any, ...], section: str, wide: float, high: float, widths: tuple[float, ...] = (1.0,),
    tips: bool | float = False, between: tuple[float, float] | None = None, wall: float = 0.0,
    soften: float = 0.0, *, tolerance: float,
) -> SolidMesh:
    drawn = wire_section(section, wide, high, tolerance, soften)
    return sweep(thawed(line), drawn, tolerance, widths, tips, between, wall)


EASED = 0.1  # of a square wire, the radius its edges are eased by


def wire_section(section: str, wide: float, high: float, tolerance: float, soften: float = 0.0) -> np.ndarray:
    """Section of drawn wire (2k, 2), counter-clockwise, its middle on the line: the points of its
    mesh, and one of the true section after each. ``soften`` mm rounds the edges of a square or flat one."""
    if section == "round":
        return ol.circle(wide / 2, 2 * segments(wide / 2, tolerance))
    x, y = wide / 2, high / 2
    if section in ("square", "flat"):
        if soften:
            return _eased(x, y, soften, tolerance)
        return _halved([(-x, -y), (x, -y), (x, y), (-x, y)])
    if section == "eased":
        return _eased(x, x, EASED * wide, tolerance)
    if section == "knife-edge":
        return _halved([(-x, -y), (x, -y), (0.0, y)])
    if section == "vee":  # straight sides up to its middle
        return _halved([(-x, -y), (x, -y), (x, 0.0), (0.0, y), (-x, 0.0)])
    rise = y if section == "d" else high  # a d has straight sides up to its middle
    count = 2 * segments(max(x, rise), tolerance, 180.0)
    angles = math.pi * np.arange(count + 1) / count
    arc = np.stack([x * np.cos(angles), rise * np.sin(angles) + y - rise], axis=1)
    arc[-1] = (-x, arc[0, 1])
    below = [(-x, -y), (x, -y)] if section == "d" else []
    return np.concatenate([arc, _halved([tuple(arc[-1]), *below, tuple(arc[0])])[1:-2]])


def _eased(x: float, y: float, radius: float, tolerance: float) -> np.ndarray:
    """A rectangle 2x by 2y whose edges are rounded, (2k, 2), its points as those of ``wire_section``."""
    chords = segments(radius, tolerance, 90.0)
    edge = ol.circle(radius, 8 * chords)[: 2 * chords + 1]
    right = np.concatenate([edge + np.array((x - radius, y - radius)), [(0.0, y)]])
    left = np.concatenate([edge[::-1] * (-1, 1) + (radius - x, y - radius), [(-x, 0.0)]])
    return np.concatenate([right, left, -right, -left])


def _halved(corners: list[tuple[float, ...]]) -> np.ndarray:
    """A polygon (k, 2) with the middle of each side after its first corner, (2k, 2)."""
    points = np.array(corners)
    middles = (points + np.roll(points, -1, axis=0)) / 2
    return np.stack([points, middles], axis=1).reshape(-1, 2)


def _seat(*figures: Any, tolerance: float) -> SolidMesh:
    from .seat import seat

    return seat(*figures, tolerance=tolerance)  # type: ignore[misc]


MAKERS: dict[str, Maker] = {
    "prism": _prism,
    "laid": _laid,
    "lathe": _lathe,
    "rod": _rod,
    "ball": _ball,
    "dome": _dome,
    "loop": _loop,
    "band": _band,
    "wire": _wire,
    "softened": softened,
    "shank": lambda *figures, tolerance: shank(Shank.of(figures), tolerance),
    "round-shank": lambda figures, sunk, tolerance: round_shank(Shank.of(figures), sunk, tolerance),
    "table": lambda *figures, tolerance: table(Table(*figures), tolerance),
    "table-hollow": lambda wall, roof, *figures, tolerance: hollow(Table(*figures), wall, roof, tolerance),
    "seat": _seat,
}


def make(kind: str, figures: tuple[Any, ...], tolerance: float) -> SolidMesh:
    """The mesh of one shape at a chord tolerance in mm."""
    return MAKERS[kind](*figures, tolerance=tolerance)
