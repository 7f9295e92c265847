"""Hollows: shut ones, and those that let resin and investment out too slowly."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...bench.feature import Feature
from ...bench.roles import Role
from ...judging.digits import above, below, least, mm, place
from ...judging.rule import Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece


def undrained_hollow(piece: Piece) -> Iterator[Verdict]:
    """A hollow whose only way out is too narrow."""
    large = piece.bound("undrained-hollow", "large-hollow")
    for chamber in piece.skin_measures.chambers:
        if chamber.neck <= 0:
            continue  # shut: see trapped-void
        what = "hole-large" if chamber.volume > large else "hole"
        owner = piece.skin_measures.owner_near(chamber.at)
        bound = piece.bound("undrained-hollow", what, owner)
        if below(chamber.neck, bound):
            yield Verdict(
                f"a hollow at {piece.name_of(owner)} drains through a narrow neck",
                owner,
                f"neck {mm(chamber.neck)}, {mm(chamber.width)} wide within",
                least(mm(bound)),
                "widen the way out, or open the hollow at the back",
                chamber.neck,
                bound,
                place=place(chamber.at),
            )


def trapped_void(piece: Piece) -> Iterator[Verdict]:
    """A hollow with no way out."""
    for void in piece.skin_measures.voids:
        owner = next((one for one in void.owners if one >= 0), 0)
        bound = piece.bound("trapped-void", "most", owner)
        if above(void.volume, bound):
            yield Verdict(
                f"a hollow in {piece.name_of(owner)} has no opening",
                owner,
                f"{void.volume:.3g} mm3 shut in",
                f"{bound:g} mm3",
                _shut_remedy(piece, owner, void.owners),
                void.volume,
                bound,
                place=place(void.centre),
            )


def _shut_remedy(piece: Piece, owner: int, round_it: tuple[int, ...]) -> str:
    """What opens a hollow: a groove lies too deep, or a later line covers it."""
    if not piece.is_for(owner, Role.ENGRAVING):
        return "open it at the back, or drill it twice so that it drains"
    over = [one for one in round_it if one > owner and piece.features[one].body is not None]
    if over:
        lid = piece.name_of(over[0])
        return f"{lid} shuts it: let {lid} fill it to its floor, or leave a way in"
    wire = piece.call(owner).get("in")
    if isinstance(wire, Feature) and piece.is_for(wire.index, Role.WIRE) and "outer" in wire.offers:
        return f"its path lies within the wire: say 'along outer of {wire.name.rpartition('.')[2]}'"
    return "its path lies below the face: lay it on the face, or raise it until it comes out"
