"""What the rules on metal share, measured once for a piece: skin, walls, bodies, weight, loops.

Each figure is taken the first time a rule asks for it. Lengths mm, weights g, angles degrees.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from dataclasses import replace
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np

from ...stdlib.gems import GEMS
from ..bench.roles import FigureOf, Role
from ..bench.stone_solid import stone_mesh
from ..geometry import frames as fr
from ..measures.bodies import Shell, voids
from ..measures.closest import nearest
from ..measures.drainage import Chamber, drainage
from ..measures.edges import SharpEdge, in_bore, sharp_edges, towards_back
from ..measures.kinds import Flags, Floats, Ints
from ..measures.mass import mass, volume_and_centre
from ..measures.places import Place, Thickness
from ..measures.skin import Skin, from_manifold, side_by_side
from ..measures.slender import Slender, slender
from ..measures.stone import Stone
from ..measures.thickness import Known, thickness
from .castings import Body, Casting, Joint, bodies_of, castings_of, held_with, joints_of, named_after
from .figures import figures
from .floors import floors
from .forms import Form, Spot, Surround, form_of, set_stone
from .hanging import Loop, Rest, loops_of
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

WIRE_LIMIT = 2.0  # mm, thicker wire is never slender in a piece of jewelry
SLENDER_FROM = 4.0
EVEN = 0.9998  # faces within about a degree of parallel
AS_TOLD = 0.01  # mm, chords on both sides of a wall make it so much thinner than told
MOST_SPOTS = 4_500
WORTH_TWO = 60_000  # triangles from which a second thread is worth its while
BY_STONE = ("surrounds", "floors", "roots")
BY_FACE = ("thin", "gaps", "edges", "parted", "centre")
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
        return frozenset(f.index for f, _ in self.piece.with_role(Role.SEAT, Role.LIGHT_HOLE))

    @cached_property
    def beads(self) -> frozenset[int]:
        """Features that are balls."""
        return frozenset(f.index for f, _ in self.piece.with_role(Role.BEAD))

    @cached_property
    def holders(self) -> frozenset[int]:
        """Features that hold stones: those of settings, and wires beside a girdle."""
        prongs = self.piece.rods.feature[self.piece.prongs.rod].tolist()
        settings = (f.index for f, _ in self.piece.with_role(Role.SETTING))
        return frozenset([*prongs, *settings])

    @cached_property
    def small(self) -> frozenset[int]:
        """Beads and prongs."""
        return self.beads | self.holders.intersection(self.piece.rods.feature.tolist())

    @cached_property
    def walls(self) -> frozenset[int]:
        """Features whose faces bound walls: bodies, and cuts into them."""
        none = Role.SETTING, Role.FINDING
        solids = self.piece.with_role(Role.BODY, Role.CUT)
        return frozenset(
            f.index for f, call in solids
            if not self.piece.is_for(f.index, *none) and not call.get("bought")
        )  # fmt: skip

    # -- the metal ----------------------------------------------------------------------------

    @cached_property
    def skin(self) -> Skin:
        """The outside of all metal together, each triangle with its feature."""
        if len(self.piece.parts) == 1:
            return self.piece.skin
        return named_after(from_manifold(self.piece.metal), self.piece.skin)

    @cached_property
    def castings(self) -> list[Casting]:
        """The castings and bought parts, in order of the work."""
        return castings_of(self)

    @property
    def cast(self) -> list[Casting]:
        """The castings alone."""
        return [one for one in self.castings if not one.bought]

    @cached_property
    def parted(self) -> list[Body]:
        """All separate bodies of metal, casting by casting, largest first."""
        return bodies_of(self)

    @cached_property
    def joints(self) -> list[Joint]:
        """What holds together of separate bodies: soldered, or as links do."""
        return joints_of(self)

    @cached_property
    def held(self) -> list[int]:
        """For each of ``parted`` the least number of those it hangs together with."""
        return held_with(self.joints, len(self.parted))

    @cached_property
    def mains(self) -> dict[int, int]:
        """The largest body of each casting that is no bead, by number."""
        mains: dict[int, int] = {}
        for number, body in enumerate(self.parted):
            if not body.small:
                mains.setdefault(body.casting, number)
        return mains

    def body_at(self, spot: Floats) -> int | None:
        """The body, by number, whose metal is nearest to a spot; None without bodies but beads."""
        large = [k for k, body in enumerate(self.parted) if not body.small]
        return min(large, key=lambda k: nearest(self.parted[k].skin, spot)[0], default=None)

    def seen_by(self, loop: Loop) -> Skin:
        """The skin of all metal but what goes through a loop as links do."""
        here = self.body_at(loop.wire_spot) if self.joints else None
        links = {
            joint.one + joint.two - here
            for joint in self.joints
            if here in (joint.one, joint.two) and joint.how != "soldered"
        } if here is not None else set()
        if not links:
            return self.skin
        return side_by_side([b.skin for k, b in enumerate(self.parted) if k not in links])

    def casting_at(self, spot: Floats, *, held: bool = False) -> Casting | None:
        """The casting whose metal is nearest to a spot; with ``held`` None where that is loose."""
        here = self.body_at(spot)
        if here is None:
            return None
        number = self.parted[here].casting
        loose = held and self.held[here] != self.held[self.mains[number]]
        return None if loose else self.castings[number]

    @cached_property
    def voids(self) -> list[Shell]:
        """Hollows without any opening."""
        return [void for casting in self.cast for void in voids(casting.skin)]

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
            for feature, thicknesses in stated.items():
                mine = (skin.owner[start] == feature) | (skin.owner[met] == feature)
                for figure in thicknesses:
                    same = (square > EVEN) & (np.abs(far - figure) < AS_TOLD)
                    same |= (far < figure + SAME) & (least > figure - SAME)
                    told |= mine & same
            return told | small[met]

        return known

    @cached_property
    def gaps(self) -> Thickness:
        """Slots and crevices narrower than the limit, as thickness of the air; those between
        beads left out."""
        found = [self._gaps_in(casting.skin) for casting in self.cast]
        if len(found) == 1:
            return found[0]
        return replace(found[0], places=tuple(place for one in found for place in one.places))

    def _gaps_in(self, skin: Skin) -> Thickness:
        air = skin.inside_out()
        hidden = np.isin(skin.owner, sorted([*self.beads, *self.seats]))
        shown = air.in_view(~hidden)
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
        found = self.piece.with_role(Role.WIRE)
        wires = {
            f.index: call for f, call in found
            if f.index not in self.holders and not call.get("bought")
        }  # fmt: skip
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
        shut = sum(1 for _ in self.piece.with_role(Role.BODY)) > 1
        if not any(self.piece.with_role(Role.CUPPED, *((Role.OPENS,) if shut else ()))):
            return []  # one body hollowed from outside has no neck
        return [
            chamber
            for casting in self.cast
            if drainage(casting.skin, 1.35 * widest, widest / 6)
            for chamber in drainage(casting.skin, widest)
        ]

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
        return max(0, int(self.skin.owner[nearest(self.skin, np.array(at))[1]]))

    # -- weight -------------------------------------------------------------------------------

    @cached_property
    def centre(self) -> tuple[float, Floats]:
        """Weight in g and centre of mass (3,) of metal and stones together."""
        from ...stdlib.alloys import ALLOYS

        alone = len(self.piece.parts) == 1
        parts: list[tuple[Skin | tuple[float, Floats], float]] = [
            (
                self.skin if alone else Skin(part.points, part.triangles, part.owner),
                ALLOYS[part.metal].density,
            )
            for part in self.piece.parts
        ]
        return mass([*parts, *self.stone_masses])

    @cached_property
    def stone_masses(self) -> list[tuple[tuple[float, Floats], float]]:
        """Volume mm3, centre (3,) and density of every stone, in the order of ``piece.stones``."""
        laid, found = self.piece.stones, []
        for k, frame in enumerate(laid.frames):
            setting = laid.of(k)
            volume, centre = _stone_mass(setting.figures)
            place = frame[:, :3] @ centre + frame[:, 3]
            found.append(((volume, place), GEMS[setting.gem].density))
        return found

    # -- how it hangs -------------------------------------------------------------------------

    @cached_property
    def loops(self) -> list[Loop]:
        """Every loop."""
        return loops_of(self.piece)

    @cached_property
    def rests(self) -> list[tuple[Casting, Rest]]:
        """How each casting that hangs by loops comes to rest."""
        return [(one, one.rest) for one in self.castings if one.rest is not None]



@lru_cache(maxsize=256)
def _stone_mass(figures: tuple[Any, ...]) -> tuple[float, Floats]:
    """Volume mm3 and centroid of a stone in its own frame."""
    points, triangles = stone_mesh(figures)
    return volume_and_centre(Skin(points, triangles, np.zeros(len(triangles), dtype=np.int64)))


def _across(call: Call) -> float:
    """The greatest thickness a wire is stated to have, mm."""
    found = figures(call, FigureOf.SECTION, FigureOf.WIRE)
    sizes = (max(size) if isinstance(size, tuple) else size for _, _, size in found)
    return max(map(float, sizes), default=WIRE_LIMIT)


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
