"""Straight lines through closed meshes: where each enters the metal and where it leaves.

Lines run inward (down the z axis) at stands: frames (n, 3, 4), each with the same spots (k, 2) in its own x-y
plane; line ``s * k + j`` is spot j of stand s. Depths are mm below the stand."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..measures.kinds import least, most

# Triangles of a mesh are looked at in lots of this many, each with a ball round it.
LOT = 96
# Pairs of triangle and line worked on at a time.
ROOM = 1_500_000


@dataclass(frozen=True, eq=False)
class Crossings:
    """Where lines cross a skin: ``line`` (n,), ``depth`` (n,) mm, ``into`` (n,) +1 where metal
    begins, -1 where it ends."""

    line: np.ndarray
    depth: np.ndarray
    into: np.ndarray


NONE = Crossings(np.zeros(0, np.int64), np.zeros(0), np.zeros(0, np.int64))


@dataclass(frozen=True, eq=False)
class Lots:
    """A closed mesh in lots of neighbouring triangles: corners (m, 3, 3), and the middle and
    radius of a ball round each lot and round the whole."""

    corners: np.ndarray
    middle: np.ndarray
    radius: np.ndarray
    whole: tuple[np.ndarray, float]


def lots_of(points: np.ndarray, triangles: np.ndarray) -> Lots:
    """The lots of a mesh (makers put neighbouring triangles side by side)."""
    corners = points[triangles]
    starts = np.arange(0, len(corners), LOT)
    low = np.minimum.reduceat(corners.min(axis=1), starts)
    high = np.maximum.reduceat(corners.max(axis=1), starts)
    top, bottom = points.max(axis=0), points.min(axis=0)
    whole = (top + bottom) / 2, float(np.linalg.norm(top - bottom) / 2)
    return Lots(corners, (low + high) / 2, np.linalg.norm(high - low, axis=1) / 2, whole)


def crossings(
    lots: Lots, copies: np.ndarray, stands: np.ndarray, spots: np.ndarray, above: float
) -> Crossings:
    """Where the lines cross the mesh standing at ``copies`` (m, 3, 4). Copies wholly
    higher than ``above`` mm over a stand's plane are left out."""
    reach = float(np.linalg.norm(spots, axis=1).max()) + 1e-6
    stand, copy = _pairs(lots, copies, stands, reach, above)
    if not len(stand):
        return NONE
    local = _seen(stands[stand], copies[copy])
    turned = np.sign(np.linalg.det(local[:, :, :3]))
    found = []
    for pair, lot in _near_lots(lots, local, reach):
        triangle = lot[:, None] * LOT + np.arange(LOT)
        held = triangle < len(lots.corners)
        row = np.repeat(pair, LOT).reshape(-1, LOT)[held]
        corners = lots.corners[triangle[held]]
        seen = np.einsum("nij,nkj->nki", local[row, :, :3], corners) + local[row, None, :, 3]
        found.append(_hits(seen, turned[row], stand[row], spots))
    parts = [np.concatenate(column) for column in zip(*found, strict=True)]
    return Crossings(*parts) if parts else NONE


def _seen(stands: np.ndarray, copies: np.ndarray) -> np.ndarray:
    """Frames (n, 3, 4) of the copies as seen from the stands."""
    back = stands[:, :, :3].transpose(0, 2, 1)
    turn = back @ copies[:, :, :3]
    origin = back @ (copies[:, :, 3:] - stands[:, :, 3:])
    return np.concatenate([turn, origin], axis=2)


def _pairs(
    lots: Lots, copies: np.ndarray, stands: np.ndarray, reach: float, above: float
) -> tuple[np.ndarray, np.ndarray]:
    """Which copies the lines of which stands may meet."""
    middle, radius = lots.whole
    at = copies[:, :, :3] @ middle + copies[:, :, 3]
    found = []
    step = max(1, ROOM // max(len(copies), 1))
    for first in range(0, len(stands), step):
        some = stands[first : first + step]
        away = at[None] - some[:, None, :, 3]
        height = np.einsum("smi,si->sm", away, some[:, :, 2])
        aside = np.einsum("smi,smi->sm", away, away) - height**2
        near = (aside < (radius + reach) ** 2) & (height - radius < above)
        stand, copy = np.nonzero(near)
        found.append((stand + first, copy))
    return np.concatenate([s for s, _ in found]), np.concatenate([c for _, c in found])


def _near_lots(lots: Lots, local: np.ndarray, reach: float) -> list[tuple[np.ndarray, np.ndarray]]:
    """Pairs of (stand-copy pair, lot) that may meet, in batches."""
    found = []
    step = max(1, ROOM // len(lots.middle))
    for first in range(0, len(local), step):
        some = local[first : first + step]
        at = np.einsum("nij,cj->nci", some[:, :, :3], lots.middle) + some[:, None, :, 3]
        pair, lot = np.nonzero(np.hypot(at[..., 0], at[..., 1]) < lots.radius + reach)
        batch = max(1, ROOM // (8 * LOT))
        found += [(pair[k : k + batch] + first, lot[k : k + batch]) for k in range(0, len(pair), batch)]
    return found


def _hits(
    seen: np.ndarray, way: np.ndarray, stand: np.ndarray, spots: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Lines through triangles (n, 3, 3) given in their stand's own frame."""
    keep = np.ones(len(seen), dtype=bool)
    for axis in range(2):
        low, high = spots[:, axis].min(), spots[:, axis].max()
        keep &= (least(seen[:, :, axis]) <= high) & (most(seen[:, :, axis]) >= low)
    seen, way, stand = seen[keep], way[keep], stand[keep]
    lines, depths, intos = [], [], []
    step = max(1, ROOM // len(spots))
    for first in range(0, len(seen), step):
        part = seen[first : first + step]
        share, area = _shares(part, spots)
        row, spot = np.nonzero((share > 0).all(axis=2) | (share < 0).all(axis=2))
        weight = share[row, spot] / area[row, None]
        depths.append(-(weight * part[row, :, 2]).sum(axis=1))
        lines.append(stand[first : first + step][row] * len(spots) + spot)
        intos.append((np.sign(area[row]) * way[first : first + step][row]).astype(np.int64))
    if not lines:
        return NONE.line, NONE.depth, NONE.into
    return np.concatenate(lines), np.concatenate(depths), np.concatenate(intos)


def _shares(corners: np.ndarray, spots: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Twice the signed areas (n, k, 3) that each spot makes with each triangle's sides, and
    twice the triangles' own (n,)."""
    x, y = corners[:, :, 0], corners[:, :, 1]
    side_x, side_y = np.roll(x, -1, axis=1) - x, np.roll(y, -1, axis=1) - y
    off_x = spots[None, :, None, 0] - x[:, None]
    off_y = spots[None, :, None, 1] - y[:, None]
    share = side_x[:, None] * off_y - side_y[:, None] * off_x
    area = side_x[:, 0] * (y[:, 2] - y[:, 0]) - side_y[:, 0] * (x[:, 2] - x[:, 0])
    return np.roll(share, -1, axis=2), area  # the corner that each side lies opposite to


def balanced(found: Crossings, count: int) -> np.ndarray:
    """Which of ``count`` lines enter a skin as often as they leave it, (count,) bool."""
    total = np.zeros(count, np.int64)
    np.add.at(total, found.line, found.into)
    return total == 0

