"""The metal round one set stone: over its girdle, beside it, inside it; and below many.

Method. The metal near the stone is cut square to the stone's axis at a few heights and followed
outward every `STEP` degrees. Lengths along the lines are
exact for the mesh; arcs are good to one step. Angles are degrees round the stone, lengths mm.
"""

from __future__ import annotations

from functools import cached_property, lru_cache
from typing import Any

import numpy as np

from ..lang.lean import dataclass
from .measures.arcs import held, runs
from .measures.kinds import Flags, Floats, Ints
from .measures.polar import Crossings, outward
from .measures.skin import Skin
from .measures.stone import Stone
from .stones import stone_mesh

COUNT = 180
STEP = 360.0 / COUNT
PHASE = np.radians(
    0.7236
)  # turns the lines off the corners of facets, which lie at round angles
OVER = (0.12, 0.6)  # heights looked at, as shares of the crown
UNDER = (0.08, 0.3, 0.7)  # as shares of the pavilion
WALL_LEVELS = 2  # of the heights below, those where a wall is looked for
BITE = 0.01  # a lap of less does not hold
NEAR = 0.3  # metal farther out than this is not the wall of a seat
PUSH = 0.3  # metal standing no farther off than this can be pushed over the girdle
TOOL = 0.6  # room behind a prong is looked at so far
ROOM = 1.5  # a tool is never broader than this
TALL = 1.0  # metal is followed so far above the table
PAST = 0.08  # metal this far outside a seat carries its side
SQUARE = 0.5  # a face met flatter than 60 degrees is no wall


@dataclass(frozen=True)
class Spot:
    """A figure in mm at a place of the piece, and the feature whose metal it is."""

    figure: float
    at: tuple[float, float, float]
    owner: int


@dataclass(frozen=True)
class Lap:
    """Metal over the girdle's edge: arc in degrees, how far it laps over, how high its feature
    reaches above the middle of the girdle, and where."""

    start: float
    end: float
    over: float
    top: float
    at: tuple[float, float, float]
    owner: int


@dataclass(frozen=True)
class Surround:
    """What is round one stone.

    laps: metal over its edge; free: widest arc without any; grip: the lap it is held by (the
    least one it cannot spare; 0 when it is not held); push_free: widest arc without metal
    standing above the girdle near enough to be pushed over. beside: thinnest wall of its seat
    (None: none found), ridges between two seats left out. broken: widest arc in which a seat
    walled elsewhere is open, and broken_at its middle.
    hem: narrowest room behind a prong. inside: how deep each feature reaches into the stone.
    """

    laps: tuple[Lap, ...]
    free: float
    grip: float
    push_free: float
    beside: Spot | None
    broken: float
    broken_at: tuple[float, float, float] | None
    hem: Spot | None
    inside: tuple[Spot, ...]


@dataclass(frozen=True, eq=False)
class Form:
    """A stone in its own axes: heights of girdle, table and culet; its radius by level and
    direction, (levels, COUNT)."""

    low: float
    high: float
    top: float
    tip: float
    heights: Floats
    radius: Floats

    @property
    def rim(self) -> Floats:
        """Radius of the girdle, by direction."""
        return np.asarray(self.radius[len(UNDER)])


@lru_cache(maxsize=256)
def form_of(figures: tuple[Any, ...], mirrored: bool) -> Form:
    """The form of a stone given as (cut, length, width[, narrow])."""
    points, triangles = stone_mesh(figures)
    if mirrored:
        points, triangles = points * (1.0, -1.0, 1.0), triangles[:, ::-1]
    way = np.array([np.cos(PHASE), -np.sin(PHASE) if mirrored else np.sin(PHASE), 0.0])
    stone = Stone(points, np.zeros(3), np.array([0.0, 0.0, 1.0]), way)
    low, high = stone.girdle
    top, tip = float(points[:, 2].max()), float(points[:, 2].min())
    heights = np.array(
        [low - share * (low - tip) for share in UNDER]
        + [low + 0.7 * (high - low)]  # the middle itself often lies in a face of the metal
        + [high + share * (top - high) for share in OVER]
    )
    rim = stone.radius(np.arange(COUNT, dtype=np.float64) * STEP)
    met = outward(stone.own(points[triangles]), heights, COUNT)
    radius = np.tile(rim, len(heights))
    radius[met.line[met.leaving]] = met.far[met.leaving]
    radius = radius.reshape(len(heights), COUNT)
    radius[len(UNDER)] = rim
    return Form(low, high, top, tip, heights, radius)


def set_stone(figures: tuple[Any, ...], frame: Floats) -> Stone:
    """The stone of the given figures where a (3, 4) frame stands it."""
    points = stone_mesh(figures)[0] @ frame[:, :3].T + frame[:, 3]
    right = np.cos(PHASE) * frame[:, 0] + np.sin(PHASE) * frame[:, 1]
    return Stone(points, frame[:, 3], frame[:, 2], right)


def surrounds(
    forms: list[Form],
    stones: list[Stone],
    skin: Skin,
    seats: Flags,
    holds: Flags,
    wire: float = 1.0,
) -> list[Surround]:
    """Measure the metal round each of the ``stones``.

    ``seats`` and ``holds`` (m + 1,) flag the faces of seats and of what may hold a stone (the
    last is for no face); ``wire`` is the thickest wire that holds one, mm.
    """
    if not stones:
        return []
    room = max(NEAR, wire + TOOL)
    boxes = np.array([_box(form, stone, room) for form, stone in zip(forms, stones, strict=True)])
    row, face = skin.grid.near(boxes[:, 0], boxes[:, 1])
    stops = np.searchsorted(row, np.arange(len(stones) + 1))
    owner = np.append(skin.owner, -1)
    return [
        _surround(_View(form, stone, skin, face[stops[k] : stops[k + 1]], owner, seats, holds))
        for k, (form, stone) in enumerate(zip(forms, stones, strict=True))
    ]


def _box(form: Form, stone: Stone, room: float) -> tuple[Floats, Floats]:
    """The box round all that may matter to a stone."""
    reach = float(form.rim.max()) + room
    span = ((-reach, reach), (-reach, reach), (float(form.heights.min()), form.top + TALL))
    corners = stone.world(np.stack(np.meshgrid(*span), axis=-1).reshape(-1, 3))
    return corners.min(axis=0), corners.max(axis=0)


def _surround(view: _View) -> Surround:
    """All that is round one stone."""
    laps = view.laps()
    beside, broken, broken_at = view.walls()
    return Surround(
        laps,
        held((lap.start, lap.end) for lap in laps).free,
        _grip(laps),
        view.push_free(),
        beside,
        broken,
        broken_at,
        view.hem(),
        view.inside(),
    )


def _grip(laps: tuple[Lap, ...]) -> float:
    """The largest lap such that the laps of at least as much still hold."""
    for size in sorted({lap.over for lap in laps}, reverse=True):
        if held((lap.start, lap.end) for lap in laps if lap.over >= size).is_held:
            return size
    return 0.0


class _View:
    """The metal near one stone, in its own axes."""

    def __init__(
        self,
        form: Form,
        stone: Stone,
        skin: Skin,
        face: Ints,
        owner: Ints,
        seats: Flags,
        holds: Flags,
    ) -> None:
        self.form, self.stone, self.owner = form, stone, owner
        self.seats, self.holds = seats, holds
        corners = stone.own(skin.corners[face])
        near = corners[:, :, 2].max(axis=1) >= form.heights.min()
        corners = self.corners = corners[near]
        self.face = np.append(face[near], len(skin.triangles))
        self.met = outward(corners, form.heights, COUNT)
        flat = form.radius.reshape(-1)
        self.depth, self.first = _depths(self.met, flat)

    def at(self, level: int, direction: float, far: float) -> tuple[float, float, float]:
        """A place on a line, in the piece."""
        turn = np.radians(direction * STEP)
        own = np.array([far * np.cos(turn), far * np.sin(turn), self.form.heights[level]])
        return _place(self.stone.world(own))

    def who(self, met: Ints) -> Ints:
        """Features of faces met (indices into the near faces, -1 for none)."""
        return np.asarray(self.owner[self.face[met]])

    def laps(self) -> tuple[Lap, ...]:
        """Metal over the edge of the crown."""
        start = len(UNDER) + 1
        over, into = _laps(self.met, np.tile(self.form.rim, len(self.form.heights)))
        over, into = over.reshape(-1, COUNT)[start:], into.reshape(-1, COUNT)[start:]
        found = []
        for arc, part in runs(np.asarray((over >= BITE).any(axis=0))):
            some, who = over[:, part], self.who(into[:, part])
            names, votes = np.unique(who[some >= BITE], return_counts=True)
            owner = int(names[np.argmax(votes)])
            level, way = np.unravel_index(int(np.argmax(some)), some.shape)
            rim = float(self.form.rim[part[int(way)]])
            place = self.at(start + int(level), part[int(way)], rim)
            top = self._top(arc, owner)
            found.append(Lap(arc[0], arc[1], float(some.max()), top, place, owner))
        return tuple(found)

    def _top(self, arc: tuple[float, float], owner: int) -> float:
        """How high a feature reaches within an arc, above the middle of the girdle."""
        who, angle, height = self._tops
        within = who == owner
        within[within] = (angle[within] - arc[0] + 5.0) % 360.0 <= arc[1] - arc[0] + 10.0
        if not within.any():
            return 0.0
        return float(height[within].max() - (self.form.low + self.form.high) / 2)

    @cached_property
    def _tops(self) -> tuple[Ints, Floats, Floats]:
        """Feature, direction and height of every point of metal above the girdle near by."""
        who = np.repeat(self.owner[self.face[:-1]], 3)
        spots = self.corners.reshape(-1, 3)
        keep = spots[:, 2] > self.form.high
        keep[keep] = np.hypot(*spots[keep, :2].T) < float(self.form.rim.max()) + ROOM
        spots = spots[keep]
        return who[keep], np.degrees(np.arctan2(spots[:, 1], spots[:, 0])), spots[:, 2]

    def push_free(self) -> float:
        """Widest arc without metal above the girdle that could be pushed over it."""
        level = len(UNDER) + 1
        lines = slice(level * COUNT, (level + 1) * COUNT)
        limit = np.tile(self.form.rim, len(self.form.heights))
        near = self.met.within_metal(limit + PUSH) | self.met.within_metal(limit - 1e-3)
        return held(arc for arc, _ in runs(np.asarray(near[lines]))).free

    def walls(self) -> tuple[Spot | None, float, tuple[float, float, float] | None]:
        """The thinnest wall beside the seat; the widest arc it is open in, and where."""
        limit = self.form.radius.reshape(-1)
        met = self.met
        enter = met.first_after(limit - NEAR)
        ok = (enter >= 0) & (np.arange(len(limit)) < WALL_LEVELS * COUNT)
        ok[ok] = ~met.leaving[enter[ok]] & (met.far[enter[ok]] <= limit[ok] + NEAR)
        wall = ok | met.within_metal(limit + NEAR) | self._proud(limit)
        broken, broken_at = 0.0, None
        for level in range(WALL_LEVELS):
            arc = self._open(wall[level * COUNT : (level + 1) * COUNT])
            if arc is not None and arc[1] > broken:
                way, broken = arc
                rim = self.form.radius[level, round(way) % COUNT]
                broken_at = self.at(level, way, float(rim))
        return self._thinnest(enter[ok], np.flatnonzero(ok)), broken, broken_at

    def _proud(self, limit: Floats) -> Flags:
        """Lines that pass over metal: beside a seat there that stands proud, as on a curved
        face, metal goes on lower down; where a seat breaks out there is none."""
        found = np.zeros(len(limit), dtype=bool)
        for level in range(WALL_LEVELS):
            here = slice(level * COUNT, (level + 1) * COUNT)
            for lower in range(level + 1, len(UNDER)):
                at = np.zeros(len(limit))
                at[lower * COUNT : (lower + 1) * COUNT] = limit[here] + PAST
                below = self.met.within_metal(at)[lower * COUNT : (lower + 1) * COUNT]
                found[here] |= below
        return found

    def _open(self, wall: Flags) -> tuple[float, float] | None:
        """Middle (in steps) and width in degrees of the widest gap of a seat mostly walled."""
        if wall.all() or wall.mean() < 0.5:
            return None
        found = held(arc for arc, _ in runs(wall))
        return found.middle / STEP, found.free

    def _thinnest(self, enter: Ints, line: Ints) -> Spot | None:
        """The thinnest of the walls entered, from a seat's face to no other seat's."""
        met = self.met
        more = enter + 1 < len(met.far)
        enter, line = enter[more], line[more]
        wall = (met.line[enter + 1] == line) & met.leaving[enter + 1]
        wall &= (met.square[enter] > SQUARE) & (met.square[enter + 1] > SQUARE)
        inner, outer = (
            self.face[met.face[enter]],
            self.face[met.face[np.minimum(enter + 1, len(met.far) - 1)]],
        )
        wall &= self.seats[inner] & ~self.seats[outer] & ~self.holds[outer]
        enter, line = enter[wall], line[wall]
        if not len(enter):
            return None
        thick = met.far[enter + 1] - met.far[enter]
        k = int(np.argmin(thick))
        far = float(met.far[enter[k]] + thick[k] / 2)
        place = self.at(int(line[k]) // COUNT, int(line[k]) % COUNT, far)
        return Spot(float(thick[k]), place, int(self.who(met.face[enter[k] + 1])))

    def hem(self) -> Spot | None:
        """The narrowest room between the back of a prong and metal as high as it."""
        level = len(self.form.heights) - 1
        met, rim = self.met, self.form.rim
        behind = met.first_after(np.tile(rim, level + 1))[level * COUNT :]
        ok = (behind >= 0) & (behind + 1 < len(met.far))
        ok[ok] = met.leaving[behind[ok]] & (met.line[behind[ok] + 1] == met.line[behind[ok]])
        back, following = self.face[met.face[behind]], behind + 1
        ok &= self.holds[back]
        ok[ok] = ~self.holds[self.face[met.face[following[ok]]]]
        behind = behind[ok]
        if not len(behind):
            return None
        room = met.far[behind + 1] - met.far[behind]
        k = int(np.argmin(room))
        if room[k] >= ROOM:
            return None
        far = float(met.far[behind[k]] + room[k] / 2)
        place = self.at(level, int(met.line[behind[k]]) % COUNT, far)
        return Spot(float(room[k]), place, int(self.who(met.face[behind[k] + 1])))

    def inside(self) -> tuple[Spot, ...]:
        """The deepest each feature reaches into the stone."""
        deep = np.flatnonzero(self.depth > BITE)
        who = self.who(self.first[deep])
        found = []
        for owner in np.unique(who).tolist():
            mine = deep[who == owner]
            line = int(mine[np.argmax(self.depth[mine])])
            level, way = divmod(line, COUNT)
            far = float(self.form.radius[level, way] - self.depth[line] / 2)
            place = self.at(level, way, far)
            found.append(Spot(float(self.depth[line]), place, owner))
        return tuple(found)


RINGS, SPOKES = 2, 18


def floors(
    forms: list[Form], stones: list[Stone], holes: list[float], skin: Skin, seats: Flags
) -> list[Spot | None]:
    """The thinnest metal straight below the seat of each stone, from its light hole (a share of
    its width) to its girdle; None where a stone has no seat below it.

    Lines every 20 degrees on `RINGS` rings; exact for the mesh along them.
    """
    if not stones:
        return []
    rows = [_spots_below(form, stone, hole) for form, stone, hole in
            zip(forms, stones, holes, strict=True)]  # fmt: skip
    start = np.concatenate(rows)
    way = np.repeat([-stone.turn[2] for stone in stones], RINGS * SPOKES, axis=0)
    far, into = skin.grid.cast(start, way, leaving=False)
    ok = (into >= 0) & seats[into]
    ok[ok] = (way[ok] * skin.normals[into[ok]]).sum(axis=1) < 0
    thick = np.full(len(start), np.inf)
    out = np.full(len(start), -1, dtype=np.int64)
    bottom = start[ok] + (far[ok, None] + 1e-6) * way[ok]
    thick[ok], out[ok] = skin.grid.cast(bottom, way[ok])
    thick[seats[out]] = np.inf  # the wall of a hole, or of another seat
    found: list[Spot | None] = []
    for k in range(len(stones)):
        part = slice(k * RINGS * SPOKES, (k + 1) * RINGS * SPOKES)
        i = part.start + int(np.argmin(thick[part]))
        spot = start[i] + (far[i] + thick[i] / 2) * way[i] if np.isfinite(thick[i]) else None
        found.append(
            None
            if spot is None
            else Spot(float(thick[i]), _place(spot), int(skin.owner[out[i]]))
        )
    return found


def _spots_below(form: Form, stone: Stone, hole: float) -> Floats:
    """Starting points of a stone's lines, in the girdle plane, (RINGS * SPOKES, 3)."""
    way = np.arange(SPOKES) * COUNT // SPOKES
    turn = np.radians(way * STEP)
    spokes = np.stack((np.cos(turn), np.sin(turn)), axis=1) * form.rim[way, None]
    flat = [ring * spokes for ring in np.linspace(min(hole, 0.9) + 0.03, 0.97, RINGS)]
    level = np.full((RINGS * SPOKES, 1), form.low - 1e-3)
    return stone.world(np.concatenate((np.concatenate(flat), level), axis=1))


def _laps(met: Crossings, limit: Floats) -> tuple[Floats, Ints]:
    """How far the metal that is at each limit reaches inward of it, and the face where."""
    before = met.last_before(limit - 1e-3)
    inside = met.within_metal(limit - 1e-3)
    face = np.append(met.face, -1)[before]
    start = np.append(met.far, 0.0)[before]
    return np.where(inside, limit - start, 0.0), np.where(inside, face, -1)


def _depths(met: Crossings, limit: Floats) -> tuple[Floats, Ints]:
    """How far inside each limit the innermost metal lies, and the face met there."""
    first = met.first_after(np.full(len(limit), -1.0))
    far = np.append(met.far, np.inf)[first]
    out = np.append(met.leaving, False)[first] & (far > limit)
    # A line that only leaves metal past the limit starts in it, unless a crossing got lost
    # where faces meet: the stone is buried there if most lines say so.
    buried = out & (out.reshape(-1, COUNT).mean(axis=1) > 0.5).repeat(COUNT)
    depth = np.where(buried, limit, np.maximum(limit - far, 0.0))
    return depth * (first >= 0), np.append(met.face, -1)[first]


def _place(at: Floats) -> tuple[float, float, float]:
    x, y, z = np.asarray(at, dtype=float).tolist()
    return x, y, z
