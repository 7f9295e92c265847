"""What hangs by each loop of a piece: its own casting where that is hung by it, and all that hangs below."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from ..bench.roles import Role
from ..bench.things import indices
from .castings import HELD_BY, is_hung
from .hanging import Loop, carrying

if TYPE_CHECKING:
    from .castings import Body
    from .piece import Piece


def load_on(piece: Piece, feature: int) -> float:
    """The weight that hangs by the loops of a line, metal and stones, g: the most on any of them."""
    measures = piece.casting_measures
    if len(measures.castings) == 1:
        return 0.0 if is_hung(piece, feature) else piece.weight
    loops = [loop for loop in piece.wear_measures.loops if loop.feature == feature]
    if not loops:  # a strap
        mine = (one for one in measures.castings if (one.skin.owner == feature).any())
        return max((one.centre[0] for one in mine), default=0.0)
    return max(_load(piece, loop) for loop in loops)


def _load(piece: Piece, loop: Loop) -> float:
    measures = piece.casting_measures
    here = measures.body_at(loop.wire_spot)
    if here is None:
        return 0.0
    mine = measures.bodies[here].casting
    links, hung = [measures.bodies[k] for k in measures.links(loop)], is_hung(piece, loop.feature)
    through = {one.casting for one in links if not hung or _below(piece, loop, one)} - {mine}
    casting = measures.castings[mine]
    below = _reached(piece, through, mine)
    if not hung and not measures.bears(loop):
        owners = {owner for owner in casting.skin.owner.tolist() if owner >= 0}
        held = any(piece.is_for(one, *HELD_BY, Role.SHANK) for one in owners)
        hangs_by = carrying(casting.loops, casting.skin)
        if held or not any((loop.middle == one.middle).all() for one in hangs_by):
            return 0.0
        below = _reached(piece, [mine], None) - below
    return sum(measures.castings[k].centre[0] for k in below)


def _below(piece: Piece, loop: Loop, body: Body) -> bool:
    """Whether a body that goes through a hung loop hangs by it: lower, or where that is drawn aside not what
    it hangs in itself."""
    call = piece.call(loop.feature)
    if call.get("around", 0.0):
        return indices(call.get("hangs-in")).isdisjoint(body.shell.owners)
    return bool(body.shell.centre[1] < loop.middle[1])


def _reached(piece: Piece, start: Iterable[int], without: int | None) -> set[int]:
    """The castings by number that hold together with some of them, not by way of one."""
    measures = piece.casting_measures
    ties = [(measures.bodies[one.one].casting, measures.bodies[one.two].casting) for one in measures.joints]
    found = set(start)
    while True:
        more = {
            two for tie in ties for one, two in (tie, tie[::-1])
            if one in found and two not in found and without not in (one, two)
        }  # fmt: skip
        if not more:
            return found
        found |= more
