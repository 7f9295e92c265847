"""The common placing clauses: from a checked line to the frames its copies stand at."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import NoReturn

import numpy as np

from ...lang.bench import Call
from ...lang.placing import PLACING_BY_NAME
from ...lang.values import Quantity, Sequence
from ..geometry import frames as fr
from ..geometry.line import Line
from ..geometry.surfaces import ROW_RISE, Edged, Flat, Part
from .faces import faced, on_both_sides
from .feature import Feature, Lines, Places
from .roles import Role
from .worked import real

COPIES_LIMIT = 20_000
LEVEL = 1e-6  # of a way, what goes neither right nor left
TURNED = "turn", "lean", "swivel"  # what turns the right of a place away
# What is said of the path that a wire, a stroke or a text runs along; the other clauses move it as a whole.
LAID = "along", "inset", "stretch", "fit", "number"


def placed(call: Call, low: float = 0.0, high: float = 0.0, inner: np.ndarray | None = None) -> np.ndarray:
    """Frames (n, 3, 4) of the line's copies; ``low``/``high`` are its body's own bounds (for
    under), ``inner`` stands in for the pattern of `row`, `circle` and `grid`."""
    if inner is None:
        inner = pattern(call)
    out = call.get("out", 0.0) - call.get("inward", 0.0)
    own = offset(call, out, {"turn": 2, "tilt": 0, "lean": 1})
    if call.given("on"):
        frames = on_both_sides(call, fr.compose(own, inner))
        spots, own, inner = frames, fr.identity(), fr.identity()
    else:
        spots = _grounds(call, high)
    total = len(spots) * len(inner)
    if total > COPIES_LIMIT:
        too_many(call, total)
    laid = fr.compose(own, inner)
    frames = fr.compose(spots, laid)
    if call.get("both-sides") and not call.given("on"):
        over = _along(call, True) if goes_back(call) else spots
        frames = np.concatenate([frames, fr.compose(over, fr.compose(fr.flipped(0), laid))])
    if call.given("swivel"):
        frames = fr.compose(frames, fr.turned(2, call.get("swivel")))
    if call.given("set-by"):
        frames = fr.compose(frames, _back_to(call))
    return fr.rounded(frames)


def _back_to(call: Call) -> np.ndarray:
    """The frame (1, 3, 4) of a part whose own place of `set-by` stands where its zero would; where ends meet,
    turned so that it goes on from there."""
    own = call.get("set-by")
    if not isinstance(own, Places):
        call.refuse(
            "clause-idle", f"{call.word.name} stands there in a way of its own: 'set-by' says nothing",
            "set-by", remedy="leave set-by out, or put the line in a 'workpiece' that says it",
        )
    x, at, turn = own.frames[0, :, 0], call.get("at"), 0.0
    if own.ends and isinstance(at, Places) and (at.ends or at.of_line):
        turn = 180.0 - float(np.degrees(np.arctan2(x[1], x[0])))
    return fr.compose(fr.turned(2, turn), fr.shifted(*(-own.frames[0, :, 3]).tolist()))


def too_many(call: Call, total: int) -> NoReturn:
    """Refuse a line with more copies than the cap."""
    call.refuse(
        "too-many-copies", f"{call.name} would have {total} copies", seen=str(total),
        limit=f"{COPIES_LIMIT} of one part", remedy="make fewer, or make the spacing wider",
    )


def _grounds(call: Call, high: float) -> np.ndarray:
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
            call.refuse("no-places", "there is no place in that list", "at")
        return places.frames
    return fr.identity()


def _under(call: Call, high: float) -> np.ndarray:
    """One frame below the middle of the feature's places, so that the body's face meets it."""
    feature: Feature = call.get("under")
    frames = feature.standing()
    if not len(frames):
        call.refuse(
            "no-places", f"{feature.name} has no place of its own to stand under", "under",
            remedy="name a body or a row of stones, or say 'at' one of its places",
        )
    middle = frames[:1].copy()
    middle[0, :, 3] = (frames[:, :, 3].min(axis=0) + frames[:, :, 3].max(axis=0)) / 2
    straight = fr.identity()
    # Copies that all face one way are followed; a ring of stones facing all ways is not. Right is that of
    # the piece, or the frame's own where that is how it faces.
    if np.abs(frames[:, :, 2] - frames[0, :, 2]).max() < 1e-9:
        right = frames[:1, :, 0] if abs(frames[0, 0, 2]) > 0.999 else np.array([[1.0, 0.0, 0.0]])
        straight = fr.from_axes(np.zeros((1, 3)), right, frames[:1, :, 2])
    straight[0, :, 3] = middle[0, :, 3]
    return fr.compose(straight, fr.shifted(out=-high))


def goes_back(call: Call) -> bool:
    """Whether the other of `both-sides` is another stretch of the path, not beside each place of this."""
    return call.given("along") and call.given("stretch") and not (call.given("right") or call.given("left"))


def _along(call: Call, back: bool = False) -> np.ndarray:
    """The places along the path, in order; or ``back`` from its end, of a closed one from its start."""
    frames = []
    for moved in ways(call, back):
        if call.given("number"):
            frames.append(moved.numbered(call.get("number")))
            continue
        fit = call.get("fit")
        if fit is None:
            call.refuse(
                "clause-missing", "along a path wants the spacing or the number", "along",
                remedy="add 'fit 1 mm' (even, near that pitch) or 'number 12'",
            )
        spaced = moved.spaced(fit, COPIES_LIMIT)
        if spaced is None:
            too_many(call, int(moved.length() / fit))
        frames.append(spaced)
    return np.concatenate([one[::-1] for one in frames] if back else frames)


def on_its_face(call: Call) -> Call:
    """The line with a path that lies on a domed face moved up or down along that face, not off it."""
    key = next((key for key in ("along", "beside") if isinstance(call.get(key), Lines)), None)
    if key is None or not ("up" in call.arguments or "down" in call.arguments):
        return call
    lines: Lines = call.get(key)
    if any(line.face is None for line in lines.lines):
        return call
    by = np.array([0.0, call.get("up", 0.0) - call.get("down", 0.0), 0.0])
    moved = [replace(line, points=line.points + by).on_its_face() for line in lines.lines]
    if any(line is None for line in moved):
        call.refuse(
            "off-the-face", "moved so far the path leaves the face it lies on",
            "up" if call.given("up") else "down", seen=f"{abs(by[1]):g} mm", remedy="move it less",
        )
    arguments = {name: value for name, value in call.arguments.items() if name not in ("up", "down")}
    arguments[key] = replace(arguments[key], value=Lines(tuple(line for line in moved if line is not None)))
    return replace(call, arguments=arguments)


def without(call: Call, *keys: str) -> Call:
    """The line as the placing clauses are to see it, without those that the work itself obeys."""
    return replace(call, arguments={key: said for key, said in call.arguments.items() if key not in keys})


def all_heard(call: Call) -> None:
    """Raises Refused where the work has asked for nothing of a placing clause: it changes nothing."""
    for key, said in call.arguments.items():
        if said.given and not said.read and key in PLACING_BY_NAME:
            meant = key == "row" and call.given("along")
            remedy = f"write number {said.value:g} in place of row" if meant else f"leave {key} out"
            call.refuse("clause-idle", f"{key} says nothing on this line", key, remedy=remedy)


def ways(call: Call, back: bool = False) -> list[Line]:
    """The lines of `along`, moved in as `inset` says, and of them the stretch of `part`, or the one as far
    ``back`` from the end."""
    lines: Lines = call.get("along")
    found = []
    for line in lines.lines:
        moved = line.inset(call.get("inset", 0.0))
        if moved is None or len(moved.points) < 2:
            no_inset(call)
        part = part_of(call, moved.closed)
        if part is not None and back:
            part = float(not moved.closed) - part[1], float(not moved.closed) - part[0]
        found.append(moved if part is None else moved.part(*part))
    return found


def part_of(call: Call, closed: bool) -> Part:
    """The shares `stretch` runs between, if it is given; on a closed line they may pass its start."""
    value = call.get("stretch")
    if value is None:
        return None
    members = value.members if isinstance(value, Sequence) else ()
    shares = [m.value for m in members if isinstance(m, Quantity) and (m.share or not m.value)]
    if len(shares) != 2 or len(members) != 2:
        call.refuse(
            "wrong-kind", "stretch runs from one share of the path to another", "stretch",
            remedy="as in: stretch 25 % to 75 %",
        )
    first, last = shares
    low, high = (-1.0, 2.0) if closed else (0.0, 1.0)
    if not (low <= first < last <= high and last - first <= 1.0 and last - first > 1e-4):
        call.refuse(
            "out-of-range", "the path has no such stretch", "stretch",
            seen=f"{first * 100:g} % to {last * 100:g} %",
            limit="from -100 % to 200 %, at most once round" if closed
            else "from 0 % to 100 %: this path is open",
            remedy=_stretched(first, last, closed),
        )
    return first, last


def _stretched(first: float, last: float, closed: bool) -> str:
    """What to write in place of a stretch there is not."""
    if first >= last:
        return "give the smaller share first"
    long = min(last - first, 1.0)
    start = -long / 2 if closed else 0.5 - long / 2
    return (
        f"write stretch {start * 100:g} % to {(start + long) * 100:g} %: as much, about its "
        + ("start" if closed else "middle")
    )


def no_inset(call: Call) -> NoReturn:
    """Refuse a line moved in until nothing is left."""
    call.refuse(
        "inset-too-far", f"nothing is left of the path {call.get('inset', 0.0):.3g} mm in from itself",
        "inset", remedy="make the inset smaller",
    )


def upon(call: Call) -> np.ndarray:
    """Frames spread evenly upon the face of each copy of a feature, z along its normal."""
    feature = faced(call.get("upon"))
    surface = feature.surface
    if surface is None:
        call.refuse(
            "no-surface", f"{feature.name} offers no face to spread things upon", "upon",
            remedy="name a bar, disc, plate, tube, dome, ball, turned body, wire, band or signet",
        )
    every = call.get("every")
    if every is None:
        call.refuse("clause-missing", "upon a face wants the pitch", "upon", remedy="add 'every 1.6 mm'")
    if surface.area() > COPIES_LIMIT * every[0] * every[-1]:
        too_many(call, int(surface.area() / (every[0] * every[-1])))
    part = part_of(call, True)
    if part is not None and not surface.goes_round:
        call.refuse(
            "clauses-disagree", f"{feature.name} has no way round a finger: only a band has", "stretch",
            remedy="leave it out; a smaller face of its own can be a plate or a disc",
        )
    if call.get("bordered") and isinstance(surface, Flat):
        from ..geometry.bordered import bordered

        frames = bordered(surface, every[0], call.get("inset", 0.0))
    elif call.get("bordered"):
        if not isinstance(surface, Edged):
            call.refuse(
                "clauses-disagree", f"{feature.name} has no edge that a row can follow", "bordered",
                remedy="leave it out: the rings of a dome follow its edge by themselves",
            )
        frames = surface.bordered(every[0], call.get("inset", 0.0), part)
    else:
        frames = surface.spread(every, call.get("inset", 0.0), part)
    if len(frames) == 0:
        call.refuse(
            "no-places", f"nothing fits {call.get('inset', 0.0):g} mm inside {feature.name}", "upon",
            remedy="make inset or every smaller",
        )
    frames = real(feature.worked, frames)
    return fr.compose(feature.frames if feature.ground is None else feature.ground, frames)


def offset(call: Call, out: float, turns: Mapping[str, int]) -> np.ndarray:
    """The move and the ``turns`` (about an axis each) that a line says, so far ``out``, (1, 3, 4)."""
    right, up = call.get("right", 0.0) - call.get("left", 0.0), call.get("up", 0.0) - call.get("down", 0.0)
    frame = fr.shifted(right, up, out)
    for key, axis in turns.items():
        if call.given(key):
            frame = fr.compose(frame, fr.turned(axis, call.get(key)))
    return frame


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
