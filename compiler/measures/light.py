"""Whether light comes through the hole behind a stone, by rays on the finished metal. Lengths mm."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .kinds import Flags, Floats, Ints, dot
from .skin import Skin
from .way_out import FAN_FIRST, bundle, fan, sees_out, widest_way

# Rays down a hole: on its axis and round it, at these shares of its radius.
ROUND, SHARES = 8, (0.55, 0.92)
# Where along the free part of a hole they are tried from.
TRIED = 0.5, 0.98
# Rays over the disc of a hole, and the share of its radius they are spread over.
DISC, IN_HOLE = 61, 0.95
NEAR = 0.02  # below the culet the rays begin
ALIKE, NEARBY = 0.02, 6.0  # mm, and radii of a hole, within which two have the same metal round about
# What stands this share of the hole's radius clear behind it, open to this many of the ways round, shuts out
# neither light nor brush; metal within so many radii of the ray stands in those ways.
CLEAR, OPEN, BESIDE = 0.9, 4, 2.5


@dataclass(frozen=True)
class Shut:
    """What shuts a hole, where it is thinnest: where the free part ends below the girdle, how
    thick the metal is there, and the feature it is part of; how wide the widest ``way`` is that leads past it
    all the same, 0 where that is less than half as wide as wanted, None where there is none."""

    free: float
    thick: float
    feature: int
    way: float | None = None


@dataclass(frozen=True, eq=False)
class Holes:
    """The light holes of stones at ``frames`` (n, 3, 4): how far below the girdle each begins (``mouths``)
    and the point of its stone lies (``culets``), its ``radii``, and how wide a way out it wants (``wanted``;
    0 where any will do), mm, (n,) each."""

    frames: Floats
    mouths: Floats
    culets: Floats
    radii: Floats
    wanted: Floats

    @property
    def axes(self) -> Floats:
        """The x and y of their stones and the way out, (n, 3, 3)."""
        return np.asarray(self.frames[:, :, :3] * np.array([1.0, 1.0, -1.0]))

    @property
    def down(self) -> Floats:
        """The ways out along their axes, (n, 3)."""
        return -self.frames[:, :, 2]

    @property
    def start(self) -> Floats:
        """Where they begin on their axes below the stones, (n, 3)."""
        return np.asarray(self.frames[:, :, 3] + (self.culets + NEAR)[:, None] * self.down)

    @property
    def sizes(self) -> Floats:
        """What tells them apart by themselves, (n, 3)."""
        return np.stack([self.culets, self.radii, self.wanted], axis=1)

    def only(self, some: Ints) -> Holes:
        """Those of some stones."""
        rows = self.frames, self.mouths, self.culets, self.radii, self.wanted
        return Holes(*(one[some] for one in rows))


def shut_holes(skin: Skin, holes: Holes) -> list[Shut | None]:
    """What shuts each hole; None where a way as wide as it wants leads out of it."""
    found: list[Shut | None] = [None] * len(holes.radii)
    narrow = np.flatnonzero(~_wide_open(skin, holes))
    for stone, shut in zip(narrow.tolist(), _narrow(skin, holes.only(narrow)), strict=True):
        found[stone] = shut
    return found


def _wide_open(skin: Skin, holes: Holes) -> Flags:
    """Whether a ball as wide as each hole wants goes straight down and then, if need be, straight aside."""
    balls, down = holes.wanted / 2, holes.down
    far = bundle(skin, holes.start, down, balls)
    out = np.isinf(far)
    left = np.flatnonzero(~out & (far > balls))
    ways = fan(holes.axes[left])
    for some in (FAN_FIRST, ~FAN_FIRST):  # mostly one of a few ways leads out
        for share in TRIED:
            at = holes.start[left] + (share * (far - balls)[left])[:, None] * down[left]
            open_ = sees_out(skin, at, ways[:, some], balls[left])
            out[left[open_]] = True
            left, ways = left[~open_], ways[~open_]
    return out


def _narrow(skin: Skin, holes: Holes) -> list[Shut | None]:
    """What shuts holes that are not open at once: looked at closely."""
    turn = 2 * np.pi * np.arange(ROUND) / ROUND
    round_ = np.stack([np.cos(turn), np.sin(turn)], axis=1)
    spots = np.concatenate([np.full((1, 2), 1e-3), *(share * round_ for share in SHARES)])
    aside = np.einsum("nij,kj->nki", holes.frames[:, :, :2], spots) * holes.radii[:, None, None]
    count = len(spots)
    origin, way = (holes.start[:, None] + aside).reshape(-1, 3), np.repeat(holes.down, count, axis=0)
    far, met = skin.grid.coarser.cast(origin, way, leaving=False)
    far[(met >= 0) & (dot(way, skin.normals[met]) > 0)] = 0.0  # what begins in metal
    ways = far.reshape(-1, count)
    best = np.arange(len(ways)) * count + ways.argmax(axis=1)
    out = np.isinf(far[best])
    closed = best[~out]
    ways_out = fan(holes.axes)
    out[~out] = _leads_out(skin, origin[closed], way[closed], ways_out[~out], far[closed])
    about = _about(skin, holes, ways_out, out)
    found: list[Shut | None] = []
    known: dict[bytes, float] = {}  # by the metal round about
    for stone, lit in enumerate(out.tolist()):
        its = np.arange(stone * count, (stone + 1) * count)
        alike = np.concatenate([holes.sizes[stone], np.round(far[its] / ALIKE), about[stone]]).tobytes()
        wanted, wide = float(holes.wanted[stone]), None
        if lit:
            wide = known[alike] = known[alike] if alike in known else _widest(skin, holes, stone)
        its = its[met[its] >= 0]
        if not len(its) or (wide is not None and wide >= wanted):
            found.append(None)
            continue
        thick, _ = skin.grid.coarser.cast(origin[its] + (far[its, None] + 1e-6) * way[its], way[its])
        least = int(np.argmin(thick))
        free = float(holes.culets[stone] + NEAR + far[its[least]])
        found.append(Shut(free, float(thick[least]), int(skin.owner[met[its[least]]]), wide))
    return found


def _widest(skin: Skin, holes: Holes, stone: int) -> float:
    """How wide the widest way out of a hole is, as far as it is wanted."""
    wanted, radius = float(holes.wanted[stone]), float(holes.radii[stone])
    heights = float(holes.mouths[stone]), float(holes.culets[stone]) + NEAR
    return widest_way(skin, holes.frames[stone], heights, radius, wanted / 2) if wanted else 0.0


def _about(skin: Skin, holes: Holes, ways: Floats, some: Flags) -> Floats:
    """How far it is from where holes begin to the metal round about, by ``ways`` (n, k, 3), in steps within
    which two are alike; 0 but for ``some``."""
    found, reach = np.zeros(ways.shape[:2]), NEARBY * holes.radii[some, None]
    start = np.repeat(holes.start[some], ways.shape[1], axis=0)
    far, _ = skin.grid.coarser.cast(start, ways[some].reshape(-1, 3), leaving=False)
    found[some] = np.round(np.minimum(far.reshape(-1, ways.shape[1]), reach) / ALIKE)
    return found


def _leads_out(skin: Skin, origin: Floats, down: Floats, ways: Floats, far: Floats) -> Flags:
    """Whether any of ``ways`` (n, k, 3) from the free part of each hole meets no metal, (n,)."""
    out, left = np.zeros(len(origin), dtype=bool), np.flatnonzero(far > 1e-6)
    for share in TRIED:
        at = origin[left] + share * far[left, None] * down[left]
        out[left] = sees_out(skin, at, ways[left], np.zeros(len(left)))
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
