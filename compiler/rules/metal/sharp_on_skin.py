"""sharp-on-skin: edges that scratch the wearer."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ....lang.terms import Name
from ...bench.roles import FigureOf, Role
from ...judging.digits import below, mm, place
from ...judging.figures import figure
from ...judging.remedies import off_its_room, written
from ...judging.rule import Level, Rule, Verdict
from ...shapes.sections import EDGE

if TYPE_CHECKING:
    from ...judging.piece import Piece

RIM, INTO = 0.6, 0.05  # mm, how high a rim stands that eases a sharp edge, and how far it reaches in


def _check(piece: Piece) -> Iterator[Verdict]:
    if piece.with_role(Role.PIN):
        return  # worn on cloth
    where = "the finger's side" if piece.wear_measures.bore is not None else "the back"
    for edge in piece.skin_measures.edges:
        owner = next((one for one in edge.owners if one >= 0), 0)
        bound = piece.bound("sharp-on-skin", "least", owner)
        if below(edge.angle, bound):
            yield Verdict(
                f"a sharp edge of {piece.name_of(owner)} on {where}",
                owner,
                f"{edge.angle:.0f} degrees of metal over {mm(edge.length)}",
                f"{bound:g} degrees or more",
                off_its_room(piece, edge.owners) or _remedy(piece, owner),
                edge.angle,
                bound,
                place=place(edge.at),
            )


def _remedy(piece: Piece, owner: int) -> str:
    """What can be written: a clause that eases its edges; of a dome a rim to stand on, of a wire with edges
    at its back one of the same width behind."""
    call = piece.call(owner)
    line = piece.source_lines.of(call, None, ()).line
    said = piece.source_lines.can_say
    easing = [one for one in ("bevel", "soften") if line is not None and said(line, one)]
    if easing and call.get("profile", "flat") == "flat":
        return f"ease the edge ('{easing[0]}'), stand it on an upright rim, or turn it away from the skin"
    if line is not None and said(line, "profile") and EDGE.get(call.get("profile")) == 0:
        return "write 'profile d': its sides stand upright"
    name, across = written(piece, owner)[0], call.get("across")
    if across and call.get("height"):  # what rises from a round edge
        wall = call.get("wall")
        rim = f"disc rim: at origin of {name}, across {mm(across)}"
        if wall:
            rim = f"tube rim: at origin of {name}, outside {mm(across)}, inside {mm(across - 2 * wall)}"
        high = f"{'long' if wall else 'thick'} {mm(RIM + INTO)}, inward {mm(RIM)}"
        return f"stand it on an upright rim: add {rim}, {high}"
    section = figure(call, FigureOf.SECTION)
    along = piece.source_lines.of(call, "along", ("along",)).clause
    if section and isinstance(section[1], tuple) and along is not None and isinstance(along.value, Name):
        wide, high = section[1]
        return (
            f"lay flat wire behind it: add wire strip: along {along.value.name}, "
            f"flat {mm(wide)[:-3]} x {mm(RIM)}, inward {mm(high / 2 + RIM / 2 - INTO)}; "
            "or take wire without edges at the back"
        )
    return "cover it with metal that stands upright there, or turn it away from the skin"


RULE = Rule(
    "sharp-on-skin",
    "A sharp edge lies on the skin.",
    "metal",
    Level.WARNING,
    "Square edges are eased in finishing; a sharper one is a blade on the skin, and rounds "
    "over to less than was drawn.",
    "Bevel or round it.",
    "house choice, no source",
    _check,
)
