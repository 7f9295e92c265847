"""What is measured round the stones of a piece: the metal about them, below them and in them, and how prongs
are rooted in other metal: by their whole surface less what is still seen of it on the skin.

Each figure is taken the first time a rule asks for it. Lengths mm, volumes mm3."""

from __future__ import annotations

import math
from functools import cached_property, lru_cache

import numpy as np

from ..bench.feature import Feature
from ..bench.plan import ROD
from ..bench.roles import Role
from ..geometry import frames as fr
from ..geometry.line import Line
from ..measures.kinds import Floats, Ints, length, place_of
from ..measures.mass import volume_and_centre
from ..measures.skin import Skin
from ..measures.stone import Stone
from ..shapes.makers import make
from .floors import floors
from .forms import Form, Spot, Surround, form_of, set_stone
from .pairs import near_pairs
from .piece import Piece
from .prongs import Rods
from .seats import closed
from .services import indices_of
from .surround import surrounds
from .tolerances import WIRE_LIMIT

BEHIND = Role.FINDING, Role.PIN, Role.EAR_POST, Role.EAR_WIRE, Role.CLASP
LIES = 0.7  # of its axis up out of the piece: what goes round lies flat, its stones on top
SLOT = 4.0  # mm, wider a folded strip is none
PAST = 0.1  # mm outside a girdle, where the metal it lies in is measured
BY_WIRE = 10.0  # mm, a stone so near wire round a wrist is set on it
COAXIAL, AS_THICK = 0.999, 0.1  # cosine and share of its wire by which a leg may differ from its prong
NEAR = 0.02  # mm, faces of a rod lie this near to its own wire


class StoneMeasures:
    """All that is measured round the stones of one piece."""

    def __init__(self, piece: Piece) -> None:
        self.piece, self.sets, self.metal = piece, piece.sets, piece.skin_measures

    @cached_property
    def stones(self) -> list[Stone]:
        """Every stone where it sits, in the order of ``piece.stones``."""
        rows = self.piece.stones
        return [set_stone(rows.of(k).figures, frame) for k, frame in enumerate(rows.frames)]

    @cached_property
    def surrounds(self) -> list[Surround]:
        """The metal round every stone."""
        seats = np.append(self.metal.flags(self.sets.seats), False)
        holds = np.append(self.metal.flags([*self.sets.holders, *self.sets.beads]), False)
        adorns = np.append(self.metal.flags(self.sets.ornaments), False)
        forms = [self.form(k) for k in range(len(self.stones))]
        wire = min(float(self.piece.rods.wire.max(initial=0.0)), WIRE_LIMIT)
        another = self.piece.claw_homes.of_another
        return surrounds(forms, self.stones, self.metal.skin, seats, holds, adorns, wire, another)

    @cached_property
    def floors(self) -> list[Spot | None]:
        """The thinnest metal straight below the seat of each stone."""
        count = range(len(self.stones))
        forms, holes = [self.form(k) for k in count], [self._hole(k) for k in count]
        return floors(
            forms, self.stones, holes, self.metal.skin, np.append(self.metal.flags(self.sets.seats), False)
        )

    def form(self, stone: int) -> Form:
        """A stone's form in its own axes."""
        rows = self.piece.stones
        return form_of(rows.of(stone).figures, bool(fr.mirrored(rows.frames[stone])))

    def _hole(self, stone: int) -> float:
        """The light hole under a stone as a share of its width, as its seat says; 0 of a closed one."""
        seat = self.piece.seated.get(stone)
        if seat is not None and closed(self.piece, seat):
            return 0.0
        return 0.5 if seat is None else float(self.piece.call(seat).get("hole") or 0.5)

    @cached_property
    def overlaps(self) -> list[tuple[int, int, float, tuple[float, float, float]]]:
        """Pairs of stones that share room: (first, second, mm3, place)."""
        rows, found = self.piece.stones, []
        reach = max((2 * float(self.form(k).rim.max()) for k in range(len(rows.kind))), default=0)
        one, two = near_pairs(rows.frames[:, :, 3], rows.frames[:, :, 3], reach)
        for a, b in zip(*(part[one < two].tolist() for part in (one, two)), strict=True):
            if not _apart(self.stones[a], self.stones[b]):
                solids = (self.piece.stone_solids[k][2] for k in (a, b))
                volume, centre = volume_and_centre(next(solids) ^ next(solids))
                if volume > 1e-6:
                    found.append((a, b, volume, place_of(centre)))
        return found

    @cached_property
    def culets(self) -> list[tuple[float, tuple[float, float, float]]]:
        """For every stone how far its lowest point stays inside the skin side, and where: the
        bore of the ring it stands nearest to, the wrist that oval wire goes round, or the plane of the lowest
        metal of its casting, or the back of its own metal where that is bent round behind it."""
        found, holes = [], self.piece.wear_measures.holes
        oval = self.piece.wear_measures.oval if not holes else None
        for n, (stone, frame) in enumerate(zip(self.stones, self.piece.stones.frames, strict=True)):
            depth = stone.points[:, 2] - self._low(n)
            if oval is not None and _on_wire(oval[0], frame):
                line, half = oval
                near = np.linalg.norm(stone.points[:, None] - line.points[None], axis=2).argmin(axis=1)
                depth = ((stone.points - line.points[near]) * line.outs[near]).sum(axis=1) + half[near]
            hole = min(holes, key=lambda one: one.off(stone.origin), default=None)
            if hole is not None and abs(hole.axis[2]) < LIES:
                depth = np.linalg.norm(np.cross(stone.points - hole.middle, hole.axis), axis=1) - hole.radius
            k = int(np.argmin(depth))
            own = np.inf if holes else self._bent_behind(n)
            found.append((min(float(depth[k]), own), place_of(stone.points[k])))
        return found

    @cached_property
    def folded(self) -> dict[int, int]:
        """The line of the metal that stones are set in, by stone, where more of it faces their points: a
        folded strip."""
        lines = {}
        skin = self.metal.skin
        for k, seat in self.piece.seated.items():
            stone, tip = self.stones[k], np.array([[0.0, 0.0, self.form(k).tip]])
            slot, faces = skin.grid.cast(stone.world(tip), -stone.turn[2:], leaving=False)
            met, owner = faces[0], int(skin.owner[faces[0]])
            host = self.piece.call(seat).get("in")
            hosts = indices_of(host) if host is not None else ()
            faced = met >= 0 and slot[0] < SLOT and skin.normals[met] @ stone.turn[2] > 0
            if faced and owner in hosts:
                lines[k] = owner
        return lines

    def _bent_behind(self, k: int) -> float:
        """How far the point of a stone stays inside the back of a folded strip beside it; inf of all else."""
        if k not in self.folded:
            return np.inf
        deep, face = self.below_rim(k)
        form, back = self.form(k), deep[(face >= 0) & (self.metal.skin.owner[face] == self.folded[k])]
        return float(back.min(initial=np.inf)) - (form.low - form.tip)

    def below_rim(self, k: int) -> tuple[Floats, Ints]:
        """How deep the metal goes along the axis of a stone from the height of its girdle down, at 12 spots
        just outside its rim (mm), and the face where it ends (-1: none)."""
        stone, form, turn = self.stones[k], self.form(k), np.radians(np.arange(0.0, 360.0, 30.0))
        far = float(form.rim.max()) + PAST
        start = np.stack((far * np.cos(turn), far * np.sin(turn), np.full(len(turn), form.low)), axis=1)
        return self.metal.skin.grid.cast(stone.world(start), np.tile(-stone.turn[2], (len(turn), 1)))

    def _low(self, k: int) -> float:
        """How low the metal goes of the casting that a stone is in, links and halves of a clasp each by
        itself, less what stands out behind it: findings, and feet of claws through the metal of its seat."""
        measures, origin = self.piece.casting_measures, self.stones[k].origin
        casting = measures.casting_at(origin) if len(measures.cast) > 1 else None
        skin = self.metal.skin if casting is None or casting.bought else casting.skin
        aside = tuple(sorted({*self._findings, *self.feet.get(k, ())} - {self._host(k)}))
        key = id(skin), aside
        if key not in self._lows:
            back = ~np.isin(skin.owner, aside)
            self._lows[key] = float(skin.corners[back, :, 2].min() if back.any() else skin.box[0][2])
        return self._lows[key]

    @cached_property
    def _lows(self) -> dict[tuple[int, tuple[int, ...]], float]:
        return {}

    @cached_property
    def _findings(self) -> list[int]:
        return [one.index for one, _ in self.piece.with_role(*BEHIND)]

    @cached_property
    def feet(self) -> dict[int, list[int]]:
        """The prongs, by stone, that stand on through the metal it is set in; those whose foot is said are
        meant to carry it above its back."""
        lines, beds = self.piece.stones.line, {bed.stone: bed.body for bed in self.piece.beds}
        standing = {k: int(lines[k]) for k in self.piece.seated if beds.get(k) == self._host(k)}
        found: dict[int, list[int]] = {k: [] for k in standing}
        for one, call in self.piece.with_role(Role.PRONG):
            if not any(use.arguments["foot"].given for use in call.within[:1] if "foot" in use.arguments):
                served = self.piece.services.lines(one.index)
                for k in (k for k, line in standing.items() if line in served):
                    found[k].append(one.index)
        return found

    def _host(self, k: int) -> int:
        """The metal a stone's seat is cut in; -1 without one."""
        into = self.piece.call(self.piece.seated[k]).get("in") if k in self.piece.seated else None
        return int(into.index) if isinstance(into, Feature) else -1

    roots = cached_property(lambda self: _roots_of(self.piece, self.metal.skin))


def _on_wire(line: Line, frame: Floats) -> bool:
    """Whether a stone standing at ``frame`` (3, 4) is set on wire along ``line`` and looks as that does: at
    its ends a cap looks along it."""
    off = np.linalg.norm(line.points - frame[:, 3], axis=1)
    k = int(off.argmin())
    return bool(off[k] < BY_WIRE and line.outs[k] @ frame[:, 2] > LIES)


def _apart(one: Stone, two: Stone) -> bool:
    """Whether two stones are bodies by a plane square to the line between their middles."""
    way = two.origin - one.origin
    return float((one.points @ way).max()) <= float((two.points @ way).min())


def _roots_of(piece: Piece, skin: Skin) -> list[Spot]:
    """Over how many times its section every rod beside a stone is joined, at its foot, in their order; one
    that a leg goes on below, over what the leg is, too."""
    rods = piece.rods
    chosen = np.unique(piece.prongs.rod)
    if not len(chosen):
        return []
    legs = _legs(rods, chosen)
    both = np.concatenate([chosen, np.array([*legs.values()], dtype=int)])
    foot, way = rods.foot[both], rods.way[both]
    wire, long = rods.wire[both], rods.long[both]
    ends = np.stack((foot, foot + way * long[:, None]))
    room = (wire / 2 + NEAR)[:, None]
    row, face = skin.grid.near(ends.min(axis=0) - room, ends.max(axis=0) + room)
    mine = skin.owner[face] == rods.feature[both][row]
    row, face = row[mine], face[mine]
    go = skin.corners[face].mean(axis=1) - foot[row]
    along = (go * way[row]).sum(axis=1)
    off = length(go - along[:, None] * way[row])
    mine = (off < wire[row] / 2 + NEAR) & (along > -NEAR) & (along < long[row] + NEAR)
    seen = np.bincount(row[mine], skin.areas[face[mine]], len(both))
    section = math.pi * wire**2 / 4
    hidden = _surface(piece, both) - seen
    for k, rod in enumerate(legs, len(chosen)):  # less what each hides of the other
        within = float((foot[k] + way[k] * long[k] - rods.foot[rod]) @ way[k])
        home = int(np.searchsorted(chosen, rod))
        hidden[home] += hidden[k] - 2 * section[k] - math.pi * wire[k] * within
    joined = hidden / section
    return [
        Spot(max(0.0, float(joined[k])), place_of(foot[k]), int(rods.feature[rod]))
        for k, rod in enumerate(chosen.tolist())
    ]


def _legs(rods: Rods, chosen: np.ndarray) -> dict[int, int]:
    """The rod that goes on below each of those that one does, along its line and about as thick."""
    found = {}
    for rod in chosen.tolist():
        go = rods.foot[rod] - rods.foot
        along = (go * rods.way[rod]).sum(axis=1)
        line = (rods.way @ rods.way[rod] > COAXIAL) & (length(go - along[:, None] * rods.way[rod]) < NEAR)
        thick = np.abs(rods.wire / rods.wire[rod] - 1) < AS_THICK
        below = np.flatnonzero(line & thick & (along > NEAR) & (along < rods.long))
        if len(below):
            found[rod] = int(below[0])
    return found


def _surface(piece: Piece, chosen: np.ndarray) -> np.ndarray:
    """Whole surface of each rod as it was made, mm2: side, foot and tip."""
    rods = piece.rods
    found = np.empty(len(chosen))
    for k, rod in enumerate(chosen.tolist()):
        tip = piece.call(int(rods.feature[rod])).get("tip", "flat")
        round_tip = "round" if tip == "round" else "flat"
        found[k] = _area(float(rods.wire[rod]), float(rods.long[rod]), round_tip, piece.tolerance)
    return found


@lru_cache(maxsize=512)
def _area(wire: float, long: float, tip: str, tolerance: float) -> float:
    """Surface of a rod's facets, mm2."""
    return float(make(ROD, (wire, long, tip), tolerance).areas().sum())
