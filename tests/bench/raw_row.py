"""A row pendant written straight on the geometry kernel, to time posy against.

What a competent programmer would write: figures in a dataclass, segments from the chord
tolerance, one batch per step of work, in the order of the bench: bar, hollow back, bead line,
seats, prongs, loops. x runs right, y up, z out to the onlooker; the back lies on z = 0.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import acos, ceil, cos, pi, radians, sin, sqrt, tan

from manifold3d import CrossSection, Manifold, OpType

PAST = 0.5  # mm by which a tool goes past the face it cuts
OVERLAP = 0.05  # mm by which a cone and the cylinders beside it share their ends
LEAST = 20  # sides of the smallest circle


@dataclass(frozen=True)
class RowFigures:
    """Figures of the row pendant, in mm and degrees."""

    stones: int = 5
    across: float = 2.6
    pitch: float = 2.85
    side: float = 0.8  # metal beyond the first and last stone
    width: float = 4.9
    height: float = 2.4
    corner: float = 0.6
    wall: float = 0.9
    roof: float = 1.1
    sink: float = 0.35  # girdle's middle below the face
    girdle: float = 0.0175  # from its middle to its lower rim, a share of the stone's width
    bearing: float = 41.2305  # of the pavilion as the stone's facets have it
    light: float = 1.3
    wire: float = 0.9
    rise: float = 0.5  # face to the top of the prong's straight part
    bite: float = 0.1
    root: float = 0.5
    bead: float = 0.5
    bead_pitch: float = 0.39  # widest; beads share metal, so the line is one strip
    inset: float = 0.3  # rim to the middle of the bead line
    loop_inside: float = 2.0
    loop_wire: float = 1.0

    @property
    def length(self) -> float:
        """Length of the bar."""
        return (self.stones - 1) * self.pitch + self.across + 2 * self.side

    @property
    def centres(self) -> list[float]:
        """Places of the stones along x."""
        return [(k - (self.stones - 1) / 2) * self.pitch for k in range(self.stones)]


def segments(radius: float, tolerance: float) -> int:
    """Sides of a circle whose chords lie within `tolerance` of it: a multiple of four, no fewer
    than posy takes."""
    if tolerance >= radius:
        return LEAST
    return max(LEAST, 4 * ceil(pi / acos(1 - tolerance / radius) / 4))


def rounded(length: float, width: float, corner: float, tolerance: float) -> CrossSection:
    """Rectangle about the origin with round corners."""
    core = CrossSection.square((length - 2 * corner, width - 2 * corner), True)
    return core.offset(corner, circular_segments=segments(corner, tolerance))


def rim_spots(length: float, width: float, corner: float, pitch: float) -> list[list[float]]:
    """Evenly spaced places on a rounded rectangle, closed, no further apart than `pitch`."""
    a, b = length / 2 - corner, width / 2 - corner
    quarter = pi / 2 * corner
    runs = [2 * a, quarter, 2 * b, quarter] * 2
    total = sum(runs)
    count = ceil(total / pitch)
    return [_rim_spot(k * total / count, runs, a, b, corner) for k in range(count)]


def _rim_spot(s: float, runs: list[float], a: float, b: float, r: float) -> list[float]:
    starts = [(-a, -b - r), (a, -b), (a + r, -b), (a, b), (a, b + r), (-a, b), (-a - r, b)]
    starts.append((-a, -b))
    k = 0
    while k < 7 and s > runs[k]:
        s -= runs[k]
        k += 1
    x, y = starts[k]
    turn = pi / 2 * (k // 2)
    if k % 2 == 0:
        return [x + s * round(cos(turn)), y + s * round(sin(turn))]
    angle = turn - pi / 2 + s / r
    return [x + r * cos(angle), y + r * sin(angle)]


def seat(f: RowFigures, tolerance: float) -> Manifold:
    """Cutter of one seat, the girdle's middle at z = 0: cylinder, cone and light hole, grown so
    that its flats clear a round stone."""
    r, light = f.across / 2, f.light / 2
    n = segments(r, tolerance)
    rim = f.girdle * f.across
    fall = (r - light) * tan(radians(f.bearing))
    top = Manifold.cylinder(f.sink + PAST + rim, r, r, n).translate((0, 0, -rim))
    cone = Manifold.cylinder(fall, light, r, n).translate((0, 0, -rim - fall))
    hole = Manifold.cylinder(f.roof + PAST, light, light, n)
    hole = hole.translate((0, 0, -f.roof - PAST + OVERLAP))
    grow = 1 / cos(pi / n)
    return Manifold.batch_boolean([top, cone, hole], OpType.Add).scale((grow, grow, 1))


def prong(f: RowFigures, tolerance: float) -> Manifold:
    """One round rod with a half-ball top, face of the metal at z = 0."""
    r = f.wire / 2
    n = segments(r, tolerance)
    rod = Manifold.cylinder(f.root + f.rise, r, r, n).translate((0, 0, -f.root))
    return rod + Manifold.sphere(r, n).translate((0, 0, f.rise))


def prong_spots(f: RowFigures) -> list[tuple[float, float]]:
    """Places of the shared prongs: a pair at each gap and at both ends of the row."""
    reach = f.across / 2 + f.wire / 2 - f.bite
    y = sqrt(reach**2 - (f.pitch / 2) ** 2)
    xs = [(k - f.stones / 2) * f.pitch for k in range(f.stones + 1)]
    return [(x, side) for x in xs for side in (-y, y)]


def torus(ring: float, wire: float, tolerance: float) -> Manifold:
    """Torus about the origin, ring and wire radii in mm."""
    section = CrossSection.circle(wire, segments(wire, tolerance)).translate((ring, 0))
    return section.revolve(segments(ring + wire, tolerance))


def build(tolerance: float, f: RowFigures) -> list[Manifold]:
    """Build the pendant; one solid, forced."""
    bar = rounded(f.length, f.width, f.corner, tolerance).extrude(f.height)
    inner = (f.length - 2 * f.wall, f.width - 2 * f.wall, f.height - f.roof + PAST)
    body = bar - Manifold.cube(inner, True).translate((0, 0, inner[2] / 2 - PAST))

    bead = Manifold.sphere(f.bead / 2, segments(f.bead / 2, tolerance))
    line = (f.length - 2 * f.inset, f.width - 2 * f.inset, f.corner - f.inset)
    spots = rim_spots(*line, f.bead_pitch)
    beads = [bead.translate((*spot, f.height)) for spot in spots]
    body = Manifold.batch_boolean([body, *beads], OpType.Add)

    cutter = seat(f, tolerance).translate((0, 0, f.height - f.sink))
    seats = [cutter.translate((x, 0, 0)) for x in f.centres]
    body = Manifold.batch_boolean([body, *seats], OpType.Subtract)

    rod = prong(f, tolerance)
    rods = [rod.translate((x, y, f.height)) for x, y in prong_spots(f)]
    body = Manifold.batch_boolean([body, *rods], OpType.Add)

    ring = (f.loop_inside + f.loop_wire) / 2
    loop = torus(ring, f.loop_wire / 2, tolerance)
    at = f.length / 2 + ring
    loops = [loop.translate((side * at, 0, f.height / 2)) for side in (-1, 1)]
    body = Manifold.batch_boolean([body, *loops], OpType.Add)
    body.status()
    return [body]
