"""closed-links: castings whose closed loops go through one another."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...bench.roles import Role
from ...judging.castings import line_of
from ...judging.figure_rule import Reading

if TYPE_CHECKING:
    from ...judging.joints import Body, Joint
    from ...judging.piece import Piece


def check(piece: Piece) -> Iterator[Reading]:
    """One reading of each two castings, with their copies."""
    measures = piece.casting_measures
    found = [
        joint for joint in measures.joints
        if joint.how == "linked" and {owner for owner, _ in joint.rings} == {joint.one, joint.two}
        and all(_is_cast_whole(piece, measures.bodies[k]) for k in (joint.one, joint.two))
        and measures.bodies[joint.one].casting != measures.bodies[joint.two].casting
    ]  # fmt: skip
    told: dict[tuple[int, ...], list[tuple[Joint, str]]] = {}
    for joint in found:
        both = [measures.castings[measures.bodies[k].casting] for k in (joint.one, joint.two)]
        lines = [one.index for one in (line_of(piece, one.name) for one in both) if one is not None]
        own = [k for body in (joint.one, joint.two) for k in measures.bodies[body].shell.owners if k >= 0]
        pair = joint, " and ".join(one.called for one in both)
        told.setdefault(tuple(sorted(lines)) or (max(own),), []).append(pair)
    for pair_of, joints in told.items():
        joint, names = joints[0]
        places = f"at {len(joints)} places" if len(joints) > 1 else "two closed loops"
        at = joint.rings[0][1].mean(axis=0)
        yield Reading(pair_of[-1], float(len(joints)), at, words={"both": names, "places": places})


def _is_cast_whole(piece: Piece, body: Body) -> bool:
    """Whether a body is cast, and more than a ring of wire, the link of a chain or an ear wire with its eye,
    which open with pliers."""
    casting = piece.casting_measures.castings[body.casting]
    rings = {k for k in body.shell.owners if k < 0 or piece.features[k].opening is not None}
    owners = set(body.shell.owners)
    if all(k < 0 or piece.is_for(k, Role.EAR_WIRE) for k in owners):
        return False
    return not casting.bought and not owners <= rings and not owners <= piece.chains
