"""Parts of a piece that hold to others by little metal: which single solid of the plan each face of
the finished skin is of, and the necks between those."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import cache, partial

import numpy as np

from ..bench.roles import Role
from ..measures.kinds import Flags, Floats, Ints, least_by_row, length, renumbered
from ..measures.labels import groups
from ..measures.necks import Neck, necks
from ..measures.rays import room_at
from ..measures.skin import Skin
from .pairs import near_pairs
from .piece import Piece
from .plan_solids import PlanSolid
from .sinking import sunk

MANY = 60  # solids of one line, past which they are told apart only where they stand apart
FEW = 4  # copies of a solid, up to which each is looked at by itself
LONG = 8.0  # times its thickness, from which wire is long
ON = 1e-3  # mm, what is no farther from the skin lies on it


@dataclass(frozen=True, eq=False)
class WeakJoint:
    """A neck, the feature that holds by it and the one it holds to, all features of the part, and how far
    the part has to be moved straight into the other, along which way of the piece, to be joined over as
    much as asked (None where that does not do). The section is that of ``both`` sides of a wire, or not."""

    neck: Neck
    feature: int
    other: int
    features: frozenset[int]
    deeper: tuple[float, tuple[float, float, float]] | None
    both: bool


def weak_joints_of(piece: Piece, skin: Skin, solid: Ints, features: list[int]) -> list[WeakJoint]:
    """Every joint of less than the limit's share of the section of the smaller part, from what
    ``solid_faces`` gives."""
    if len(features) < 2:
        return []
    found = []
    section = cache(partial(_slim, piece))
    slim = np.array([section(line) for line in features])
    for neck in necks(skin, solid, float(piece.bound("weak-joint", "least")), slim):
        known = [features[k] if k < len(features) else -1 for k in (*neck.meeting, *neck.small)]
        one, two = max(known[0], 0), max(known[1], 0)
        if not any(piece.call(line).get("bought") for line in (one, two)):  # its maker saw to it
            bound = float(piece.bound("weak-joint", "least", one)) * neck.section
            deeper = sunk(piece, features, neck, bound)
            both = neck.section == section(one)
            found.append(WeakJoint(neck, one, two, frozenset(known[2:]), deeper, both))
    return found


def _slim(piece: Piece, line: int) -> float:
    """The largest section that counts of long wire: its own, from both sides, mm2; inf of another line."""
    feature = piece.features[line]
    if not piece.is_for(line, Role.WIRE) or "path" not in feature.offers:
        return np.inf
    made = [one for one in piece.plan_solids if one.feature == line and not one.cut and one.kind == "wire"]
    metal = sum(float(piece.solid_of(one).volume()) for one in made)
    long = sum(one.length() for one in feature.look("path").lines)
    return 2 * metal / long if metal and long**3 > LONG**2 * metal else np.inf


def solid_faces(piece: Piece, skin: Skin) -> tuple[Ints, list[int]]:
    """The number of the solid each face is of (m,), -1 for what tools left; and the feature of
    every solid."""
    made: dict[int, list[PlanSolid]] = {}
    for one in piece.plan_solids:
        if not one.cut and len(one.frames):
            made.setdefault(one.feature, []).append(one)
    solid = np.full(len(skin.triangles), -1, dtype=np.int64)
    features: list[int] = []
    order = np.argsort(skin.owner, kind="stable")
    stops = np.searchsorted(skin.owner[order], np.arange(len(piece.features) + 1))
    several = [line for line, solids in made.items() if sum(len(one.frames) for one in solids) > 1]
    islands = _islands(skin, np.isin(skin.owner, several))
    for feature, solids in sorted(made.items()):
        faces = order[stops[feature] : stops[feature + 1]]
        count = sum(len(one.frames) for one in solids)
        if count == 1:
            number = np.zeros(len(faces), dtype=np.int64)
        else:
            number = renumbered(islands[faces], len(skin.triangles)) if len(faces) else faces
            apart = int(number.max(initial=-1)) + 1
            if count > MANY:  # beads of an edge: those that run together are one part
                count = apart
            elif apart != count:
                number = _nearest(piece, skin, faces, solids)
        solid[faces] = number + len(features)
        features += [feature] * count
    return solid, features


def hidden_of(piece: Piece, skin: Skin, solid: Ints, features: list[int]) -> list[tuple[int, int, int]]:
    """Features of the user's own lines of which solids are nowhere on the skin: (feature, how many of
    them, of how many)."""
    seen = np.bincount(solid[solid >= 0], minlength=len(features)) > 0
    earliest: dict[tuple[object, ...], int] = {}
    for one in () if seen.all() else piece.plan_solids:
        for frame in () if one.cut else one.frames:
            earliest.setdefault((one.kind, one.figures, frame.tobytes()), one.feature)
    found, first = [], 0
    for feature, count in Counter(features).items():
        mine = np.flatnonzero(~seen[first : first + count])
        first += count
        if len(mine) and not piece.call(feature).trail:
            own = [one for one in piece.plan_solids if one.feature == feature and not one.cut]
            if len(own) > len({one.parts for one in own}) and len(mine) < count:
                continue  # the core of a rope, what joins the parts of one line
            placed = [(one, frame) for one in own for frame in one.frames]
            inside = Counter(
                _line_of(piece, placed[k][0]) for k in mine if _is_inside(piece, skin, *placed[k], earliest)
            )
            found += [(line, times, count if line == feature else times) for line, times in inside.items()]
    return found


def _line_of(piece: Piece, solid: PlanSolid) -> int:
    """The line that set a solid where it is: of copied metal the copy."""
    return next((part for part in solid.parts if piece.features[part].source is not None), solid.feature)


def _is_inside(
    piece: Piece, skin: Skin, one: PlanSolid, frame: Floats, earliest: dict[tuple[object, ...], int]
) -> bool:
    """Whether no corner of one solid lies on the skin, or an earlier line made the same where it stands."""
    if earliest[one.kind, one.figures, frame.tobytes()] != one.feature:
        return True
    spots = piece.points_of(one) @ frame[:, :3].T + frame[:, 3]
    return bool(room_at(skin, spots, 0.1).min() > ON)


def _islands(skin: Skin, chosen: Flags) -> Ints:
    """Connected faces of one feature, numbered, of the ``chosen`` faces (m,)."""
    one, two = skin.folds.one, skin.folds.two
    same = np.flatnonzero(chosen[one])
    same = same[skin.owner[one[same]] == skin.owner[two[same]]]
    place = np.cumsum(chosen) - 1
    found = np.full(len(chosen), -1, dtype=np.int64)
    found[chosen] = groups(int(chosen.sum()), place[one[same]], place[two[same]])
    return found


def _nearest(piece: Piece, skin: Skin, faces: Ints, solids: list[PlanSolid]) -> Ints:
    """For each of some faces the solid in whose box it lies most, of those that are not too far."""
    spots = skin.corners[faces].mean(axis=1)
    number, first = np.zeros(len(faces), dtype=np.int64), 0
    best = np.full(len(faces), np.inf)
    for one in solids:
        points = piece.points_of(one)
        low, high = points.min(axis=0), points.max(axis=0)
        middle, half = (low + high) / 2, np.maximum((high - low) / 2, 1e-6)
        reach = float(np.linalg.norm(half)) + 1e-3
        each = np.arange(len(one.frames))
        for copies in each[:, None] if len(each) <= FEW else [each]:
            face, copy, off = _offs(spots, one.frames[copies], middle, half, reach)
            better = off < best[face]
            best[face[better]], number[face[better]] = off[better], first + copies[copy[better]]
        first += len(one.frames)
    return number


def _offs(
    spots: Floats, frames: Floats, middle: Floats, half: Floats, reach: float
) -> tuple[Ints, Ints, Floats]:
    """The spots within ``reach`` of the middle of a box at any of some frames: for each the copy in
    whose box it lies most, and how far out in that, 1 on its rim."""
    if len(frames) == 1:
        away = (spots - frames[0, :, 3]) @ frames[0, :, :3] - middle
        face = np.flatnonzero(length(away) <= reach)
        ratio = np.abs(away[face] / half)
        off = np.maximum(np.maximum(ratio[:, 0], ratio[:, 1]), ratio[:, 2])
        return face, np.zeros(len(face), dtype=np.int64), off
    centres = frames[:, :, :3] @ middle + frames[:, :, 3]
    face, copy = near_pairs(spots, centres, reach)
    away = np.einsum("nij,ni->nj", frames[copy, :, :3], spots[face] - frames[copy, :, 3]) - middle
    off = np.abs(away / half).max(axis=1)
    rows, least = least_by_row(face, off)
    return rows, copy[least], off[least]
