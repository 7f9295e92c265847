"""The patterns of copies that a line lays: in a row, in a circle, in a grid."""

from __future__ import annotations

from typing import NoReturn

import numpy as np

from ...lang.bench import Call
from ..geometry import frames as fr
from ..geometry.surfaces import ROW_RISE
from .feature import Places
from .roles import Role

COPIES_LIMIT = 20_000
LEVEL = 1e-6  # of a way, what goes neither right nor left
TURNED = "turn", "lean", "swivel"  # what turns the right of a place away


def too_many(call: Call, total: int) -> NoReturn:
    """Refuse a line with more copies than the cap."""
    call.refuse(
        "too-many-copies", f"{call.name} would have {total} copies", seen=str(total),
        limit=f"{COPIES_LIMIT} of one part", remedy="make fewer, or make the spacing wider",
    )


def pattern(call: Call) -> np.ndarray:
    """Frames of the `row`, `circle` or `grid` clause; one at the middle without them."""
    for key, lay_out in (("row", _line), ("circle", _circle), ("grid", _grid)):
        if call.given(key):
            return lay_out(call)
    return fr.identity()


def _spacing(call: Call, key: str) -> tuple[float, float]:
    every = call.get("every")
    if every is None:
        call.refuse(
            "clause-missing", f"{key} wants the spacing", key, remedy="add 'every 2.5 mm', centre to centre",
        )
    steps = every if isinstance(every, tuple) else (every,)
    return steps[0], steps[-1]


def _line(call: Call) -> np.ndarray:
    count = call.get("row")
    if count == 1:
        return fr.identity()
    step = _spacing(call, "row")
    if count > COPIES_LIMIT:
        too_many(call, count)
    return _along_edge(call, anchored(call, _in_row(count, step[0])))


def _along_edge(call: Call, frames: np.ndarray) -> np.ndarray:
    """A row of findings at an end, where 'right' leads away from the metal, along the edge of that instead:
    to the right or up."""
    at = call.get("at")
    turned = any(map(call.given, TURNED))
    if Role.FINDING not in call.roles or not isinstance(at, Places) or not at.ends or turned:
        return frames
    way = 90.0 if at.frames[0, :2, 1].sum() > -LEVEL else -90.0
    if at.edge is not None:
        return at.edge(frames[:, 0, 3] * np.sign(way))
    return fr.compose(fr.compose(fr.turned(2, way), frames), fr.turned(2, -way))


def _in_row(count: int, pitch: float) -> np.ndarray:
    """Frames side by side, their middle at the place."""
    frames = fr.identity(count)
    frames[:, 0, 3] = (np.arange(count) - (count - 1) / 2) * pitch
    return frames


def anchored(call: Call, frames: np.ndarray) -> np.ndarray:
    """A row moved so that the one of it that `anchor` counts stands at the place."""
    which = call.get("anchor")
    if which is None:
        return frames
    if which > len(frames):
        call.refuse(
            "out-of-range", f"there is no number {which} in a row of {len(frames)}", "anchor",
            seen=str(which), limit=f"1 to {len(frames)}",
        )
    moved = frames.copy()
    moved[:, 0, 3] -= frames[which - 1, 0, 3]
    return moved


def _circle(call: Call) -> np.ndarray:
    count, radius = call.get("circle"), call.get("radius")
    if radius is None:
        call.refuse("clause-missing", "circle wants its radius", "circle", remedy="add 'radius 4 mm'")
    if count > COPIES_LIMIT:
        too_many(call, count)
    start = call.get("start", 0.0)
    turns = [fr.turned(2, start + 360.0 * k / count) for k in range(count)]
    return fr.compose(np.concatenate(turns), fr.shifted(right=radius))


def _grid(call: Call) -> np.ndarray:
    across, up = call.get("grid")
    step = _spacing(call, "grid")
    if across * up > COPIES_LIMIT:
        too_many(call, across * up)
    rise = step[1]
    if call.get("staggered") and len(call.get("every")) == 1:
        rise = step[0] * ROW_RISE
    rows = []
    for row in range(up):
        count = across - 1 if call.get("staggered") and row % 2 else across
        if count > 0:
            frames = _in_row(count, step[0])
            frames[:, 1, 3] = (row - (up - 1) / 2) * rise
            rows.append(frames)
    return np.concatenate(rows)
