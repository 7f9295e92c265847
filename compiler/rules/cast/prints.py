"""Castings on the printer: what begins in mid air, hangs out, sucks on the film or is too fine, on how much
they stand, and whether they go on it at all."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...judging.figure_rule import Reading

if TYPE_CHECKING:
    from ...judging.piece import Piece

ATMOSPHERE = 0.101325  # N/mm2, of the room on a hollow that nothing gets into


def cup(piece: Piece) -> Iterator[Reading]:
    for one in (one for plan in piece.prints for one in plan.cups):
        yield one._replace(words={"pull": f"{ATMOSPHERE * one.figure:.1f}"})


def island(piece: Piece) -> Iterator[Reading]:
    return (one for plan in piece.prints for one in plan.islands)


def under_pixel(piece: Piece) -> Iterator[Reading]:
    return (one for plan in piece.prints for one in plan.fine)


def unsupported(piece: Piece) -> Iterator[Reading]:
    return (one for plan in piece.prints for one in plan.unheld)


def first_layer(piece: Piece) -> Iterator[Reading]:
    plans = (plan for plan in piece.prints if plan.first is not None)
    return (Reading(plan.feature, plan.first or 0.0, plan.middle) for plan in plans)


def off_plate(piece: Piece) -> Iterator[Reading]:
    return (Reading(plan.feature, plan.room, plan.middle) for plan in piece.prints)
