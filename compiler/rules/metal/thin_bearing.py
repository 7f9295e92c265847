"""thin-bearing: the metal straight below the bearing of a seat."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...bench.roles import FigureOf, Role
from ...judging.digits import below, least, mm, place, rounded_up
from ...judging.figures import figure
from ...judging.remedies import deeper
from ...judging.rule import Verdict
from ...judging.services import indices_of

if TYPE_CHECKING:
    from ...judging.piece import Piece


def check(piece: Piece) -> Iterator[Verdict]:
    bodies = {bed.stone: bed.body for bed in piece.beds}
    for stone, spot in enumerate(piece.stone_measures.floors):
        seat = piece.seated.get(stone)
        if spot is None or seat is None:
            continue
        body = bodies.get(stone)
        into = piece.call(seat).get("in")
        rails = into is not None and body not in {*indices_of(into)} and not piece.is_for(seat, Role.RIM)
        if rails and piece.services.around(seat, int(piece.stones.line[stone])):
            continue  # the claws of a head carry it: its rails only make way for the stone
        bound = piece.bound("thin-bearing", "least", seat)
        if below(spot.figure + piece.tolerance, bound):  # measured between chords
            cut = spot.owner
            roof = figure(piece.call(cut), FigureOf.ROOF)
            beside = piece.is_for(cut, Role.CUT) and roof is None and not piece.call(cut).trail
            name = piece.name_of(cut)
            yield Verdict(
                f"{name} leaves little metal below the bearing" if beside
                else "little metal is left below the bearing",
                seat,
                f"{mm(spot.figure)} straight below it, stone {stone + 1}",
                least(mm(bound)),
                f"lower {name} by {rounded_up(bound - spot.figure)}" if beside
                else "make the body or the roof of the hollow thicker, or the light hole wider",
                spot.figure,
                bound,
                place=place(spot.at),
                mend=None if beside or body is None else deeper(piece, body, bound - spot.figure),
                others=(cut,) if beside else (),
            )  # fmt: skip
