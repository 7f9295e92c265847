"""castings-meet of what is bought: links of a chain and pins that stand in other metal."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..bench.linked import link_wires
from ..bench.roles import Role
from .clearing import off_solid
from .figure_rule import Reading
from .meetings import meeting, standing
from .moves import of_one_line

if TYPE_CHECKING:
    from .joints import Body
    from .meetings import Meeting
    from .piece import Piece

ROOM = 0.02  # mm, left between two that are moved apart
CLEAR = 1e-3  # mm3, what is no more is dust


def bought_meet(piece: Piece) -> Iterator[Reading]:
    """Links of a bought chain that stand deeper in cast metal than one is soldered on, and bought pins with
    other metal across them."""
    measures = piece.casting_measures
    bought = {k: one for k, one in enumerate(measures.bodies) if measures.castings[one.casting].bought}
    chains = {
        k: owner for k, one in bought.items()
        if (owner := _owner(one)) in piece.chains
    }  # fmt: skip
    yield from _chains(piece, [(owner, bought[k]) for k, owner in chains.items()])
    yield from _clasps(piece, bought, chains)
    others = [(n, body) for n, body in enumerate(measures.bodies) if n not in chains]
    for k, one in ((k, one) for k, one in bought.items() if piece.is_for(_owner(one), Role.PIN)):
        for n, other in others:
            if (n in bought and n <= k) or not one.meets(other):
                continue
            if _owner(other) not in of_one_line(piece, _owner(one)) and (met := meeting(one, other)):
                yield from _across(piece, one, other, met)


def _owner(body: Body) -> int:
    return next((one for one in body.shell.owners if one >= 0), -1)


def _across(piece: Piece, one: Body, other: Body, met: Meeting) -> Iterator[Reading]:
    """What stands across a brooch's pin, which has to swing: no metal but its own joint's touches it."""
    if met.volume < CLEAR or met.deep <= ROOM:
        return
    pin = _owner(one)
    across = standing(other, met.common, one)
    told, off = max(pin, across), min(pin, across)
    moved = off_solid(piece, told, off, (other if told == pin else one).solid)
    way = moved or f"off {piece.name_of(off)}, or drill a hole there"
    yield Reading(
        told, met.deep, met.at, find="pin", bound=ROOM, others=(off,),
        words={"pin": piece.name_of(pin), "across": piece.name_of(across), "volume": f"{met.volume:.3g}",
               "move": way},
    )  # fmt: skip


def _clasps(piece: Piece, bought: dict[int, Body], chains: dict[int, int]) -> Iterator[Reading]:
    """Links that stand in the metal of a bought clasp beside the loop they go through: a clasp has no play
    to give, as a charm's ring has."""
    joined = {frozenset((one.one, one.two)) for one in piece.casting_measures.joints}
    for k, one in ((k, one) for k, one in bought.items() if piece.is_for(_owner(one), Role.CLASP)):
        for n in chains:
            if frozenset((k, n)) in joined or not one.meets(bought[n]):
                continue
            met = meeting(one, bought[n])
            if met is not None and met.volume > CLEAR and met.deep > ROOM:
                yield Reading(
                    _owner(one), met.deep, met.at, find="clasp", bound=ROOM, others=(chains[n],),
                    words={"chain": piece.name_of(chains[n]), "volume": f"{met.volume:.3g}"},
                )  # fmt: skip


def _chains(piece: Piece, links: list[tuple[int, Body]]) -> Iterator[Reading]:
    """Links by the line of their chain; those that hang in a loop without play are told as such."""
    measures = piece.casting_measures
    joints = ((one.one, one.two) for one in measures.joints if one.how != "soldered")
    pairs = [tuple(measures.bodies[k] for k in both) for both in joints]
    stiff = {frozenset(one.casting for one in both) for both in pairs if both[0].gap(both[1], ROOM) < ROOM}
    cast = [one for one in measures.bodies if not measures.castings[one.casting].bought]
    wires = {k: min(one[2] for one in link_wires([piece.features[k]])) for k in {owner for owner, _ in links}}
    for owner, link in links:
        bound = wires[owner] / 2
        for body in cast:
            if frozenset((body.casting, link.casting)) in stiff or not body.meets(link):
                continue  # see tight-link
            met = meeting(body, link)
            if met is not None:
                yield Reading(
                    owner, met.deep, met.at, find="chain", bound=bound, words={"volume": f"{met.volume:.3g}"},
                    others=(standing(body, met.common, link),),
                )  # fmt: skip
