"""Bought pins that a hole of other metal holds all round: riveted or pushed in, without heat."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..measures.rays import within

if TYPE_CHECKING:
    from .castings import Body
    from .piece import Piece

FIT = 0.03  # mm, the wall of a hole lies this near to the pin in it: two curves cut into chords
ALONG, ROUND = 0.05, 0.3  # of the area touched: less looks along the pin, more across it either way
ONE_SIDED = 0.2  # of the area touched may look one way only: a pin is held from all sides


def pins_of(piece: Piece) -> frozenset[int]:
    """The bought bodies, by number, that are held as a pin is."""
    measures = piece.casting_measures
    return frozenset(
        pin for joint in measures.joints if joint.how == "soldered"
        for pin, other in ((joint.one, joint.two), (joint.two, joint.one))
        if measures.castings[measures.bodies[pin].casting].bought
        and _in_hole(measures.bodies[pin], measures.bodies[other])
    )  # fmt: skip


def _in_hole(pin: Body, other: Body) -> bool:
    """Whether the faces of another body that touch a bought one are the wall of a hole round it."""
    skin, middles = other.skin, other.skin.corners.mean(axis=1)
    low, high = pin.skin.box
    faces = np.flatnonzero(((middles > low - FIT) & (middles < high + FIT)).all(axis=1))
    faces = faces[within(pin.skin, middles[faces], FIT)]
    area, looks, spots = skin.areas[faces], skin.normals[faces], middles[faces]
    if not area.sum() > 0:
        return False
    share = area / area.sum()
    along, across, _ = np.linalg.eigvalsh(np.einsum("n,ni,nj->ij", share, looks, looks))
    inward = share @ ((share @ spots - spots) * looks).sum(axis=1)
    return bool(along < ALONG and across > ROUND and np.linalg.norm(share @ looks) < ONE_SIDED and inward > 0)
