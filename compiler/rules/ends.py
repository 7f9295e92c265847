"""Heads at an end of metal, or beside it, half over air."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from ..bench.feature import Feature, Places
from ..bench.near_places import below as below_places
from ..bench.plan import Shape
from ..bench.roles import Role
from ..geometry import frames as fr
from ..judging.digits import above, mm, rounded_up
from ..judging.figure_rule import Reading
from ..judging.hole_ends import feet
from ..judging.moves import move
from ..judging.rule import Level
from ..shapes.shank_face import Round
from ..shapes.wire_face import WireFace

if TYPE_CHECKING:
    from ..judging.piece import Piece
    from ..shapes.mesh import SolidMesh


TURNS = np.radians(np.arange(0.0, 360.0, 5.0))
ASIDE = "up", "down", "turn", "tilt", "lean", "swivel"
ALONG = np.linspace(-0.9, 0.9, 19)  # of half its length, where metal below it is looked for
NEAR = 8.0  # mm from a stone, no metal farther off is of its own head
REST = 0.1  # of it over air, once it is moved in
SURE = 1.15  # times as far, as arms turn too when they are led farther apart
HEADS = 1.5  # mm between two stones, less than which leaves no room for the claws of both
SUNK = 0.6  # mm, what reaches so far below the face of the metal holds it round its end
GRID = np.linspace(-1.2, 1.2, 33)  # of half a stone, where its head and metal below it are looked for
EVEN = 0.005  # mm, told as none
SQUARE = 0.99  # of a way outward from the finger, from which a stone looks as the face does there
CLEAR = 0.8  # mm, what a culet is told to stand over a shank
TOUCH = 0.02  # mm, heads no farther apart hold to one another
BESIDE = 0.75  # of it over air, from which it is joined by its side


def overhung_head(piece: Piece) -> Iterator[Reading]:
    """Stones at ends of metal whose heads stand half over air, beyond those ends, told together."""
    found: dict[int, tuple[float, int]] = {}
    for stone, air in _overhung(piece).items():
        line = int(piece.stones.line[stone])
        found[line] = max(found.get(line, (0.0, stone)), (air, stone))
    if not found:
        return
    line, (air, stone) = max(found.items(), key=lambda one: one[1][0])
    rest = [one for one in found if one != line]
    *others, last = [piece.name_of(one) for one in (line, *rest)]
    said = {"heads": "the head of this stone stands", "ends": "it is"}
    if others:
        said = {"heads": f"the heads of {', '.join(others)} and {last} stand", "ends": "they are"}
    yield Reading(
        line, air, stone, words=said, others=tuple(rest),
        cure=lambda _: _set_back(piece, [found[one][::-1] for one in (line, *rest)]),
    )  # fmt: skip


def overhung_head_on_metal(piece: Piece) -> Iterator[Reading]:
    """Cups whose foot stands past the end, or one side, of the metal below them."""
    return feet(piece)


def _overhung(piece: Piece) -> dict[int, float]:
    """The stones put at an end of metal whose heads stand over air, and the share of each that does."""
    found = {}
    for stone, line in enumerate(piece.stones.line.tolist()):
        call = piece.call(line)
        at = call.get("at")
        ends = isinstance(at, Places) and (at.ends or at.of_line)
        if not ends or any(call.given(key) for key in ASIDE):
            continue
        frame, half = piece.stones.frames[stone], float(piece.stones.of(stone).length) / 2
        spots = np.repeat(frame[None], len(ALONG), axis=0)
        spots[:, :, 3] += np.outer(ALONG * half, frame[:, 0])
        far = below_places(piece.laid_before(line), spots)[:, 0]
        air = float((~(far < 2 * half)).mean())
        half_over = above(air, piece.bound("overhung-head", "most", line)) and air < BESIDE
        if half_over and far[0] < 2 * half and _foot(piece, line, frame) < far[0] + SUNK:
            found[stone] = air
    return found


def _set_back(piece: Piece, overhung: list[tuple[int, float]]) -> str:
    """What puts metal below stones at ends, each with its share over air: the stones moved back, or where
    others are in the way there, as on arms that pass each other, the metal as much farther."""
    said, stay, most_back = [], False, 0.0
    for stone, air in overhung:
        far = float(piece.stones.of(stone).length) * (air - REST)
        stay |= _in_the_way(piece, stone, -far * piece.stones.frames[stone, :, 0])
        most_back = max(most_back, far)
        name = piece.name_of(int(piece.stones.line[stone]))
        said.append(f"left {rounded_up(far)}" + f" in the line of {name}" * (len(overhung) > 1))
    written, many = " and ".join(said), len(said) > 1
    if stay:
        return (
            f"let the metal run on {rounded_up(most_back)} past its end and write {written}: "
            f"{'the stones stay where they are' if many else 'the stone stays where it is'}, the metal then "
            "reaches below"
        )
    return f"write {written}, back from the end: there is metal to stand on there"


def back_from_its_end(piece: Piece, line: int) -> str:
    """What sets stones back whose heads stand half over air at an end of metal; "" of another line."""
    mine = [(air, k) for k, air in _overhung(piece).items() if piece.stones.line[k] == line]
    for air, stone in sorted(mine)[-1:]:
        far = float(piece.stones.of(stone).length) * (air - REST)
        if not _in_the_way(piece, stone, -far * piece.stones.frames[stone, :, 0]):
            return f"write left {rounded_up(far)} in the line of {piece.name_of(line)}, back from that end"
    return ""


def lopsided_head(piece: Piece) -> Iterator[Reading]:
    """A head that stands beside the metal it is to stand on, and holds to no other head."""
    told, overhung = set(), _overhung(piece)  # which are told as such
    for feature, call in piece.with_role(Role.SETTING):
        use = call.within[0] if call.within else None
        metal = use.arguments["on"].value if use and "on" in use.arguments else None
        if not isinstance(metal, Feature) or call.trail[0] in told:
            continue
        told.add(call.trail[0])
        lines = piece.services.lines(feature.index)
        stones = [k for k, line in enumerate(piece.stones.line.tolist()) if line in lines]
        for stone in stones if not call.figure("shared") else ():
            if stone in overhung:
                continue
            room, way = _carried(piece, feature.index, metal, stone)
            if np.isfinite(room) and not _holds_to_another(piece, stone):
                side = "inside" if room > -EVEN else "past"
                beside = isinstance(metal.surface, Round) and abs(way @ metal.frames[0, :, 1]) > SQUARE
                what = "the edge of" if beside else "where it holds to"
                off = f"{mm(abs(room))} {side} {what}"
                yield Reading(
                    feature.index, room, stone, words={"metal": metal.name, "off": off},
                    cure=partial(_over, piece, stone, way, room, metal),
                    level=Level.WARNING if room < 0 else None,
                )  # fmt: skip


def _carried(piece: Piece, feature: int, metal: Feature, stone: int) -> tuple[float, np.ndarray]:
    """How far inside of what carries its head the middle of a stone lies, seen from above, mm, and the way
    of the piece (3,) that leads it farther in: of a band to its edge, and round the finger as of what else
    carries it to the line round all spots where the head stands in metal."""
    frame, kind = piece.stones.frames[stone], piece.stones.of(stone)
    ways, edge = np.stack([np.cos(TURNS), np.sin(TURNS)], axis=1), (np.inf, np.zeros(3))
    if isinstance(metal.surface, Round):
        ring = metal.frames[0]
        local = fr.apply(fr.inverse(ring), frame[None, :, 3])
        edge = float(metal.surface.lies(local)[1][0]), -np.sign(float(local[0, 1])) * ring[:, 1]
        outward, along = local[0, 0] * ring[:, 0] + local[0, 2] * ring[:, 2], frame[:, :2].T @ ring[:, 0]
        if frame[:, 2] @ outward > SQUARE * np.linalg.norm(outward) or (long := np.linalg.norm(along)) < EVEN:
            return edge
        ways = np.array([along, -along]) / long
    across = np.stack(np.meshgrid(GRID, GRID), axis=-1).reshape(-1, 2)
    across = across[np.linalg.norm(across, axis=1) < 1.2] * (kind.length / 2, kind.width / 2)
    spots = np.repeat(frame[None], len(across), axis=0)
    spots[:, :, 3] += across @ frame[:, :2].T
    line = int(piece.stones.line[stone])
    own = [(at, fr.apply(at, mesh.points)[mesh.triangles]) for at, mesh in _head(piece, line, frame)]
    far = below_places(piece.laid_before(feature), spots)[:, 0]
    up = fr.compose(spots, fr.compose(fr.shifted(out=-NEAR), fr.turned(0, 180.0)))
    there = across[far < NEAR - below_places(own, up)[:, 0]]  # by what is lowest of it there
    if not len(there):
        return edge  # told of where no place looks down on it
    reach = (there @ ways.T).max(axis=0) + (GRID[1] - GRID[0]) * kind.width / 4  # half way to the next spot
    return min(edge, (float(reach.min()), -frame[:, :2] @ ways[int(reach.argmin())]), key=lambda one: one[0])


def _holds_to_another(piece: Piece, stone: int) -> bool:
    """Whether the head of a stone touches that of another."""
    spots, head = piece.stones.frames[:, :, 3], piece.claw_homes.head
    near = np.flatnonzero(np.linalg.norm(spots - spots[stone], axis=1) < NEAR)
    return any(k != stone and head(stone).min_gap(head(k), TOUCH) < TOUCH for k in near.tolist())


def _over(piece: Piece, stone: int, way: np.ndarray, room: float, metal: Feature, bound: float) -> str:
    """What brings a stone over the metal that is to carry it: the stone moved, or where others are in the
    way there, the metal farther out; for arms that pass each other, by their 'advance'."""
    line, far, way = int(piece.stones.line[stone]), bound - room, (bound - room) * way
    if end := _at_its_end(piece, stone, metal):
        return end
    call = piece.call(line)
    if isinstance(metal.surface, Round) and call.given("next-to") and not call.given("on"):
        its = f"in the line of {piece.name_of(line)}"
        high = f"then add 'level back' {its}; then write out {mm(CLEAR)} {its}"
        return f"write on {metal.name} {its}; {high}: they lean as it falls away"
    wide = piece.call(metal.index).get("wide") if isinstance(metal.surface, Round) else None
    wider = f"write wide {rounded_up(wide + 2 * far)} in the line of {metal.name}" if wide else ""
    if not _in_the_way(piece, stone, way) and (moved := move(piece, line, way, metal.index)):
        other = wider or "make that wider there"
        return f"move {piece.name_of(line)} {moved.in_piece}, over {metal.name}; or {other}"
    for one in reversed(piece.features[: metal.index]):
        by = piece.call(one.index).get("advance") if piece.call(one.index).given("advance") else 0.0
        none = np.zeros((0, 3, 4))
        passes = WireFace(one.look("path").lines[0], "round", 1.0, 1.0).passes() if by else none
        if len(passes) > 1 and (apart := float(np.ptp(passes[:, 1, 3]))) > 0:
            more = rounded_up(abs(by) * (1 + SURE * 2 * far / apart))
            less = "-" * (by < 0)
            return f"write advance {less}{more} in the line of {one.name}: the arms then reach below it"
    if wider:
        return f"{wider}, or join the head to another one"
    return f"let {metal.name} reach {rounded_up(far)} farther below it, or join the head to another one"


def _at_its_end(piece: Piece, stone: int, metal: Feature) -> str:
    """What stands a stone that looks straight up, near an end of wire that falls away round a finger, square
    to the wire at that end; "" of others."""
    line, long = int(piece.stones.line[stone]), float(piece.stones.of(stone).length)
    said = [key for key in ("right", "left", "up", "down") if piece.call(line).given(key)]
    wire = metal.look("path").lines[0] if piece.is_for(metal.index, Role.WIRE) else None
    if wire is None or wire.closed or not {"right", "left"} & {*said}:
        return ""
    off = np.linalg.norm(metal.look("ends").frames[:, :, 3] - piece.stones.frames[stone, :, 3], axis=1)
    if off.min() > long or not WireFace(wire, "round", 1.0, 1.0).goes_round:
        return ""
    name, on, out = *(piece.name_of(one) for one in (line, metal.index)), " and ".join(said)
    end, back, its = int(off.argmin()) + 1, rounded_up((0.5 - REST) * long), f"in the line of {name}"
    return (
        f"write at pick(ends of {on}, {end}) in place of on {its}; then leave {out} out {its}; "
        f"then write left {back} {its}: it then stands square to {on}, back from its end"
    )


def _in_the_way(piece: Piece, stone: int, way: np.ndarray) -> bool:
    """Whether a stone moved a way (3,) comes nearer to one of another line than their claws have room for."""
    stones = piece.stones
    spots, wide = stones.frames[:, :, 3], np.array([stones.of(k).length for k in range(len(stones.kind))])
    now, then = (np.linalg.norm(spots - spot, axis=1) for spot in (spots[stone], spots[stone] + way))
    near = (then < (wide + wide[stone]) / 2 + HEADS) & (then < now)
    return bool((near & (stones.line != stones.line[stone])).any())


def _foot(piece: Piece, line: int, frame: np.ndarray) -> float:
    """How far below a stone at ``frame`` (3, 4) the metal reaches that was made to hold its line, mm."""
    points = [fr.apply(at, mesh.points) for at, mesh in _head(piece, line, frame)]
    away = np.concatenate([frame[None, :, 3], *points]) - frame[:, 3]
    return float(-(away[np.linalg.norm(away, axis=1) < NEAR] @ frame[:, 2]).min())


def _head(piece: Piece, line: int, frame: np.ndarray) -> Iterator[tuple[np.ndarray, SolidMesh]]:
    """The metal near a stone at ``frame`` (3, 4) that was made to hold its line: frames and meshes."""
    for one in piece.plan_solids:
        if not one.cut and line in piece.services.lines(one.feature):
            mesh = piece.mesh_of(Shape(one.kind, one.figures), piece.tolerance)
            for at in one.frames:
                if np.linalg.norm(at @ np.append(mesh.points.mean(axis=0), 1.0) - frame[:, 3]) < NEAR:
                    yield at, mesh
