"""Raised letters that run into other metal than they stand on: beads, ropes, walls, prongs. Lengths mm."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..bench.feature import Feature
from ..bench.plan import PRISM
from ..bench.roles import Role
from ..geometry import frames as fr
from .digits import rounded_down
from .figure_rule import Reading
from .mark_places import laid_of

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
    letter that stands at ``frame`` (3, 4), ``half`` of it so far up, mm."""

    line: int
    other: int
    spots: Floats
    frame: Floats
    half: float

    @property
    def by_head(self) -> bool:
        """Whether it lies at the upper half of the letter."""
        return float(self.spots[:, 1].mean()) > self.half

    @property
    def deep(self) -> float:
        """How far up or down the letter it goes, mm."""
        return float(np.ptp(self.spots[:, 1]))

    @property
    def long(self) -> float:
        """How far it goes along the face, the way it goes least: mm across a letter, or up it."""
        return float(np.ptp(self.spots[:, :2], axis=0).min())

    @property
    def at(self) -> Floats:
        """The middle of it in the piece, (3,)."""
        middle = (self.spots.min(axis=0) + self.spots.max(axis=0)) / 2
        return np.asarray(fr.apply(self.frame, middle[None])[0])


def into_others(piece: Piece) -> Iterator[Reading]:
    """Raised letters that run into metal they do not stand on, the worst of each line of that."""
    found = dict[tuple[int, int], list[Over]]()
    for one in over_others(piece):
        found.setdefault((one.line, one.other), []).append(one)
    for pair, overs in found.items():
        bound = piece.bound("letters-off-face", "most", pair[0])
        worst = max(overs, key=lambda over: over.long)
        said = {"what": "letters", "line": piece.name_of(pair[1])}
        yield Reading(
            pair[0], worst.long, worst.at, find="into", bound=bound, others=pair, words=said,
            cure=_off(piece, overs),
        )  # fmt: skip


def _off(piece: Piece, overs: list[Over]) -> Callable[[float], str]:
    """What takes raised letters off other metal: farther in on a closed path, where that lies outside of
    them; or smaller."""

    def told(_: float) -> str:
        line, other = overs[0].line, overs[0].other
        clear, call = float(piece.bound("closing-gap", "least", line)), piece.call(line)
        laid, tall = laid_of(piece, line), piece.features[line].look("tall")
        deep = max(one.deep for one in overs) + clear
        outer = all(one.by_head == bool(call.get("heads-out")) for one in overs)
        inset = laid.inset(deep) if outer else ""
        spots = np.concatenate([fr.apply(one.frame, one.spots) for one in overs])
        whole = float(tall.value) if tall else 0.0  # along a path they grow from their middle
        size = whole - 2 * deep if call.given("along") else whole * laid.clear_of(spots, clear)
        ways = [f"say 'inset {inset}'"] if inset else []
        ways += [f"say 'tall {rounded_down(size)}'"] if size > whole / 2 else []
        return "; or ".join([*ways, f"move {piece.name_of(other)} off the letters"])

    return told


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


def _may_meet(piece: Piece, one: PlanSolid, ground: Collection[int | None]) -> bool:
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
            yield Over(mark.feature, line, np.concatenate(spots), frame, (low[1] + high[1]) / 2)
