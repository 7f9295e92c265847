"""loose-piece: metal that is not joined to the rest."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.digits import place
from ..judging.measuring import measured, named
from ..judging.rule import Finding, Level, Rule

if TYPE_CHECKING:
    from ..judging.measured import Measured
    from ..judging.piece import Piece
    from ..measures.bodies import Shell


def _check(piece: Piece) -> Iterator[Finding]:
    kept = measured(piece)
    for body in kept.bodies[1:]:
        owners = [owner for owner in body.owners if owner >= 0]
        if owners and not set(owners) <= kept.small:
            yield _loose(piece, kept, body, owners)


def _loose(piece: Piece, kept: Measured, body: Shell, owners: list[int]) -> Finding:
    added = [owner for owner in owners if piece.features[owner].body is not None] or owners
    linked = all(piece.call(owner).word.name == "jump-ring" for owner in added)
    count = len(kept.bodies)
    return Finding(
        f"{named(piece, added[0])} is not joined to the rest of the metal",
        added[0],
        f"{count} separate bodies, this one {body.volume:.3g} mm3",
        "one body",
        "move it so that it overlaps its neighbour by 0.1 mm or more",
        float(count),
        1.0,
        place=place(body.centre),
        level=Level.NOTE if linked else None,
    )


RULE = Rule(
    "loose-piece",
    "A part is not joined to the rest.",
    "metal",
    Level.FAULT,
    "A part that touches nothing falls off the print, or comes out of the flask by itself.",
    "Let parts overlap a little where they are to be one. Rings that link are told as a note.",
    "elementary geometry",
    _check,
)
