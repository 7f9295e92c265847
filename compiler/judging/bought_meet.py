"""castings-meet of what is bought: links of a chain and pins that stand in other metal."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..bench.linked import link_wires
from ..bench.roles import Role
from .clearing import off_solid
from .digits import above, mm, most, place
from .meetings import meeting, standing
from .moves import of_one_line
from .rule import Verdict

if TYPE_CHECKING:
    from .castings import Body
    from .meetings import Meeting
    from .piece import Piece

ROOM = 0.02  # mm, left between two that are moved apart
CLEAR = 1e-3  # mm3, what is no more is dust


def bought_meet(piece: Piece) -> Iterator[Verdict]:
    """Links of a bought chain that stand deeper in cast metal than one is soldered on, and bought pins with
    other metal across them."""
    measures = piece.casting_measures
    bought = {k: one for k, one in enumerate(measures.bodies) if measures.castings[one.casting].bought}
    chains = {
        k: owner for k, one in bought.items()
        if (owner := _owner(one)) in piece.chains
    }  # fmt: skip
    yield from _chains(piece, [(owner, bought[k]) for k, owner in chains.items()])
    others = [(n, body) for n, body in enumerate(measures.bodies) if n not in chains]
    for k, one in ((k, one) for k, one in bought.items() if piece.is_for(_owner(one), Role.PIN)):
        for n, other in others:
            if (n in bought and n <= k) or not one.meets(other):
                continue
            if _owner(other) not in of_one_line(piece, _owner(one)) and (met := meeting(one, other)):
                yield from _across(piece, one, other, met)


def _owner(body: Body) -> int:
    return next((one for one in body.shell.owners if one >= 0), -1)


def _across(piece: Piece, one: Body, other: Body, met: Meeting) -> Iterator[Verdict]:
    """What stands across a brooch's pin, which has to swing: no metal but its own joint's touches it."""
    if met.volume < CLEAR or met.deep <= ROOM:
        return
    pin = _owner(one)
    across = standing(other, met.common, one)
    told, off = max(pin, across), min(pin, across)
    names = [piece.name_of(feature) for feature in (told, off)]
    moved = off_solid(piece, told, off, (other if told == pin else one).solid)
    yield Verdict(
        f"{names[0]} and {names[1]} run into one another: {piece.name_of(pin)} is put in whole, and "
        f"{piece.name_of(across)} stands across it",
        told,
        f"{mm(met.deep)} deep, {met.volume:.3g} mm3 in common",
        most(mm(ROOM)),
        f"move {names[0]} {moved}" if moved else f"move {names[0]} off {names[1]}, or drill a hole there",
        met.deep, ROOM, place=place(met.at), others=(off,),
    )  # fmt: skip


def _chains(piece: Piece, links: list[tuple[int, Body]]) -> Iterator[Verdict]:
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
            if met is None or not above(met.deep, bound):
                continue
            other = standing(body, met.common, link)
            yield Verdict(
                f"{piece.name_of(owner)} runs into {piece.name_of(other)}: a link stands in its metal", owner,
                f"{mm(met.deep)} deep, {met.volume:.3g} mm3 in common", most(f"{mm(bound)}, soldered on,"),
                f"leave more room for {piece.name_of(other)} in the chain, or lead it past",
                met.deep, bound, place=place(met.at), others=(other,),
            )  # fmt: skip
