"""blocked-loop: metal in the opening of a loop."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from ...bench.roles import Role
from ...judging.digits import below, least, mm, place
from ...judging.rule import Verdict

if TYPE_CHECKING:
    from ...judging.hanging import Loop
    from ...judging.piece import Piece
    from ...measures.skin import Skin


UP = np.arange(1, 41) * 0.2  # mm, how far up a bail behind is tried
MOST = 0.5  # of the metal besides a loop; one with more of it inside is a frame
ROOTED = 0.75  # of its wire, as deep as a bail may lie in metal at the least


def check(piece: Piece) -> Iterator[Verdict]:
    from ...judging.hanging import free_opening, opens_on_both_sides

    through = {loop.feature for loop, _, _ in piece.casting_measures.in_holes}
    for loop in piece.wear_measures.loops:
        if loop.feature in through:
            continue  # what stands in it is what it goes through: see tight-link
        bound = piece.bound("blocked-loop", "least", loop.feature) * loop.inside
        skin = piece.casting_measures.seen_by(loop)
        casting = piece.casting_measures.casting_at(loop.wire_spot, held=True)
        if _frames(loop, casting.skin if casting is not None else skin):
            continue
        free = free_opening(loop, skin)
        if not below(free, bound) and not opens_on_both_sides(loop, skin):
            yield Verdict(
                "this loop lies flat on metal: nothing passes through it", loop.feature,
                "0.00 mm free on one side", least(mm(loop.wire)),
                "stand it up, or move it off the metal by the thickness of its wire",
                0.0, bound, keys=("out", "tilt", "lean"), place=place(loop.middle),
            )  # fmt: skip
        if below(free, bound):
            name = _standing(piece, loop, skin)
            yield Verdict(
                f"{name or 'metal'} stands in the opening of this loop",
                loop.feature,
                f"{mm(free)} free of {mm(loop.inside)} inside",
                least(mm(bound)),
                _clear(piece, loop, skin, bound)
                or f"move the loop farther out{' of ' + name if name else ''}, sink it less, or make its "
                "inside larger",
                free,
                bound,
                keys=("inside", "sunk", "up"),
                place=place(loop.middle),
            )


def _frames(loop: Loop, skin: Skin) -> bool:
    """Whether a loop goes round most of the other metal, as a frame does round what it holds: what hangs by
    an eye lies outside it."""
    other = skin.owner != loop.feature
    off = np.linalg.norm(skin.corners[other].mean(axis=1) - loop.middle, axis=1)
    areas = skin.areas[other]
    return bool(areas[off < (loop.inside + loop.wire) / 2].sum() > MOST * areas.sum())


def _clear(piece: Piece, loop: Loop, skin: Skin, bound: float) -> str:
    """How far up a bail behind the piece clears what stands in it, and is still rooted; "" where it does
    not."""
    from ...judging.hanging import free_opening

    if not piece.is_for(loop.feature, Role.BACK_BAIL):
        return ""
    rest = skin.part(skin.owner != loop.feature)
    front = np.tile([0.0, 0.0, 1.0], (2, 1))
    beside = np.outer((-1.0, 1.0), (loop.wire, 0.0, 0.0))  # its own root hides the metal there
    for up in UP:
        # A ring of the size wanted finds room in the hole where its middle lies so near to that of the loop.
        middle = loop.middle + np.array([0.0, up, 0.0])
        moved = replace(loop, middle=middle, inside=max(loop.inside - bound, 0.05))
        far, met = rest.grid.cast(moved.middle + beside, front, leaving=False)
        rooted = (met >= 0).all() and (far < loop.inside / 2 + ROOTED * loop.wire).all()
        if rooted and not below(free_opening(moved, rest), bound):
            return f"move the loop {mm(up)} up: it clears what stands in it there"
    return ""


def _standing(piece: Piece, loop: Loop, skin: Skin) -> str:
    """The line whose metal comes nearest to the middle of a loop's opening."""
    from ...measures.closest import on_triangle

    half = loop.inside / 2
    face = skin.grid.near(loop.middle[None] - half, loop.middle[None] + half)[1]
    face = face[(skin.owner[face] >= 0) & (skin.owner[face] != loop.feature)]
    if not len(face):
        return ""
    spots = on_triangle(np.tile(loop.middle, (len(face), 1)), skin.corners[face])
    nearest = int(np.linalg.norm(spots - loop.middle, axis=1).argmin())
    return piece.name_of(int(skin.owner[face[nearest]]))
