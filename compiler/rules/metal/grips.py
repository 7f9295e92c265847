"""What holds the stones in the metal: loose stones, bare corners."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ...bench.roles import Role
from ...geometry import frames as fr
from ...judging.figure_rule import Reading
from ...judging.remedies import setting_line
from ...judging.services import indices_of

if TYPE_CHECKING:
    from ...judging.piece import Piece
    from ...measures.stone import Stone


def loose_stone(piece: Piece) -> Iterator[Reading]:
    """A stone that can slide or lift out."""
    pearls = []
    folded = {line for one, _ in piece.with_role(Role.PRONG) for line in piece.services.lines(one.index)}
    pushed = {k for one, _ in piece.with_role(Role.RIM, Role.GRAINS) for k in piece.services.lines(one.index)}
    for stone, around in enumerate(piece.stone_measures.surrounds):
        feature = int(piece.stones.feature[stone])
        bound = piece.bound("loose-stone", "gap", feature)
        if around.free < bound - 1e-6:
            continue
        if piece.stones.of(stone).cut == "pearl":
            pearls.append(stone)
            continue
        wall = around.push_free < bound - 1e-6
        seat = piece.seated.get(stone)
        if seat is not None and piece.is_for(seat, Role.INLAY):
            continue  # cemented: shallow-pocket tells of it
        rimmed = seat is not None and int(piece.stones.line[stone]) in pushed
        if wall and (stone in piece.walled or rimmed or int(piece.stones.line[stone]) in folded):
            continue  # such a setting is pushed over by design
        level_up = rimmed and not _walled_in(piece, stone, seat) and piece.can_say(feature, "level")
        level_up = level_up and piece.call(feature).get("level") != "table"
        yield Reading(
            feature, around.free, stone, find="wall" if wall else "", bound=bound,
            others=() if seat is None else (seat,), cure=None if wall
            else f"say 'level table' in the line of {piece.name_of(feature)}: metal then stands over it"
            if level_up
            else "bring its wall or its neighbours nearer to it, or let its metal stand above its girdle"
            if rimmed
            else f"hold it all round: {setting_line(piece, feature, 'prong claws:')}",
        )  # fmt: skip
    yield from _unpegged(piece, pearls)


def _walled_in(piece: Piece, stone: int, seat: int | None) -> bool:
    """Whether a seat is cut into what was made for its stones, and so goes along when they are let down."""
    into = piece.call(seat).get("in") if seat is not None else None
    line = int(piece.stones.line[stone])
    return any(line in piece.services.lines(one) for one in (indices_of(into) if into is not None else ()))


def _unpegged(piece: Piece, pearls: list[int]) -> Iterator[Reading]:
    """Pearls with no metal in them, which no prongs or walls hold either."""
    from ...judging.stone_metal import shared_by

    pegged = shared_by(piece, pearls)
    for stone in pearls:
        if stone not in pegged:
            line, at = int(piece.stones.feature[stone]), piece.stones.frames[stone, :, 3]
            yield Reading(line, 0.0, at, find="unpegged", bound=1.0)


SHARP = 55.0  # degrees that a girdle turns at a corner which chips
LOOKED = 0.5  # mm, about how far off metal is looked for first


def bare_corner(piece: Piece) -> Iterator[Reading]:
    """A sharp corner of a stone that no metal guards."""
    from ...measures.bodies import winding
    from ...measures.rays import room_at

    stones = piece.stone_measures.stones
    rows = piece.stones
    known: dict[tuple[int, bool], np.ndarray] = {}
    corners = []
    for k, stone in enumerate(stones):
        seat = piece.seated.get(k)
        if seat is not None and piece.is_for(seat, Role.RIM):
            corners.append(np.zeros((0, 3)))  # between walls and its neighbours nothing knocks on it
            continue
        kind = int(rows.kind[k]), bool(fr.mirrored(rows.frames[k]))
        if kind not in known:
            known[kind] = _corners(stone)
        corners.append(stone.world(known[kind]))
    spots = np.concatenate([np.zeros((0, 3)), *corners])
    if not len(spots) or not len(piece.skin_measures.skin.triangles):
        return
    skin = piece.skin_measures.skin
    off = room_at(skin, spots, LOOKED)
    # Within the claw that is to be cut for it, a corner is guarded as well.
    deep = [k for k in np.flatnonzero(off > 0.01) if winding(skin.corners, spots[k]) > 0.5]
    off[deep] = 0.0
    of = np.repeat(np.arange(len(stones)), [len(one) for one in corners])
    for stone in np.unique(of).tolist():
        mine = np.flatnonzero(of == stone)
        worst = int(mine[np.argmax(off[mine])])
        feature = int(piece.stones.feature[stone])
        bound = piece.bound("bare-corner", "most", feature)
        bare = int((off[mine] > bound).sum())
        corner = ("a sharp corner", "is") if bare == 1 else (f"{bare} sharp corners", "are")
        yield Reading(
            feature, float(off[worst]), spots[worst],
            words={"corner": f"{corner[0]} of this stone {corner[1]} bare",
                   "line": lambda _, line=feature: setting_line(piece, line, "vee-prong tips:")},
        )  # fmt: skip


def _corners(stone: Stone) -> np.ndarray:
    """The sharp corners of a girdle in the stone's own axes, (n, 3)."""
    loop = stone.outline
    into, out = loop - np.roll(loop, 1, axis=0), np.roll(loop, -1, axis=0) - loop
    turn = np.degrees(np.arctan2(into[:, 0] * out[:, 1] - into[:, 1] * out[:, 0], (into * out).sum(axis=1)))
    flat = loop[turn > SHARP]
    if not len(flat):
        return np.zeros((0, 3))
    low, high = stone.girdle
    return np.column_stack((flat, np.full(len(flat), (low + high) / 2)))
