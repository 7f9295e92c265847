"""loose-piece: metal that is not joined to the rest, and rings that link nothing."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.castings import Body
from ..judging.digits import place
from ..judging.rule import Finding, Level, Rule

if TYPE_CHECKING:
    from ..judging.piece import Piece


def _check(piece: Piece) -> Iterator[Finding]:
    if len(piece.casting_measures.bodies) < 2:
        return
    bodies, castings = piece.casting_measures.bodies, piece.casting_measures.castings
    held = piece.casting_measures.assemblies
    cast = {held[k] for k, one in enumerate(bodies) if not castings[one.casting].bought}
    for number, body in enumerate(bodies):
        casting = castings[body.casting]
        if body.small:  # see unattached-bead
            continue
        main = held[piece.casting_measures.mains[body.casting]]
        if held[number] not in cast if casting.bought else held[number] != main:
            yield _loose(piece, body)


def _loose(piece: Piece, body: Body) -> Finding:
    owners = [owner for owner in body.shell.owners if owner >= 0]
    added = [owner for owner in owners if piece.features[owner].body is not None] or owners or [0]
    casting = piece.casting_measures.castings[body.casting]
    ring = all(piece.features[owner].opening is not None for owner in added)
    count = len([one for one in piece.casting_measures.bodies if one.casting == body.casting])
    others = f"{count} separate bodies in {casting.called}" if count > 1 else "a body of its own"
    remedy = "move it so that it overlaps its neighbour by 0.1 mm or more"
    if ring:
        remedy += ", or so that it passes through another ring"
    elif not casting.bought:
        remedy += "; what is cast by itself stands in a 'casting' block of its own"
    return Finding(
        f"{piece.name_of(added[0])} {'links nothing' if ring else 'is not joined to the rest of the metal'}",
        added[0],
        f"{others}, this one {body.shell.volume:.3g} mm3",
        "joined, or linked",
        remedy,
        float(count),
        1.0,
        place=place(body.shell.centre),
    )


RULE = Rule(
    "loose-piece",
    "A part is not joined to the rest.",
    "metal",
    Level.FAULT,
    "A part that touches nothing falls off the print, or comes out of the flask by itself; a ring that "
    "goes through no other hangs on nothing.",
    "Let parts overlap a little where they are to be one. Rings that go through one another hold as "
    "links do; parts that are cast by themselves stand in 'casting' blocks.",
    "elementary geometry; linking number: Gauss 1833",
    _check,
)
