"""Lines straight out from the axes of many set stones, and what is met along them.

Lines are numbered height by height, then stone by stone, then round the stone (`COUNT`)."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from ..measures.arcs import held, runs
from ..measures.kinds import Flags, Floats, Ints, begins, least, most, place_of
from ..measures.polar import Crossings, outward
from ..measures.skin import Skin
from ..measures.stone import Stone
from .forms import COUNT, LEVELS, STEP, UNDER, Form, Spot

WALL_LEVELS = 2  # of the heights below, those where a wall is looked for
CARRIES = 0.15  # metal farther off a pavilion than this, right below the girdle, does not carry it
BITE = 0.01  # a lap of less does not hold
NEAR = 0.3  # metal farther out than this is not the wall of a seat
ROOM = 1.5  # a tool is never broader than this
PAST = 0.08  # metal this far outside a seat carries its side
SQUARE = 0.5  # a face met flatter than 60 degrees is no wall
LOWER = 0.2  # mm below its edge a wall that grows thicker downward is judged

OfAnother = Callable[[Ints, Ints, Floats], Flags]
Broken = tuple[float, tuple[float, float, float] | None]


class StoneRays:
    """The metal near some stones, in the axes of each: pairs of ``row`` (a stone) and ``face``."""

    def __init__(
        self, forms: list[Form], stones: list[Stone], skin: Skin, row: Ints, face: Ints, seats: Flags,
        holds: Flags, adorns: Flags,
    ) -> None:
        self.stones, self.seats, self.holds, self.adorns = stones, seats, holds, adorns
        self.owner = np.append(skin.owner, -1)
        self.heights = np.array([form.heights for form in forms])
        self.radius = np.array([form.radius for form in forms])
        self.rim = self.radius[:, len(UNDER)]
        self.looks = np.array([form.looks for form in forms])
        # A length along a line that leaves the girdle slantwise, as it stands square to the girdle.
        self.square = np.cos(np.radians(self.looks - np.arange(COUNT) * STEP))
        self.low = np.array([form.low for form in forms])
        self.high = np.array([form.high for form in forms])
        self.skin, self.row, self.near = skin, row, face
        low, self._reach = self._extents()
        level = self.heights[row].T
        crossed = np.flatnonzero(np.logical_or.reduce((low < level) & (self._reach >= level)))
        row, corners = row[crossed], self._own(crossed)
        self.face = np.append(face[crossed], len(skin.triangles))
        self.met = outward(corners, self.heights.T[:, row], COUNT, row, len(stones))

    def _extents(self) -> tuple[Floats, Floats]:
        """Lowest and highest height of every near face on the axis of its stone."""
        stops = np.searchsorted(self.row, np.arange(len(self.stones) + 1))
        low, high = np.empty(len(self.row)), np.empty(len(self.row))
        for k, stone in enumerate(self.stones):
            part = slice(stops[k], stops[k + 1])
            heights = self.skin.corners[self.near[part]] @ stone.turn[2] - float(stone.origin @ stone.turn[2])
            low[part], high[part] = least(heights), most(heights)
        return low, high

    def _own(self, pairs: Ints) -> Floats:
        """Corners of some of the near faces in the axes of their stones."""
        row, corners = self.row[pairs], self.skin.corners[self.near[pairs]]
        stops = np.searchsorted(row, np.arange(len(self.stones) + 1))
        own = np.empty_like(corners)
        for k in np.flatnonzero(np.diff(stops)).tolist():
            part = slice(stops[k], stops[k + 1])
            own[part] = self.stones[k].own(corners[part])
        return own

    def level(self, level: int) -> Crossings:
        """What is met at one height; lines are stone by stone."""
        size = len(self.stones) * COUNT
        return self.met.part(level * size, (level + 1) * size)

    def rows(self, flags: Flags) -> Flags:
        """Flags of the lines of one height as a row to each stone."""
        return flags.reshape(-1, COUNT)

    def at(self, stone: int, level: int, way: float, far: float) -> tuple[float, float, float]:
        """A place on a line, in the piece; ``way`` counts in steps."""
        turn = np.radians(way * STEP)
        own = np.array([far * np.cos(turn), far * np.sin(turn), self.heights[stone, level]])
        return place_of(self.stones[stone].world(own))

    def who(self, face: Ints) -> Ints:
        """Features of near faces (-1 for none)."""
        return np.asarray(self.owner[self.face[face]])

    # -- beside the seat ----------------------------------------------------------------------

    def walls(self) -> tuple[list[Spot | None], list[Broken]]:
        """The thinnest wall beside each seat; the widest arc it is open in, and where."""
        thin: list[tuple[Ints, Ints, Floats, Floats, Ints]] = []
        broken: list[Broken] = [(0.0, None)] * len(self.stones)
        for level in range(WALL_LEVELS):
            met, limit = self.level(level), self.radius[:, level].reshape(-1)
            enter, ok = _entered(met, limit)
            wall = ok | met.within_metal(limit + NEAR)
            if not wall.all():
                wall |= self._proud(level, limit)
            self._broken(level, self.rows(wall), broken)
            thin.append(self._thin(level, met, enter[ok], np.flatnonzero(ok)))
        # At the girdle the seat is widest, and the wall thinnest.
        girdle, rim = self.level(len(UNDER)), self.rim.reshape(-1)
        enter, ok = _entered(girdle, rim)
        thin.append(self._thin(len(UNDER), girdle, enter[ok], np.flatnonzero(ok)))
        return self._thinnest(*(np.concatenate(part) for part in zip(*thin, strict=True))), broken

    def _proud(self, level: int, limit: Floats) -> Flags:
        """Lines that pass over metal: beside a seat there that stands proud, as on a curved
        face, metal goes on lower down; where a seat breaks out there is none."""
        found = np.zeros(len(limit), dtype=bool)
        for lower in range(level + 1, len(UNDER)):
            found |= self.level(lower).within_metal(limit + PAST)
        return found

    def _broken(self, level: int, wall: Flags, broken: list[Broken]) -> None:
        """Note the widest gap of every seat that is mostly walled at a height."""
        share = wall.mean(axis=1)
        for k in np.flatnonzero((share < 1) & (share >= 0.5)).tolist():
            gap = held(arc for arc, _ in runs(wall[k]))
            if gap.free > broken[k][0]:
                way = gap.middle / STEP
                rim = float(self.radius[k, level, round(way) % COUNT])
                broken[k] = gap.free, self.at(k, level, way, rim)

    def _thin(
        self, level: int, met: Crossings, enter: Ints, line: Ints
    ) -> tuple[Ints, Ints, Floats, Floats, Ints]:
        """Walls entered, from a seat's face to no other seat's: (line, height, thickness, middle
        along the line, feature)."""
        more = enter + 1 < len(met.far)
        enter, line = enter[more], line[more]
        wall = (met.line[enter + 1] == line) & met.leaving[enter + 1]
        wall &= (met.square[enter] > SQUARE) & (met.square[enter + 1] > SQUARE)
        inner, outer = self.face[met.face[enter]], self.face[met.face[enter + 1]]
        wall &= self.seats[inner] & ~self.seats[outer] & ~self.holds[outer]
        enter, line, outer = enter[wall], line[wall], outer[wall]
        # A face met flatter than that is the top, which a curved face lets the line slip out of.
        side = (self.skin.normals[outer] * self._ways(line)).sum(axis=1)
        steep = side > SQUARE
        enter, line, outer, side = enter[steep], line[steep], outer[steep], side[steep]
        # What leans out downward, as a dome does, leaves more a little lower.
        lean = np.maximum((self.skin.normals[outer] * self._axes(line)[:, 2]).sum(axis=1), 0.0) / side
        more_below = LOWER * lean
        thick = (met.far[enter + 1] - met.far[enter] + more_below) * met.square[enter + 1]
        who = self.who(met.face[enter + 1])
        middle = (met.far[enter] + met.far[enter + 1]) / 2
        return line, np.full(len(line), level), thick, middle, who

    def _ways(self, line: Ints) -> Floats:
        """The way some lines go, in the piece, unit (n, 3)."""
        turn, axes = np.radians(line % COUNT * STEP), self._axes(line)
        return np.cos(turn)[:, None] * axes[:, 0] + np.sin(turn)[:, None] * axes[:, 1]

    def _axes(self, line: Ints) -> Floats:
        """The axes of the stones that some lines leave, in the piece (n, 3, 3)."""
        return np.array([stone.turn for stone in self.stones])[line // COUNT]

    def _thinnest(self, line: Ints, level: Ints, thick: Floats, far: Floats, who: Ints) -> list[Spot | None]:
        """The thinnest of the walls of each stone."""
        found: list[Spot | None] = [None] * len(self.stones)
        for k in _least_of_each(line // COUNT, thick).tolist():
            place = self.at(int(line[k]) // COUNT, int(level[k]), int(line[k]) % COUNT, float(far[k]))
            found[int(line[k]) // COUNT] = Spot(float(thick[k]), place, int(who[k]))
        return found

    def hem(self) -> list[Spot | None]:
        """The narrowest room between the back of a prong and metal as high as it."""
        met = self.level(LEVELS - 1)
        behind = met.first_after(self.rim.reshape(-1))
        ok = (behind >= 0) & (behind + 1 < len(met.far))
        ok[ok] = met.leaving[behind[ok]] & (met.line[behind[ok] + 1] == met.line[behind[ok]])
        ok[ok] = self.holds[self.face[met.face[behind[ok]]]]
        ok[ok] = ~self.holds[self.face[met.face[behind[ok] + 1]]]
        behind = behind[ok]
        line, room = met.line[behind], met.far[behind + 1] - met.far[behind]
        found: list[Spot | None] = [None] * len(self.stones)
        for k in _least_of_each(line // COUNT, room).tolist():
            if room[k] < ROOM:
                stone, way = divmod(int(line[k]), COUNT)
                far = float(met.far[behind[k]] + room[k] / 2)
                place = self.at(stone, LEVELS - 1, way, far)
                found[stone] = Spot(float(room[k]), place, int(self.who(met.face[behind[k] + 1])))
        return found

    # -- under the stone ----------------------------------------------------------------------

    def under(self) -> Floats:
        """How far metal that carries each stone below its girdle reaches inside it, by direction,
        (n, COUNT)."""
        rim = self.rim.reshape(-1)
        reach, beside = np.zeros(len(rim)), np.zeros(len(rim), dtype=bool)
        for level in range(len(UNDER)):
            first, far, enters = self.level(level).innermost(len(rim))
            buried = (first >= 0) & ~enters & (far > rim)  # metal from the axis on: see stone-in-metal
            reach[buried] = rim[buried]
            if level == 0:  # what does not come up to the girdle is a bar below the stone
                beside = enters & (far <= self.radius[:, level].reshape(-1) + CARRIES)
            reach[enters] = np.maximum(reach, rim - far)[enters]
        reach[~beside] = 0.0
        return reach.reshape(-1, COUNT) * self.square

    # -- in the stone -------------------------------------------------------------------------

    def inside(self, number: int, of_another: OfAnother) -> list[tuple[Spot, ...]]:
        """The deepest each feature reaches into each stone: with its own claws, and with those it has there
        for another stone; ``number`` is that of the first of these stones."""
        flat = self.radius.transpose(1, 0, 2).reshape(-1)
        depth, first = _depths(self.met, flat)
        depth *= np.tile(self.square.reshape(-1), len(flat) // self.square.size)
        deep = np.flatnonzero(depth > BITE)
        who, stone = self.who(first[deep]), deep // COUNT % len(self.stones)
        found: list[list[Spot]] = [[] for _ in self.stones]
        level, way = deep // COUNT // len(self.stones), deep % COUNT
        far = flat[deep] - depth[deep] / 2
        turn, axes = np.radians(way * STEP), np.array([one.turn for one in self.stones])[stone]
        own = np.stack((far * np.cos(turn), far * np.sin(turn), self.heights[stone, level]), axis=1)
        places = np.array([one.origin for one in self.stones])[stone] + np.einsum("nij,ni->nj", axes, own)
        kind = (stone * np.int64(len(self.owner) + 1) + who + 1) * 2 + of_another(stone + number, who, places)
        for k in _least_of_each(kind, -depth[deep]).tolist():
            spot = Spot(float(depth[deep[k]]), place_of(places[k]), int(who[k]))
            found[int(stone[k])].append(spot)
        return [tuple(spots) for spots in found]


def _least_of_each(kind: Ints, size: Floats) -> Ints:
    """Place of the least of each kind, the first on a tie; kinds in rising order."""
    order = np.lexsort((size, kind))
    return order[begins(kind[order])]


def _entered(met: Crossings, limit: Floats) -> tuple[Ints, Flags]:
    """The first crossing of each line past `NEAR` before its limit, and whether it goes into metal within
    `NEAR` of that."""
    enter = met.first_after(limit - NEAR)
    ok = enter >= 0
    ok[ok] = ~met.leaving[enter[ok]] & (met.far[enter[ok]] <= limit[ok] + NEAR)
    return enter, ok


def _depths(met: Crossings, limit: Floats) -> tuple[Floats, Ints]:
    """How far inside each limit the innermost metal that a line enters lies, and the face met there.
    What starts in metal is of the metal on the axis: see stone-in-metal."""
    first, far, enters = met.innermost(len(limit))
    depth = np.where(enters, np.maximum(limit - far, 0.0), 0.0)
    return depth, np.append(met.face, -1)[first]
