"""Places on metal that its word does not name itself: face, back, top, right ... found on its own mesh.

They are told in the frame each copy stands in, of the metal as it was added, before any cut. The face
is where a ray from the onlooker through the middle of its box first meets metal; right, left, top and
bottom where the metal ends half way up, or half way along, or at its peak where that lies much farther
out, with x pointing away from it, so that a bail put there stands outside."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from ...lang.bench import Call
from ..geometry import frames as fr
from ..geometry.outlines import Outline, trace_all
from ..measures.kinds import flat_cross
from ..measures.section import cuts
from .feature import Places
from .lumps import CHORD, Corners, mesh_of
from .plan import PRISM, Shape

if TYPE_CHECKING:
    from ..measures.kinds import Floats

WAYS = 64  # round a girdle, or along a hop of a row, in which metal is looked for
SURE = 0.3  # of the way between two places, how much nearer to one of them its metal lies
BESIDE = np.radians(120.0)  # of the ways round a spot without any of a row, from which it lies beside that
LEVEL = 1e-4  # mm, what is this near to the outermost is outermost
OVER = 0.45  # of the width of an end, to either side of its middle, all lies over it: house choice, no source
TIP = 0.03  # of its length, what its end is made of: house choice, no source


SIDES = {
    "origin": "where it stands, the zero of its own frame",
    "face": "the middle of its face",
    "back": "the middle of its back, looking backward",
    "centre": "the middle of its metal",
    "top": "where it ends above, x pointing away: a bail there hangs it",
    "bottom": "where it ends below, x pointing away",
    "right": "where it ends on the right, x pointing away",
    "left": "where it ends on the left, x pointing away, the mirror of the right",
    "ends": "right and left",
}


def side(
    name: str, metal: Sequence[tuple[np.ndarray, Corners]], frames: np.ndarray, *, in_turn: bool = False,
    row: Floats | None = None,
) -> Places:
    """The side called ``name`` of each thing that stands at ``frames`` (n, 3, 4), of ``metal``: the frame
    and the triangles of every copy that it is made of. Each copy belongs to the nearest frame, or
    ``in_turn`` so many to each. Face and back of one thing along a ``row`` of spots (m, 3) that bends are at
    the spot of the row nearest to the middle of its box."""
    found = []
    stands = frames[:, :, 3]
    near = [_owner(stands, frame, corners) for frame, corners in metal]
    if in_turn:
        near = [k * len(frames) // len(metal) for k in range(len(metal))]
    for k, frame in enumerate(frames):
        mine = [corners for (_, corners), owner in zip(metal, near, strict=True) if owner == k]
        if not mine:
            continue
        own = fr.apply(fr.inverse(frame), np.concatenate(mine).reshape(-1, 3)).reshape(-1, 3, 3)
        line = None if row is None else fr.apply(fr.inverse(frame), row)[:, :2]
        on = _ON[name](own) if name not in FACING else _face(own, FACING[name], line)
        found.append(fr.compose(frame[None], on))
    return Places(fr.rounded(np.concatenate(found)) if found else frames)


WALLS = {
    name: f"where a hole ends {end}, half way through the metal, x pointing into the opening"
    for name, end in zip(
        ("top", "bottom", "right", "left"), ("above", "below", "on the right", "on the left"), strict=True
    )
}


def walls(outline: Outline, half_way: Callable[[], float]) -> dict[str, Callable[[], Places]]:
    """The WALLS of a hole of that outline, half way through the metal so far from its mouth, mm."""

    def wall(name: str) -> Places:
        points, triangles = mesh_of(Shape(PRISM, (outline, -2 * max(half_way(), CHORD), 0.0)))
        wall = fr.compose(_ON[name](points[triangles]), fr.turned(2, 180.0))
        return Places(fr.rounded(wall), inside=True)

    return {name: partial(wall, name) for name in WALLS}


def _owner(stands: Floats, frame: np.ndarray, corners: Corners) -> int:
    """Which of the places (n, 3) a copy of metal belongs to: that at which it stands, else the nearest to its
    middle."""
    away = np.linalg.norm(stands - frame[:, 3], axis=1)
    if away.min() > LEVEL:
        away = np.linalg.norm(stands - corners.mean(axis=(0, 1)), axis=1)
    return int(np.argmin(away))


def is_one(metal: Sequence[tuple[np.ndarray, Corners]], frames: np.ndarray) -> bool:
    """Whether some of the metal reaches over several of the places ``frames`` (n, 3, 4) it was made at, as a
    rail along a row does."""
    stands = frames[:, :, 3]
    for _, corners in metal if len(frames) > 1 else ():
        away = np.linalg.norm(corners.reshape(-1, 1, 3) - stands, axis=2)
        nearest, second = np.argsort(away, axis=1)[:, :2].T
        rows = np.arange(len(away))
        nearer = away[rows, second] - away[rows, nearest]
        sure = nearer > SURE * np.linalg.norm(stands[second] - stands[nearest], axis=1)
        if len(np.unique(nearest[sure])) > 1:
            return True
    return False


def reaches_all(call: Call, shape: Shape, frames: np.ndarray, outline: Outline | None = None) -> None:
    """Refuse a body that stands under the middle of several spots and does not reach them all.
    A known ``outline`` of the body spares making its faces."""
    feature = call.get("under")
    spots = feature.standing()[:, :, 3]
    if len(spots) < 2:
        return
    points = mesh_of(shape)[0] if outline is None else np.concatenate(trace_all(outline, CHORD))
    low, high = points[:, :2].min(axis=0), points[:, :2].max(axis=0)
    over = np.zeros(len(spots), dtype=bool)
    for frame in frames:
        own = fr.apply(fr.inverse(frame), spots)[:, :2]
        over |= ((own >= low - LEVEL) & (own <= high + LEVEL)).all(axis=1)
    left = int((~over).sum())
    if not left:
        return
    name = feature.name
    call.refuse(
        "under-beside",
        f"{call.name} stands once, under the middle of {name}: {left} of {len(spots)} lie beside it", "under",
        seen=f"{high[0] - low[0]:.4g} x {high[1] - low[1]:.4g} mm", limit=f"all {len(spots)} over it",
        remedy=f"make it larger; or one for each: 'each one in {name}', and in that block 'under one'",
    )


# -- one thing's sides, in its own frame ------------------------------------------------------------


def _box(corners: Corners) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    points = corners.reshape(-1, 3)
    low, high = points.min(axis=0), points.max(axis=0)
    return low, high, (low + high) / 2


def _face(corners: Corners, way: float, row: Floats | None = None) -> np.ndarray:
    """Where metal ends on the line through the middle of the box, or of a ``row`` (m, 2) that bends, along z,
    ``way`` 1 or -1; the box where that line meets none."""
    low, high, middle = _box(corners)
    if row is not None:
        middle[:2] = _of_row(row, middle[:2])
    heights = heights_at(corners, middle[:2])
    edge = high[2] if way > 0 else low[2]
    height = edge if not len(heights) else way * float((way * heights).max())
    frame = fr.shifted(middle[0], middle[1], height)
    return frame if way > 0 else fr.compose(frame, fr.turned(1, 180.0))


def _of_row(row: Floats, spot: Floats) -> Floats:
    """The spot (2,) on the line through a ``row`` of spots (m, 2) that is nearest to one beside it; that
    itself where the row goes round it, or by on both sides."""
    share = np.linspace(0.0, 1.0, WAYS)[:, None, None]
    go = ((1.0 - share) * row[:-1] + share * row[1:]).reshape(-1, 2) - spot
    ways = np.sort(np.arctan2(go[:, 1], go[:, 0]))
    *_, second, widest = np.sort(np.diff(ways, append=ways[0] + 2 * np.pi)).tolist()
    if widest < BESIDE or second > BESIDE / 2:
        return spot
    return np.asarray(spot + go[int(np.linalg.norm(go, axis=1).argmin())])


def heights_at(corners: Corners, spot: Floats) -> Floats:
    """How high the triangles are met by the line along z through ``spot`` (2,)."""
    flat = corners[:, :, :2] - spot
    one, two, three = flat[:, 0], flat[:, 1], flat[:, 2]
    double = flat_cross(two - one, three - one)
    parts = np.stack([flat_cross(two, three), flat_cross(three, one), flat_cross(one, two)], axis=1)
    with np.errstate(divide="ignore", invalid="ignore"):
        share = parts / double[:, None]
    hit = (np.abs(double) > 1e-12) & (share >= -1e-9).all(axis=1)
    return np.asarray((share[hit] * corners[hit, :, 2]).sum(axis=1))


def before_axis(ring: np.ndarray, frames: np.ndarray) -> np.ndarray:
    """How far inward from each frame (n, 3, 4) the finger's middle is passed, mm (n,); ``ring`` (3, 4)
    is where the ring stands, the finger along its y. No end for what looks along the finger."""
    local = fr.compose(fr.inverse(ring)[None], frames)[:, (0, 2)]
    start, way = local[:, :, 3], -local[:, :, 2]
    square = (way * way).sum(axis=1)
    return np.where(square > 1e-9, -(start * way).sum(axis=1) / np.maximum(square, 1e-9), np.inf)


def _end(corners: Corners, axis: int, way: float) -> tuple[float, float, float]:
    """The spot where metal ends along ``axis`` (0 or 1) in the plane through the middle of the box
    square to the other of the two, or through its ``_peak``; half way up the end there, of several ends the
    highest alike."""
    low, high, middle = _box(corners)
    other = 1 - axis
    turned = np.ascontiguousarray(corners[:, :, [2, axis, other]])
    start, end, _, _ = cuts(turned, middle[[other]])
    if not len(start):  # nothing there: the box
        start = end = np.array([[middle[2], high[axis] if way > 0 else low[axis]]])
    far = float((way * np.concatenate((start, end))[:, 1]).max())
    peak = _peak(way * turned.reshape(-1, 3)[:, 1], turned.reshape(-1, 3)[:, 2], far, middle[other])
    if peak is not None:
        middle[other] = peak
        start, end, _, _ = cuts(turned, middle[[other]])
        far = float((way * np.concatenate((start, end))[:, 1]).max())
    spot = middle.copy()
    spot[axis] = way * far
    spot[2] = _half_way(start, end, way * np.stack((start, end))[:, :, 1] > far - LEVEL)
    right, up, out = spot.tolist()
    return right, up, out


def _peak(along: Floats, across: Floats, far: float, middle: float) -> float | None:
    """Where across metal that is longest to one side of its ``middle`` ends there, as a stem that leans; None
    where its end lies over the middle too, or metal is longer than the ``far`` of that on both sides, as the
    lobes of a heart."""
    last = across[along > along.max() - TIP * np.ptp(along)]
    longer = across[along > far + LEVEL]
    half = float(last.min() + last.max()) / 2
    over = abs(middle - half) < OVER * np.ptp(last)
    return None if over or (len(longer) and longer.min() < middle < longer.max()) else half


def _half_way(start: Floats, end: Floats, last: np.ndarray) -> float:
    """Half way up the longest side, the highest of those as long, that chords (k, 2) make whose two ends are
    outermost where ``last`` (2, k) says so."""
    level = last.all(axis=0)
    heights = np.sort(np.stack((start[level, 0], end[level, 0])), axis=0).T.tolist()
    heights += [[one, one] for one in np.stack((start[:, 0], end[:, 0]))[last].tolist()]
    sides: list[list[float]] = []
    for low, high in sorted(heights):
        if sides and low <= sides[-1][1] + LEVEL:
            sides[-1][1] = max(sides[-1][1], high)
        else:
            sides.append([low, high])
    longest = max(high - low for low, high in sides)
    low, high = [side for side in sides if side[1] - side[0] > longest - CHORD][-1]
    return (low + high) / 2


FACING = {"face": 1.0, "back": -1.0}
_ON: dict[str, Callable[[Corners], np.ndarray]] = {
    "origin": lambda corners: fr.identity(),
    "centre": lambda corners: fr.shifted(*_box(corners)[2]),
    "top": lambda corners: fr.compose(fr.shifted(*_end(corners, 1, 1.0)), fr.turned(2, 90.0)),
    "bottom": lambda corners: fr.compose(fr.shifted(*_end(corners, 1, -1.0)), fr.turned(2, -90.0)),
    "right": lambda corners: fr.shifted(*_end(corners, 0, 1.0)),
    "left": lambda corners: fr.compose(fr.shifted(*_end(corners, 0, -1.0)), fr.flipped(0)),
    "ends": lambda corners: np.concatenate([_ON["right"](corners), _ON["left"](corners)]),
}
