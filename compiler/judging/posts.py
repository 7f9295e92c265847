"""Which wires are ear posts: thin, long, and pointing backward or made for it; and which are pins."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..bench.feature import Lines
from ..bench.roles import FigureOf, Role
from ..measures.kinds import dot, frame_of, unit
from .digits import mm
from .figure_rule import Reading
from .figures import figure, narrowest

if TYPE_CHECKING:
    from .castings import Casting
    from .piece import Piece

BACKWARD, LONG, THIN = -0.9, 6.0, 1.3
BESIDE = 0.3  # mm beside a post, where a clutch grips it
ROUND, HOOP = 150.0, 270.0  # degrees that a hook turns: what turns further is a hoop
# What a piece is worn by that is made for it.
WORN_BY = Role.EAR_POST, Role.EAR_WIRE, Role.PIN, Role.BACK_BAIL, Role.SHANK, Role.CLASP
SLACK = 0.1  # degrees, within which a bow stands as its limit says
HALF = 0.5  # times round a spot, from which metal goes round it
FREE = 1.5  # mm, how far its free end stands from other metal


def posts_of(piece: Piece) -> Iterator[tuple[int, float, np.ndarray]]:
    """(line, wire, foot) of every ear post, in order."""
    rods = piece.rods
    for k in range(len(rods.wire)):
        line = int(rods.feature[k])
        if piece.is_for(line, Role.PIN):
            continue
        back = rods.way[k, 2] < BACKWARD and rods.long[k] >= LONG and rods.wire[k] <= THIN
        if back or (piece.is_for(line, Role.EAR_POST) and rods.long[k] >= LONG):
            yield line, float(rods.wire[k]), rods.foot[k]


def free_of_metal(piece: Piece, rod: int) -> tuple[float, int]:
    """How much of an ear post a clutch can be pushed over, mm: from its tip to the first metal beside
    it that is of no post; and whose that metal is, -1 for none."""
    rods = piece.rods
    way, long = rods.way[rod], float(rods.long[rod])
    others = piece.skin_measures.skin
    others = others.part(~piece.skin_measures.flags(f.index for f, _ in piece.with_role(Role.EAR_POST)))
    one, two = frame_of(way)
    turn = np.radians(np.arange(0.0, 360.0, 60.0))[:, None]
    ring = (rods.wire[rod] / 2 + BESIDE) * (np.cos(turn) * one + np.sin(turn) * two)
    back = np.tile(-way, (len(ring), 1))
    far, met = others.grid.cast(rods.foot[rod] + long * way + ring, back, leaving=False, reach=long)
    buried = (met >= 0) & (dot(others.normals[met], back) > 0)
    first = int(buried.argmax() if buried.any() else far.argmin())
    owner = int(others.owner[met[first]]) if met[first] >= 0 else -1
    return float(min(far.min(), long)) if not buried.any() else 0.0, owner


def ear_hooks(piece: Piece) -> Iterator[tuple[int, np.ndarray]]:
    """Wire that goes through an ear, as no word tells, by its line and the spots (n, 3) it follows: thin and
    no strip, bent right round, one end in the air; of a piece that nothing else is worn by, and of a casting
    that hangs by no loop."""
    if piece.wear_measures.hole is not None or any(piece.with_role(*WORN_BY)):
        return
    for feature, wire, bends in bent(piece, Role.WIRE):
        section = figure(piece.call(feature), FigureOf.SECTION)
        for points in bends if section is not None and np.max(section[1]) <= THIN else ():
            far = from_metal(piece, feature, points)
            if far is not None and far.min() < wire < FREE < far.max():
                home = piece.casting_measures.casting_at(points[int(far.argmin())])
                if home is not None and not home.hangs_by:
                    yield feature, points


@dataclass(frozen=True)
class Bow:
    """The bow of an ear wire: its line, the way its top looks (3,) of length 1, how its tip lies from
    the end that is rooted (3,), mm, zero where there is no other metal, its top (3,), how far to the
    onlooker its foremost leg stands, mm, and whether it is plain wire, not made as an ear wire."""

    feature: int
    up: np.ndarray
    tail: np.ndarray
    top: np.ndarray
    front: float
    plain: bool


def bows_of(piece: Piece) -> Iterator[Bow]:
    """The bow of every ear wire that bends over and comes down again; a hoop has none."""
    made = [(line, one) for line, _, bends in bent(piece, Role.EAR_WIRE) for one in bends]
    plain = not any(piece.with_role(Role.EAR_WIRE))
    for feature, points in ear_hooks(piece) if plain else made:
        if _turn(points) > HOOP:
            continue
        way = _ways(points)
        first, last = np.unravel_index(int(np.argmin(np.triu(way @ way.T - 1.0))), (len(way), len(way)))
        up, tail = way[first] - way[last], np.zeros(3)
        far = from_metal(piece, feature, points[[0, -1]])
        if far is not None:  # the rooted end is the one in the metal
            tail = (points[-1] - points[0]) * np.sign(far[1] - far[0])
        bend = points[first : last + 2] if first < last else points[last : first + 2]
        top, front = points[int(np.argmax(points @ up))], float(bend[:, 2].max())
        yield Bow(feature, up / np.linalg.norm(up), tail, top, front, plain)


def bows_on(piece: Piece, casting: Casting) -> list[Bow]:
    """The bows of the ear wires that a casting hangs in the ear by: one on each of its bodies; none where one
    carries several, of an ear wire whose bow does not look up (see leans), and of an ear wire alone."""
    at, most = piece.casting_measures.casting_at, piece.bound("leans", "bow")
    mine = [bow for bow in bows_of(piece) if at(bow.top) is casting]
    bodies = {piece.casting_measures.body_at(bow.top) for bow in mine}
    least = np.cos(np.radians(float(most) + SLACK))
    upright = all(bow.up[1] >= least and carries(piece, bow) for bow in mine)
    return mine if upright and len(bodies) == len(mine) else []


def carries(piece: Piece, bow: Bow) -> bool:
    """Whether an ear wire is of one body with metal that has a face, not with findings and rings alone."""
    castings = piece.casting_measures
    body = castings.body_at(bow.top)
    owners = [one for one in castings.bodies[body].shell.owners if one >= 0] if body is not None else []
    return any(
        one != bow.feature and not piece.is_for(one, Role.FINDING) and piece.features[one].opening is None
        for one in owners
    )


def bent(
    piece: Piece, role: Role, over: float = 0.0, most: float = THIN
) -> Iterator[tuple[int, float, list[np.ndarray]]]:
    """Wires of a role, ``over`` and at ``most`` so thick, mm, or as thin as goes through an ear: the line,
    its thickness, and each open line (n, 3) it follows that bends right round."""
    for feature, call in piece.with_role(role):
        path = feature.look("path") if feature.body is not None and "path" in feature.offers else None
        section = figure(call, FigureOf.SECTION)
        if not isinstance(path, Lines) or section is None or not over < narrowest(section[1]) <= most:
            continue
        bends = [line.points for line in path.lines if not line.closed and _turn(line.points) >= ROUND]
        yield feature.index, narrowest(section[1]), bends


def from_metal(piece: Piece, feature: int, points: np.ndarray) -> np.ndarray | None:
    """How far the two ends of a line (n, 3) stand from all metal but that of ``feature``, (2,); 0 within."""
    from ..measures.bodies import winding
    from ..measures.rays import room_at

    skin = piece.skin_measures.skin
    other = skin.part(skin.owner != feature)
    if not len(other.triangles):
        return None
    ends = points[[0, -1]]
    inside = np.array([winding(other.corners, end) > HALF for end in ends])
    return np.asarray(np.where(inside, 0.0, room_at(other, ends, 1.0)))


def _ways(points: np.ndarray) -> np.ndarray:
    """The way a line (n, 3) runs from each point to the next, (n - 1, 3) of length 1."""
    return unit(np.diff(points, axis=0))


def _turn(points: np.ndarray) -> float:
    """How far a line turns in all, degrees."""
    way = _ways(points)
    cosine = np.clip((way[1:] * way[:-1]).sum(axis=1), -1.0, 1.0)
    return float(np.degrees(np.arccos(cosine)).sum())


def wires(piece: Piece) -> Iterator[Reading]:
    """The wire of each ear post."""
    for line, wire, foot in posts_of(piece):
        yield Reading(line, wire, foot)


def ear_posts(piece: Piece) -> Iterator[Reading]:
    """How long every post for the ear is, mm."""
    rods = piece.rods
    for k, line in long_rods(piece, Role.EAR_POST, 2.0):
        told = piece.call(line).figure("long")
        yield Reading(line, float(rods.long[k]) if told is None else told, rods.foot[k], k)


def long_rods(piece: Piece, role: Role, times: float) -> Iterator[tuple[int, int]]:
    """(number, line) of every rod of a role that is longer than so many ``times`` its wire."""
    rods = piece.rods
    for k, line in enumerate(rods.feature.tolist()):
        if piece.is_for(line, role) and rods.long[k] > times * rods.wire[k]:
            yield k, line


def pin_wires(piece: Piece) -> Iterator[Reading]:
    """The wire of each pin."""
    for k, line in long_rods(piece, Role.PIN, 4.0):
        yield Reading(line, float(piece.rods.wire[k]), piece.rods.foot[k])


def pin_ratios(piece: Piece) -> Iterator[Reading]:
    """How many times its wire each pin is long."""
    for k, line in long_rods(piece, Role.PIN, 4.0):
        long, wire = float(piece.rods.long[k]), float(piece.rods.wire[k])
        yield Reading(
            line, long / wire, piece.rods.foot[k], words={"long": mm(long), "thick": mm(wire)},
            value=lambda bound, long=long: f"{long / bound:.2f} mm",
        )  # fmt: skip
