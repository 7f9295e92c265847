"""Raised letters that run into other metal than that they stand on: beads, ropes, walls, prongs. Lengths mm."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..bench.feature import Feature
from ..bench.plan import PRISM
from ..bench.roles import Role
from ..geometry import frames as fr

if TYPE_CHECKING:
    from manifold3d import Manifold

    from ..measures.kinds import Floats
    from .piece import Piece
    from .plan_solids import PlanSolid

OVER = 0.05  # mm over the foot of a letter, from where it is looked at: faces curve a little
GROUND = 0.5  # of its root, with which a letter stands in the metal below it


@dataclass(frozen=True, eq=False)
class Over:
    """Letters of a line in the room of another: the ``spots`` (n, 3) of what they share, as seen from one
    letter that stands at ``frame`` (3, 4)."""

    line: int
    other: int
    spots: Floats
    frame: Floats

    @property
    def long(self) -> float:
        """How far it goes along the face, the way it goes least: mm across a letter, or up it."""
        return float(np.ptp(self.spots[:, :2], axis=0).min())

    @property
    def at(self) -> Floats:
        """The middle of it in the piece, (3,)."""
        return np.asarray(fr.apply(self.frame, (self.spots.min(axis=0) + self.spots.max(axis=0))[None] / 2)[0])


def over_others(piece: Piece) -> Iterator[Over]:
    """Every place where raised letters share room with metal of another line that is no engraving."""
    for feature, call in piece.with_role(Role.ENGRAVING):
        if not call.given("letters") or not call.get("raised") or call.get("bought"):
            continue
        into = call.get("on") or call.get("in")
        ground = into.bodies() if isinstance(into, Feature) else ()
        others = [one for one in piece.plan_solids if _may_meet(piece, one, ground)]
        for mark in piece.plan_solids:
            if mark.feature == feature.index and mark.kind == PRISM and mark.bent is None:
                for frame in mark.frames:
                    yield from _of_letter(piece, mark, frame, others)


def _may_meet(piece: Piece, one: PlanSolid, ground: Iterable[int]) -> bool:
    own = piece.features[one.feature]
    bought = piece.call(one.feature).get("bought")
    return not (one.cut or bought or own.body in ground or piece.is_for(one.feature, Role.ENGRAVING))


def _of_letter(piece: Piece, mark: PlanSolid, frame: Floats, others: list[PlanSolid]) -> Iterator[Over]:
    letter, home = piece.solid_of(mark), fr.inverse(frame)
    over, root = letter.trim_by_plane((0, 0, 1), OVER), letter.trim_by_plane((0, 0, -1), 0)
    low, high = np.array(letter.bounding_box()).reshape(2, 3)
    found: dict[int, list[Manifold]] = {}
    for one in others:
        points = piece.points_of(one)
        ways = fr.composed(home, one.frames)
        boxes = np.einsum("nij,kj->nki", ways[:, :, :3], points) + ways[:, None, :, 3]
        near = ((boxes.max(axis=1) > low) & (boxes.min(axis=1) < high)).all(axis=1)
        found.setdefault(one.feature, []).extend(piece.solid_of(one).transform(way) for way in ways[near])
    for line, solids in found.items():
        grounds = sum((root ^ one).volume() for one in solids) > GROUND * root.volume()
        spots = [np.asarray((over ^ one).to_mesh64().vert_properties)[:, :3] for one in solids]
        if not grounds and any(map(len, spots)):
            yield Over(mark.feature, line, np.concatenate(spots), frame)
