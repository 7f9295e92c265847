"""The plan of a print: way up, layers, what hangs out, props, resin and time, for each casting and metal."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np

from ..judging.one_file import one_file
from ..making.result import Built
from ..measures.kinds import Flags, Floats, Ints, unit
from ..measures.triangles import volume
from ..metal.part import Part, spoken
from .cups import Pocket, afloat, cups
from .fine import Work, fine_faces
from .layers import Layers, cut, layers_of, one_wide
from .orientation import BARRED, ISLAND, Way, ways_up
from .overhangs import Patch, hanging
from .printer import Printer
from .supports import Prop, held, mesh_of

# Ways up that are cut into layers; the rest is judged by their faces. More where all of these have fine
# work that nothing holds: many a grain that begins in mid air runs into the wall beside it.
CUT_UP, MORE = 4, 16
LEAST_CUP = LEAST_AFLOAT = 1.0  # mm2
COARSE = 2.0  # how much coarser that is than the print
UP = np.array((0.0, 0.0, 1.0))


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
    ``left`` the islands that still do with them, ``afloat`` what grows of them before it joins what is held,
    ``unheld`` the faces; ``fine`` groups of cells (n, 3) that are a pixel wide. ``castings`` are the names
    of all castings of its form, itself the first.
    Resin in mm3, ``count`` layers of the print (``layers`` may be coarser), ``minutes`` on the printer."""

    casting: str
    castings: tuple[str, ...]
    metal: str
    way: Way
    ways: tuple[Way, ...]
    mesh: tuple[Floats, Ints]
    layers: Layers
    bare: tuple[Patch, ...]
    left: tuple[Patch, ...]
    afloat: tuple[Pocket, ...]
    unheld: tuple[Patch, ...]
    fine: tuple[Ints, ...]
    cups: tuple[Pocket, ...]
    props: tuple[Prop, ...]
    props_mesh: tuple[Floats, Ints] | None
    resin: float
    resin_props: float
    count: int
    minutes: float
    owner: Ints
    stood: Stood

    @property
    def called(self) -> str:
        """What tells it from the other prints: the names of all alike, or its metal."""
        return spoken(self.castings) or self.metal

    @property
    def size(self) -> Floats:
        """Room it takes on the plate and above, (3,) mm."""
        spots = self.mesh[0]
        if self.props_mesh is not None:
            spots = np.concatenate((spots, self.props_mesh[0]))
        return np.asarray(np.ptp(spots, axis=0) * (1, 1, 0) + (0, 0, spots[:, 2].max()))


def print_plans(built: Built, printer: Printer) -> list[PrintPlan]:
    """A plan for each casting and metal printed; castings alike have one, a mirror image its own."""
    parts = [part for part in built.parts if not part.bought and len(part.triangles)]
    plans = []
    for same in one_file(built.piece, parts, [(part.metal, bool(part.casting)) for part in parts]):
        castings = tuple(parts[one].casting for one in same if parts[one].casting)
        part = parts[same[0]]
        plans.append(_plan(part, castings, fine_faces(part, built.features, printer.ball), built, printer))
    return plans


def _shows(part: Part, built: Built, fine: Flags) -> Floats:
    """1 for faces that show on the finished piece: those that look up or out, and fine work."""
    corners = part.points[part.triangles]
    out = unit(np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]))
    bore = built.worn.bore if built.worn else None
    if bore is None:
        shows = out[:, 2] > -0.2
    else:
        away = corners.mean(axis=1) - bore.middle
        away -= (away @ bore.axis)[:, None] * bore.axis
        away /= np.maximum(np.linalg.norm(away, axis=1, keepdims=True), 1e-9)
        shows = (out * away).sum(axis=1) > -0.2
    return np.asarray((shows | fine).astype(float))


def _plan(part: Part, castings: tuple[str, ...], fine: Flags, built: Built, printer: Printer) -> PrintPlan:
    work = Work(part.points, part.triangles.astype(np.int64), fine)
    on_plate = not printer.sizes.lift
    ways = ways_up(work, _shows(part, built, fine), printer.slope, on_plate)
    looked = sorted(ways, key=lambda way: way.plain)[:MORE] if ways[0].barred else ways[:CUT_UP]
    best = min(looked, key=lambda way: _cost(work, way, printer))
    stood = _stood(work.points, best, printer)
    mesh = stood.there(work.points), work.triangles
    layers = layers_of(*mesh, printer.pixel, printer.layer)
    bare = hanging(layers, printer.slope, printer.overhang, on_plate)
    there = Work(*mesh, fine)
    allowed = partial(there.open, up=UP, across=printer.sizes.tip)
    made, unheld = held(layers, bare, printer.sizes, allowed, there.touched)
    grip = layers.lowest if on_plate else _grips(layers, made)
    adrift = [_lowest(layers, cells, allowed) for _, cells in afloat(layers, grip, LEAST_AFLOAT)]
    made += held(layers, adrift, printer.sizes, allowed, there.touched, made)[0]
    props_mesh = mesh_of(made, printer.sizes) if made else None
    both = _both(props_mesh, layers)
    stands = on_plate or bool(made)
    left = (one for one in hanging(both, printer.slope, printer.overhang, stands) if one.island)
    ground = both.lowest if stands else both.lowest[:0]
    count = int(np.ceil(mesh[0][:, 2].max() / printer.layer - 1e-9))
    return PrintPlan(
        part.casting, castings, part.metal, best, (best, *(way for way in ways if way is not best))[:6], mesh,
        layers, tuple(bare), tuple(left), tuple(part for part, _ in afloat(both, ground, LEAST_AFLOAT)),
        tuple(patch for patch in unheld if not patch.island), tuple(one_wide(layers)),
        tuple(cups(layers, on_plate, LEAST_CUP)), tuple(made), props_mesh,
        volume(*mesh), 0.0 if props_mesh is None else volume(*props_mesh), count,
        printer.minutes(count), part.owner.astype(np.int64), stood,
    )  # fmt: skip


def _cost(work: Work, way: Way, printer: Printer) -> tuple[float, float]:
    """What a way up costs once it is cut into layers, coarsely: filing, cups (a cup may tear it off), and
    what could be held by fine work alone."""
    stood = _stood(work.points, way, printer)
    layers = layers_of(
        stood.there(work.points), work.triangles, COARSE * printer.pixel, COARSE * printer.layer
    )
    shut = sum(cup.area for cup in cups(layers, not printer.sizes.lift, LEAST_CUP))
    islands = barred = 0
    on_plate = not printer.sizes.lift
    for patch in hanging(layers, printer.slope, printer.overhang, on_plate):
        if patch.island:
            spots = stood.back(layers.at(patch.cells) - (0.0, 0.0, layers.height / 2))
            islands += 1
            barred += not work.open(spots, way.turn[2], printer.sizes.tip).any()
    foot = layers.areas[layers.areas > 0][0]
    falls = 10.0 * max(2.0 - foot, 0.0) if on_plate else 0.0
    worth = way.plain + 2.0 * shut + ISLAND * islands + BARRED * barred + falls
    return round(worth, 6), round(way.tall, 6)


def _stood(points: Floats, way: Way, printer: Printer) -> Stood:
    """How it stands: its lowest point ``lift`` above the plate, its middle at x = y = 0."""
    spots = points @ way.turn.T * printer.grows
    low, high = spots.min(axis=0), spots.max(axis=0)
    middle = (low + high) / 2
    return Stood(way, printer.grows, np.array((middle[0], middle[1], low[2] - printer.sizes.lift)))


def _grips(layers: Layers, made: Sequence[Prop]) -> Ints:
    """The cells (n, 3) of a piece that its props reach into."""
    cells = layers.cells(np.array([prop.tip for prop in made]).reshape(-1, 3) + UP * layers.height)
    return cells[layers.solid[tuple(cells.T)]]


def _lowest(layers: Layers, cells: Ints, allowed: Callable[[Floats], Flags]) -> Patch:
    """Of the cells that a part afloat begins in, the lowest that a prop may touch."""
    may = cells[allowed(layers.at(cells) - UP * layers.height / 2)]
    may = may if len(may) else cells
    low = may[may[:, 2] <= may[:, 2].min() + 0.5 / layers.height]
    return Patch(low, len(low) * layers.pixel**2, True, layers.at(low).mean(axis=0))


def _both(held: tuple[Floats, Ints] | None, layers: Layers) -> Layers:
    """The piece and its props, cut into the same layers, from the plate up."""
    if held is None:
        return layers
    size = np.array((layers.pixel, layers.pixel, layers.height))
    own = layers.low + size * (1.5, 1.5, -0.5)  # whole cells from those of the piece
    before = np.ceil((own - held[0].min(axis=0)) / size - 1e-9).clip(0.0).astype(np.int64)
    high = np.maximum(held[0].max(axis=0), layers.at([layers.solid.shape])[0])
    both = cut(*held, np.stack((own - before * size, high)), layers.pixel, layers.height)
    there = tuple(slice(a, a + n) for a, n in zip(before, layers.solid.shape, strict=True))
    both.solid[there] |= layers.solid
    return both
