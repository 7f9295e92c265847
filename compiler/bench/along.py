"""Places along the path of a line, and the stretch of it they are on."""

from __future__ import annotations

from dataclasses import replace
from typing import NoReturn

import numpy as np

from ...lang.bench import Call
from ...lang.values import Quantity, Sequence
from ..geometry.line import Line
from ..geometry.surfaces import Part
from .feature import Lines
from .patterns import COPIES_LIMIT, too_many

# What is said of the path that a wire, a stroke or a text runs along; the other clauses move it as a whole.
LAID = "along", "inset", "stretch", "fit", "number"


def goes_back(call: Call) -> bool:
    """Whether the other of `both-sides` is another stretch of the path, not beside each place of this."""
    return call.given("along") and call.given("stretch") and not (call.given("right") or call.given("left"))


def places_along(call: Call, back: bool = False) -> np.ndarray:
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
    arguments[key] = replace(arguments[key], value=replace(lines, lines=tuple(filter(None, moved))))
    return replace(call, arguments=arguments)


def ways(call: Call, back: bool = False) -> list[Line]:
    """The lines of `along`, moved in as `inset` says, and of them the stretch of `part`, or the one as far
    ``back`` from the end."""
    lines: Lines = call.get("along")
    found = []
    for line in lines.lines:
        moved = line.inset(call.get("inset", 0.0))
        if moved is None or len(moved.points) < 2:
            no_inset(call, call.get("inset", 0.0))
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


def no_inset(call: Call, by: float) -> NoReturn:
    """Refuse a line moved in until nothing is left."""
    call.refuse(
        "inset-too-far", f"nothing is left of the path {by:.3g} mm in from itself",
        "inset", remedy="make the inset smaller",
    )
