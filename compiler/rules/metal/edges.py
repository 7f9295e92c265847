"""Edges and joints of the metal that are thin."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ...judging.digits import below, mm, place, rounded_up, share
from ...judging.remedies import off_its_room
from ...judging.rule import Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece
    from ...judging.weak_joints import WeakJoint


SHORT = 2.5  # mm; a sharp edge no longer is a point, as that of a star: metal stands behind it on both sides
BLUNT = 0.5  # mm, how wide an end fills


def feather_edge(piece: Piece) -> Iterator[Verdict]:
    """Metal that runs out to nothing."""
    told = {tuple(np.round(edge.at, 6)) for edge in piece.skin_measures.edges}
    for edge in piece.skin_measures.feathers:
        owner = next((one for one in edge.owners if one >= 0), 0)
        short = edge.length <= SHORT
        bound = piece.bound("feather-edge", "point" if short else "least", owner)
        if below(edge.angle, bound) and tuple(np.round(edge.at, 6)) not in told:
            yield Verdict(
                f"{piece.name_of(owner)} runs out to a {'sharp point' if short else 'feather edge'}",
                owner,
                f"{edge.angle:.0f} degrees of metal over {mm(edge.length)}",
                f"{bound:g} degrees or more",
                off_its_room(piece, edge.owners)
                or f"cut or round it off {mm(_off(edge.angle))} back, where it is {mm(BLUNT)} thick, or let "
                "it run into other metal",
                edge.angle,
                bound,
                place=place(edge.at),
                others=tuple(one for one in edge.owners if one >= 0 and one != owner)[:1],
            )


def _off(angle: float) -> float:
    """How far back from its edge a wedge of so many degrees is thick enough to fill, mm."""
    return BLUNT / 2 / math.tan(math.radians(angle) / 2)


def weak_joint(piece: Piece) -> Iterator[Verdict]:
    """Metal that holds to other metal over too little."""
    prongs = frozenset(piece.rods.feature[piece.prongs.rod].tolist())
    fused = {frozenset(pair[:2]) for pair in piece.casting_measures.fused}
    casting = {int(f): part.casting for part in piece.parts for f in np.unique(part.owner)}
    for joint in piece.skin_measures.weak_joints:
        if casting.get(joint.feature) != casting.get(joint.other):
            continue  # two castings are not joined: see castings-meet
        if frozenset((joint.feature, joint.other)) in fused:
            continue  # links, which are to hang free: see tight-link
        neck = joint.neck
        bound = piece.bound("weak-joint", "least", joint.feature)
        figure = neck.area / neck.section
        if below(figure, bound) and not joint.features <= prongs:  # see footless-prong
            yield Verdict(
                f"{piece.name_of(joint.feature)} holds to {piece.name_of(joint.other)} by little metal",
                joint.feature,
                f"joined over {neck.area:.2g} mm2, {share(figure)} of its section of "
                f"{neck.section:.3g} mm2" + (" at both sides" if joint.both else ""),
                f"{share(bound)} of it or more, {bound * neck.section:.2g} mm2",
                _remedy(piece, joint, bound),
                figure,
                bound,
                keys=("sunk", "root", "inward", "foot", "up"),
                place=place(neck.at),
                others=(joint.other,),
            )


def _remedy(piece: Piece, joint: WeakJoint, bound: float) -> str:
    """As deep as all joints of the line want it that look the same way."""
    wanted = f"{bound * joint.neck.section:.2g} mm2"
    if joint.deeper is None:
        return f"lay more metal in the joint: {wanted}"
    way = joint.deeper[1]
    alike = [one.deeper for one in piece.skin_measures.weak_joints if one.feature == joint.feature]
    deep = max(one[0] for one in alike if one is not None and one[1] == way)
    return f"sink it {rounded_up(1.05 * deep + 0.02)} deeper, {way}, or lay {wanted} of metal in the joint"
