"""closing-gap: slits that fill up in printing or casting."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ...bench.roles import Role
from ...judging.castings import is_hung
from ...judging.digits import below, least, mm, place
from ...judging.moves import move, of_one_line
from ...judging.rule import Verdict
from ...judging.tolerances import SMALL_GAP
from ...measures.closest import on_triangle
from ...measures.kinds import length

if TYPE_CHECKING:
    from ...judging.piece import Piece
    from ...measures.kinds import Floats

OVERLAP = 0.15  # mm, in which parts are joined
CREVICE = 0.03  # mm; a slit that runs out to less ends in a joint, which fills and is no harm


def check(piece: Piece) -> Iterator[Verdict]:
    apart = piece.casting_measures.loose
    for gap in piece.skin_measures.gaps.places:
        first, second = gap.pair
        if (
            first < 0
            or gap.area < SMALL_GAP
            or gap.figure < CREVICE
            or {first, second} <= piece.sets.small
            or all(piece.is_for(one, Role.ENGRAVING) for one in gap.pair)
            or len(apart & {first, second}) == 1
        ):
            continue  # see no-tool-room, letters-too-fine, and of what is not joined loose-piece
        bound = piece.bound("closing-gap", "least", second)
        if below(gap.figure + piece.tolerance, bound):  # measured between chords
            names = f"{piece.name_of(first)} and {piece.name_of(second)}"
            where = f"between {names}" if first != second else f"in {piece.name_of(second)}"
            yield Verdict(
                f"a slit {where} will close",
                second,
                mm(gap.figure),
                least(mm(bound)),
                _remedy(piece, *gap.pair, gap.figure, np.array(gap.at)),
                gap.figure,
                bound,
                place=place(gap.at),
                others=gap.pair,
            )


def _remedy(piece: Piece, first: int, second: int, wide: float, at: Floats) -> str:
    """What closes a slit: the later of two parts, where it stands but once, moved over to the other; a link
    that hangs in the other is made by itself."""
    if is_hung(piece, max(first, second)):
        link = piece.name_of(max(first, second))
        return f"say 'bought' on {link}: a link is wire closed at the bench; or make it a casting of its own"
    skin, mover = piece.skin_measures.skin, max(first, second)
    faces = np.unique(skin.grid.near(at[None] - wide, at[None] + wide, skin.owner == mover)[1])
    moved = None
    if first != second and len(faces) and len(piece.features[mover].frames) == 1:
        off = length(on_triangle(np.tile(at, (len(faces), 1)), skin.corners[faces]) - at)
        way = skin.normals[faces[int(off.argmin())]]
        if not _round(piece, mover, min(first, second), way, wide + OVERLAP):
            moved = move(piece, mover, (wide + OVERLAP) * way)
    if moved is None:
        return "widen the gap, or let the two overlap"
    return f"move {piece.name_of(mover)} {moved.said}, so that the two overlap, or farther off"


def _round(piece: Piece, mover: int, other: int, way: Floats, far: float) -> bool:
    """Whether the line of a part faces that of another so near on a side that looks against a ``way`` (3,)
    too, as a ring does one about the same axis: moved that way, it opens the slit there."""
    skin = piece.skin_measures.skin
    mine, its = (np.isin(skin.owner, of_one_line(piece, one)) for one in (mover, other))
    faces = np.flatnonzero(mine & (skin.normals @ way < 0))
    if not len(faces):
        return False
    off, met = skin.grid.cast(skin.corners[faces].mean(axis=1), skin.normals[faces], leaving=False)
    return bool(((met >= 0) & (off < far) & its[met]).any())
