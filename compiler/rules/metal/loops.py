"""Loops and rings in the metal: slack, tight, captive."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ...bench.roles import Role
from ...judging.digits import above, below, least, mm, place, rounded_up, share
from ...judging.nearness import between
from ...judging.rule import Verdict

if TYPE_CHECKING:
    from ...bench.feature import Feature
    from ...judging.castings import Casting
    from ...judging.piece import Piece
    from ...measures.kinds import Floats


def slack_loop(piece: Piece) -> Iterator[Verdict]:
    """One of two loops carries nothing."""
    for _, rest in piece.casting_measures.rests:
        if len(rest.loops) < 2:
            continue
        loads = [rest.hang.shares[0], rest.hang.shares[1]]
        loop = rest.loops[loads.index(min(loads))]
        bound = piece.bound("slack-loop", "least", loop.feature)
        if below(min(loads), bound):
            yield Verdict(
                "one loop hangs slack: the weight does not lie between the two",
                loop.feature,
                f"it carries {share(min(loads))} of the weight",
                least(share(bound)),
                "move the loops apart until the middle of the weight lies between them",
                min(loads),
                bound,
                place=place(loop.middle),
            )


def tight_link(piece: Piece) -> Iterator[Verdict]:
    """Linked parts without play."""
    for joint in piece.casting_measures.joints:
        one, two = piece.casting_measures.bodies[joint.one], piece.casting_measures.bodies[joint.two]
        if joint.how == "soldered" or one.casting == two.casting:
            continue  # of one casting, see closing-gap
        near = between(two.skin, one.skin)
        mine, other = max(near.first, 0), max(near.second, 0)
        bound = piece.bound("tight-link", "least", mine)
        play = one.gap(two, 1.1 * bound)
        if below(play, bound):
            names = piece.name_of(mine), piece.name_of(other)
            rings = all(piece.features[one].opening is not None for one in (mine, other))
            yield Verdict(
                f"{names[0]} hangs in {names[1]} without play" if rings
                else f"{names[0]} stands against {names[1]}: the link has no play",
                mine,
                mm(play),
                least(mm(bound)),
                "make its inside larger, or its wire thinner" if rings
                else f"move {names[0]} off {names[1]}: set them farther apart, or make the ring larger",
                play,
                bound,
                keys=("inside", "wire"),
                place=place(near.at),
            )  # fmt: skip
    for loop, hole, room in piece.casting_measures.in_holes:
        bound = piece.bound("tight-link", "least", loop.feature)
        if below(room, bound):
            across = piece.call(hole).figure("across") or 0.0
            yield Verdict(
                f"{piece.name_of(hole)} is too small for the wire that goes through it",
                loop.feature,
                f"{mm(max(room, 0.0))} round wire of {mm(loop.wire)} in a hole of {mm(across)}",
                least(mm(bound)),
                f"drill it {rounded_up(across + 2 * (bound - room))} across, or take thinner wire",
                room,
                bound,
                keys=("wire", "across"),
                place=place(loop.middle),
                others=(hole,),
            )
    for first, second, spot in piece.casting_measures.fused:
        bound = piece.bound("tight-link", "least", second)
        names = piece.name_of(first), piece.name_of(second)
        whose = f"the links of {names[0]}" if names[0] == names[1] else " and ".join(names)
        yield Verdict(
            f"{whose} touch where they pass through "
            "one another: cast so they are one, and do not swing",
            second,
            "no room between them",
            least(mm(bound)),
            "give them more room, by a larger inside or thinner wire; say 'bought' of what is not cast",
            0.0,
            bound,
            keys=("inside", "wide", "wire"),
            place=place(spot),
            others=(first,),
        )


def captive_ring(piece: Piece) -> Iterator[Verdict]:
    """A loose ring round another casting that is wider on both sides of it."""
    cast = piece.casting_measures.cast
    rings = piece.with_role(Role.SHANK) if len(cast) > 1 else ()
    for ring, _ in rings:
        mine = next((one for one in cast if ring.index in one.skin.owner), None)
        for other in cast if mine is not None else ():
            if mine is not None and other is not mine and (found := _held(piece, ring, mine, other)):
                yield found


def _held(piece: Piece, ring: Feature, mine: Casting, other: Casting) -> Verdict | None:
    """What is told of a ring that cannot go over what stands within it, whole."""
    own, on_own = _round(ring, mine.skin.corners[mine.skin.owner == ring.index].reshape(-1, 3))
    off, along = _round(ring, other.skin.corners.reshape(-1, 3))
    inside, low, high = float(own.min()), float(on_own.min()), float(on_own.max())
    sides, within = along.reshape(-1, 3), (off.reshape(-1, 3) < inside).all(axis=1)
    through = (sides.min(axis=1) < high) & (sides.max(axis=1) > low) & within
    beyond = [float(off[one].max(initial=0.0)) for one in (along <= low, along >= high)]
    if not through.any() or not above(min(beyond), inside):
        return None
    edge = int(other.skin.owner[int(np.where(along >= high, off, 0.0).argmax()) // 3])
    name, held = piece.name_of(ring.index), piece.name_of(edge) if edge >= 0 else other.called
    return Verdict(
        f"{name} cannot go over {held} whole: the metal within it is wider on both sides",
        ring.index,
        f"{mm(2 * inside)} inside, {mm(2 * min(beyond))} to pass",
        "a way on, from one side",
        f"cast {name} open and close it in its place, or solder {held} on after it",
        inside,
        min(beyond),
        keys=("inside",),
        place=place(ring.frames[0, :, 3]),
    )


def _round(ring: Feature, spots: Floats) -> tuple[Floats, Floats]:
    """How far spots (n, 3) lie from the axis of a ring, and where along it."""
    frame = ring.frames[0]
    from_middle = spots - frame[:, 3]
    along = from_middle @ frame[:, 1]
    return np.linalg.norm(from_middle - along[:, None] * frame[:, 1], axis=1), along
