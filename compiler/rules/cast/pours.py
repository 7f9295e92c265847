"""Castings as they are poured: metal that freezes too early or too late, that no sprue feeds or that runs
short, sprues that freeze too soon, a flask that is too small."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...bench.roles import Role
from ...judging.digits import rounded_up
from ...judging.figure_rule import Reading
from ...judging.rule import Mend

if TYPE_CHECKING:
    from ...judging.piece import Piece


def hot_spot(piece: Piece) -> Iterator[Reading]:
    return (one for pour in piece.pours for one in pour.hot)


def misrun(piece: Piece) -> Iterator[Reading]:
    return (one for pour in piece.pours for one in pour.slow)


def starved(piece: Piece) -> Iterator[Reading]:
    return (one for pour in piece.pours for one in pour.unfed)


def sprue_thin(piece: Piece) -> Iterator[Reading]:
    for one in (one for pour in piece.pours for one in pour.thin):
        wide = rounded_up(one.of)
        found = one._replace(words={"wide": wide})
        if piece.is_for(one.feature, Role.SPRUE):
            found = found._replace(mend=Mend("wire", wide, "least"), key="wire", keys=("wire",))
        yield found


def flask_full(piece: Piece) -> Iterator[Reading]:
    return (Reading(one.feature, float(one.room), words={"called": one.called}) for one in piece.pours)
