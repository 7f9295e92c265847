"""heavy-piece: more weight than is comfortable to wear."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.digits import above, place
from ..judging.measuring import measured
from ..judging.rule import Finding, Level, Rule

if TYPE_CHECKING:
    from ..judging.piece import Piece

FINGER = 14.0  # mm, the radius of a bore that is a wrist's and no finger's
EARS = ("ear-post", "ear-wire")


def _check(piece: Piece) -> Iterator[Finding]:
    kept = measured(piece)
    ear = next((f for f in piece.features if piece.within(f.index, *EARS)), None)
    ring = "ring" if kept.inner < FINGER else "bangle"
    what = ring if kept.bore is not None else "earring" if ear is not None else "pendant"
    grams, centre = kept.centre
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
