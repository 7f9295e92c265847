"""Castings on the printer: what begins in mid air, hangs out, sucks on the film or is too fine, on how much
they stand, and whether they go on it at all."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...judging.figure_rule import Reading

if TYPE_CHECKING:
    from ...judging.piece import Piece
    from ...judging.pours import Place

ATMOSPHERE = 0.101325  # N/mm2, of the room on a hollow that nothing gets into

def cup(piece: Piece) -> Iterator[Reading]:
    for one in (one for plan in piece.prints for one in plan.cups):
        yield _at(one, pull=f"{ATMOSPHERE * one.figure:.1f}")


def island(piece: Piece) -> Iterator[Reading]:
    return (_at(one) for plan in piece.prints for one in plan.islands)


def under_pixel(piece: Piece) -> Iterator[Reading]:
    return (_at(one) for plan in piece.prints for one in plan.fine)


def unsupported(piece: Piece) -> Iterator[Reading]:
    return (_at(one) for plan in piece.prints for one in plan.unheld)


def _at(one: Place, **words: str) -> Reading:
    said = {"bare": f"{one.figure:.0f}", "area": f"{one.figure:.1f} mm2", "layer": f"{one.other:.0f}"}
    return Reading(one.feature, one.figure, one.at, words=said | words)


def first_layer(piece: Piece) -> Iterator[Reading]:
    for plan in piece.prints:
        if plan.first is not None:
            yield Reading(plan.feature, plan.first, plan.middle, words={"area": f"{plan.first:.2g} mm2"})


def off_plate(piece: Piece) -> Iterator[Reading]:
    for plan in piece.prints:
        yield Reading(plan.feature, plan.room, plan.middle, words={"size": f"{plan.room:.2f}"})
