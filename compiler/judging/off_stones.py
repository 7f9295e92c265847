"""Which way and how far a stone, or what lies in it, is moved so that they share no room."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

import numpy as np

from ..bench.feature import Places
from ..bench.roles import Role
from ..measures.kinds import Floats, least_that
from ..metal.kernel import join
from .clearing import STEPS, laid_wider, off_its_ends
from .digits import mm, rounded_up
from .moves import clauses_said, move, of_one_line
from .stone_metal import AIR, FARTHEST, TOUCH, meeting

if TYPE_CHECKING:
    from manifold3d import Manifold

    from .piece import Piece

FINE = 0.005  # mm, to which that is found
JOINED = 0.02  # mm3 of other metal that a part stands in
PAST_ENDS = (0.0, 0.3, 0.6, 0.9, 1.2, 1.5)  # mm, how far a stone past an end of metal may be raised from it
TURNED, SIDE = 0.3, 0.5  # sine, of what stands behind or before a stone; cosine, of a way to a side


def clear_of(piece: Piece, stone: int, metal: int) -> float | None:
    """How far a stone has to be raised to lie in no metal of a line, mm; None where that is farther than
    ``FARTHEST``."""
    room, up = piece.stone_solids[stone][2], piece.stones.frames[stone, :, 2]
    solids = piece.laid({metal})

    def free(far: float) -> bool:
        return all((room.translate(far * up) ^ one).volume() < TOUCH for one in solids)

    return least_that(free, 0.0, FARTHEST, FINE) if free(FARTHEST) else None


def off_the_end(piece: Piece, stone: int, metal: int) -> str:
    """How the line of a stone that stands at an end of metal is moved past that, so that the metal ends
    in its setting; "" where it stands at none, or its setting would hang on nothing there."""
    line = int(piece.stones.line[stone])
    at, frame = piece.call(line).get("at"), piece.stones.frames[stone]
    if not isinstance(at, Places) or not (at.ends or at.of_line):
        return ""
    room = piece.stone_solids[stone][2]
    setting = {one.index for one in piece.features if line in piece.services.lines(one.index)}
    other, own = join(piece.laid({metal})), join(piece.laid(setting))
    deepest, said = JOINED * 10, ""
    for up in PAST_ENDS:
        low, high = 0.0, float(piece.stones.of(stone).length)
        while high - low > FINE:
            past = (low + high) / 2
            clear = (room.translate(past * frame[:, 0] + up * frame[:, 2]) ^ other).volume() < TOUCH
            low, high = (low, past) if clear else (past, high)
        moved = move(piece, line, (high + AIR) * frame[:, 0] + up * frame[:, 2])
        if moved is not None and (room.translate(moved.by) ^ other).volume() < TOUCH:
            held = (own.translate(moved.by) ^ other).volume()
            if held > deepest:
                deepest, said = held, f"move {piece.name_of(line)} {moved.in_piece}, past the end"
    return said


def off_the_stone(piece: Piece, stone: int, metal: int) -> str:
    """The least move of the line that made a part, as its clauses say it, that clears a stone and leaves it
    joined to other metal, what hangs something never aside where another does; else the clause by which a
    pattern lays its copies clear of all stones; and where none of those tried does, which clauses are to be
    changed."""
    name, line = piece.name_of(metal), of_one_line(piece, metal)
    own = join(piece.laid(line))
    room = piece.stone_solids[stone][2]
    shared = [solid for one, solid in meeting(piece, own, cut=False) if one not in line]
    rest = piece.metal - own + (join(shared) ^ piece.metal)

    def clears(by: Floats) -> bool:
        there = own.translate(by)
        return bool((there ^ room).volume() < TOUCH and (there ^ rest).volume() > JOINED)

    for ways in _ways_off(piece, stone, metal):
        best, said = FARTHEST, ""
        for way in ways:
            far = _first(clears, way, best)
            if far is None:
                continue
            moved = move(piece, metal, (far + AIR) * way, int(piece.stones.line[stone]))
            if moved is not None and clears(moved.by):
                best, said = far, f"move {name} {moved.in_piece}"
        if said:
            return said
    return _farther_out(piece, stone, metal, own ^ room) or _laid_off(piece, metal, rest)


def _ways_off(piece: Piece, stone: int, metal: int) -> tuple[list[Floats], ...]:
    """The ways of the piece, those first that take what a loop or another finding hangs not to its side."""
    ways = [sign * axis for sign in (1.0, -1.0) for axis in np.eye(3)]
    spots, frame = piece.features[metal].frames[:, :, 3], piece.stones.frames[stone]
    go = (spots - frame[:, 3])[np.linalg.norm(spots - frame[:, 3], axis=1).argmin()]
    aside = np.cross(go, frame[:, 2])
    size = float(np.linalg.norm(aside))
    hangs = piece.features[metal].opening is not None or piece.is_for(metal, Role.FINDING)
    if not hangs or size < TURNED * float(np.linalg.norm(go)):
        return (ways,)
    off = [abs(float(way @ aside)) / size for way in ways]
    return tuple(
        [way for way, one in zip(ways, off, strict=True) if (one < SIDE) is first] for first in (True, False)
    )


def _first(clears: Callable[[Floats], bool], way: Floats, most: float) -> float | None:
    """How far along a way (3,), ``most`` at the farthest, the first spot lies that ``clears``; None without
    one."""
    low = 0.0
    for high in (*(one for one in STEPS if one < most), most):
        if clears(high * way):
            break
        low = high
    else:
        return None
    return least_that(lambda far: clears(far * way), low, high, FINE)


def _farther_out(piece: Piece, stone: int, metal: int, common: Manifold) -> str:
    """What lays a rope or beads along a path clear of a stone within it, of ``common`` metal: farther out."""
    use = next((one for one in piece.call(metal).within if one.word.take("outset") is not None), None)
    if use is None or common.is_empty():
        return ""
    form = piece.stone_measures.stones[stone]
    start = form.outline
    side = np.roll(start, -1, axis=0) - start
    out = np.stack((side[:, 1], -side[:, 0]), axis=1) / np.linalg.norm(side, axis=1)[:, None]
    spots = form.own(np.asarray(common.to_mesh64().vert_properties)[:, :3])[:, :2]
    deep = float(((out * start).sum(axis=1)[None] - spots @ out.T).min(axis=1).max())
    told = {key: float(use.arguments[key].value) for key in ("outset", "inset") if key in use.arguments}
    to = told.get("outset", -told.get("inset", 0.0)) + deep + AIR
    key, other = ("outset", "inset") if to >= 0 else ("inset", "outset")
    instead = f" in place of {other}" if other in use.arguments and use.arguments[other].given else ""
    far = rounded_up(to) if to >= 0 else mm(-to)
    return f"write {key} {far}{instead} in the line of {piece.name_of(metal)}"


def _laid_off(piece: Piece, metal: int, rest: Manifold) -> str:
    stones = [solid for _, _, solid in piece.stone_solids]

    def clears(copies: Sequence[Manifold]) -> bool:
        return all((one ^ rest).volume() > JOINED for one in copies) and all(
            (one ^ other).volume() < TOUCH for one in copies for other in stones
        )

    name, wider = piece.name_of(metal), laid_wider(piece, metal, clears)
    if away := off_its_ends(piece, metal, clears):
        return f"move {name} {away}"
    if wider:
        return f"write {wider} on the line of {name}"
    return f"move {name} off the stone: change {clauses_said(piece, metal)} on its line"
