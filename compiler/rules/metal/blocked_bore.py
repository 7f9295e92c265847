"""blocked-bore: metal or a stone in the hole for the finger."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ...judging.digits import above, mm, most, place, rounded_up
from ...judging.moves import told
from ...judging.remedies import written
from ...judging.rule import Verdict

if TYPE_CHECKING:
    from ...judging.bores import Bore
    from ...judging.piece import Piece
    from ...measures.kinds import Floats



def check(piece: Piece) -> Iterator[Verdict]:
    from ...judging.bores import standing_in

    bore = piece.wear_measures.hole
    if bore is None:
        return
    bound = piece.bound("blocked-bore", "most", bore.feature)
    whose = bore.whose
    for owner, (deep, at) in sorted(standing_in(piece.skin_measures.skin, bore, bound).items()):
        if piece.features[owner].body is None or (owner == bore.feature and not bore.stated):
            continue  # a cut is no metal; what goes round has only itself to be measured by
        if above(deep, bound):
            yield Verdict(
                f"{piece.name_of(owner)} stands in the hole for the {whose}",
                owner,
                f"{mm(deep)} into the hole of {mm(2 * bore.radius)}",
                most(mm(bound)),
                _remedy(piece, bore, owner, deep, np.array(at)),
                deep,
                bound,
                keys=("inward", "foot", "long", "out"),
                place=place(at),
            )


def _remedy(piece: Piece, bore: Bore, owner: int, deep: float, at: Floats) -> str:
    if owner == bore.feature or piece.call(owner).given("along"):
        return f"lay its line {rounded_up(deep)} farther out (outset), or take thinner wire"
    out = at - bore.middle
    out -= (out @ bore.axis) * bore.axis
    way = told(piece, owner, deep * out / max(float(np.linalg.norm(out)), 1e-9), "outward")
    return f"move it {way} or {_shorter(piece, owner)}{_cleared(piece, bore)}"


def _shorter(piece: Piece, owner: int) -> str:
    """How it is made shorter: one that finds its own foot on metal takes one in figures."""
    found = "on" in piece.clauses_of(owner)
    return "give its foot in mm, where it says on" if found else "make it shorter"


def _cleared(piece: Piece, bore: Bore) -> str:
    """How a band's hole is cleared; a ring of wire has no such clause."""
    if piece.wear_measures.bore is None:
        return ""
    band, block = written(piece, bore.feature)
    return f", or clear it below its line{block}: bore: of {band}"
