"""Walls measured on the metal, for the rule thin-wall."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..rules.model import Finding, Level
from ..rules.shown import below, least, mm, place
from .measuring import SAME, SMALL_WALL, measured, named
from .stated import stated_of

if TYPE_CHECKING:
    from ..measures.places import Place
    from .piece import Piece

BROAD = 1.0  # mm2; a wall too thin to print over more than this will not make


def thin_walls(piece: Piece) -> Iterator[Finding]:
    """Walls thinner than their family's limits, those told from stated figures left out."""
    kept = measured(piece)
    stated = [(one.feature, one.thick) for one in stated_of(piece)]
    for thin in kept.thin:
        told = any(f in thin.pair and abs(t - thin.figure) < SAME for f, t in stated)
        ridge = thin.owner == thin.other_owner and piece.call(thin.owner).word.name == "engrave"
        if ridge:
            continue  # between strokes: see letters-too-fine
        if set(thin.pair) <= kept.walls and thin.area >= SMALL_WALL and not told:
            yield from _judged(piece, thin)


def _judged(piece: Piece, thin: Place) -> Iterator[Finding]:
    feature = thin.pair[1]
    never = piece.bound("printer-detail", "least", feature)
    floor = piece.bound("thin-wall", "least", feature)
    advised = piece.bound("thin-wall", "advised", feature)
    bound = floor if below(thin.figure, floor) else advised
    if not below(thin.figure, bound):
        return
    names = [named(piece, one) for one in thin.pair]
    where = f"between {names[0]} and {names[1]}" if names[0] != names[1] else f"in {names[1]}"
    level = Level.WARNING if bound == floor else Level.NOTE
    yield Finding(
        f"a thin wall {where}",
        feature,
        mm(thin.figure),
        f"{least(mm(bound))} in {piece.family(feature)}",
        f"leave {mm(floor)} or more: raise the wall, or move what cuts into it",
        thin.figure,
        bound,
        keys=("wall", "roof", "thick"),
        place=place(thin.at),
        level=Level.FAULT if 0 < thin.figure < never and thin.area > BROAD else level,
    )
