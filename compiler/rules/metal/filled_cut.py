"""filled-cut: letters that metal they were not cut into fills again."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ...bench.feature import Feature
from ...bench.roles import Role
from ...judging.digits import above, most, place
from ...judging.rule import Verdict

if TYPE_CHECKING:
    from ....lang.bench import Call
    from ...judging.piece import Piece


def check(piece: Piece) -> Iterator[Verdict]:
    from ...judging.stone_metal import meeting
    from ...metal.kernel import join

    for feature, call in piece.with_role(Role.ENGRAVING):
        deep = float(call.get("deep") or 0.0)
        if not call.given("letters") or deep <= 0:
            continue
        tools = (one for one in piece.plan_solids if one.feature == feature.index and one.cut)
        filled, shares = join(piece.standing(tools)) ^ piece.metal, dict[int, float]()
        for one, solid in meeting(piece, filled, cut=False) if not filled.is_empty() else ():
            if _over(piece, call, feature, one):
                shares[one] = shares.get(one, 0.0) + float(solid.volume())
        figure, bound = sum(shares.values()) / deep, piece.bound("filled-cut", "most", feature)
        if above(figure, bound):
            metal = max(shares, key=lambda one: shares[one])
            low, high = np.array(filled.bounding_box()).reshape(2, 3)
            yield Verdict(
                f"the metal of {piece.name_of(metal)} fills a part of the letters",
                feature.index,
                f"{figure:.2f} mm2 of them filled",
                most(f"{bound:g} mm2"),
                _remedy(piece, call, feature, metal),
                figure,
                bound,
                key="letters",
                keys=("letters",),
                place=place((low + high) / 2),
                others=(metal,),
            )


def _over(piece: Piece, call: Call, letters: Feature, metal: int) -> bool:
    """Whether letters were not cut into some metal: it was laid below their line, or is of another body. For
    marks that run into one another see letters-off-face."""
    if piece.is_for(metal, Role.ENGRAVING):
        return False
    return metal > letters.index or _apart(piece, call, metal)


def _apart(piece: Piece, call: Call, metal: int) -> bool:
    into = call.get("in")
    return isinstance(into, Feature) and piece.features[metal].body not in into.bodies()


def _remedy(piece: Piece, call: Call, letters: Feature, metal: int) -> str:
    """What has the letters cut that metal too."""
    name, into = piece.name_of(metal), call.get("in")
    whole = f"leave out 'in {piece.name_of(into.index)}'" if _apart(piece, call, metal) else ""
    above_it = f"put the line of {name} above that of {piece.name_of(letters.index)}"
    ways = [one for one in (whole, above_it if metal > letters.index else "") if one]
    return f"{' and '.join(ways)}: then they are cut into it too; or move {name} off them"
