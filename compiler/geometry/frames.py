"""Rigid frames as (n, 3, 4) arrays: where copies of a feature stand. Lengths in mm, angles in degrees.

A frame's columns are its x, y and z axes and its origin. Mirrored frames (left-handed) are allowed: a
mirrored copy is exactly the mirror image."""

from __future__ import annotations

import math

import numpy as np

from ..measures.kinds import cross, unit

# Frames are rounded here before they enter the plan: 1e-9 mm is far below any tool, and far above
# the noise of reassociated sums, so equal places hash equal.
DIGITS = 9
APART = 0.52  # the sum of two unit ways is shorter where they look more than 150 degrees apart


def identity(count: int = 1) -> np.ndarray:
    """``count`` frames at the origin, (count, 3, 4)."""
    return _ONE.copy() if count == 1 else np.repeat(_ONE, count, axis=0)


_ONE = np.eye(3, 4)[None]
_STILL, _STRAIGHT = _ONE.tobytes(), np.eye(3).tobytes()


def shifted(right: float = 0.0, up: float = 0.0, out: float = 0.0) -> np.ndarray:
    """One frame moved by the three lengths, (1, 3, 4)."""
    frame = identity()
    frame[0, :, 3] = (right, up, out)
    return frame


def cos_sin(degrees: float) -> tuple[float, float]:
    """Cosine and sine, exact at whole quarter turns so that mirrored work stays mirrored."""
    quarter, rest = divmod(degrees, 90.0)
    if rest == 0.0:
        return ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarter) % 4]
    angle = math.radians(degrees)
    return math.cos(angle), math.sin(angle)


def turned(axis: int, degrees: float) -> np.ndarray:
    """One frame turned about its own axis 0 (right), 1 (up) or 2 (out), (1, 3, 4)."""
    cosine, sine = cos_sin(degrees)
    frame = identity()
    first, second = ((1, 2), (2, 0), (0, 1))[axis]
    frame[0, first, first] = frame[0, second, second] = cosine
    frame[0, second, first], frame[0, first, second] = sine, -sine
    return frame


def half_way(one: np.ndarray, two: np.ndarray) -> np.ndarray:
    """The frame half way between two (1, 3, 4), turned half way too; as the first is turned where their
    outs, or their rights, look more than 150 degrees apart."""
    middle = one.copy()
    middle[:, :, 3] = (one[:, :, 3] + two[:, :, 3]) / 2
    out, right = (one[0, :, k] + two[0, :, k] for k in (2, 0))
    if min(np.linalg.norm(out), np.linalg.norm(right)) > APART:
        out /= np.linalg.norm(out)
        right -= (right @ out) * out
        right /= np.linalg.norm(right)
        up = cross(out[None], right[None])[0]
        middle[0, :, :3] = np.column_stack((right, up if up @ one[0, :, 1] > 0 else -up, out))
    return middle


def flipped(axis: int) -> np.ndarray:
    """One frame mirrored across the plane through the origin square to ``axis``, (1, 3, 4)."""
    frame = identity()
    frame[0, axis, axis] = -1.0
    return frame


def mirrored(frames: np.ndarray) -> np.ndarray:
    """Which of the frames (..., 3, 4) show a mirror image, being left-handed: (...,) bool."""
    return np.asarray(np.linalg.det(frames[..., :3]) < 0)


def compose(outer: np.ndarray, inner: np.ndarray) -> np.ndarray:
    """Every inner frame seen from every outer one: (n, 3, 4) and (m, 3, 4) to (n * m, 3, 4)."""
    # Most lines neither turn nor repeat.
    if len(outer) == 1 and outer[0, :, :3].tobytes() == _STRAIGHT:
        moved = np.asarray(inner, dtype=float) + 0.0
        moved[:, :, 3] += outer[0, :, 3]
        return moved
    if len(inner) == 1 and inner.tobytes() == _STILL:
        return np.asarray(outer, dtype=float) + 0.0
    return composed(outer[:, None], inner[None]).reshape(-1, 3, 4)


def turned_by(angles: np.ndarray) -> np.ndarray:
    """Frames (n, 3, 4) at the origin turned about z by ``angles`` (n,), radians."""
    frames = identity(len(angles))
    frames[:, 0, 0] = frames[:, 1, 1] = np.cos(angles)
    frames[:, 1, 0] = np.sin(angles)
    frames[:, 0, 1] = -frames[:, 1, 0]
    return frames


def composed(outer: np.ndarray, inner: np.ndarray) -> np.ndarray:
    """Each inner frame seen from the outer one beside it, (..., 3, 4)."""
    frames = outer[..., :3] @ inner
    frames[..., 3] += outer[..., 3]
    return frames


def inverse(frame: np.ndarray) -> np.ndarray:
    """The inverse of one rigid (perhaps mirrored) (3, 4) frame, (3, 4)."""
    rotation = frame[:, :3].T
    return np.concatenate([rotation, (-rotation @ frame[:, 3])[:, None]], axis=1)


def apply(frame: np.ndarray, points: np.ndarray) -> np.ndarray:
    """``points`` (n, 3) in a (3, 4) frame, as seen from outside it."""
    return points @ frame[:, :3].T + frame[:, 3]


def from_axes(origin: np.ndarray, along: np.ndarray, out: np.ndarray) -> np.ndarray:
    """Frames (n, 3, 4), x along ``along``, z along ``out`` made square to it, from (n, 3) of any length."""
    x = unit(along)
    z = unit(out - (out * x).sum(axis=1, keepdims=True) * x)
    return np.stack([x, cross(z, x), z, origin], axis=-1)


def straight(frames: np.ndarray) -> np.ndarray:
    """How what stands under places (n, 3, 4) is turned, (1, 3, 4). Copies that all face one way are followed;
    a ring of stones facing all ways is not. Right is that of the piece, or the frame's own where that is
    how it faces."""
    if np.abs(frames[:, :, 2] - frames[0, :, 2]).max() >= 1e-9:
        return identity()
    right = frames[:1, :, 0] if abs(frames[0, 0, 2]) > 0.999 else np.array([[1.0, 0.0, 0.0]])
    return from_axes(np.zeros((1, 3)), right, frames[:1, :, 2])


def turn_of(frames: np.ndarray) -> float:
    """How far the first of places (n, 3, 4) that all face one way is turned about that way, degrees."""
    if not len(frames):
        return 0.0
    along = straight(frames)[0, :, :2].T @ frames[0, :, 0]
    return math.degrees(math.atan2(float(along[1]), float(along[0])))


def rounded(frames: np.ndarray) -> np.ndarray:
    """``frames`` rounded to the digits of the plan, negative zeros cleared."""
    return np.round(frames, DIGITS) + 0.0
