"""Arms of a ring: what ends beside the head it rises to; those of an open one, joined. Lengths mm."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product
from typing import TYPE_CHECKING

import numpy as np

from ....lang.terms import Name
from ...bench.feature import Lines, Places
from ...bench.roles import Role
from ...judging.digits import rounded_up
from ...judging.figure_rule import Reading
from ...judging.moves import move
from ...metal.kernel import join

if TYPE_CHECKING:
    from manifold3d import Manifold

    from ....lang.bench import Use
    from ...bench.feature import Feature
    from ...judging.piece import Piece
    from ...measures.kinds import Floats

LONG, ENDS = 30.0, 3.0  # what is so long, and so many times as far as its ends lie apart, goes round a finger
SAW, REACH = 0.05, 6.0  # a cut through its middle, how thick, and how far to all sides
PROBE = 0.3  # of a ball on each arm, by which its metal is known
AT_END = 2.0  # a place so near to an end of a line is that end, in the middle of its metal
AIR = 0.3  # between a head and the other arm
ENOUGH, TOUCH = 0.3, 1e-3  # mm3, what a head is joined by, and what two that are apart share by rounding
TIP, FAR = 0.5, 3.0  # of an arm, from its top down, where it is to touch its head; how far that is looked for
STEPS = np.arange(0.25, 4.1, 0.25)  # a head is tried so far aside
DOWN = (0.0, 0.4, 0.8, 1.2)  # and so far in


def check(piece: Piece) -> Iterator[Reading]:
    for ring in _open_rings(piece):
        arms = _Arms(piece, *ring)
        if arms.stones:
            yield from arms.told()


def free_end(piece: Piece) -> Iterator[Reading]:
    """Arms that are to `meet` the head of a stone, and touch none of its metal with their tops."""
    arms: dict[Use, list[Feature]] = {}
    for feature, call in piece.with_role(Role.SETTING):
        for use in call.within:
            if use.word.take("meet") is not None and feature.body is not None:
                arms.setdefault(use, []).append(feature)
    for use, features in arms.items():
        head, up = use.arguments["for"].value, use.arguments["for"].value.frames[0, :, 2]
        known = (one.index for one in piece.features if head.index in piece.services.lines(one.index))
        holders = {one for one in known if use not in piece.call(one).within}
        held, free = join(piece.laid(holders)), []
        for arm in piece.laid({one.index for one in features}):
            seen = (arm ^ piece.metal) - held
            top = (seen.to_mesh64().vert_properties[:, :3] @ up).max(initial=-np.inf)
            gap = seen.trim_by_plane(up, top - TIP).min_gap(held, FAR)
            free += [gap] if gap > TOUCH else []
        if free and not held.is_empty():
            first, last = features[0].index, max(holders)
            cure = "leave 'meet' out: they then come to the rail they find there"
            if last > first:
                order = f"put the line of {piece.name_of(first)} below that of {piece.name_of(last)}"
                cure = f"{order}: they then find its rail"
            elif not use.arguments["meet"].given:
                cure = "give the head a rail at their sides, as a basket has"
            yield Reading(first, min(free), cure=cure, others=(head.index,), keys=("meet", "for"))


def _open_rings(piece: Piece) -> Iterator[tuple[Feature, Floats]]:
    """What goes round a finger and stands open, and spots along it."""
    shanks = {one.index for one, _ in (*piece.with_role(Role.SHANK), *piece.with_role(Role.WIRE))}
    for index in sorted(shanks):
        feature = piece.features[index]
        path = feature.look("path") or feature.look("around")
        if isinstance(path, Lines) and len(path.lines) == 1 and not path.lines[0].closed:
            points = path.lines[0].points
            far = float(np.linalg.norm(points[-1] - points[0]))
            if path.lines[0].length() > max(LONG, ENDS * far):
                yield feature, points


class _Arms:
    """Both arms of an open ring, sawn through half way, and the stones that stand at its ends."""

    def __init__(self, piece: Piece, ring: Feature, points: Floats) -> None:
        self.piece, self.ring, self.points = piece, ring, points
        run = np.append(0.0, np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1)))
        self.probes = [self._at(run, share) for share in (0.25, 0.75)]
        self.middle, self.way = self._at(run, 0.5), self._at(run, 0.505) - self._at(run, 0.495)
        self.stones = dict(self._stones())

    def _at(self, run: Floats, share: float) -> Floats:
        return np.array([np.interp(share * run[-1], run, self.points[:, axis]) for axis in range(3)])

    def _stones(self) -> Iterator[tuple[int, int]]:
        """Each stone that stands at an end, and which one that is."""
        rows, ends = self.piece.stones, self.points[[0, -1]]
        for stone, line in enumerate(rows.line.tolist()):
            at = self.piece.call(line).get("at")
            if isinstance(at, Places) and (at.ends or at.of_line):
                spots = at.frames[:, :, 3]
                own = spots[np.linalg.norm(spots - rows.frames[stone, :, 3], axis=1).argmin()]
                far = np.linalg.norm(ends - own, axis=1)
                if far.min() < AT_END:
                    yield stone, int(far.argmin())

    def told(self) -> Iterator[Reading]:
        sawn = self.piece.metal - self._saw()
        lumps = sawn.decompose()
        arms = [_holding(lumps, probe) for probe in self.probes]
        if None in arms:
            return
        joined = arms[0] == arms[1]
        parting = [k for k in self.stones if joined and self._parts(sawn, k)]
        for stone, end in self.stones.items():
            head = self._head(stone)
            mine = max(range(len(lumps)), key=lambda k: (lumps[k] ^ head).volume())
            if not joined and mine == arms[1 - end]:
                yield self._reading(stone, end, "holds to the other arm of", "its own arm touches it nowhere")
            elif parting == [stone]:
                yield self._reading(stone, end, "joins both arms of", "the open ring is closed by it")

    def _saw(self) -> Manifold:
        from manifold3d import Manifold

        way = self.way / np.linalg.norm(self.way)
        side = np.cross(way, np.eye(3)[int(np.abs(way).argmin())])
        side /= np.linalg.norm(side)
        frame = np.column_stack([way, side, np.cross(way, side), self.middle])
        return Manifold.cube((SAW, REACH, REACH), True).transform(frame)

    def _parts(self, sawn: Manifold, stone: int) -> bool:
        """Whether the arms come apart when the head of a stone is taken away."""
        lumps = (sawn - self.piece.claw_homes.head(stone)).decompose()
        return _holding(lumps, self.probes[0]) != _holding(lumps, self.probes[1])

    def _head(self, stone: int) -> Manifold:
        """The head of a stone in the metal as it is, without the ring."""
        return (self.piece.claw_homes.head(stone) ^ self.piece.metal) - self._wire()

    def _wire(self) -> Manifold:
        return join(self.piece.laid({self.ring.index}))

    def _reading(self, stone: int, end: int, what: str, seen: str) -> Reading:
        line = int(self.piece.stones.line[stone])
        heads = (one.index for one in self.piece.features if line in self.piece.services.lines(one.index))
        head = next(heads, line)
        return Reading(
            line, 1.0, stone, others=(self.ring.index,),
            words={"head": self.piece.name_of(head), "does": what, "seen": seen},
            cure=self._remedy(stone, end),
        )  # fmt: skip

    def _remedy(self, stone: int, end: int) -> str:
        """How much farther the arms are to pass each other, where their path says so; and the least move of
        the stone that takes its head off the other arm and onto its own."""
        plain = "set it farther back along its own arm, or let the arms pass each other farther apart"
        halves = (self._wire() - self._saw()).decompose()
        own, other = (_holding(halves, self.probes[k]) for k in (end, 1 - end))
        if own is None or other is None or own == other:
            return plain
        found = self._wider(stone, end, halves[other]), self._moved(stone, halves[own], halves[other])
        return "; or ".join(filter(None, found)) or plain

    def _wider(self, stone: int, end: int, other: Manifold) -> str:
        piece, names = self.piece, {one.name: one for one in self.piece.features}
        said = piece.source_lines.of(piece.call(self.ring.index), "along", ("along",)).clause
        path = names.get(said.value.name) if said is not None and isinstance(said.value, Name) else None
        if path is None or not piece.call(path.index).given("advance"):
            return ""
        head, half = self._head(stone), len(self.points) // 2
        arm = self.points[half:] if end == 0 else self.points[:half]
        near = arm[np.linalg.norm(arm - piece.stones.frames[stone, :, 3], axis=1).argmin()]
        off = float((near - self.points[(0, -1)[end]]) @ path.frames[0, :, 1])
        axis = np.sign(off) * path.frames[0, :, 1]
        for far in STEPS if abs(off) > AIR else ():
            if head.min_gap(other.translate(far * axis), 2 * AIR) > AIR:
                # Where they pass each other, the arms have not gone all their way yet.
                advance = rounded_up(piece.call(path.index).get("advance") * (1 + far / abs(off)))
                return f"write advance {advance} in the line of {path.name}"
        return ""

    def _moved(self, stone: int, own: Manifold, other: Manifold) -> str:
        piece, frame, line = self.piece, self.piece.stones.frames[stone], int(self.piece.stones.line[stone])
        head, room = self._head(stone), piece.stone_solids[stone][2]
        sides = *frame[:, :2].T, *-frame[:, :2].T
        moves = [far * way - down * frame[:, 2] for far, down, way in product(STEPS, DOWN, sides)]
        for way in sorted(moves, key=lambda way: float(np.linalg.norm(way))):
            moved = move(piece, line, way)
            if moved is None:
                return ""
            there = head.translate(moved.by)
            clear = there.min_gap(other, 2 * AIR) > AIR and (there ^ own).volume() > ENOUGH
            if clear and (room.translate(moved.by) ^ own).volume() < TOUCH:
                return f"move {piece.name_of(line)} {moved.said}: clear of that arm, and on its own"
        return ""


def _holding(lumps: list[Manifold], spot: Floats) -> int | None:
    """Which of some lumps of metal a spot lies in; None where it lies in none."""
    from manifold3d import Manifold

    ball = Manifold.sphere(PROBE, 12).translate(spot)
    shared = [(lump ^ ball).volume() for lump in lumps]
    best = int(np.argmax(shared)) if shared else 0
    return best if shared and shared[best] > 0 else None
