"""How wide the way is out of the hole behind a stone: the widest ball that rolls from it into the open.
Lengths mm."""

from __future__ import annotations

import numpy as np

from .closest import on_triangle
from .kinds import Flags, Floats, Ints, dot, frame_of, least_by_row, length, unit
from .skin import Skin

# Ways tried from inside a hole, evenly over the half that looks away from the stone.
FAN = 64
FAN_FIRST = np.arange(FAN) % 4 == 0  # of these a quarter is tried first
# Rays round a ball that say whether it goes straight on, a hair within it; ways so tried from one place.
ROUND, WITHIN, TRIED = 6, 0.97, 4
# Shares of the ball that is wanted: sizes tried when that does not come out, and the steps it goes in.
SIZES, PITCH = (1.0, 0.9, 0.8, 0.7, 0.6, 0.5), 0.6
STEPS = np.array([(1, 0, 0), (-1, 0, 0), (0, 1, 0), (0, -1, 0), (0, 0, 1), (0, 0, -1)])
MOST = 30_000  # places; what a ball has so much room in is a hollow, see undrained-hollow
EASED = 0.5, 1.0  # shares of the step by which a place is eased
BEGINS = 0.6  # of the radius of a hole, as far off its axis a ball may begin
SLACK = 0.05  # of a ball, that places apart may leave its way wider than it is found


def fan(axes: Floats) -> Floats:
    """Ways (n, `FAN`, 3) evenly over the half spheres about the last columns of ``axes`` (n, 3, 3)."""
    golden = np.pi * (3.0 - np.sqrt(5.0)) * np.arange(FAN)
    level = (np.arange(FAN) + 0.5) / FAN
    flat = np.sqrt(1.0 - level**2)
    spots = np.stack([flat * np.cos(golden), flat * np.sin(golden), level], axis=1)
    return np.asarray(np.einsum("nij,kj->nki", axes, spots))


def bundle(skin: Skin, at: Floats, ways: Floats, balls: Floats) -> Floats:
    """How far a ball of each radius (n,) goes straight from a place (n, 3) before it meets metal; inf where
    it meets none. By rays round it: what stands between two of these is not seen."""
    one, two = frame_of(ways)
    turn = 2 * np.pi * np.arange(ROUND) / ROUND
    rim = np.cos(turn)[:, None] * one[:, None] + np.sin(turn)[:, None] * two[:, None]
    start = np.concatenate([at[:, None], at[:, None] + WITHIN * balls[:, None, None] * rim], axis=1)
    far, _ = _cast(skin, start.reshape(-1, 3), np.repeat(ways, ROUND + 1, axis=0))
    return np.asarray(far.reshape(-1, ROUND + 1).min(axis=1))


def sees_out(skin: Skin, at: Floats, ways: Floats, balls: Floats) -> Flags:
    """Whether from places (n, 3) a ball of each radius (n,) goes straight out by ``ways`` (n, k, 3)."""
    _, met = _cast(skin, np.repeat(at, ways.shape[1], axis=0), ways.reshape(-1, 3))
    free = met.reshape(ways.shape[:2]) < 0
    free &= free.cumsum(axis=1) <= TRIED
    row, way = np.nonzero(free)
    out = np.zeros(len(at), dtype=bool)
    out[row[np.isinf(bundle(skin, at[row], ways[row, way], balls[row]))]] = True
    return out


def _cast(skin: Skin, at: Floats, ways: Floats) -> tuple[Floats, Ints]:
    return skin.grid.coarser.cast(np.ascontiguousarray(at), np.ascontiguousarray(ways), leaving=False)


def widest_way(skin: Skin, frame: Floats, heights: tuple[float, float], radius: float, ball: float) -> float:
    """The diameter of the widest ball, of radius ``ball`` at most, that rolls out of a hole of a ``radius``
    behind a stone at a ``frame`` (3, 4), from between two ``heights`` below its girdle; 0.0 where none half
    as wide does. It goes from place to place of a lattice, no higher than the girdle."""
    roll = _Roll(skin, frame, ball, PITCH * ball)
    roll.begin(heights, BEGINS * radius)
    for share in SIZES:
        if roll.comes_out(share * ball * (1 - SLACK)):
            return 2 * share * ball
    return 0.0


class _Roll:
    """A ball on its way: the places it was at, and those beside them where it has less room than it needs."""

    def __init__(self, skin: Skin, frame: Floats, ball: float, pitch: float) -> None:
        self.skin, self.ball, self.pitch = skin, ball, pitch
        self.origin, self.axes = frame[:, 3], frame[:, :3] * np.array([1.0, 1.0, -1.0])
        self.fan = fan(self.axes[None])[:, FAN_FIRST]
        self.seen: set[tuple[int, ...]] = set()
        self.spots, self.at, self.room = np.zeros((0, 3), dtype=np.int64), np.zeros((0, 3)), np.zeros(0)

    def begin(self, heights: tuple[float, float], aside: float) -> None:
        """Places in the hole that are in no metal."""
        wide, (high, low) = int(aside / self.pitch), heights
        deep = np.arange(max(np.ceil(high / self.pitch), 1), np.ceil(low / self.pitch) + 1)
        side = np.arange(-wide, wide + 1)
        spots = np.stack(np.meshgrid(side, side, deep, indexing="ij"), axis=-1).reshape(-1, 3)
        spots = spots.astype(np.int64)[np.hypot(spots[:, 0], spots[:, 1]) <= wide]
        at, room = self._rooms(spots)
        down = np.tile(self.axes[:, 2], (len(at), 1))
        _, met = self.skin.grid.cast(at, down, leaving=False)
        air = (met < 0) | (dot(down, self.skin.normals[met]) <= 0)
        self.seen |= set(map(tuple, spots.tolist()))
        self.spots, self.at, self.room = spots[air], at[air], room[air]

    def comes_out(self, ball: float) -> bool:
        """Whether a ball of a radius, from where others have been, comes to a place from where it goes
        straight out."""
        while (fits := self.room >= ball).any():
            spots, at = self.spots[fits], self.at[fits]
            self.spots, self.at, self.room = self.spots[~fits], self.at[~fits], self.room[~fits]
            tried = at[[int(spots[:, 2].argmax()), len(at) // 2]]
            ways, balls = np.repeat(self.fan, len(tried), axis=0), np.full(len(tried), ball)
            if len(self.seen) > MOST or sees_out(self.skin, tried, ways, balls).any():
                return True
            self._go_on(spots, at)
        return False

    def _go_on(self, spots: Ints, at: Floats) -> None:
        """Note the places beside some that are not known and that no metal parts from them."""
        beside = (spots[:, None] + STEPS).reshape(-1, 3)
        fresh = []
        for k, spot in enumerate(map(tuple, beside.tolist())):
            if spot[2] > 0 and spot not in self.seen:
                self.seen.add(spot)
                fresh.append(k)
        beside, from_ = beside[fresh], at[np.array(fresh, dtype=np.int64) // len(STEPS)]
        there, room = self._rooms(beside)
        wide = np.flatnonzero(room >= SIZES[-1] * self.ball * (1 - SLACK))
        go = there[wide] - from_[wide]
        _, met = self.skin.grid.cast(from_[wide], unit(go), leaving=False, reach=length(go))
        room[wide[met >= 0]] = 0.0
        half, _ = self._eased(from_[wide] + go / 2, unit(go))  # as between two edges
        room[wide] = np.minimum(room[wide], half)
        for name, more in (("spots", beside), ("at", there), ("room", room)):
            setattr(self, name, np.concatenate([getattr(self, name), more]))

    def _rooms(self, spots: Ints) -> tuple[Floats, Floats]:
        """Places (n, 3) of a lattice, eased, and the room there."""
        room, at = self._eased(self.origin + (spots * self.pitch) @ self.axes.T)
        return at, room

    def _eased(self, at: Floats, along: Floats | None = None) -> tuple[Floats, Floats]:
        """The room (n,) mm at places (n, 3), and these moved by half the pitch at most off the nearest metal
        where the ball finds more room there; square to ways ``along`` (n, 3), where these are told."""
        room, touched = self._room(at)
        tight = np.flatnonzero((room < self.ball) & (room >= SIZES[-1] * self.ball - self.pitch / 2))
        off = at[tight] - touched[tight]
        if along is not None:
            off -= dot(off, along[tight])[:, None] * along[tight]
        step, home = np.minimum(self.ball - room[tight], self.pitch / 2), at[tight]
        for share in EASED:
            moved = home + (share * step)[:, None] * unit(off)
            more, _ = self._room(moved)
            better = more > room[tight]
            at[tight[better]], room[tight[better]] = moved[better], more[better]
        return room, at

    def _room(self, at: Floats) -> tuple[Floats, Floats]:
        """How far places (n, 3) are from metal, the ball's radius at most, and its nearest spot."""
        reach = self.ball
        room, touched = np.full(len(at), reach), at.copy()
        row, face = self.skin.grid.near(at - reach, at + reach)
        spot = on_triangle(at[row], self.skin.corners[face])
        far = length(spot - at[row])
        row, best = least_by_row(row, far)
        nearer = far[best] < reach
        room[row[nearer]], touched[row[nearer]] = far[best][nearer], spot[best][nearer]
        return room, touched
