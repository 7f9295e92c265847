"""A plate set all over with stones, written straight on the geometry kernel (see raw_row.py).

Stones in a square grid, a pair of round prongs at every corner of the grid's cells; each rod
bites 0.02 mm into the two stones on its side, so a stone is held by four. Two steps of work:
seats cut in one batch, prongs added in one batch.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, pi, radians, tan

from manifold3d import Manifold, OpType
from raw_row import PAST, rounded, segments


@dataclass(frozen=True)
class FieldFigures:
    """Figures of the plate, in mm and degrees."""

    columns: int = 40
    rows: int = 25
    across: float = 1.5
    pitch: float = 1.65
    side: float = 0.6
    height: float = 1.8
    corner: float = 1.0
    sink: float = 0.25
    girdle: float = 0.0175
    bearing: float = 41.2305
    light: float = 0.8
    wire: float = 0.52
    rise: float = 0.3
    root: float = 0.4

    @property
    def size(self) -> tuple[float, float]:
        """Length and width of the plate."""
        along = (self.columns - 1) * self.pitch + self.across + 2 * self.side
        up = (self.rows - 1) * self.pitch + self.across + 2 * self.side
        return along, up

    def places(self, extra: int) -> list[tuple[float, float]]:
        """Centres of the cells (extra = 0) or their corners (extra = 1)."""
        nx, ny = self.columns + extra, self.rows + extra
        xs = [(k - (nx - 1) / 2) * self.pitch for k in range(nx)]
        ys = [(k - (ny - 1) / 2) * self.pitch for k in range(ny)]
        return [(x, y) for y in ys for x in xs]

    def prongs(self) -> list[tuple[float, float]]:
        """Two rods beside each other at every corner of the grid."""
        gap = self.wire * 0.55
        return [(x + s * gap, y) for x, y in self.places(1) for s in (-1, 1)]


def seat(f: FieldFigures, tolerance: float) -> Manifold:
    """Cutter of one seat, girdle at z = 0, through the plate."""
    r, light = f.across / 2, f.light / 2
    n = segments(r, tolerance)
    rim = f.girdle * f.across
    fall = (r - light) * tan(radians(f.bearing))
    top = Manifold.cylinder(f.sink + PAST + rim, r, r, n).translate((0, 0, -rim))
    cone = Manifold.cylinder(fall, light, r, n).translate((0, 0, -rim - fall))
    hole = Manifold.cylinder(f.height + PAST, light, light, n)
    whole = Manifold.batch_boolean(
        [top, cone, hole.translate((0, 0, -f.height - PAST))], OpType.Add
    )
    grow = 1 / cos(pi / n)
    return whole.scale((grow, grow, 1))


def build(tolerance: float, f: FieldFigures) -> list[Manifold]:
    """Build the plate; one solid, forced."""
    body = rounded(*f.size, f.corner, tolerance).extrude(f.height)
    cutter = seat(f, tolerance).translate((0, 0, f.height - f.sink))
    seats = [cutter.translate((x, y, 0)) for x, y in f.places(0)]
    body = Manifold.batch_boolean([body, *seats], OpType.Subtract)

    r = f.wire / 2
    n = segments(r, tolerance)
    rod = Manifold.cylinder(f.root + f.rise, r, r, n).translate((0, 0, -f.root))
    rod += Manifold.sphere(r, n).translate((0, 0, f.rise))
    rods = [rod.translate((x, y, f.height)) for x, y in f.prongs()]
    body = Manifold.batch_boolean([body, *rods], OpType.Add)
    body.status()
    return [body]
