"""What the rules on metal share, measured once for a piece: skin, walls, bodies, weight, loops.

Each figure is taken the first time a rule asks for it. Lengths mm, weights g, angles degrees.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np

from ...stdlib.gems import GEMS
from ..bench.stone_solid import stone_mesh
from ..geometry import frames as fr
from ..measures.bodies import Shell, pieces, voids
from ..measures.closest import on_triangle
from ..measures.drainage import Chamber, drainage
from ..measures.edges import SharpEdge, in_bore, sharp_edges, towards_back
from ..measures.kinds import Flags, Floats, Ints, dot, least_by_row
from ..measures.mass import mass, volume_and_centre
from ..measures.places import Place, Thickness
from ..measures.skin import Skin, from_manifold
from ..measures.slender import Slender, slender
from ..measures.stone import Stone
from ..measures.thickness import Known, thickness
from .floors import floors
from .forms import Form, Spot, Surround, form_of, set_stone
from .hanging import Loop, Rest, at_rest, carrying, loops_of
from .measuring import SAME, SMALL_GAP, SMALL_WALL
from .near import near_pairs
from .roots import Root, roots_of
from .shanks import Section, sections_round
from .stated import stated_of
from .surround import surrounds

if TYPE_CHECKING:
    from ...lang.bench import Call
    from ..bench.feature import Feature
    from .piece import Piece

# Words that hold stones: metal of theirs may lie over a girdle, and has rules of its own.
HOLDERS = frozenset(
    {
        "prong",
        "prong-wire",
        "vee-prong",
        "basket",
        "bezel",
        "channel",
        "flush",
        "bead-set",
        "halo",
    }
)
# Core words whose metal is wire, beads or loops: their thickness is judged by other rules.
NOT_WALLS = frozenset({"ball", "rod", "wire", "twist", "jump-ring", "stone", "seat"})
FINDINGS = frozenset({"bead-line", "granules", "ear-post", "pin-stem"})
# Work that may leave a hollow with a neck: always, or where another body shuts it.
SHUT = ("tube", "turned", "bend", "dap")
OPEN = ("hollow", "drill", "pierce", "dome", "signet", "engrave")
BODIES = ("bar", "disc", "plate", "tube", "dome", "turned", "band", "split-band", "signet")
WIRE_LIMIT = 2.0  # mm, thicker wire is never slender in a piece of jewelry
SLENDER_FROM = 4.0
EVEN = 0.9998  # faces within about a degree of parallel
AS_TOLD = 0.01  # mm, chords on both sides of a wall make it so much thinner than told
MOST_SPOTS = 4_500
WORTH_TWO = 60_000  # triangles from which a second thread is worth its while
BY_STONE = ("surrounds", "floors", "roots")
BY_FACE = ("thin", "gaps", "edges", "bodies", "centre")
SLIVER = 0.01  # mm, height of a face that has no way of its own
SLIT = 20.0  # degrees, the faces of a slit oppose within this


def measured(piece: Piece) -> Measured:
    """The measures of a piece, kept with it."""
    kept: Measured | None = piece.__dict__.get("_measured")
    if kept is None:
        kept = piece.__dict__["_measured"] = Measured(piece)
    return kept


class Measured:
    """All that is measured of one piece."""

    def __init__(self, piece: Piece) -> None:
        self.piece = piece

    def ahead(self, go_on: Callable[[], bool]) -> None:
        """Measure a large piece before it is asked for, what goes by stones in a second thread.

        Whatever fails is measured again, and told, when a rule asks for it.
        """
        if sum(len(part.triangles) for part in self.piece.parts) < WORTH_TWO:
            return
        _ = self.skin.grid, self.stones, self.seats, self.holders, self.beads
        with ThreadPoolExecutor(1) as second:
            second.submit(self._touch, BY_STONE, go_on)
            self._touch(BY_FACE, go_on)

    def _touch(self, names: Sequence[str], go_on: Callable[[], bool]) -> None:
        for name in names:
            if go_on():
                with suppress(Exception):
                    getattr(self, name)

    # -- whose metal --------------------------------------------------------------------------

    def flags(self, indices: Iterable[int]) -> Flags:
        """Which faces of the skin belong to any of the features, (m,)."""
        return np.asarray(np.isin(self.skin.owner, sorted(indices)))

    @cached_property
    def seats(self) -> frozenset[int]:
        """Features that are seats or light holes."""
        return frozenset(f.index for f, _ in self.piece.of_word("seat", "azure"))

    @cached_property
    def beads(self) -> frozenset[int]:
        """Features that are balls."""
        return frozenset(f.index for f, _ in self.piece.of_word("ball"))

    @cached_property
    def holders(self) -> frozenset[int]:
        """Features that hold stones: those of setting words, and wires beside a girdle."""
        prongs = self.piece.rods.feature[self.piece.prongs.rod].tolist()
        words = (f.index for f in self.piece.features if self.piece.within(f.index, *HOLDERS))
        return frozenset([*prongs, *words])

    @cached_property
    def small(self) -> frozenset[int]:
        """Beads and prongs."""
        rods = (f.index for f, _ in self.piece.of_word("rod") if f.index in self.holders)
        return frozenset([*self.beads, *rods])

    @cached_property
    def walls(self) -> frozenset[int]:
        """Features whose faces bound walls: bodies, and cuts into them."""
        found = []
        for feature, call in zip(self.piece.features, self.piece.bench.lines, strict=True):
            own = call.word.group in ("shapes", "work") and call.word.name not in NOT_WALLS
            if own and not self.piece.within(feature.index, *HOLDERS, *FINDINGS):
                found.append(feature.index)
        return frozenset(found)

    # -- the metal ----------------------------------------------------------------------------

    @cached_property
    def skin(self) -> Skin:
        """The outside of all metal together, each triangle with its feature."""
        if len(self.piece.parts) == 1:
            return self.piece.skin
        return _named_after(from_manifold(self.piece.metal), self.piece.skin)

    @cached_property
    def bodies(self) -> list[Shell]:
        """Separate bodies of metal, largest first."""
        return pieces(self.skin)

    @cached_property
    def voids(self) -> list[Shell]:
        """Hollows without any opening."""
        return voids(self.skin)

    @cached_property
    def thin(self) -> tuple[Place, ...]:
        """Walls thinner than any limit on them, thinnest first; each alloy by itself, as it is
        cast by itself."""
        kinds: dict[str, int | None] = {self.piece.family(f): f for f in sorted(self.walls)}
        kinds = kinds or {"": None}
        bound = max(
            self.piece.bound("thin-wall", what, feature)
            for feature in kinds.values()
            for what in ("least", "advised")
        )
        found: list[Place] = []
        for part in self.piece.parts:
            alone = len(self.piece.parts) == 1
            skin = self.skin if alone else Skin(part.points, part.triangles, part.owner)
            walls = np.isin(skin.owner, sorted(self.walls)) & ~_slivers(skin)
            most = MOST_SPOTS // len(self.piece.parts)
            known = self._known(skin)
            found += thickness(
                skin.in_view(walls), bound, beyond=False, most_spots=most, known=known,
                least_area=SMALL_WALL,
            ).places  # fmt: skip
        return tuple(sorted(found, key=lambda place: (place.figure, place.at)))

    def _known(self, skin: Skin) -> Known:
        """Rays that need no closer look: those across even metal as thick as a line of theirs
        states, which is told from the text, and those that end on a bead, a prong, a seat or a
        sliver."""
        stated: dict[int, list[float]] = {}
        for one in stated_of(self.piece):
            stated.setdefault(one.feature, []).append(one.thick)

        small = np.isin(skin.owner, sorted(self.small | self.seats | self.holders))
        small |= _slivers(skin)

        def known(start: Ints, met: Ints, far: Floats, least: Floats, square: Floats) -> Flags:
            told = np.zeros(len(met), dtype=bool)
            for feature, figures in stated.items():
                mine = (skin.owner[start] == feature) | (skin.owner[met] == feature)
                for figure in figures:
                    same = (square > EVEN) & (np.abs(far - figure) < AS_TOLD)
                    same |= (far < figure + SAME) & (least > figure - SAME)
                    told |= mine & same
            return told | small[met]

        return known

    @cached_property
    def gaps(self) -> Thickness:
        """Slots and crevices narrower than the limit, as thickness of the air; those between
        beads left out."""
        air = self.skin.inside_out()
        shown = air.in_view(~self.flags([*self.beads, *self.seats]))
        limit = self.piece.bound("closing-gap", "least")
        return thickness(
            shown, limit, SLIT, knives=False, beyond=False, most_spots=MOST_SPOTS,
            least_area=SMALL_GAP,
        )  # fmt: skip

    # -- stones -------------------------------------------------------------------------------

    @cached_property
    def stones(self) -> list[Stone]:
        """Every stone where it sits, in the order of ``piece.stones``."""
        laid = self.piece.stones
        return [set_stone(laid.of(k).figures, frame) for k, frame in enumerate(laid.frames)]

    @cached_property
    def surrounds(self) -> list[Surround]:
        """The metal round every stone."""
        seats = np.append(self.flags(self.seats), False)
        holds = np.append(self.flags([*self.holders, *self.beads]), False)
        forms = [self.form(k) for k in range(len(self.stones))]
        wire = min(float(self.piece.rods.wire.max(initial=0.0)), WIRE_LIMIT)
        return surrounds(forms, self.stones, self.skin, seats, holds, wire)

    @cached_property
    def floors(self) -> list[Spot | None]:
        """The thinnest metal straight below the seat of each stone."""
        count = range(len(self.stones))
        forms, holes = [self.form(k) for k in count], [self._hole(k) for k in count]
        return floors(
            forms, self.stones, holes, self.skin, np.append(self.flags(self.seats), False)
        )

    def form(self, stone: int) -> Form:
        """A stone's form in its own axes."""
        laid = self.piece.stones
        mirrored = bool(np.linalg.det(laid.frames[stone][:, :3]) < 0)
        return form_of(laid.of(stone).figures, mirrored)

    def _hole(self, stone: int) -> float:
        """The light hole under a stone as a share of its width, as its seat says."""
        seat = self.piece.seated.get(stone)
        return 0.5 if seat is None else float(self.piece.call(seat).get("hole") or 0.5)

    @cached_property
    def overlaps(self) -> list[tuple[int, int, float, tuple[float, float, float]]]:
        """Pairs of stones that share room: (first, second, mm3, place)."""
        laid, found = self.piece.stones, []
        reach = max(
            (2 * float(self.form(k).rim.max()) for k in range(len(laid.kind))), default=0
        )
        one, two = near_pairs(laid.frames[:, :, 3], laid.frames[:, :, 3], reach)
        for a, b in zip(*(part[one < two].tolist() for part in (one, two)), strict=True):
            if not _apart(self.stones[a], self.stones[b]):
                solids = (self.piece.stone_solids[k][2] for k in (a, b))
                volume, centre = volume_and_centre(next(solids) ^ next(solids))
                if volume > 1e-6:
                    x, y, z = centre.tolist()
                    found.append((a, b, volume, (x, y, z)))
        return found

    @cached_property
    def bore(self) -> Feature | None:
        """The band a finger or a wrist goes through, the closest of several."""
        bands = [
            f for f in self.piece.features if "inside-around" in f.offers and len(f.frames)
        ]
        return min(bands, key=_inside, default=None)

    @cached_property
    def culets(self) -> list[tuple[float, tuple[float, float, float]]]:
        """For every stone how far its lowest point stays inside the skin side, and where: the
        bore of a ring, or the plane of the lowest metal."""
        found, low = [], float(self.skin.box[0][2])
        for stone in self.stones:
            depth = stone.points[:, 2] - low
            if self.bore is not None:
                local = fr.apply(fr.inverse(self.bore.frames[0]), stone.points)
                depth = np.hypot(local[:, 0], local[:, 2]) - self.inner
            k = int(np.argmin(depth))
            x, y, z = stone.points[k].tolist()
            found.append((float(depth[k]), (x, y, z)))
        return found

    @cached_property
    def inner(self) -> float:
        """Radius of the bore, mm."""
        return 0.0 if self.bore is None else _inside(self.bore) / 2

    @cached_property
    def roots(self) -> list[Root]:
        """How each prong is rooted."""
        return roots_of(self.piece, self.skin)

    # -- strength -----------------------------------------------------------------------------

    @cached_property
    def sections(self) -> list[Section]:
        """Sections of the metal round the band."""
        if self.bore is None:
            return []
        return sections_round(self.skin, self.bore.frames[0], self.inner)

    @cached_property
    def slender(self) -> list[Slender]:
        """Long thin wires, from one joint with other metal to the next."""
        words = self.piece.of_word("wire", "rod")
        wires = {f.index: call for f, call in words if f.index not in self.holders}
        if not wires:
            return []
        mine = self.flags(wires)
        wide = max(_across(call) for call in wires.values())
        thin = min(WIRE_LIMIT, 1.1 * wide)
        others = Skin(self.skin.points, self.skin.triangles[~mine], self.skin.owner[~mine])

        def tied(at: Floats) -> Flags:
            flags = np.zeros(len(at), dtype=bool)
            if len(others.triangles):
                flags[others.grid.near(at - 0.7 * wide, at + 0.7 * wide)[0]] = True
            return flags

        return slender(self.skin.in_view(mine), thin, SLENDER_FROM, tied)

    @cached_property
    def chambers(self) -> list[Chamber]:
        """Hollows with a narrow way out: sought in coarse cubes, measured in finer ones."""
        widest = max(
            self.piece.bound("undrained-hollow", what) for what in ("hole", "hole-large")
        )
        shut = sum(1 for _ in self.piece.of_word(*BODIES)) > 1
        if not any(self.piece.of_word(*(OPEN if shut else ()), *SHUT)):
            return []  # one body hollowed from outside has no neck
        if not drainage(self.skin, 1.35 * widest, widest / 6):
            return []
        return drainage(self.skin, widest)

    @cached_property
    def edges(self) -> list[SharpEdge]:
        """Sharp edges on the skin side."""
        angle = self.piece.bound("sharp-on-skin", "least")
        region = towards_back()
        if self.bore is not None:
            frame = self.bore.frames[0]
            region = in_bore(frame[:, 3], frame[:, 1], self.inner)
        return sharp_edges(self.skin, region, angle)

    def owner_near(self, at: tuple[float, float, float]) -> int:
        """The feature of the face nearest to a place."""
        spot = np.array([at])
        reach = 0.5
        while reach < 2 * self.skin.size:
            row, face = self.skin.grid.near(spot - reach, spot + reach)
            if len(face):
                go = on_triangle(spot[row], self.skin.corners[face]) - spot[row]
                return max(0, int(self.skin.owner[face[int(np.argmin(dot(go, go)))]]))
            reach *= 3
        return 0

    # -- weight -------------------------------------------------------------------------------

    @cached_property
    def centre(self) -> tuple[float, Floats]:
        """Weight in g and centre of mass (3,) of metal and stones together."""
        from ...stdlib.alloys import ALLOYS

        laid, alone = self.piece.stones, len(self.piece.parts) == 1
        parts: list[tuple[Skin | tuple[float, Floats], float]] = [
            (
                self.skin if alone else Skin(part.points, part.triangles, part.owner),
                ALLOYS[part.metal].density,
            )
            for part in self.piece.parts
        ]
        for k, frame in enumerate(laid.frames):
            setting = laid.of(k)
            volume, centre = _stone_mass(setting.figures)
            parts.append(
                ((volume, frame[:, :3] @ centre + frame[:, 3]), GEMS[setting.gem].density)
            )
        return mass(parts)

    # -- how it hangs -------------------------------------------------------------------------

    @cached_property
    def loops(self) -> list[Loop]:
        """Every loop."""
        return loops_of(self.piece)

    @cached_property
    def rest(self) -> Rest | None:
        """How it hangs; None for a ring, and for a piece without loops."""
        if self.bore is not None:
            return None
        return at_rest(carrying(self.loops, self.skin), self.centre[1], self.skin)


@lru_cache(maxsize=256)
def _stone_mass(figures: tuple[Any, ...]) -> tuple[float, Floats]:
    """Volume mm3 and centroid of a stone in its own frame."""
    points, triangles = stone_mesh(figures)
    return volume_and_centre(Skin(points, triangles, np.zeros(len(triangles), dtype=np.int64)))


def _across(call: Call) -> float:
    """The greatest thickness a wire is stated to have, mm."""
    said = [call.get(key) for key in ("round", "square", "flat", "half-round", "across")]
    flat = [max(size) if isinstance(size, tuple) else size for size in said]
    sizes = [float(size) for size in flat if isinstance(size, int | float)]
    return max(sizes, default=WIRE_LIMIT)


def _inside(band: Feature) -> float:
    """Inside diameter of a band, mm."""
    inside = band.look("inside")
    return 0.0 if inside is None else float(inside.value)


def _apart(one: Stone, two: Stone) -> bool:
    """Whether two stones are parted by a plane square to the line between their middles."""
    way = two.origin - one.origin
    return float((one.points @ way).max()) <= float((two.points @ way).min())


def _slivers(skin: Skin) -> Flags:
    """Which faces are no higher than the chords stand off the true surface: on a curve such a face
    may look anywhere. (m,)"""
    corner = skin.corners
    sides = corner - np.roll(corner, -1, axis=1)
    longest = np.sqrt((sides * sides).sum(axis=2).max(axis=1))
    return np.asarray(2 * skin.areas < SLIVER * longest)


def _named_after(skin: Skin, named: Skin) -> Skin:
    """``skin`` with the features of the closest faces of ``named``."""
    middle = skin.corners.mean(axis=1)
    row, face = named.grid.near(middle - 1e-4, middle + 1e-4)
    spot = on_triangle(middle[row], named.corners[face])
    off = dot(spot - middle[row], spot - middle[row])
    rows, best = least_by_row(row, off)
    owner: Ints = np.full(len(skin.triangles), -1, dtype=np.int64)
    owner[rows] = named.owner[face[best]]
    return Skin(skin.points, skin.triangles, owner)
