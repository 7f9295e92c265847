"""Shanks that taper from head to back, whole or open at the back (a cuff)."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from ..geometry.outlines import segments
from .doubled import skin, welded
from .mesh import SolidMesh
from .sections import Curve, Profile, counts, curves, moment, outer_curves, traced

FINEST = 1e-6  # mm, for exact volumes
FAR = 60.0  # mm, further than any head stands from its shank
WITHIN = 0.02  # mm inside the sides of a shank: faces that only touch leave slivers
# A pointed band runs straight so far from its point, and is level from here on, radians: the arms of a
# wishbone band leave the level at the sides of the finger.
STRAIGHT, LEVEL = math.radians(60.0), math.radians(100.0)


def risen(angle: float, rise: float, pointed: bool, bow: float = math.pi / 2) -> float:
    """How far along the finger what stands ``rise`` there at its head, in a point or in a bow, lies at an
    angle from it, radians; the bow is level from ``bow`` radians on."""
    off = abs((angle + math.pi) % (2 * math.pi) - math.pi)
    if not pointed:
        return rise * (1.0 + math.cos(math.pi * off / bow)) / 2 if off < bow else 0.0
    steep = 2 * rise / (STRAIGHT + LEVEL)
    if off < STRAIGHT:
        return rise - steep * off
    return steep * max(LEVEL - off, 0.0) ** 2 / (LEVEL - STRAIGHT) / 2


def steepness(angle: float, rise: float, pointed: bool, bow: float = math.pi / 2) -> float:
    """How fast that falls there, mm a radian; see ``risen``."""
    off = abs((angle + math.pi) % (2 * math.pi) - math.pi)
    if not pointed:
        return rise * math.pi / bow / 2 * math.sin(math.pi * off / bow) if off < bow else 0.0
    return 2 * rise / (STRAIGHT + LEVEL) * min(max(LEVEL - off, 0.0) / (LEVEL - STRAIGHT), 1.0)


def at_back(taper: Sequence[float] | None, wide: float, thick: float) -> tuple[float, float]:
    """Width and thickness of a shank at its back, mm, from those at its head and its ``taper``; of one of a
    single figure the width alone is another."""
    narrow, thin = (*(taper or (wide,)), thick)[:2]
    return float(narrow), float(thin)


@dataclass(frozen=True)
class Shank:
    """Inside diameter, width x thickness at the head and at the back, the section's profile,
    and how wide it stands open at the back (0: a whole ring; less: so wide at its head), all mm;
    ``start`` radians from the head it begins to change, and ``toward`` is the profile it comes to at
    the back. Its head stands ``rise`` mm along the finger from its back, less than none to its other
    side: in a bow that is level from ``bow`` radians on, or ``pointed``, its arms mitred there."""

    inside: float
    wide: float
    thick: float
    back_wide: float
    back_thick: float
    profile: Profile
    open: float = 0.0
    start: float = 0.0
    toward: str = ""
    rise: float = 0.0
    pointed: bool = False
    bow: float = math.pi / 2

    @classmethod
    def of(cls, figures: Sequence[Any]) -> Shank:
        """The shank that a shape's ``figures`` tell of."""
        inside, wide, thick, back_wide, back_thick, profile, *rest = figures
        return cls(inside, wide, thick, back_wide, back_thick, Profile(*profile), *rest)

    @property
    def figures(self) -> tuple[Any, ...]:
        """What a shape keeps of it."""
        section = self.profile
        profile: tuple[object, ...] = (section.name, section.comfort, section.soften, section.bevel)
        profile += (None, section.edge) if section.edge is not None else ()
        sizes = (self.inside, self.wide, self.thick, self.back_wide, self.back_thick, profile, self.open)
        changes = (self.start, self.toward) if self.start or self.toward or self.rise else ()
        return (*sizes, *changes, *((self.rise, self.pointed, self.bow) if self.rise else ()))

    def lift(self, angle: float) -> float:
        """How far along the finger its middle lies there: ``rise`` at the head, in a point or in a bow."""
        return risen(angle, self.rise, self.pointed, self.bow)

    def slant(self, angle: float) -> float:
        """How much wider its section is, straight along the finger, than the band square to its course."""
        steep = steepness(angle, self.rise, self.pointed, self.bow)
        return math.hypot(1.0, steep / (self.inside / 2 + self.at(angle)[1] / 2))

    def tightest(self) -> float:
        """The least radius to which its middle bends along the finger, at the crest of a bow, mm."""
        return 2 * (self.bow * (self.inside / 2 + self.thick) / math.pi) ** 2 / abs(self.rise)

    def share(self, angle: float) -> float:
        """How far it has changed from head to back, so many radians from the head: by the cosine,
        so that there is no crease where it begins or at the back."""
        off = abs((angle + math.pi) % (2 * math.pi) - math.pi)
        way = max(off - self.start, 0.0) / (math.pi - self.start)
        return (1.0 - math.cos(math.pi * way)) / 2.0

    def profile_at(self, angle: float) -> Profile:
        """The profile so many radians from the head."""
        if not self.toward:
            return self.profile
        return replace(self.profile, toward=(self.toward, self.share(angle)))

    def at(self, angle: float) -> tuple[float, float]:
        """Width and thickness so many radians from the head."""
        share = 1.0 - self.share(angle)
        return (
            self.back_wide + (self.wide - self.back_wide) * share,
            self.back_thick + (self.thick - self.back_thick) * share,
        )

    def reach(self) -> float:
        """Radians from the middle of its metal, head or back, to where the shank ends on either side."""
        return math.pi - math.asin(min(1.0, abs(self.open) / self.inside))

    @property
    def home(self) -> float:
        """Where the middle of its metal is: opposite its opening, radians from the head."""
        return math.pi if self.open < 0 else 0.0

    def beyond(self, angle: float) -> float:
        """How far beyond an end of the shank an angle is, radians; less than none within it."""
        return abs((angle - self.home + math.pi) % (2 * math.pi) - math.pi) - self.reach()

    def section(self, angle: float, numbers: list[int]) -> np.ndarray:
        """Points (n, 2) of the section at an angle."""
        wide, thick = self.at(angle)
        found = traced(curves(self.profile_at(angle), self.inside / 2, wide, thick), numbers)
        return found * (1.0, self.slant(angle)) + (0.0, self.lift(angle)) if self.rise else found


def shank(made: Shank, tolerance: float) -> SolidMesh:
    """The mesh of a shank about the y axis, its head at +z."""
    numbers = _numbers([_chain(made, angle) for angle in (0.0, math.pi)], tolerance)
    reach, whole = made.reach(), not made.open
    around = segments(made.inside / 2 + made.thick, tolerance, math.degrees(2 * reach))
    if made.rise:
        if not made.pointed:  # its edges bend more sharply than the ring
            tight = max(made.tightest() - made.wide / 2, 0.2)
            around = max(around, math.ceil(around * math.sqrt((made.inside / 2 + made.thick) / tight)))
        around += around % 2  # a facet's edge lies in the mitre
    angles = made.home + reach * np.linspace(-1.0, 1.0, 2 * around + 1)
    if whole:
        angles = angles[:-1]
    double = [2 * n for n in numbers]
    sections = np.stack([made.section(float(angle), double) for angle in angles])
    radius, turn = sections[:, :, 0], angles[:, None]
    fine = np.stack([radius * np.sin(turn), sections[:, :, 1], radius * np.cos(turn)], axis=-1)
    points, triangles, lift = skin(fine, whole, True)
    face = np.arange(len(triangles))
    if not whole:
        triangles, face, lift = _ends(sections[0, ::2], triangles, face, lift, len(points))
    return welded(points, triangles, face, lift, exact_volume(made)).fitted()


def round_shank(made: Shank, sunk: float, tolerance: float) -> SolidMesh:
    """All that is neither straight above the outside of a shank nor the ``sunk`` mm below it: what is
    filed off the foot of a head to fit it there. Its own facets lie in metal, so they know no lift."""
    numbers = _numbers([_over(made, angle) for angle in (0.0, math.pi)], tolerance)
    around = segments(made.inside / 2 + made.thick, tolerance)
    angles = 2 * math.pi * np.arange(around) / around
    fine = np.repeat(np.stack([_beyond(made, float(a), numbers, sunk) for a in angles]), 2, axis=1)
    turned = fine[:, :, :1] * np.stack([np.sin(angles), np.cos(angles)], axis=1)[:, None]
    points = np.stack([turned[:, :, 0], fine[:, :, 1], turned[:, :, 1]], axis=-1)
    points, triangles, lift = skin(np.repeat(points, 2, axis=0), True, True)
    return welded(points, triangles, np.arange(len(triangles)), 0 * lift)


def _beyond(made: Shank, angle: float, numbers: list[int], sunk: float) -> np.ndarray:
    """The section (n, 2) of what is left of all but the metal over a shank, at an angle."""
    chain = _over(made, angle)
    run = np.concatenate([traced(chain, numbers), chain[-1](np.ones(1))]) - (sunk, 0.0)
    run[:, 1] *= made.slant(angle) * (1 - 2 * WITHIN / made.at(angle)[0])
    run[:, 1] += made.lift(angle)
    near, low, high = made.inside / 4, run[0, 1], run[-1, 1]
    before, after = [(near, -FAR), (FAR, -FAR), (FAR, low)], [(FAR, high), (FAR, FAR), (near, FAR)]
    return np.concatenate([before, run, after])


def _over(made: Shank, angle: float) -> list[Curve]:
    return outer_curves(made.profile_at(angle), made.inside / 2, *made.at(angle))


def _numbers(chains: list[list[Curve]], tolerance: float) -> list[int]:
    """Chords that each curve needs wherever it is drawn."""
    return [max(pair) for pair in zip(*(counts(chain, tolerance) for chain in chains), strict=True)]


def _chain(made: Shank, angle: float) -> list[Curve]:
    return curves(made.profile_at(angle), made.inside / 2, *made.at(angle))


def _ends(
    section: np.ndarray, triangles: np.ndarray, face: np.ndarray, lift: np.ndarray, total: int
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    from manifold3d import triangulate

    cap = np.asarray(triangulate([section]), dtype=np.int64)
    start, end = cap[:, ::-1], cap + total - len(section)
    faces = len(lift)
    return (
        np.concatenate([triangles, start, end]),
        np.concatenate([face, np.full(len(cap), faces), np.full(len(cap), faces + 1)]),
        np.concatenate([lift, [0.0, 0.0]]),
    )


def exact_volume(made: Shank, steps: int = 48) -> float:
    """Volume, mm3: Pappus' theorem section by section, summed by Gauss-Legendre quadrature."""
    nodes, weights = np.polynomial.legendre.leggauss(steps)
    reach = made.reach()
    first, last = (math.pi - reach, math.pi) if made.open < 0 else (0.0, reach)
    numbers = [min(n, 4000) for n in counts(_chain(made, 0.0), FINEST)]
    # A taper is even about the head: one side, twice.
    total = 0.0
    bends = sorted((STRAIGHT, made.bow, LEVEL)) if made.rise else []
    stops = [first, *(stop for stop in bends if first < stop < last), last]
    for first, last in itertools.pairwise(stops):
        for node, weight in zip(nodes, weights, strict=True):
            angle = first + (last - first) * (node + 1) / 2
            total += weight * (last - first) * moment(made.section(angle, numbers))
    return float(total)
