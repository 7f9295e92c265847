"""The nooks of a field of stones, where beads stand: between neighbours, at corners, round the outside.

Lengths mm."""

from __future__ import annotations

import math

import numpy as np

from ..geometry import frames as fr
from ..geometry.inside import inside_loops
from ..geometry.outlines import trace
from .feature import Feature, Places
from .stone_kind import corners_of

# A nook is a bead's own if no other lies nearer than this share of a stone's radius.
APART = 0.35
# A stone is held on all sides when no more than this many degrees lie between two beads.
WIDEST = 130.0
# A wider nook, as a share of a stone's radius from girdle to middle, is no place for one bead.
MOST_ROOM = 0.42
# Beads stand off the girdle by this share of the room they have, at most this share of a
# radius.
OFF = 0.12
# Two beads stand no nearer to one another, as a share of a stone's radius.
BESIDE = 0.7
# Corners of two stones share a bead when no more than this share of a radius lies between their own.
SHARED = 0.6
FINE = 0.01  # mm, of the chords of an outline
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
    spots: list[np.ndarray] = []
    ways: list[np.ndarray] = []
    for k in rounds:
        near = _near(centres, radius, k)
        for spot, out in _meeting(centres, outs, radius, k, near):
            if _far_from(spots, spot) > APART * radius[k]:
                spots.append(spot)
                ways.append(out)
    for k in rounds:
        for spot in _missing(feature.frames[k], radius, centres, k, spots):
            spots.append(spot)
            ways.append(outs[k])
    if len(rounds) < count:
        _at_corners(feature, radius, spots, ways)
    origin, out = np.array(spots), np.array(ways)
    right = np.tile(feature.frames[0, :, 0], (len(spots), 1))
    right[np.abs((right * out).sum(axis=1)) > 0.9] = feature.frames[0, :, 1]
    right -= (right * out).sum(axis=1, keepdims=True) * out  # a nook looks out as its stones do
    room = np.array([_to_hold(feature, radius, spot) for spot in spots])
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
            local = flat[:, :, 3] + OFF * radius[k] * flat[:, :, 0]
            own += [frame[:, :3] @ spot + frame[:, 3] for spot in local]
            of += [k] * len(local)
    every, stone = np.array(own), np.array(of)
    for k, spot in zip(of, own, strict=True):
        away = np.linalg.norm(every - spot, axis=1)
        away[stone == k] = np.inf
        beside = np.flatnonzero(away < SHARED * radius[k])
        at = (spot + every[beside].sum(axis=0)) / (1 + len(beside))
        out = feature.frames[k, :, 2] + feature.frames[stone[beside], :, 2].sum(axis=0)
        if _far_from(spots, at) > APART * radius[k] and _room(feature, radius, at) > 0:
            spots.append(at)
            ways.append(out / np.linalg.norm(out))


def _to_hold(feature: Feature, radius: np.ndarray, spot: np.ndarray) -> float:
    """How far the girdles lie that a bead at a spot is to lap: the nearest, and those hardly farther."""
    away = _aways(feature, radius, spot)
    near = away.min()
    held = away < max(near, 0.0) + HELD * radius
    return float(away[held].max(initial=near))


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
    centres: np.ndarray, outs: np.ndarray, radius: np.ndarray, k: int, near: np.ndarray
) -> list[tuple[np.ndarray, np.ndarray]]:
    """Spots equally far from stone ``k`` and two neighbours, with no stone nearer."""
    found = []
    for at, i in enumerate(near):
        for j in near[at + 1 :]:
            spot = _circumcentre(centres[k], centres[i], centres[j])
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
            found.append((spot + sum(above) / 6 * out, out))
    return found


def _circumcentre(a: np.ndarray, b: np.ndarray, c: np.ndarray) -> np.ndarray | None:
    u, v = b - a, c - a
    uu, vv, uv = u @ u, v @ v, u @ v
    square = uu * vv - uv * uv
    if square < 1e-3 * uu * vv:
        return None
    return np.asarray(a + (vv * (uu - uv) * u + uu * (vv - uv) * v) / (2 * square))


def _holding(
    spots: list[np.ndarray], centres: np.ndarray, radius: np.ndarray, k: int
) -> np.ndarray:
    """Those spots (n, 3) where a bead just large enough to lap its nearest stone laps stone ``k`` too."""
    every = np.reshape(spots, (-1, 3))
    own = np.linalg.norm(centres[k] - every, axis=1) - radius[k]
    every, own = every[own < radius[k]], own[own < radius[k]]
    away = np.linalg.norm(centres - every[:, None], axis=2) - radius
    return every[own < np.maximum(away.min(axis=1), 0.0) + HELD * radius[k]]


def _missing(
    frame: np.ndarray, radius: np.ndarray, centres: np.ndarray, k: int, spots: list[np.ndarray]
) -> list[np.ndarray]:
    """Further spots round one stone where more than WIDEST degrees have no bead."""
    reach = radius[k] * (1 + OFF)
    local = (_holding(spots, centres, radius, k) - frame[:, 3]) @ frame[:, :3]
    angles = sorted(float(np.degrees(np.arctan2(y, x))) % 360.0 for x, y, _ in local)
    if not angles:
        angles = [45.0]
        wanted = [45.0, 135.0, 225.0, 315.0]
    else:
        wanted = []
        for here, after in zip(angles, [*angles[1:], angles[0] + 360.0], strict=True):
            turn = after - here
            parts = int(np.ceil(turn / WIDEST - 1e-9))
            wanted += [here + turn * part / parts for part in range(1, parts)]
    made: list[np.ndarray] = []
    for degrees in wanted:
        for aside in (0.0, 12.0, -12.0, 24.0, -24.0, 36.0, -36.0):
            turn = np.radians(degrees + aside)
            spot = frame[:, 3] + reach * (np.cos(turn) * frame[:, 0] + np.sin(turn) * frame[:, 1])
            clear = np.linalg.norm(centres - spot, axis=1) - radius
            clear[k] = np.inf
            free = _far_from([*spots, *made], spot) > BESIDE * radius[k]
            if free and clear.min(initial=np.inf) > 0.25 * (reach - radius[k]):
                made.append(spot)
                break
    return made
