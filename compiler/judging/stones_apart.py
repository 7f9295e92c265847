"""What brings stones that stand too near one another farther apart. Lengths mm."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..bench.feature import Lines
from ..words.flanking import ROOM as NEXT
from .digits import rounded_up
from .moves import move
from .rule import Mend
from .services import indices_of

if TYPE_CHECKING:
    from .piece import Piece

def apart_from(
    piece: Piece, first: int, second: int, lack: float, deep: float = 0.0
) -> tuple[str, Mend | None]:
    """What brings two stones, by their number, ``lack`` mm farther apart: the gap of their row, or of the
    one that stands next to the other; else of one line any distance, and of two, one of them moved, or given
    room as ``deep`` as what holds the other reaches into it."""
    lines = [int(piece.stones.line[k]) for k in (first, second)]
    one, other = map(piece.name_of, lines)
    for line in lines:
        call = piece.call(line)
        if call.given("gap" if one == other else "next-to"):
            gap = rounded_up(call.get("gap", NEXT) + lack)
            return f"write gap {gap} in the line of {piece.name_of(line)}", Mend("gap", gap, "least", line)
    for line, k in zip(lines, (second, first), strict=True):
        if (round_it := _circle_wider(piece, line, k, lack)) is not None:
            return f"write radius {round_it.value} in the line of {piece.name_of(line)}", round_it
    if one == other:
        said = f"set them {rounded_up(lack)} farther apart, or take stones {rounded_up(lack)} smaller"
        return said, _every(piece, int(max(piece.stones.feature[[first, second]])), lack)
    if _along_one(piece, *lines):
        turns = f"write at gaps of {one} on the line of {other}"
        return f"{turns}, in place of its path and number: the two take turns", None
    way = piece.stones.frames[second, :, 3] - piece.stones.frames[first, :, 3]
    way *= lack / max(float(np.linalg.norm(way)), 1e-9)
    for k, step in ((1, way), (0, -way)):
        alone = (piece.stones.line == lines[k]).sum() == 1
        if alone and (moved := move(piece, lines[k], step, lines[1 - k])):
            said = f"move {(one, other)[k]} {moved.in_piece}, away from {(other, one)[k]}"
            return f"{said}, or take smaller stones", None
    for line, base in (lines, lines[::-1]) if deep else ():
        if piece.source_lines.rests_on(piece.call(line), piece.call(base)):  # moved, it goes along
            use = next(iter(piece.call(line).within), None)
            name = piece.name_of(line)
            if use is not None and (room := use.length_of("room")):
                return f"write room {rounded_up(room + deep)} in the line of {name}", None
            return f"leave {rounded_up(deep)} more room in {name}, or take smaller stones", None
    return f"move {one} and {other} {rounded_up(lack)} away from one another, or take smaller stones", None


def _circle_wider(piece: Piece, line: int, middle: int, lack: float) -> Mend | None:
    """What moves a circle of stones ``lack`` mm away from the stone it goes round; None where it goes round
    another place, or a word laid it."""
    call = piece.call(line)
    spots = piece.stones.frames[piece.stones.line == line, :, 3]
    off = float(np.linalg.norm(spots.mean(axis=0) - piece.stones.frames[middle, :, 3]))
    if call.within or not (call.given("circle") and call.given("radius")) or off > call.get("radius") / 4:
        return None
    return Mend("radius", rounded_up(call.get("radius") + lack), "least", line)


def laid_farther(piece: Piece, first: int, second: int, lack: float) -> str:
    """What leaves ``lack`` mm more room round a centre for stones that a word lays round that, of two stones
    by their number; "" where neither is laid round the other."""
    for stone, other in ((first, second), (second, first)):
        line, centre = (int(piece.stones.line[k]) for k in (stone, other))
        if room := _room_round(piece, line, centre, lack):
            return f"write room {room} in the line of {piece.name_of(line)}"
    return ""


def _room_round(piece: Piece, line: int, centre: int, lack: float) -> str:
    use = next(iter(piece.call(line).within), None)
    room = 0.0 if use is None or "for" not in use.arguments else use.length_of("room")
    if use is None or not room or centre not in indices_of(use.arguments["for"].value):
        return ""
    return rounded_up(room + lack)


def _along_one(piece: Piece, *lines: int) -> bool:
    """Whether stones of these lines are laid along one closed path, as many of each."""
    calls = [piece.call(line) for line in lines]
    paths = [call.get("along") for call in calls]
    if any(not isinstance(path, Lines) or len(path.lines) != 1 or not path.lines[0].closed for path in paths):
        return False
    alike = len({(path.lines[0].points.shape, path.lines[0].points.tobytes()) for path in paths}) == 1
    return alike and len({int((piece.stones.line == line).sum()) for line in lines}) == 1


def _every(piece: Piece, line: int, lack: float) -> Mend | None:
    """The stones of a straight row ``lack`` mm farther apart."""
    call = piece.call(line)
    every = call.get("every") if call.given("row") and call.given("every") else ()
    steps = every if isinstance(every, tuple) else (every,)
    if len(steps) != 1 or _off_its_metal(piece, line, lack):
        return None
    return Mend("every", rounded_up(float(steps[0]) + lack), "least", line)


def _off_its_metal(piece: Piece, line: int, lack: float) -> bool:
    """Whether the end stones of a row, laid out from its middle, reach past the edge of their metal when
    each lies ``lack`` mm farther from the next."""
    mine = [k for k, one in enumerate(piece.stones.line.tolist()) if one == line]
    edges = [bed.edge for bed in piece.beds if bed.stone in (mine[0], mine[-1])]
    return min(edges, default=np.inf) < lack * (len(mine) - 1) / 2
