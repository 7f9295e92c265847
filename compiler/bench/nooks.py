"""The nooks of a field of stones, where beads stand: between neighbours, at corners, round the outside.

Lengths mm."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable

import numpy as np

from ..geometry import frames as fr
from ..geometry.circle import circumcentre
from ..geometry.inside import inside_loops
from ..geometry.outlines import trace
from ..measures.kinds import flat_cross
from .feature import Feature, Places
from .stone_kind import corners_of

# A nook is a bead's own if no other lies nearer than this share of a stone's radius.
APART = 0.35
# A stone is held on all sides when no more than this many degrees lie between two beads.
WIDEST = 130.0
# A wider nook, as a share of a stone's radius from girdle to middle, is no place for one bead.
MOST_ROOM = 0.42
# In a nook with more room than this, mm, one bead would be a bulb: it is split into one for each stone.
SPLIT = 0.25
# Beads stand off the girdle by this share of the room they have, at most this share of a
# radius, and never farther than one bead reaches, mm.
OFF, OFF_MOST = 0.12, 0.22
# Two beads stand no nearer to one another, as a share of the smaller stone's radius.
BESIDE = 0.7
# Beads too near another, or a stone, move round their own by so many degrees at a time, at most so often.
STEP, STEPS = 6.0, 6
# Corners of two stones share a bead when no more than this share of a radius lies between their own.
SHARED = 0.6
FINE = 0.01  # mm, of the chords of an outline
# A bead's middle stands no nearer to the side of a claw of another stone, mm: house choice, no source.
BY_CLAW = 0.44
# A bead holds the stones whose girdles lie no farther than this share of a radius past the nearest.
HELD = 0.08


def nooks(feature: Feature) -> Places | str:
    """Where beads stand between the stones of a field, each shared by all the stones it touches, and
    round its outside so that every stone is held on all sides: round stones between one another,
    others at their corners. z looks out; ``room`` is how far the nearest girdles lie from the spot."""
    count = len(feature.frames)
    radius = np.array([feature.kind(k).width / 2 for k in range(count)])
    centres, outs = feature.frames[:, :, 3], feature.frames[:, :, 2]
    rounds = [k for k in range(count) if feature.kind(k).is_round()]
    spots, ways = _split(*_meeting(centres, outs, radius, rounds), feature.frames, radius)
    more, of = _missing(feature, radius, rounds, spots)
    spots, ways = [*spots, *more], [*ways, *outs[of]]
    if len(rounds) < count:
        _at_corners(feature, radius, spots, ways)
    origin, out = np.array(spots).reshape(-1, 3), np.array(ways).reshape(-1, 3)
    free = ~_claws(feature, origin)[1].any(axis=1)
    origin, out = origin[free], out[free]
    right = np.tile(feature.frames[0, :, 0], (len(origin), 1))
    right[np.abs((right * out).sum(axis=1)) > 0.9] = feature.frames[0, :, 1]
    right -= (right * out).sum(axis=1, keepdims=True) * out  # a nook looks out as its stones do
    room = np.array([_to_hold(feature, radius, spot) for spot in origin])
    return Places(fr.from_axes(origin, right, out), {"room": np.maximum(room, 0.0)})


def _at_corners(
    feature: Feature, radius: np.ndarray, spots: list[np.ndarray], ways: list[np.ndarray]
) -> None:
    """Add a spot off every corner of the stones that are not round, in the middle of those that lie
    near one another."""
    own: list[np.ndarray] = []
    of: list[int] = []
    for k, frame in enumerate(feature.frames):
        if not feature.kind(k).is_round():
            flat = corners_of(feature.kind(k)).frames
            local = flat[:, :, 3] + min(OFF * radius[k], OFF_MOST) * flat[:, :, 0]
            own += [frame[:, :3] @ spot + frame[:, 3] for spot in local]
            of += [k] * len(local)
    every, stone = np.array(own), np.array(of)

    def near(a: int, b: int) -> float:
        return SHARED * float(max(radius[stone[a]], radius[stone[b]])) * (stone[a] != stone[b])

    rounds = len(spots)
    for members in _clusters(every, near, SHARED * float(radius.max())):
        at, out = every[members].mean(axis=0), feature.frames[stone[members], :, 2].sum(axis=0)
        clear = _far_from(spots[:rounds], at) > APART * radius[stone[members]].min()
        if clear and _room(feature, radius, at) > 0:
            spots.append(at)
            ways.append(out / np.linalg.norm(out))


def _to_hold(feature: Feature, radius: np.ndarray, spot: np.ndarray) -> float:
    """How far the girdles lie that a bead at a spot is to lap: the nearest, and those hardly farther."""
    return _lapped(_aways(feature, radius, spot), radius)


def _lapped(away: np.ndarray, radius: np.ndarray) -> float:
    """The farthest of girdles ``away`` (n,) that a bead laps: the nearest, and those hardly farther."""
    near = away.min()
    return float(away[away < max(near, 0.0) + HELD * radius].max(initial=near))


def _clusters(points: np.ndarray, near: Callable[[int, int], float], most: float) -> list[list[int]]:
    """Which points (n, 3) stand together: no farther apart than ``near`` two of them, from one to the
    next; ``most`` is the longest it answers."""
    left, found = set(range(len(points))), []
    for first in range(len(points)):
        if first not in left:
            continue
        left.discard(first)
        members = [first]
        for at in members:
            away = np.linalg.norm(points - points[at], axis=1)
            beside = [k for k in np.flatnonzero(away < most).tolist() if k in left and away[k] < near(at, k)]
            left.difference_update(beside)
            members += beside
        found.append(sorted(members))
    return found


def _room(feature: Feature, radius: np.ndarray, spot: np.ndarray) -> float:
    """How far the nearest girdle lies from a spot; below zero inside a stone."""
    return float(_aways(feature, radius, spot).min())


def _aways(feature: Feature, radius: np.ndarray, spot: np.ndarray) -> np.ndarray:
    """How far each girdle lies from a spot (n,), true where it is near."""
    gone = feature.frames[:, :, 3] - spot
    away = np.linalg.norm(gone, axis=1) - radius
    for k in np.flatnonzero(away < away.min() + 2 * radius.max()).tolist():
        if not feature.kind(k).is_round():
            flat = -(gone[k] @ feature.frames[k, :, :3])[None, :2]
            away[k] = -inside_loops([trace(feature.kind(k).outline, FINE)], flat)[0]
    return np.asarray(away)


def _far_from(spots: list[np.ndarray], spot: np.ndarray) -> float:
    """How far the nearest of ``spots`` lies from one, mm; endless for none."""
    return float(np.linalg.norm(np.array(spots) - spot, axis=1).min()) if spots else math.inf


def _near(centres: np.ndarray, radius: np.ndarray, k: int) -> np.ndarray:
    apart = np.linalg.norm(centres - centres[k], axis=1)
    near = np.flatnonzero(apart < 1.75 * (radius + radius[k]))
    return near[near != k]


def _meeting(
    centres: np.ndarray, outs: np.ndarray, radius: np.ndarray, rounds: list[int]
) -> tuple[list[np.ndarray], list[np.ndarray]]:
    """Spots equally far from three neighbours with no stone nearer, and which way they look; where
    four and more stones meet, one in the middle."""
    found: dict[tuple[int, ...], tuple[np.ndarray, np.ndarray]] = {}
    for k in rounds:
        near = _near(centres, radius, k)
        for i, j in itertools.combinations(near.tolist(), 2):
            spot = circumcentre(centres[k], centres[i], centres[j], 1e-3)
            if spot is None:
                continue
            reach = float(np.linalg.norm(spot - centres[k]))
            rest = np.linalg.norm(centres[near] - spot, axis=1)
            if reach > (1 + MOST_ROOM) * radius[k] or (rest < reach - 1e-6).any():
                continue
            out = outs[k] + outs[i] + outs[j]
            out = out / np.linalg.norm(out)
            # On a dome the three stones' plane lies below the face, their own planes above it.
            above = [float((centres[m] - spot) @ outs[m] / (out @ outs[m])) for m in (k, i, j)]
            found[tuple(sorted((k, i, j)))] = spot + sum(above) / 6 * out, out
    if not found:
        return [], []
    spots, ways = (np.array(part) for part in zip(*found.values(), strict=True))
    least = [float(radius[list(three)].min()) for three in found]
    groups = _clusters(spots, lambda a, b: APART * min(least[a], least[b]), APART * max(least))
    looks = [ways[members].sum(axis=0) for members in groups]
    return [spots[members].mean(axis=0) for members in groups], [w / np.linalg.norm(w) for w in looks]


def _split(
    spots: list[np.ndarray], ways: list[np.ndarray], frames: np.ndarray, radius: np.ndarray
) -> tuple[list[np.ndarray], list[np.ndarray]]:
    """The spots and ways where in a wide nook each of its stones has a bead of its own, off its girdle."""
    parted: list[tuple[np.ndarray, np.ndarray]] = []
    for spot, way in zip(spots, ways, strict=True):
        gone = spot - frames[:, :, 3]
        away = np.linalg.norm(gone, axis=1) - radius
        if away.min() <= SPLIT:
            parted.append((spot, way))
            continue
        for k in np.flatnonzero(away < away.min() + HELD * radius).tolist():
            reach = radius[k] + min(OFF * radius[k], OFF_MOST)
            parted.append((frames[k, :, 3] + gone[k] * reach / np.linalg.norm(gone[k]), frames[k, :, 2]))
    return [spot for spot, _ in parted], [way for _, way in parted]


def _holding(spots: np.ndarray, centres: np.ndarray, radius: np.ndarray, k: int) -> np.ndarray:
    """Those spots (n, 3) where a bead just large enough to lap its nearest stone laps stone ``k`` too."""
    own = np.linalg.norm(centres[k] - spots, axis=1) - radius[k]
    every, own = spots[own < radius[k]], own[own < radius[k]]
    away = np.linalg.norm(centres - every[:, None], axis=2) - radius
    return np.asarray(every[own < np.maximum(away.min(axis=1), 0.0) + HELD * radius[k]])


def _missing(
    feature: Feature, radius: np.ndarray, rounds: list[int], spots: list[np.ndarray]
) -> tuple[np.ndarray, np.ndarray]:
    """Further spots (n, 3) round the stones where more than WIDEST degrees have no bead, and whose they are.
    All are wanted first and then make room for one another, so that no stone comes before the next."""
    frames, fixed = feature.frames, np.array(spots).reshape(-1, 3)
    centres = frames[:, :, 3]
    wanted = [(k, degrees) for k in rounds for degrees in _wanted(feature, radius, k, fixed)]
    if not wanted:
        return np.zeros((0, 3)), np.zeros(0, int)
    of, turn = np.array([k for k, _ in wanted]), np.radians([degrees for _, degrees in wanted])
    reach = radius[of] + np.minimum(OFF * radius[of], OFF_MOST)
    beside = np.concatenate([BESIDE * radius[of], np.full(len(fixed), np.inf)])

    def stand(which: np.ndarray) -> np.ndarray:
        flat = np.stack([np.cos(turn[which]), np.sin(turn[which])], axis=1)
        around = np.einsum("nij,nj->ni", frames[of[which], :, :2], flat)
        return np.asarray(centres[of[which]] + reach[which, None] * around)

    every = np.arange(len(of))
    places = stand(every)
    for step in range(STEPS + 1):
        others, moves = np.concatenate([places, fixed]), np.zeros(len(of))
        near = _nearer(places, others, np.minimum(beside, beside[every, None]))
        stones = _nearer(places, centres, radius + 0.25 * OFF * radius[of, None])
        near[every, every] = stones[every, of] = False
        feet, claws = _claws(feature, places)
        crowded = near.any(axis=1) | stones.any(axis=1) | claws.any(axis=1)
        for k in np.flatnonzero(crowded):
            blocking = np.concatenate([others[near[k]], centres[stones[k]], feet[k, claws[k]]])
            flat = frames[of[k], :, :2]  # one that mirrors turns the other way, as its angles do
            side = flat_cross((places[k] - centres[of[k]]) @ flat, (blocking - centres[of[k]]) @ flat)
            moves[k] = -np.sign(np.round(side, 6)).sum()
        if not crowded.any() or step == STEPS:
            break
        turn = turn + np.radians(STEP) * np.sign(moves)
        places = stand(every)
    joined = _clusters(places, lambda a, b: min(beside[a], beside[b]), float(beside[every].max()))
    groups = [part for members in joined for part in _parted(places, members, centres, radius)]
    held = [places[members].mean(axis=0) for members in groups]
    own = np.array([beside[members].min() for members in groups])[:, None]
    near = _nearer(np.array(held), fixed, own)
    stones = _nearer(np.array(held), centres, radius * (1 + 0.25 * OFF) - 1e-9)
    free = [not (one.any() or other.any()) for one, other in zip(near, stones, strict=True)]
    kept = [at for at, clear in zip(held, free, strict=True) if clear]
    return np.array(kept).reshape(-1, 3), of[[m[0] for m, clear in zip(groups, free, strict=True) if clear]]


def _claws(feature: Feature, spots: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Where claws of another stone pass beside spots (n, 3), (n, m, 3), and which are too near, (n, m)."""
    frames, thick = feature.passing
    posts, ways = frames[:, :, 3], frames[:, :, 2]
    off = np.einsum("nmi,mi->nm", spots[:, None] - posts, ways)
    feet = posts + off[:, :, None] * ways
    return feet, np.linalg.norm(spots[:, None] - feet, axis=2) < thick / 2 + BY_CLAW


def _parted(
    places: np.ndarray, members: list[int], centres: np.ndarray, radius: np.ndarray
) -> list[list[int]]:
    """Spots that are to be one bead in their middle, each by itself where the nook is wide for that."""
    wide = _lapped(np.linalg.norm(centres - places[members].mean(axis=0), axis=1) - radius, radius) > SPLIT
    return [[k] for k in members] if wide else [members]


def _nearer(spots: np.ndarray, others: np.ndarray, limit: np.ndarray) -> np.ndarray:
    """Which ``others`` (m, 3) lie nearer to each of ``spots`` (n, 3) than their limits, (n, m)."""
    return np.asarray(np.linalg.norm(others - spots[:, None], axis=2) < limit - 1e-9)


def _wanted(feature: Feature, radius: np.ndarray, k: int, spots: np.ndarray) -> list[float]:
    """Where round a stone beads are wanted, in degrees: if it has none, half way between along its row and
    across it, else evenly where more than WIDEST degrees lie between two."""
    centres, frame = feature.frames[:, :, 3], feature.frames[k]
    local = (_holding(spots, centres, radius, k) - frame[:, 3]) @ frame[:, :3]
    if not len(local):
        last, following = feature.neighbours(k)
        way = (centres[following] - centres[last]) @ frame[:, :3]
        along = float(np.degrees(np.arctan2(way[1], way[0])))
        return [along + 45.0, along + 135.0, along + 225.0, along + 315.0]
    angles = sorted(float(np.degrees(np.arctan2(y, x))) % 360.0 for x, y, _ in local)
    wanted = []
    for here, after in zip(angles, [*angles[1:], angles[0] + 360.0], strict=True):
        parts = int(np.ceil((after - here) / WIDEST - 1e-9))
        wanted += [here + (after - here) * part / parts for part in range(1, parts)]
    return wanted
