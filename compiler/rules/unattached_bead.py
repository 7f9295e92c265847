"""unattached-bead: beads and prongs that float."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.digits import place
from ..judging.rule import Finding, Level, Rule

if TYPE_CHECKING:
    from ..judging.piece import Piece


def _check(piece: Piece) -> Iterator[Finding]:
    seen: set[int] = set()
    for body in piece.casting_measures.bodies:
        first, owners = body.casting not in seen, [one for one in body.shell.owners if one >= 0]
        seen.add(body.casting)
        if body.small and not first:
            what = "a bead" if owners[0] in piece.sets.beads else "a prong"
            yield Finding(
                f"{what} of {piece.name_of(owners[0])} touches no metal",
                owners[0],
                "a body of its own",
                "joined to the metal",
                "sink it deeper, or bring it over the metal",
                float(len(piece.casting_measures.bodies)),
                1.0,
                keys=("sunk", "inward", "foot"),
                place=place(body.shell.centre),
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
