"""The plan of a print: way up, layers, what hangs out, props, resin and time, for each casting and metal."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from functools import partial

import numpy as np

from ...lang.lean import dataclass
from ..bench.roles import Role
from ..making.result import Built
from ..measures.kinds import Flags, Floats, Ints
from ..measures.skin import Skin
from ..measures.triangles import volume
from ..metal.part import Part
from .cups import Cup, cups
from .layers import Layers, cut, layers_of, one_wide
from .orientation import Way, ways_up
from .overhangs import Patch, hanging
from .printer import Printer
from .supports import Prop, mesh_of, props, tips

KEPT_OFF = frozenset({Role.SEAT, Role.BEAD, Role.GRAINS, Role.BEADED_EDGE, Role.ENGRAVING})
"""Work that no tip may touch: it could not be filed clean."""

CUT_UP = 3  # ways up that are cut into layers; the rest is judged by their faces
LEAST_CUP = 1.0  # mm2
COARSE = 2.0  # how much coarser that is than the print


@dataclass(frozen=True, eq=False)
class Stood:
    """From the piece to the build frame: turned by ``way``, times ``grows`` (3,), less ``shift`` (3,)."""

    way: Way
    grows: Floats
    shift: Floats

    def there(self, spots: Floats) -> Floats:
        """Spots (n, 3) of the piece in the build frame."""
        return np.asarray(spots @ self.way.turn.T * self.grows - self.shift)

    def back(self, spots: Floats) -> Floats:
        """Spots (n, 3) of the build frame in the piece."""
        return np.asarray((spots + self.shift) / self.grows @ self.way.turn)


@dataclass(frozen=True, eq=False)
class PrintPlan:
    """How one part is printed.

    ``mesh`` (points (n, 3) mm, triangles (m, 3)) in the build frame, as much larger as it shrinks, with
    the ``owner`` (m,) of each triangle; ``props_mesh`` the supports, a closed mesh of their own. ``ways``
    are the ways up that were weighed, the one taken first. ``bare`` tells what hangs out without props,
    ``left`` the islands that still do with them; ``fine`` groups of cells (n, 3) that are a pixel wide.
    Resin in mm3, ``count`` layers of the print (``layers`` may be coarser), ``minutes`` on the printer.
    """

    casting: str
    metal: str
    way: Way
    ways: tuple[Way, ...]
    mesh: tuple[Floats, Ints]
    layers: Layers
    bare: tuple[Patch, ...]
    left: tuple[Patch, ...]
    fine: tuple[Ints, ...]
    cups: tuple[Cup, ...]
    props: tuple[Prop, ...]
    props_mesh: tuple[Floats, Ints] | None
    resin: float
    resin_props: float
    count: int
    minutes: float
    owner: Ints
    stood: Stood

    @property
    def size(self) -> Floats:
        """Room it takes on the plate and above, (3,) mm."""
        spots = self.mesh[0]
        if self.props_mesh is not None:
            spots = np.concatenate((spots, self.props_mesh[0]))
        return np.asarray(np.ptp(spots, axis=0) * (1, 1, 0) + (0, 0, spots[:, 2].max()))


def print_plans(built: Built, printer: Printer) -> list[PrintPlan]:
    """A plan for every casting and metal that is printed, in the order of the piece."""
    kept_off = [k for k, info in enumerate(built.features) if not KEPT_OFF.isdisjoint(info.roles)]
    return [
        _plan(part, _shows(part, built, kept_off), kept_off, printer)
        for part in built.parts
        if not part.bought and len(part.triangles)
    ]


def _shows(part: Part, built: Built, kept_off: Collection[int]) -> Floats:
    """1 for faces that show on the finished piece: those that look up or out, and fine work."""
    corners = part.points[part.triangles]
    out = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    out /= np.maximum(np.linalg.norm(out, axis=1, keepdims=True), 1e-12)
    bore = built.worn.bore if built.worn else None
    if bore is None:
        shows = out[:, 2] > -0.2
    else:
        away = corners.mean(axis=1) - bore.middle
        away -= (away @ bore.axis)[:, None] * bore.axis
        away /= np.maximum(np.linalg.norm(away, axis=1, keepdims=True), 1e-9)
        shows = (out * away).sum(axis=1) > -0.2
    return np.asarray((shows | np.isin(part.owner, list(kept_off))).astype(float))


def _plan(part: Part, shows: Floats, kept_off: Sequence[int], printer: Printer) -> PrintPlan:
    triangles = part.triangles.astype(np.int64)
    points = part.points
    on_plate = not printer.sizes.lift
    ways = ways_up(points, triangles, shows, printer.slope, on_plate)
    best = min(ways[:CUT_UP], key=lambda way: _cost(points, triangles, way, printer))
    stood = _stood(points, best, printer)
    mesh = stood.there(points), triangles
    layers = layers_of(*mesh, printer.pixel, printer.layer)
    bare = hanging(layers, printer.slope, printer.overhang, on_plate)
    allowed = partial(_allowed, Skin(*mesh, part.owner.astype(np.int64)), kept_off, layers.height)
    made = props(layers, tips(layers, bare, printer.sizes.apart, allowed), printer.sizes)
    props_mesh = mesh_of(made, printer.sizes) if made else None
    left = _left(mesh, props_mesh, layers, printer)
    count = int(np.ceil(mesh[0][:, 2].max() / printer.layer - 1e-9))
    return PrintPlan(
        part.casting, part.metal, best, (best, *(way for way in ways if way is not best))[:6], mesh,
        layers, tuple(bare), left, tuple(one_wide(layers)), tuple(cups(layers, on_plate, LEAST_CUP)),
        tuple(made), props_mesh,
        _size(mesh), 0.0 if props_mesh is None else _size(props_mesh), count,
        printer.minutes(count), part.owner.astype(np.int64), stood,
    )  # fmt: skip


def _cost(points: Floats, triangles: Ints, way: Way, printer: Printer) -> tuple[float, float]:
    """What a way up costs once it is cut into layers, coarsely: filing, and cups (a cup may tear it off)."""
    mesh = _stood(points, way, printer).there(points), triangles
    layers = layers_of(*mesh, COARSE * printer.pixel, COARSE * printer.layer)
    shut = sum(cup.area for cup in cups(layers, not printer.sizes.lift, LEAST_CUP))
    islands = sum(patch.island for patch in hanging(layers, printer.slope, printer.overhang, False))
    foot = layers.areas[layers.areas > 0][0]
    falls = 0.0 if printer.sizes.lift else 10.0 * max(2.0 - foot, 0.0)
    return round(way.filing + 2.0 * shut + 0.6 * islands + falls, 6), round(way.tall, 6)


def _stood(points: Floats, way: Way, printer: Printer) -> Stood:
    """How it stands: its lowest point ``lift`` above the plate, its middle at x = y = 0."""
    spots = points @ way.turn.T * printer.grows
    low, high = spots.min(axis=0), spots.max(axis=0)
    middle = (low + high) / 2
    return Stood(way, printer.grows, np.array((middle[0], middle[1], low[2] - printer.sizes.lift)))


def _allowed(skin: Skin, kept_off: Sequence[int], height: float, spots: Floats) -> Flags:
    """Whether a tip may touch the face right above each spot (n, 3)."""
    up = np.tile((0.0, 0.0, 1.0), (len(spots), 1))
    _, met = skin.grid.cast(spots - up * 2 * height, up, leaving=False, reach=5 * height)
    return np.asarray((met < 0) | ~np.isin(skin.owner[met], kept_off))


def _left(
    mesh: tuple[Floats, Ints], held: tuple[Floats, Ints] | None, layers: Layers, printer: Printer
) -> tuple[Patch, ...]:
    """Islands that are left once the props stand: cut into layers anew, both together."""
    if held is None:
        return tuple(hanging(layers, printer.slope, printer.overhang, not printer.sizes.lift))
    points = np.concatenate((mesh[0], held[0]))
    size = np.array((layers.pixel, layers.pixel, layers.height))
    own = layers.low + size * (1.5, 1.5, -0.5)  # whole cells from those of the piece
    low = own - np.ceil((own - points.min(axis=0)) / size - 1e-9) * size
    box = np.stack((low, points.max(axis=0)))
    both = _together(mesh, held, box, layers)
    return tuple(patch for patch in hanging(both, printer.slope, printer.overhang, True) if patch.island)


def _together(mesh: tuple[Floats, Ints], held: tuple[Floats, Ints], box: Floats, layers: Layers) -> Layers:
    """Two meshes in the same layers, from the plate up."""
    cells = [cut(*one, box, layers.pixel, layers.height) for one in (mesh, held)]
    return replace(cells[0], solid=cells[0].solid | cells[1].solid)


def _size(mesh: tuple[Floats, Ints]) -> float:
    """Volume of a closed mesh, mm3."""
    return float(volume(mesh[0][mesh[1]]))
