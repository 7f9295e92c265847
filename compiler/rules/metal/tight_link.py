"""tight-link: linked parts without play."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...judging.digits import below, least, mm, place, rounded_up
from ...judging.nearness import between
from ...judging.rule import Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece


def check(piece: Piece) -> Iterator[Verdict]:
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
