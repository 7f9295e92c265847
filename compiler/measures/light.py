"""Whether light comes through the hole behind a stone, by rays on the finished metal. Lengths mm."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .kinds import Flags, Floats, Ints, dot, unit
from .skin import Skin

# Rays down a hole: on its axis and round it, at these shares of its radius.
ROUND, SHARES = 8, (0.55, 0.92)
# Ways tried from inside the hole, evenly over the half that looks away from the stone.
FAN = 64
FAN_FIRST = np.arange(FAN) % 4 == 0  # of these a quarter is tried first
# Where along the free part of a hole they are tried from.
TRIED = np.array([0.5, 0.98])
# Rays over the disc of a hole, and the share of its radius they are spread over.
DISC, IN_HOLE = 61, 0.95
NEAR = 0.02  # below the culet the rays begin
# What stands this share of the hole's radius clear behind it, open to this many of the ways round, shuts out
# neither light nor brush; metal within so many radii of the ray stands in those ways.
CLEAR, OPEN, BESIDE = 0.9, 4, 2.5


@dataclass(frozen=True)
class Shut:
    """What shuts a hole, where it is thinnest: where the free part ends below the girdle, how
    thick the metal is there, and the feature it is part of."""

    free: float
    thick: float
    feature: int


def shut_holes(skin: Skin, frames: Floats, culets: Floats, radii: Floats) -> list[Shut | None]:
    """For each stone at ``frames`` (n, 3, 4), its culet so deep, its light hole of such a radius:
    what shuts the hole; None where a way leads out of it."""
    if not len(frames):
        return []
    down = -frames[:, :, 2]
    start = frames[:, :, 3] + (culets + NEAR)[:, None] * down
    turn = 2 * np.pi * np.arange(ROUND) / ROUND
    round_ = np.stack([np.cos(turn), np.sin(turn)], axis=1)
    spots = np.concatenate([np.full((1, 2), 1e-3), *(share * round_ for share in SHARES)])
    aside = np.einsum("nij,kj->nki", frames[:, :, :2], spots) * radii[:, None, None]
    count = len(spots)
    origin = (start[:, None] + aside).reshape(-1, 3)
    way = np.repeat(down, count, axis=0)
    far, met = np.full(len(way), np.inf), np.full(len(way), -1, dtype=np.int64)
    # First down the axes; the others only where those met something.
    rays = np.arange(len(frames)) * count
    far[rays], met[rays] = skin.grid.coarser.cast(origin[rays], way[rays], leaving=False)
    rays = (rays[met[rays] >= 0, None] + np.arange(1, count)).reshape(-1)
    far[rays], met[rays] = skin.grid.coarser.cast(origin[rays], way[rays], leaving=False)
    buried = (met >= 0) & (dot(way, skin.normals[met]) > 0)
    far[buried] = 0.0
    ways = far.reshape(-1, count)
    closed = np.flatnonzero(np.isfinite(ways).all(axis=1))
    best = closed * count + ways[closed].argmax(axis=1)
    found: list[Shut | None] = [None] * len(frames)
    if not len(closed):
        return found
    out = _leads_out(skin, origin[best], way[best], far[best])
    for stone in closed[~out].tolist():
        its = slice(stone * count, (stone + 1) * count)
        inside = origin[its] + (far[its, None] + 1e-6) * way[its]
        thick, _ = skin.grid.coarser.cast(inside, way[its])
        least = int(np.argmin(thick))
        owner = int(skin.owner[met[its][least]])
        free = float(culets[stone] + NEAR + far[its][least])
        found[stone] = Shut(free, float(thick[least]), owner)
    return found


def _leads_out(skin: Skin, origin: Floats, way: Floats, far: Floats) -> np.ndarray:
    """Whether any way from the free part of each hole meets no metal, (n,) bool."""
    from_ = origin[:, None] + (far[:, None] * TRIED)[:, :, None] * way[:, None]
    golden = np.pi * (3.0 - np.sqrt(5.0)) * np.arange(FAN)
    level = (np.arange(FAN) + 0.5) / FAN
    flat = np.sqrt(1.0 - level**2)
    fan = np.stack([flat * np.cos(golden), flat * np.sin(golden), level], axis=1)
    side = np.where(np.abs(way[:, :1]) < 0.9, [[1.0, 0.0, 0.0]], [[0.0, 1.0, 0.0]])
    first = unit(np.cross(way, side))
    axes = np.stack([first, np.cross(way, first), way], axis=2)
    along = np.einsum("nij,kj->nki", axes, fan)
    out = np.zeros(len(origin), dtype=bool)
    left = np.flatnonzero(far > 1e-6)
    for some in (FAN_FIRST, ~FAN_FIRST):  # mostly one of a few ways leads out
        if not len(left):
            break
        shape = (len(left), len(TRIED), int(some.sum()), 3)
        starts = np.broadcast_to(from_[left][:, :, None], shape).reshape(-1, 3)
        ways = np.broadcast_to(along[left][:, None, some], shape).reshape(-1, 3)
        starts, ways = np.ascontiguousarray(starts), np.ascontiguousarray(ways)
        _, met = skin.grid.coarser.cast(starts, ways, leaving=False)
        out[left] = (met < 0).reshape(len(left), -1).any(axis=1)
        left = left[~out[left]]
    return out


def share_crossed(
    skin: Skin, crossing: Flags, frames: Floats, culets: Floats, radii: Floats, reach: float
) -> tuple[Floats, Ints]:
    """How much of the light hole of each stone has faces flagged by ``crossing`` (m,) straight behind
    it within ``reach`` of the culet, and one of the features that have (-1 for none). What stands clear
    of the hole, by its radius and with open air round about, does not count."""
    down = -frames[:, :, 2]
    start = frames[:, :, 3] + (culets + NEAR)[:, None] * down
    # Evenly over the disc of the hole.
    golden = np.pi * (3.0 - np.sqrt(5.0)) * np.arange(DISC)
    off = np.sqrt((np.arange(DISC) + 0.5) / DISC) * IN_HOLE
    spots = np.stack((off * np.cos(golden), off * np.sin(golden)), axis=1)
    aside = np.einsum("nij,kj->nki", frames[:, :, :2], spots) * radii[:, None, None]
    origin, way = (start[:, None] + aside).reshape(-1, 3), np.repeat(down, DISC, axis=0)
    # Only where something of the kind is about at all.
    low = np.minimum(origin, origin + reach * way).reshape(-1, DISC, 3).min(axis=1)
    high = np.maximum(origin, origin + reach * way).reshape(-1, DISC, 3).max(axis=1)
    some = np.zeros(len(frames), dtype=bool)
    some[skin.grid.near(low, high, crossing)[0]] = True
    shares, owners = np.zeros(len(frames)), np.full(len(frames), -1, dtype=np.int64)
    rays = np.repeat(some, DISC)
    far, met = skin.grid.coarser.cast(origin[rays], way[rays], leaving=False, reach=reach)
    crossed = (met >= 0) & crossing[met]
    frame, radius = (np.repeat(one, DISC, axis=0)[rays] for one in (frames, radii))
    maybe = np.flatnonzero(crossed & (far > radius))
    before = origin[rays][maybe] + (far - CLEAR * radius)[maybe, None] * way[rays][maybe]
    crossed[maybe[_open_beside(skin, before, frame[maybe], BESIDE * radius[maybe])]] = False
    owner = np.where(crossed, skin.owner[met], -1).reshape(-1, DISC)
    shares[some] = (owner >= 0).mean(axis=1)
    owners[some] = owner.max(axis=1, initial=-1)
    return shares, owners


def _open_beside(skin: Skin, at: Floats, frames: Floats, reach: Floats) -> Flags:
    """Whether most ways square to the axes of ``frames`` (n, 3, 4) meet no metal from spots (n, 3), (n,)."""
    if not len(at):
        return np.zeros(0, dtype=bool)
    turn = 2 * np.pi * np.arange(ROUND) / ROUND
    ways = np.einsum("nij,kj->nki", frames[:, :, :2], np.stack([np.cos(turn), np.sin(turn)], axis=1))
    start = np.ascontiguousarray(np.repeat(at, ROUND, axis=0))
    far, _ = skin.grid.coarser.cast(start, ways.reshape(-1, 3), leaving=False, reach=float(reach.max()))
    return np.asarray((far.reshape(-1, ROUND) >= reach[:, None]).sum(axis=1) >= OPEN)
