"""unattached-bead: beads and prongs that float."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.digits import place
from ..judging.measuring import measured, named
from ..judging.rule import Finding, Level, Rule

if TYPE_CHECKING:
    from ..judging.piece import Piece


def _check(piece: Piece) -> Iterator[Finding]:
    kept = measured(piece)
    for body in kept.bodies[1:]:
        owners = [owner for owner in body.owners if owner >= 0]
        if owners and set(owners) <= kept.small:
            what = "bead" if owners[0] in kept.beads else "prong"
            yield Finding(
                f"a {what} of {named(piece, owners[0])} touches no metal",
                owners[0],
                "a body of its own",
                "joined to the metal",
                "sink it deeper, or bring it over the metal",
                float(len(kept.bodies)),
                1.0,
                keys=("sunk", "inward", "foot"),
                place=place(body.centre),
            )


RULE = Rule(
    "unattached-bead",
    "Beads or prongs float.",
    "metal",
    Level.FAULT,
    "A bead that touches nothing is lost before the piece is cast.",
    "Sink beads into the edge they follow, and root prongs in the metal.",
    "elementary geometry",
    _check,
)
