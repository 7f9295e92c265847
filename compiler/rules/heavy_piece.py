"""heavy-piece: more weight than is comfortable to wear."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..bench.roles import Role
from ..judging.digits import above, place
from ..judging.rule import Finding, Level, Rule

if TYPE_CHECKING:
    from ..judging.piece import Piece

FINGER = 14.0  # mm, the radius of a bore that is a wrist's and no finger's


def _check(piece: Piece) -> Iterator[Finding]:
    ear = any(piece.with_role(Role.EAR_POST, Role.EAR_WIRE))
    ring = "ring" if piece.wear_measures.inner < FINGER else "bangle"
    what = ring if piece.wear_measures.bore is not None else "earring" if ear else "pendant"
    grams, centre = piece.wear_measures.centre
    bound = piece.bound("heavy-piece", what)
    if above(grams, bound):
        bodies = [f for f in piece.features if f.body is not None]
        yield Finding(
            f"this is heavy for {'an' if what == 'earring' else 'a'} {what}",
            bodies[0].index if bodies else 0,
            f"{grams:.1f} g with its stones",
            f"{bound:g} g or less",
            "hollow it from the back, or make it smaller",
            grams,
            bound,
            place=place(centre),
        )


RULE = Rule(
    "heavy-piece",
    "The piece is heavy to wear.",
    "metal",
    Level.NOTE,
    "A heavy earring drags at the ear, a heavy ring turns, a heavy pendant pulls its chain.",
    "Hollow it, or make it smaller.",
    "house choice, no source",
    _check,
)
