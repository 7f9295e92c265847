"""The common placing clauses: from a checked line to the frames its copies stand at."""

from __future__ import annotations

import numpy as np

from ...lang.bench import Call
from ...lang.faults import Fault
from ..geometry import frames as fr
from ..geometry.surfaces import ROW_RISE, Flat
from .feature import Feature, Lines, Places

COPIES_LIMIT = 20_000


def placed(
    call: Call, low: float = 0.0, high: float = 0.0, inner: np.ndarray | None = None
) -> tuple[np.ndarray | None, list[Fault]]:
    """Frames (n, 3, 4) of the line's copies; ``low``/``high`` are its body's own bounds (for
    under), ``inner`` stands in for the pattern of `line`, `circle` and `grid`."""
    spots, faults = _grounds(call, high)
    if spots is None:
        return None, faults
    if inner is None:
        inner, more = pattern(call)
        faults = faults + more
    if inner is None:
        return None, faults
    own = _offset(call)
    total = len(spots) * len(inner)
    if total > COPIES_LIMIT:
        return None, [*faults, too_many(call, total)]
    frames = fr.compose(fr.compose(spots, own), inner)
    if call.given("spin"):
        frames = fr.compose(frames, fr.turned(2, call.get("spin")))
    return fr.rounded(frames), faults


def too_many(call: Call, total: int) -> Fault:
    """The fault of a line with more copies than the cap."""
    return call.fault(
        "too-many-copies",
        f"{call.name} would have {total} copies",
        seen=str(total),
        limit=f"{COPIES_LIMIT} of one feature",
        remedy="make fewer, or make the spacing wider",
    )


def _grounds(call: Call, high: float) -> tuple[np.ndarray | None, list[Fault]]:
    """The frames given by `at`, `under` or `along`; the ground of the piece without them."""
    if call.given("along"):
        return _along(call)
    if call.given("upon"):
        return upon(call)
    if call.given("under"):
        return _under(call, high)
    if call.given("at"):
        places: Places = call.get("at")
        if len(places) == 0:
            return None, [call.fault("no-places", "there is no place in that list", "at")]
        return places.frames, []
    return fr.identity(), []


def _under(call: Call, high: float) -> tuple[np.ndarray | None, list[Fault]]:
    """One frame below the middle of the feature's places, so that the body's face meets it."""
    feature: Feature = call.get("under")
    frames = feature.standing()
    if not len(frames):
        return None, [
            call.fault(
                "no-places",
                f"{feature.name} has no place of its own to stand under",
                "under",
                remedy="name a body or a line of stones, or say 'at' one of its places",
            )
        ]
    middle = frames[:1].copy()
    middle[0, :, 3] = (frames[:, :, 3].min(axis=0) + frames[:, :, 3].max(axis=0)) / 2
    straight = fr.identity()
    # Copies that all face one way are followed; a ring of stones facing all ways is not.
    if np.abs(frames[:, :, 2] - frames[0, :, 2]).max() < 1e-9:
        straight = fr.from_axes(np.zeros((1, 3)), _square(frames[0]), frames[:1, :, 2])
    straight[0, :, 3] = middle[0, :, 3]
    return fr.compose(straight, fr.shifted(out=-high)), []


def _square(frame: np.ndarray) -> np.ndarray:
    """A way to the right for a frame facing as ``frame`` does: piece right, or the frame's
    own."""
    right = np.array([[1.0, 0.0, 0.0]])
    if abs(frame[0, 2]) > 0.999:
        right = frame[None, :, 0]
    return right


def _along(call: Call) -> tuple[np.ndarray | None, list[Fault]]:
    lines: Lines = call.get("along")
    frames = []
    for line in lines.lines:
        moved = line.inset(call.get("inset", 0.0))
        if moved is None or len(moved.points) < 2:
            return None, [no_inset(call)]
        if call.given("number"):
            frames.append(moved.numbered(call.get("number")))
            continue
        fit = call.get("fit")
        if fit is None:
            return None, [
                call.fault(
                    "clause-missing",
                    "along a line wants the spacing or the number",
                    "along",
                    remedy="add 'fit 1 mm' (even, near that pitch) or 'number 12'",
                )
            ]
        spaced = moved.spaced(fit, COPIES_LIMIT)
        if spaced is None:
            return None, [too_many(call, int(moved.length() / fit))]
        frames.append(spaced)
    return np.concatenate(frames), []


def no_inset(call: Call) -> Fault:
    """The fault of a line moved in until nothing is left."""
    return call.fault(
        "inset-too-far",
        f"nothing is left of the line {call.get('inset', 0.0):.3g} mm in from itself",
        "inset",
        remedy="make the inset smaller",
    )


def upon(call: Call) -> tuple[np.ndarray | None, list[Fault]]:
    """Frames spread evenly upon the face of each copy of a feature, z along its normal."""
    feature: Feature = call.get("upon")
    surface = feature.surface
    if surface is None and feature.outline is not None:
        surface = Flat(feature.outline, feature.high)
    if surface is None:
        return None, [
            call.fault(
                "no-surface",
                f"{feature.name} offers no face to spread things upon",
                "upon",
                remedy="name a bar, disc, plate, dome or band",
            )
        ]
    every = call.get("every")
    if every is None:
        return None, [
            call.fault(
                "clause-missing",
                "upon a face wants the pitch",
                "upon",
                remedy="add 'every 1.6 mm'",
            )
        ]
    if surface.area() > COPIES_LIMIT * every[0] * every[-1]:
        return None, [too_many(call, int(surface.area() / (every[0] * every[-1])))]
    frames = surface.spread(every, call.get("inset", 0.0))
    if len(frames) == 0:
        return None, [
            call.fault(
                "no-places",
                f"nothing fits {call.get('inset', 0.0):g} mm inside {feature.name}",
                "upon",
                remedy="make inset or every smaller",
            )
        ]
    return fr.compose(feature.frames, frames), []


def _offset(call: Call) -> np.ndarray:
    frame = fr.shifted(
        call.get("right", 0.0) - call.get("left", 0.0),
        call.get("up", 0.0) - call.get("down", 0.0),
        call.get("out", 0.0) - call.get("inward", 0.0),
    )
    for key, axis in (("turn", 2), ("tilt", 0), ("lean", 1)):
        if call.given(key):
            frame = fr.compose(frame, fr.turned(axis, call.get(key)))
    return frame


def pattern(call: Call) -> tuple[np.ndarray | None, list[Fault]]:
    """Frames of the `line`, `circle` or `grid` clause; one at the middle without them."""
    for key, lay_out in (("line", _line), ("circle", _circle), ("grid", _grid)):
        if call.given(key):
            return lay_out(call)
    return fr.identity(), []


def _spacing(call: Call, key: str) -> tuple[tuple[float, float] | None, list[Fault]]:
    every = call.get("every")
    if every is None:
        return None, [
            call.fault(
                "clause-missing",
                f"{key} wants the spacing",
                key,
                remedy="add 'every 2.5 mm', centre to centre",
            )
        ]
    steps = every if isinstance(every, tuple) else (every,)
    return (steps[0], steps[-1]), []


def _line(call: Call) -> tuple[np.ndarray | None, list[Fault]]:
    count = call.get("line")
    if count == 1:
        return fr.identity(), []
    step, faults = _spacing(call, "line")
    if step is None or count > COPIES_LIMIT:
        return None, faults or [too_many(call, count)]
    frames = fr.identity(count)
    frames[:, 0, 3] = (np.arange(count) - (count - 1) / 2) * step[0]
    return frames, []


def _circle(call: Call) -> tuple[np.ndarray | None, list[Fault]]:
    count, radius = call.get("circle"), call.get("radius")
    if radius is None:
        return None, [
            call.fault(
                "clause-missing",
                "circle wants its radius",
                "circle",
                remedy="add 'radius 4 mm'",
            )
        ]
    if count > COPIES_LIMIT:
        return None, [too_many(call, count)]
    start = call.get("start", 0.0)
    turns = [fr.turned(2, start + 360.0 * k / count) for k in range(count)]
    return fr.compose(np.concatenate(turns), fr.shifted(right=radius)), []


def _grid(call: Call) -> tuple[np.ndarray | None, list[Fault]]:
    across, up = call.get("grid")
    step, faults = _spacing(call, "grid")
    if step is None or across * up > COPIES_LIMIT:
        return None, faults or [too_many(call, across * up)]
    rise = step[1]
    if call.get("staggered") and len(call.get("every")) == 1:
        rise = step[0] * ROW_RISE
    rows = []
    for row in range(up):
        count = across - 1 if call.get("staggered") and row % 2 else across
        if count < 1:
            continue
        frames = fr.identity(count)
        frames[:, 0, 3] = (np.arange(count) - (count - 1) / 2) * step[0]
        frames[:, 1, 3] = (row - (up - 1) / 2) * rise
        rows.append(frames)
    return np.concatenate(rows), []
