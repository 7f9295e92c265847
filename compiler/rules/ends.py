"""What stands at an end of metal: a head half over air, and moves that go another way there than they say."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ..bench.feature import Places
from ..bench.near_places import below
from ..bench.plan import Shape
from ..geometry import frames as fr
from ..judging.digits import above, mm, most, place, rounded_up, share
from ..judging.rule import Verdict

if TYPE_CHECKING:
    from ...lang.bench import Call
    from ..judging.piece import Piece


TURNED = "turn", "tilt", "lean", "swivel"
ALONG = np.linspace(-0.9, 0.9, 19)  # of half its length, where metal below it is looked for
NEAR = 8.0  # mm from a stone, no metal farther off is of its own head
REST = 0.1  # of it over air, once it is moved in
HEADS = 1.5  # mm between two stones, less than which leaves no room for the claws of both
SUNK = 0.6  # mm, what reaches so far below the face of the metal holds it round its end
BESIDE = 0.75  # of it over air, from which it is joined by its side


def overhung_head(piece: Piece) -> Iterator[Verdict]:
    """A stone at the end of metal whose head stands half over air, beyond that end."""
    for stone, line in enumerate(piece.stones.line.tolist()):
        call = piece.call(line)
        at = call.get("at")
        ends = isinstance(at, Places) and (at.ends or at.of_line)
        if not ends or any(call.given(key) for key in TURNED):
            continue
        frame, half = piece.stones.frames[stone], float(piece.stones.of(stone).length) / 2
        spots = np.repeat(frame[None], len(ALONG), axis=0)
        spots[:, :, 3] += np.outer(ALONG * half, frame[:, 0])
        far = below(_earlier(piece, line), spots)[:, 0]
        air = float((~(far < 2 * half)).mean())
        bound = piece.bound("overhung-head", "most", line)
        half_over = above(air, bound) and air < BESIDE and far[0] < 2 * half
        if half_over and _foot(piece, line, frame) < far[0] + SUNK:
            yield Verdict(
                f"the head of this stone stands over air beyond the end it is put at: {share(air)} of it",
                line,
                f"{share(air)} over air",
                most(share(bound)),
                _set_back(piece, stone, 2 * half * (air - REST)),
                air,
                bound,
                keys=("right", "left", "at"),
                place=place(frame[:, 3]),
            )


def _set_back(piece: Piece, stone: int, far: float) -> str:
    """What puts metal below a stone at an end: the stone ``far`` mm back, or where other stones are in the
    way there, as on arms that pass each other, the metal as much farther."""
    stones, back = piece.stones, rounded_up(far)
    spots, wide = stones.frames[:, :, 3], np.array([stones.of(k).length for k in range(len(stones.kind))])
    moved = spots[stone] - far * stones.frames[stone, :, 0]
    now, then = (np.linalg.norm(spots - spot, axis=1) for spot in (spots[stone], moved))
    if ((then < (wide + wide[stone]) / 2 + HEADS) & (then < now) & (stones.line != stones.line[stone])).any():
        return (
            f"let the metal run on {back} past its end and add 'left {back}': the stone stays where it is, "
            "the metal then reaches below it"
        )
    return f"add 'left {back}', back from the end: it stands on the metal there"


def _foot(piece: Piece, line: int, frame: np.ndarray) -> float:
    """How far below a stone at ``frame`` (3, 4) the metal reaches that was made to hold its line, mm."""
    found = [0.0]
    for one in piece.plan_solids:
        if not one.cut and line in piece.services.lines(one.feature):
            points = piece.points_of(one)
            away = np.concatenate([fr.apply(at, points) for at in one.frames]) - frame[:, 3]
            near = np.linalg.norm(away, axis=1) < NEAR
            found.append(float(-(away[near] @ frame[:, 2]).min(initial=0.0)))
    return max(found)


def _earlier(piece: Piece, line: int) -> list[tuple[np.ndarray, np.ndarray]]:
    """The metal that was there before a line: frames and triangles."""
    found = []
    for one in piece.plan_solids:
        if one.feature < line and not one.cut:
            mesh = piece.mesh_of(Shape(one.kind, one.figures), piece.tolerance)
            found += [(frame, fr.apply(frame, mesh.points)[mesh.triangles]) for frame in one.frames]
    return found


UP = np.array([0.0, 1.0, 0.0])
WAYS = (("to the right", "to the left"), ("up", "down"), ("out", "inward"))
CLAUSES = (("right", "left"), ("up", "down"), ("out", "inward"))


def sideways_move(piece: Piece) -> Iterator[Verdict]:
    """'up' or 'down' at an end of metal, where they do not go up or down."""
    told = set()
    for feature in piece.features:
        call = piece.call(feature.index)
        line = call.trail[0] if call.trail else call.span
        if line in told:
            continue
        told.add(line)
        yield from _of_line(piece, feature.index, call)


def _of_line(piece: Piece, feature: int, call: Call) -> Iterator[Verdict]:
    arguments = call.within[0].arguments if call.within else call.arguments
    at = arguments.get("at")
    if at is None or not isinstance(at.value, Places) or not at.value.ends or not len(at.value):
        return
    axes = at.value.frames[0, :, :3]
    off = float(np.degrees(np.arccos(np.clip(axes[1, 1], -1.0, 1.0))))
    bound = piece.bound("sideways-move", "most", feature)
    for key, sign in (("up", 1.0), ("down", -1.0)):
        said = arguments.get(key)
        if said is None or not said.given or not said.value or not above(off, bound):
            continue
        sign *= 1.0 if said.value > 0 else -1.0
        goes, wanted = _most(sign * axes[:, 1], WAYS), _most(sign * axes.T @ UP, CLAUSES)
        figure = mm(abs(said.value))
        yield Verdict(
            f"at this end '{key}' goes {goes}: a place looks its own way, its right away from the metal",
            feature,
            f"{off:.0f} degrees off",
            f"{bound:g} degrees or less",
            f"say '{wanted} {figure}' to go {WAYS[1][int(sign < 0)]}, or stay with what is drawn: 'waive'",
            off,
            bound,
            keys=(key,),
        )


def _most(way: np.ndarray, names: tuple[tuple[str, str], ...]) -> str:
    """The name of the axis that a way (3,) goes along most."""
    axis = int(np.abs(way).argmax())
    return names[axis][int(way[axis] < 0)]
