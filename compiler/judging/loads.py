"""What hangs by each loop of a piece: its own casting where that is hung by it, and all that hangs below."""

from __future__ import annotations

import math

from ..bench.roles import Role
from ..bench.things import indices
from ..measures.closest import nearest
from .carried import bears_at, reached, weight_of
from .castings import HELD_BY, is_hung
from .hanging import Loop
from .piece import Piece
from .posts import bent


def load_on(piece: Piece, feature: int) -> float:
    """The weight that hangs by the loops of a line, metal and stones, g: the most on any of them."""
    measures = piece.casting_measures
    loops = [loop for loop in piece.wear_measures.loops if loop.feature == feature]
    if not loops:  # a strap
        mine = (k for k, one in enumerate(measures.bodies) if (one.skin.owner == feature).any())
        fast = [joint for joint in measures.held if joint.how in ("soldered", "hinged")]
        return max((weight_of(piece, reached(fast, [k], ()))[0] for k in mine), default=0.0)
    return max(_load(piece, loop) for loop in loops)


def ear_wire(piece: Piece, feature: int) -> float:
    """The thickness of the wire through the ear that the loops of a line hang by, mm, the thickest of
    several; infinite where they do not all hang so."""
    wires = {line: thick for line, thick, _ in bent(piece, Role.EAR_WIRE)}
    if not wires:
        return math.inf
    measures = piece.casting_measures
    held = [(measures.assemblies[k], body.shell.owners) for k, body in enumerate(measures.bodies)]
    worn = {together: wires[one] for together, owners in held for one in owners if one in wires}
    mine = [worn.get(together, math.inf) for together, owners in held if feature in owners]
    return max(mine, default=math.inf)


def _load(piece: Piece, loop: Loop) -> float:
    measures = piece.casting_measures
    here = measures.body_of(loop)
    if here is None:
        return 0.0
    hung = is_hung(piece, loop.feature)
    through = [k for k in measures.links(loop) if not hung or _below(piece, loop, k)]
    below = reached(measures.held, through, [here])
    if not hung and not measures.bears(loop):
        casting = measures.castings[measures.bodies[here].casting]
        owners = {owner for owner in casting.skin.owner.tolist() if owner >= 0}
        held = casting.pinned or any(piece.is_for(one, *HELD_BY, Role.SHANK) for one in owners)
        if held or not any((loop.middle == one.middle).all() for one in casting.hangs_by):
            return 0.0
        away = {k for one in casting.hangs_by for k in _through(piece, one, here)}
        return weight_of(piece, reached(measures.held, [here], {*below, *away}))[0]
    if _in_a_round(piece, loop, here, below):
        return weight_of(piece, reached(measures.joints, [here], ()))[0] / 2
    ends = ({joint.one, joint.two} for joint in measures.held)
    by = sum(here in pair and not below.isdisjoint(pair) for pair in ends)  # a chain may come back to it
    return weight_of(piece, below)[0] / max(by, 1)


def _in_a_round(piece: Piece, loop: Loop, here: int, below: frozenset[int]) -> bool:
    """Whether the chain from a loop of body ``here`` comes to a clasp by the bodies ``below``, and so does
    that from another loop of it: worn round neck or wrist, either side carries half."""
    measures = piece.casting_measures
    others = [one for one in piece.wear_measures.loops if measures.body_of(one) == here and one is not loop]
    beside = [k for one in others for k in measures.links(one) if k not in below]
    sides = below, reached(measures.joints, beside, [here])
    owners = [{one for k in side for one in measures.bodies[k].shell.owners if one >= 0} for side in sides]
    return all(any(piece.is_for(one, Role.CLASP) for one in side) for side in owners)


def _through(piece: Piece, loop: Loop, here: int) -> set[int]:
    """The bodies by number beside body ``here`` that it hangs by at one of its loops: links of the loop, and
    those of a bought chain whose end is drawn so near in it that it counts as soldered on."""
    measures = piece.casting_measures
    beside = {joint.one + joint.two - here for joint in measures.joints if here in (joint.one, joint.two)}
    reach, part = loop.inside / 2 + loop.wire, {k: measures.bodies[k].casting for k in beside}
    bought = [k for k in beside if measures.castings[part[k]].bought]
    near = {part[k] for k in bought if nearest(measures.bodies[k].skin, loop.middle)[0] < reach}
    return {k for k in beside if part[k] in near}.union(measures.links(loop))


def _below(piece: Piece, loop: Loop, body: int) -> bool:
    """Whether a body, by number, that goes through a hung loop hangs by it: lower, or where that is drawn
    aside not what it hangs in itself."""
    measures, call = piece.casting_measures, piece.call(loop.feature)
    if call.get("around", 0.0):
        return indices(call.get("hangs-in")).isdisjoint(measures.bodies[body].shell.owners)
    return bool(bears_at(piece, measures.links(loop)[body], body)[1] < loop.middle[1])
