"""How much of each bead is left to be seen, beside the metal it stands in."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..bench.roles import Role
from ..geometry import frames as fr
from ..measures.kinds import unit
from .beads import rows_of
from .digits import mm, rounded_up
from .figure_rule import Reading
from .moves import move
from .twins import laid_by

if TYPE_CHECKING:
    from ..measures.kinds import Floats, Ints
    from .piece import Piece
    from .plan_solids import PlanSolid

TOUCHING = 0.003  # mm, as near as chords tell
MEET = 0.96  # of their diameter, as far as granules lie from one another to hold together
STANDS = 0.5  # of its diameter, a bead that stands on another is higher


@dataclass(frozen=True)
class Bead:
    """A bead, how thick, mm: where its surface goes, ``spots`` (n, 3), its middle ``at`` (3,), the way ``up``
    (3,) it stands, the ``share`` of its surface on the skin of the piece, and the ``way`` (3,) that looks."""

    feature: int
    across: float
    spots: Floats
    at: Floats
    up: Floats
    share: float
    way: Floats

    def out_of_others(self, beads: list[Bead]) -> float:
        """The share of its surface that no other metal holds than the ``beads`` of its own line."""
        own = [one for one in beads if one is not self]
        held = [np.linalg.norm(self.spots - one.at, axis=1) < one.across / 2 for one in own]
        return self.share + float(np.any(held, axis=0).mean() if own else 0.0)

    def is_crowned(self, beads: list[Bead]) -> bool:
        """Whether another of its line stands on it."""
        go = [(one.at - self.at, one.across + self.across) for one in beads if one is not self]
        return any(2 * np.linalg.norm(way) < both and way @ self.up > STANDS * both / 2 for way, both in go)


def beads_by_line(piece: Piece) -> Iterator[list[Bead]]:
    """The beads that each of the user's own lines makes, but for grains beside stones and rows of beads;
    without those of which nothing is on the skin."""
    solid, features = piece.skin_measures.solid_faces
    first = np.searchsorted(features, range(len(piece.features)))
    rows = {row.feature for row in rows_of(piece)}
    lines: dict[object, list[Bead]] = {}
    for feature, call in piece.with_role(Role.BEAD):
        copies = [
            (one, frame) for one in piece.plan_solids if one.feature == feature.index and not one.cut
            for frame in one.frames
        ]  # fmt: skip
        apart = features.count(feature.index) == len(copies) and feature.index not in rows
        if apart and not piece.is_for(feature.index, Role.GRAINS):
            own = lines.setdefault((call.trail or (call.span,))[0], [])
            for k, (one, frame) in enumerate(copies):
                faces = np.flatnonzero(solid == first[feature.index] + k)
                own += [_bead(piece, one, frame, faces)] if len(faces) else []
    yield from (beads for beads in lines.values() if beads)


def _bead(piece: Piece, one: PlanSolid, frame: Floats, faces: Ints) -> Bead:
    spots, skin = fr.apply(frame, piece.points_of(one)), piece.skin_measures.skin
    middle, across = (spots.min(axis=0) + spots.max(axis=0)) / 2, float(np.ptp(spots[:, 2]))
    way = unit((skin.areas[faces, None] * skin.normals[faces]).sum(axis=0))
    share = float(skin.areas[faces].sum() / piece.solid_of(one).surface_area())
    return Bead(one.feature, across, spots, middle, frame[:, 2], share, way)


def slits(piece: Piece) -> Iterator[Reading]:
    """Two beads of one line, no row of beads, with hardly any air between them."""
    for beads in beads_by_line(piece):
        if len(beads) < 2:
            continue
        at, half = np.stack([one.at for one in beads]), np.array([one.across / 2 for one in beads])
        room = np.linalg.norm(at[:, None] - at, axis=2) - half[:, None] - half
        room[(room < TOUCHING) | np.tri(len(beads), dtype=bool)] = np.inf
        one, two = np.unravel_index(int(room.argmin()), room.shape)
        if np.isfinite(room[one, two]):
            line, both = beads[one].feature, float(half[one] + half[two])
            nearer = laid_by(piece, line, MEET * both / (both + float(room[one, two])))
            yield Reading(
                line, float(room[one, two]), at[[one, two]].mean(axis=0), find="grains",
                words={"where": f"between two of {piece.name_of(line)}", "touch": mm(MEET * both)},
                value=lambda bound, both=both: rounded_up(both + bound),
                cure=f"write {nearer}: so they hold to one another" if nearer else None,
            )  # fmt: skip


def half_out(piece: Piece, bead: Bead) -> str:
    """What brings a bead half out of the metal it stands in, the way it looks out of that."""
    far, name = (0.5 - bead.share) * bead.across, piece.name_of(bead.feature)
    moved = move(piece, bead.feature, far * bead.way)
    off = f"lay {name} {rounded_up(far)} farther off that metal"
    told = f"move {name} {moved.in_piece}" if moved else off
    return f"{told}; or leave out what lies in it"
