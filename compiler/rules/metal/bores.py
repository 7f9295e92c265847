"""The hole for the finger: metal or a stone in it, a ring too large for it, a weight that turns on it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ...judging.bores import inner_radius
from ...judging.digits import above, mm, most, place, rounded_up
from ...judging.halves import shut_on
from ...judging.moves import told
from ...judging.remedies import written
from ...judging.rule import Level, Mend, Verdict

if TYPE_CHECKING:
    from ...judging.bores import Bore
    from ...judging.piece import Piece
    from ...measures.kinds import Floats


def blocked_bore(piece: Piece) -> Iterator[Verdict]:
    """Metal or a stone in the hole for the finger."""
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
                _out_of_the_way(piece, bore, owner, deep, np.array(at)),
                deep,
                bound,
                keys=("inward", "foot", "long", "out"),
                place=place(at),
            )


def _out_of_the_way(piece: Piece, bore: Bore, owner: int, deep: float, at: Floats) -> str:
    if owner == bore.feature or "along" in piece.clauses_of(owner):
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


def loose_bore(piece: Piece) -> Iterator[Verdict]:
    """A ring laid along a path round a finger that comes out larger than that finger."""
    for feature in piece.features:
        call = piece.call(feature.index)
        if not feature.about or not len(feature.frames):
            continue
        home, axis = feature.frames[0][:, 3], feature.frames[0][:, 1]
        inner = inner_radius(piece.skin_measures.skin, home, axis)
        bound = piece.bound("loose-bore", "most", feature)
        if inner is None or not above(slack := inner - feature.about / 2, bound):
            continue
        outset = float(call.get("outset") or 0.0) - slack
        yield Verdict(
            "no metal comes to the finger that this ring is for",
            feature.index,
            f"{mm(2 * inner)} inside, {mm(slack)} off a finger of {mm(feature.about)} all round",
            most(mm(bound)),
            f"write outset {max(outset, 0.0):.2f} mm" if outset > -bound
            else f"bring what runs along it {rounded_up(slack)} nearer",
            slack,
            bound,
            keys=("outset", "finger", "inside"),
            place=place(home),
            mend=Mend("outset", f"{max(outset, 0.0):.2f} mm") if outset > -bound else None,
        )  # fmt: skip


def _worn_as_one(piece: Piece, ring: int) -> bool:
    """Whether all there is goes with what goes round the finger: it is one casting, or hinges hold the rest
    shut on that, as the lid of a poison ring."""
    cast = [one for one in piece.casting_measures.castings if not one.bought]
    if len(cast) == 1:
        return True
    mine = next((one for one in cast if (one.skin.owner == ring).any()), None)
    rest = {one.name for one in cast if one is not mine}
    return mine is not None and rest <= shut_on(piece, mine.name, least=0.0)


def rolling_ring(piece: Piece) -> Iterator[Verdict]:
    """A ring whose weight turns it on the finger."""
    hole = piece.wear_measures.hole
    if hole is None or hole.whose != "finger" or not _worn_as_one(piece, hole.feature):
        return
    _, centre = piece.wear_measures.centre
    go = centre - hole.middle
    off = float(np.linalg.norm(go - (go @ hole.axis) * hole.axis))
    advised, bound = (
        piece.bound("rolling-ring", what, hole.feature) * hole.radius for what in ("advised", "most")
    )
    if above(off, min(advised, bound)):
        rolls = above(off, bound)
        bound = bound if rolls else advised
        yield Verdict(
            "this ring is top-heavy: it turns on the finger" if rolls else "this ring is rather top-heavy",
            hole.feature,
            f"its weight lies {mm(off)} from the middle of the finger",
            f"{most(mm(bound))} for a finger of {mm(2 * hole.radius)}",
            "hollow the head, or make the shank wider and thicker at the back",
            off,
            bound,
            keys=("wide", "thick"),
            place=place(centre),
            level=Level.WARNING if rolls else Level.HINT,
        )
