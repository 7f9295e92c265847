"""weak-joint: metal that holds to other metal over too little."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ...judging.digits import below, place, share
from ...judging.moves import lead, told
from ...judging.rule import Level, Rule, Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece
    from ...judging.weak_joints import WeakJoint


def _check(piece: Piece) -> Iterator[Verdict]:
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
    mover = lead(piece, joint.feature)
    moved = told(piece, mover, (1.05 * deep + 0.02) * np.array(way), "deeper", joint.other)
    name = "it" if mover == joint.feature else piece.name_of(mover)
    return f"sink {name} {moved}, or lay {wanted} of metal in the joint"

RULE = Rule(
    "weak-joint",
    "A part holds by too little metal.",
    "metal",
    Level.WARNING,
    "A neck much thinner than what hangs by it does not fill in casting, and breaks on the first "
    "knock.",
    "Sink the part deeper, or widen what joins it.",
    "house choice, no source",
    _check,
)
