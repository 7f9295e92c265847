"""The face a part really has after broad cuts: the ground of a sunk field, the inside of a hollow.

Lengths in mm, everything in the part's own frame. A cut takes part by its own metal alone: stones' seats,
holes, letters, textures and lines narrower than BROAD are marks upon a face, not faces."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from ...lang.bench import Call
from ..geometry import frames as fr
from ..geometry.outlines import Outline, signed_area, trace_all
from ..measures.grid import Grid
from ..measures.kinds import unit
from .lumps import lumps, mesh_of
from .opening import is_open
from .plan import PRISM, Shape, Step
from .roles import Role

BROAD = 1.5  # mm, what is cut narrower is a mark
FINE = 0.002  # mm, how finely a cut is faceted to find its floor
ASIDE = 0.2  # mm, how far aside the floor is looked at to tell which way it looks
STEEP = 0.5  # how much the slopes to either side of a spot differ where a wall stands beside it
START = 1e-4  # mm within a cut, where its floor is looked for from
ONE = fr.identity()
STRAIGHT = PRISM, "hole", "through-hole"  # straight-walled tools, their outline the first of their figures
HEIGHTS = 0.1, 0.2, 0.3, 0.4, 0.6, 0.8  # mm over a place, where the ball may strike a wall beside it
OVER = 0.2  # mm, how much deeper it may go where the face rises beside it
_MARKS = frozenset(
    {
        Role.TEXTURE, Role.SEAT, Role.LIGHT_HOLE, Role.SETTING, Role.INLAY, Role.CHANNEL, Role.GRAINS,
        Role.FINDING,
    }
)


@dataclass(frozen=True, eq=False)
class FaceCut:
    """What was cut from a part: the tool, where its copies stand (n, 3, 4) in the part's own frame."""

    shape: Shape
    frames: np.ndarray


def is_face_work(call: Call, shape: Shape) -> bool:
    """Whether a cut of this line leaves a new face: one of known depth, broad, of metal in the mould."""
    if is_open(shape) or (Role.HOLE in call.roles and not call.get("ball")):
        return False
    return is_broad(call, shape)


def is_broad(call: Call, shape: Shape) -> bool:
    """Whether a cut of this line takes away more than a mark of metal in the mould."""
    if call.roles & _MARKS or call.get("by-hand"):
        return False
    if call.given("border") or call.given("letters") or call.given("filled"):
        return False
    wide = call.get("stroke") if call.given("stroke") else _breadth(shape)
    return float(wide) >= BROAD


def _breadth(shape: Shape) -> float:
    """The middling width of what a straight-walled tool cuts: four times its area over its edge."""
    if shape.kind not in STRAIGHT:
        return np.inf
    loops = trace_all(_outline(shape), 0.02)
    edge = sum(float(np.linalg.norm(np.roll(one, -1, axis=0) - one, axis=1).sum()) for one in loops)
    return 4 * abs(sum(signed_area(one) for one in loops)) / edge


def _outline(shape: Shape) -> Outline:
    outline: Outline = shape.figures[0]
    return outline


def real(cuts: list[FaceCut], frames: np.ndarray) -> np.ndarray:
    """Frames (n, 3, 4) of a face as it was made, sunk to where the ``cuts`` left it and looking as it does
    there; no number stays none."""
    there = np.isfinite(frames).all(axis=(1, 2))
    known = frames[there]
    go = ASIDE * np.array([(0, 0), (1, 0), (-1, 0), (0, 1), (0, -1)])
    sides = [known.copy() for _ in go]
    for side, (right, up) in zip(sides, go, strict=True):
        side[:, :, 3] += right * known[:, :, 0] + up * known[:, :, 1]
    deep = depths(cuts, np.concatenate(sides)).reshape(len(go), -1)
    if not deep.any():
        return frames
    slopes = np.stack([_slope(deep[0], deep[k], deep[k + 1]) for k in (1, 3)], axis=1)
    out = known[:, :, 2] + np.einsum("nk,nik->ni", slopes, known[:, :, :2])
    sunk = fr.from_axes(known[:, :, 3] - deep[0][:, None] * known[:, :, 2], known[:, :, 0], out)
    still = (deep[0] == 0.0) & (slopes == 0.0).all(axis=1)
    sunk[still] = known[still]
    found = frames.copy()
    found[there] = sunk
    return found


def _slope(here: np.ndarray, after: np.ndarray, before: np.ndarray) -> np.ndarray:
    """How much deeper a face lies for a mm on (n,); beside a wall as on the gentler side."""
    on, back = (after - here) / ASIDE, (here - before) / ASIDE
    gentle = np.where(np.abs(on) < np.abs(back), on, back)
    return np.where(np.abs(on - back) > STEEP, gentle, (on + back) / 2)


def depths(cuts: list[FaceCut], frames: np.ndarray) -> np.ndarray:
    """How far below each frame (n, 3, 4) of a face its ``cuts`` have sunk it, (n,)."""
    deep = np.zeros(len(frames))
    for _ in range(len(cuts) + 1):
        before = deep.copy()
        for cut in cuts:
            for home in cut.frames:
                local = fr.compose(fr.inverse(home)[None], frames)
                _sink(_grid(cut.shape), local, deep)
        if (deep == before).all():
            break
    return deep


def strikes(
    cuts: list[FaceCut], metal: np.ndarray, frames: np.ndarray, radius: float, deep: float
) -> np.ndarray:
    """Which blows of a ball, so deep at places (n, 3, 4) of a sunk face, strike a wall of it too, (n,);
    ``metal`` (m, 3, 3) are the triangles of the part before it was cut."""
    whole, found = _grid_of(metal), np.zeros(len(frames), dtype=bool)
    for high in HEIGHTS:
        aside = np.sqrt(max(radius**2 - (radius - deep - high) ** 2, 0.0))
        for turn in np.arange(0.0, 360.0, 22.5):
            off = fr.compose(fr.turned(2, float(turn)), fr.shifted(right=aside, out=high + OVER))
            spots = fr.compose(frames, off)
            inside = np.zeros(len(frames))
            _sink(whole, spots, inside)
            found |= (inside > 0) & (depths(cuts, spots) == 0)
    return found


def fallen(cuts: list[FaceCut], spots: np.ndarray, outs: np.ndarray) -> np.ndarray:
    """The same below spots (n, 3) of a face that looks along the units ``outs`` (n, 3)."""
    return depths(cuts, looking(spots, outs)) if cuts else np.zeros(len(spots))


def looking(spots: np.ndarray, outs: np.ndarray) -> np.ndarray:
    """Frames (n, 3, 4) at spots (n, 3) that look along the units ``outs`` (n, 3)."""
    along = np.roll(outs, 1, axis=1) + np.array((0.3, 0.7, 0.2))  # any way but that
    return fr.from_axes(spots, along - (along * outs).sum(axis=1, keepdims=True) * outs, outs)


def _sink(tool: Grid, local: np.ndarray, deep: np.ndarray) -> None:
    """Sink ``deep`` (n,) to the floor of a tool wherever it is within it, of ``local`` frames."""
    way = -local[:, :, 2]
    start = local[:, :, 3] + (deep + START)[:, None] * way
    near = np.flatnonzero(((start > tool.origin) & (start < tool.top)).all(axis=1))
    if not len(near):
        return
    floor, met = tool.cast(start[near], way[near], leaving=False)
    leaves = (met >= 0) & ((tool.normals[met] * way[near]).sum(axis=1) > 0)
    deep[near[leaves]] += floor[leaves] + START


@lru_cache(maxsize=32)
def _grid(shape: Shape) -> Grid:
    if shape.steps:
        return _grid_of(np.concatenate([one.corners for one in lumps([Step("add", shape, ONE, 0)], None)]))
    points, triangles = mesh_of(shape, FINE)
    return _grid_of(points[triangles])


def _grid_of(corners: np.ndarray) -> Grid:
    out = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    return Grid(corners, unit(out))
