"""halves-apart: two halves of a hinge, a clasp or a catch that do not stand at one place."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np

from ...judging.digits import above, mm, most, place
from ...judging.halves import Half, bodies_named, halves_of, is_hinge, room_of
from ...judging.moves import told
from ...judging.rule import Verdict

if TYPE_CHECKING:
    from ...judging.bound import Bound
    from ...judging.piece import Piece
    from ...measures.kinds import Floats

TOUCH = 0.3  # mm, castings drawn as they meet are as near; others lie apart, each by itself


def check(piece: Piece) -> Iterator[Verdict]:
    halves = list(halves_of(piece))
    bound = piece.bound("halves-apart", "most")
    apart = {
        (one, two): float(np.linalg.norm(halves[one].at - halves[two].at))
        for one, two in combinations(range(len(halves)), 2)
        if halves[one].finding is halves[two].finding and halves[one].casting != halves[two].casting
    }
    together = [pair for pair, off in apart.items() if not above(off, bound)]
    met = {half for pair in together for half in pair}
    # What is joined by one pair of halves may stand open at another; no pin goes through a hinge that does.
    joined = {frozenset(halves[half].casting for half in pair) for pair in together}
    for (a, b), off in sorted(apart.items(), key=lambda one: one[1]):
        one, two = halves[a], halves[b]
        castings = frozenset((one.casting, two.casting))
        open_there = castings in joined and not is_hinge(one)
        if {a, b} & met or open_there or not _meet(piece, one.casting, two.casting):
            continue
        met |= {a, b}
        yield _verdict(piece, one, two, off, bound)


def _verdict(piece: Piece, one: Half, two: Half, off: float, bound: Bound) -> Verdict:
    first, second = (piece.name_of(half.feature) for half in (one, two))
    return Verdict(
        f"{second} and {first} do not come together",
        two.feature,
        f"{mm(off)} from one half to the other",
        most(mm(bound)),
        f"{_remedy(piece, one, two)}; or stand both at one place, a line 'spots' above both castings",
        off,
        bound,
        keys=("at",),
        place=place(two.at),
        others=(one.feature,),
    )


def _remedy(piece: Piece, one: Half, two: Half) -> str:
    """How they come together on metal of both: the one moved to the other, or both to half way."""
    for half, other in ((two, one), (one, two)):
        if _beside(piece, half.casting, other.at):
            return f"move {_moved(piece, half, other.at)}"
    middle = (one.at + two.at) / 2
    return f"move {_moved(piece, two, middle)}, and {_moved(piece, one, middle)}"


def _moved(piece: Piece, half: Half, spot: Floats) -> str:
    return f"{piece.name_of(half.feature)} {told(piece, half.feature, spot - half.at, 'to the other')}"


def _beside(piece: Piece, casting: str, spot: Floats) -> bool:
    """Whether a spot lies as near the room that a casting takes as halves put together."""
    low, high = room_of(piece, casting)
    return bool((spot > low - TOUCH).all() and (spot < high + TOUCH).all())


def _meet(piece: Piece, *castings: str) -> bool:
    """Whether the metal of two castings comes as near as that of halves put together."""
    ones, others = (bodies_named(piece, name) for name in castings)
    return any(a.meets(b, TOUCH) and a.gap(b, TOUCH) < TOUCH for a in ones for b in others)
