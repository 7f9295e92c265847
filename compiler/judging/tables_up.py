"""What is over the tables of stones, and which way they look.

Lengths mm, angles degrees."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..bench.roles import Role
from ..measures.kinds import Flags, Floats, Ints

if TYPE_CHECKING:
    from ..measures.stone import Stone
    from .forms import Form
    from .piece import Piece

ROUND, SHARE = 8, 0.7  # rays up from a stone: on its axis and round it, at this share of its girdle
CLEAR = 0.01  # mm below the table, where they begin: metal may lie on it
AWAY = 0.25  # of the size of a piece: nearer its middle a stone looks neither out of it nor into it
FLAT = 0.5  # a piece not so thick for its breadth has a face and a back


def metal_above(piece: Piece) -> tuple[Floats, Ints]:
    """How far above each stone's table other metal than its setting's stands in its way, inf for none
    within twice the tallest stone's height, and whose it is."""
    measures, skin = piece.stone_measures, piece.skin_measures.skin
    stones = measures.stones
    count = len(stones)
    none = np.full(count, np.inf), np.full(count, -1, dtype=np.int64)
    if not count or not len(skin.triangles):
        return none
    forms = [measures.form(k) for k in range(count)]
    spots = [over_table(stone, form) for stone, form in zip(stones, forms, strict=True)]
    tall = np.array([form.top - form.tip for form in forms])
    way = np.repeat(np.array([stone.turn[2] for stone in stones]), ROUND + 1, axis=0)
    far, met = skin.grid.cast(np.concatenate(spots), way, leaving=False, reach=float(2 * tall.max()))
    owner = np.append(skin.owner, -1)[met]
    own = _own_setting(piece, np.repeat(piece.stones.line, ROUND + 1), owner)
    far[(way * skin.normals[met]).sum(axis=1) > 0] = 0.0  # the table itself is in metal
    far[own | (met < 0)] = np.inf
    far = far.reshape(count, -1)
    best = far.argmin(axis=1)
    rows = np.arange(count)
    return np.maximum(far[rows, best] - CLEAR, 0.0), owner.reshape(count, -1)[rows, best]


def _own_setting(piece: Piece, line: Ints, owner: Ints) -> Flags:
    """Which metal, of ``owner`` (n,) over stones of some lines (n,), is pushed over those stones or was made
    to hold them: beads and prongs of all, the rest of a setting where its word was not given others alone."""
    held = {*piece.sets.holders, *piece.sets.beads} - piece.sets.seats  # a cave is a seat's
    served = {one: frozenset() if one in piece.sets.small else piece.services.lines(one) for one in held}
    return np.array([
        one in held and (not served[one] or stones in served[one])
        for stones, one in zip(line.tolist(), owner.tolist(), strict=True)
    ])  # fmt: skip


def over_table(stone: Stone, form: Form) -> Floats:
    """Spots (ROUND + 1, 3) just below a stone's table, from which to look up."""
    turn = 2 * np.pi * (np.arange(ROUND) + 0.3) / ROUND
    flat = np.column_stack((np.cos(turn), np.sin(turn), np.zeros(ROUND)))
    own = np.concatenate(([[CLEAR, CLEAR, 0.0]], SHARE * _rim(form.rim, turn) * flat))
    return np.asarray(stone.world(own + np.array([0.0, 0.0, form.top - CLEAR])))


def _rim(rim: Floats, turn: Floats) -> Floats:
    """Radius of a girdle in some directions, as a column."""
    return np.asarray(rim[(turn / (2 * np.pi) * len(rim)).astype(int) % len(rim)])[:, None]


def turned_in(piece: Piece) -> tuple[Floats, str]:
    """The angle between the way each table looks and the way out of the piece, and what is there if it
    looks the other way: the finger, the wrist, the back."""
    stones, wear = piece.stone_measures.stones, piece.wear_measures
    if not stones:
        return np.zeros(0), ""
    home = np.array([stone.origin for stone in stones])
    axes = np.array([stone.turn[2] for stone in stones])
    low, high = piece.skin_measures.skin.box
    size = high - low
    if wear.hole is not None:
        go = home - wear.hole.middle
        out = go - (go @ wear.hole.axis)[:, None] * wear.hole.axis
        out[np.linalg.norm(out, axis=1) < wear.hole.radius / 2] = 0.0
        side = "finger" if wear.hole.radius < 14.0 else "wrist"
    elif size[2] < FLAT * size[:2].max() or _hangs(piece):
        out, side = np.broadcast_to(np.array([0.0, 0.0, 1.0]), home.shape), "back"
    else:
        out, side = home - (low + high) / 2, "inside"
        out[np.linalg.norm(out, axis=1) < AWAY * np.linalg.norm(size)] = 0.0
    length = np.linalg.norm(out, axis=1)
    cosine = (axes * out).sum(axis=1) / np.where(length > 0, length, 1.0)
    return np.where(length > 0, np.degrees(np.arccos(np.clip(cosine, -1, 1))), 0.0), side


def _hangs(piece: Piece) -> bool:
    roles = Role.EAR_POST, Role.EAR_WIRE, Role.PIN, Role.BACK_BAIL
    return bool(piece.wear_measures.loops) or any(piece.with_role(*roles))
