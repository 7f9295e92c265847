"""Stones that nothing holds, or that stand behind metal."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ...stdlib.cuts import CUTS
from ..bench.roles import Role
from ..geometry.line import thawed
from ..geometry.surfaces import Flat
from ..judging.digits import mm
from ..judging.edges import inside_by
from ..judging.figure_rule import Reading
from ..judging.remedies import setting_line
from ..judging.stone_table import outline_of

if TYPE_CHECKING:
    from ..bench.feature import Feature
    from ..judging.piece import Piece


def unset_stone(piece: Piece) -> Iterator[Reading]:
    """Stones that nothing refers to, and that no wire carries."""
    held = set(piece.prongs.stone[piece.prongs.holding].tolist()) | set(piece.seated)
    stones = piece.stones
    for stone in range(len(stones.kind)):
        if stone not in held and not _touched(piece, stone) and not _strung(piece, stone):
            hole = stones.of(stone).drilled
            yield Reading(
                int(stones.feature[stone]), 0.0, stone, find="drilled" if hole else "", bound=1.0,
                words={"hole": mm(hole)} if hole else {"setting": _setting(piece, stone)},
            )  # fmt: skip


def _setting(piece: Piece, stone: int) -> str:
    """The line of a setting that stands by itself round the stones of a line."""
    cut = CUTS[piece.stones.of(stone).cut]
    begun = "pearl-cup cup:" if cut.name == "pearl" else "bezel cup:" if cut.domed else "basket head:"
    return setting_line(piece, int(piece.stones.feature[stone]), begun)


def _touched(piece: Piece, stone: int) -> bool:
    """Whether any metal or cut was laid out close round the stone's girdle."""
    frame, setting = piece.stones.frames[stone], piece.stones.of(stone)
    outline = outline_of(setting)
    for laid in piece.plan_solids:
        off = (laid.frames[:, :, 3] - frame[:, 3]) @ frame[:, :3]
        near = inside_by(outline, off[:, :2])
        if (near > -1.5).any() and np.abs(off[near > -1.5, 2]).min() < setting.width * 2:
            return True
    return False


def _strung(piece: Piece, stone: int) -> bool:
    """Whether wire goes through the hole of a drilled bead: its middle passes within it."""
    hole, middle = piece.stones.of(stone).drilled, piece.stones.frames[stone, :, 3]
    lines = (
        thawed(laid.figures[0]).moved(frame)
        for laid in piece.plan_solids if hole and laid.kind == "wire" and not laid.cut
        for frame in laid.frames
    )  # fmt: skip
    return any(np.linalg.norm(line.fine(hole / 4).points - middle, axis=1).min() < hole / 2 for line in lines)


def behind_metal(piece: Piece) -> Iterator[Reading]:
    """Stones whose girdles lie at the back of the metal their seats are cut into."""
    for seat in piece.features:
        call = piece.call(seat.index)
        into = call.get("in") if piece.is_for(seat.index, Role.SEAT) else None
        if into is None or into.body is None or not isinstance(into.surface, Flat):
            continue
        if call.trail or piece.call(into.index).trail:
            continue  # a word knows where it puts its own seats
        stones: Feature = call.get("for")
        heights = _heights(stones, into)
        if heights and max(heights) <= into.low + 1e-9:
            yield _finding(piece, seat, stones, into, max(heights))


def _heights(stones: Feature, body: Feature) -> list[float]:
    """How high the girdle of each stone stands over the ground of the body, mm."""
    if len(body.frames) != 1:
        return []
    own = body.frames[0]
    facing = [at for at in stones.frames if at[:, 2] @ own[:, 2] > 0]  # others are set into the back
    return [float(own[:, 2] @ (at[:, 3] - own[:, 3])) for at in facing]


def _finding(piece: Piece, seat: Feature, stones: Feature, body: Feature, height: float) -> Reading:
    return Reading(
        body.index, body.high - height, stones, bound=body.high - body.low,
        words={"row": piece.name_of(stones.index)}, others=(stones.index, seat.index),
    )  # fmt: skip
