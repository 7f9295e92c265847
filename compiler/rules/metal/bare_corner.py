"""bare-corner: a sharp corner of a stone that no metal guards."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ...bench.roles import Role
from ...judging.digits import above, mm, most, place
from ...judging.rule import Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece
    from ...measures.stone import Stone

SHARP = 55.0  # degrees that a girdle turns at a corner which chips
LOOKED = 0.5  # mm, about how far off metal is looked for first


def check(piece: Piece) -> Iterator[Verdict]:
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
        kind = int(rows.kind[k]), bool(np.linalg.det(rows.frames[k][:, :3]) < 0)
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
        if above(float(off[worst]), bound):
            yield Verdict(
                f"{'a sharp corner' if bare == 1 else f'{bare} sharp corners'} of this stone "
                f"{'is' if bare == 1 else 'are'} bare",
                feature,
                f"the nearest metal is {mm(float(off[worst]))} off",
                most(mm(bound)),
                "set a prong or a vee-prong at every sharp corner",
                float(off[worst]),
                bound,
                place=place(spots[worst]),
            )


def _corners(stone: Stone) -> np.ndarray:
    """The sharp corners of a girdle in the stone's own axes, (n, 3)."""
    loop = stone.outline
    into, out = loop - np.roll(loop, 1, axis=0), np.roll(loop, -1, axis=0) - loop
    turn = np.degrees(
        np.arctan2(into[:, 0] * out[:, 1] - into[:, 1] * out[:, 0], (into * out).sum(axis=1))
    )
    flat = loop[turn > SHARP]
    if not len(flat):
        return np.zeros((0, 3))
    low, high = stone.girdle
    return np.column_stack((flat, np.full(len(flat), (low + high) / 2)))
