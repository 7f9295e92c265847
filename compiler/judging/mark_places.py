"""Where letters and lines that run past the metal would lie on a whole face, as the clauses that say so."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..bench.along import ways
from ..bench.feature import Feature, Places
from ..bench.plan import PRISM
from ..geometry import frames as fr
from ..geometry.outlines import trace_all
from ..words.contour import CONTOURS
from ..words.text_run import middle_share
from .digits import rounded_up
from .mark_faces import APART, SMALLER, fits, on_face
from .moves import move

if TYPE_CHECKING:
    from ...lang.bench import Call
    from .piece import Piece
    from .plan_solids import PlanSolid

FINE = 0.03  # mm, chord error of the edges looked along
SHARES = np.arange(1, 11) / 20  # of a path, how far from its place another is looked for
MOVES = np.arange(0.5, 12.5, 0.5)  # mm, as far on a face
SPARSE = 3  # every so manieth spot of their edges is looked at then


@dataclass(frozen=True, eq=False)
class Laid:
    """The marks of a line: their ``frames`` (n, 3, 4), to each the ``edges`` (k, 2) and the ``grounds``
    (k, 3, 4) of these, and the places ``homes`` (n, 3) they were laid from; how ``low`` they are cut, or
    stand if ``raised``, mm; and the ``marks`` themselves."""

    piece: Piece
    line: int
    frames: np.ndarray
    edges: list[np.ndarray]
    grounds: list[np.ndarray]
    homes: np.ndarray
    low: float
    raised: bool
    marks: list[PlanSolid]

    @property
    def call(self) -> Call:
        """The line itself."""
        return self.piece.call(self.line)

    def _whole(self, at: np.ndarray, up: np.ndarray) -> bool:
        return bool(on_face(self.piece.skin_measures.skin, at, up, self.low, self.raised).all())

    def elsewhere(self, rim: float) -> str:
        """Where on their path letters have a whole face below them and ``rim`` mm before and after, as in
        '50 %'; "" where they have not, or do not stand along one."""
        placed = isinstance(self.call.get("centred"), Feature | Places)
        if placed or not (self.call.given("letters") and self.call.given("along")):
            return ""
        line = ways(self.call)[0]
        total, middle = line.length(), middle_share(self.call, line)
        at = np.array([line.share_at(one) for one in self.frames[:, :, 3]])

        def whole(share: float) -> bool:
            new = line.frames_at(((at + share) % 1.0 if line.closed else at + share) * total)
            stood = np.concatenate([
                fr.compose(after[None], fr.compose(fr.inverse(before)[None], ground))
                for before, after, ground in zip(line.frames_at(at * total), new, self.grounds, strict=True)
            ])  # fmt: skip
            return self._whole(stood[:, :, 3], stood[:, :, 2])

        letter = float(np.ptp(at)) / max(len(at) - 1, 1)
        for share in ((0.5, 0.25, 0.75) if line.closed else ()) + tuple(np.ravel((-SHARES, SHARES), "F")):
            inside = line.closed or (at.min() + share > letter and at.max() + share < 1 - letter)
            if inside and all(whole(share + by) for by in (0.0, -rim / total, rim / total)):
                return f"{round(100 * (share + middle)) % 100} %"
        return ""

    def inset(self, by: float) -> str:
        """How far inside a closed path letters lie that go ``by`` mm farther in and have a whole face there,
        as '2 mm'; "" where they have not, or do not go along one."""
        if not (self.call.given("letters") and self.call.given("along") and ways(self.call)[0].closed):
            return ""
        inward = (-by if self.call.get("heads-out") else by) * self.frames[:, None, :, 1]
        at = [ground[:, :, 3] + way for ground, way in zip(self.grounds, inward, strict=True)]
        whole = self._whole(np.concatenate(at), np.concatenate(self.grounds)[:, :, 2])
        return rounded_up(float(self.call.get("inset") or 0.0) + by) if whole else ""

    def moved(self, rim: float) -> str:
        """The least move up, down or to a side that leaves marks ``rim`` mm of whole face all round, as it
        is told; "" where there is none, or they go along a path."""
        if self.call.given("along"):
            return ""
        stood = np.concatenate(self.grounds)[::SPARSE]
        at, right, up, out = (stood[:, :, 3], *stood[0, :, :2].T, stood[:, :, 2])
        sides = (-up, up, -right, right)
        for way in (far * side for far in MOVES for side in sides):
            if self._whole(at + way, out) and all(self._whole(at + way + rim * side, out) for side in sides):
                told = move(self.piece, self.line, way)
                return told.in_piece if told else ""
        return ""

    def fitting(self, rim: float) -> float | None:
        """The share of their size at which marks leave ``rim`` mm to their face; None for none."""
        bent = [one for one in self.marks if one.bent is not None]
        if len(bent) < len(self.marks):
            skin = self.piece.skin_measures.skin
            return fits(skin, self.grounds, self.homes, self.low, self.raised, rim)
        flat = np.concatenate([one.bent[2].stood(0, edge_of(one))[:, :, 3] for one in bent if one.bent])
        middle = (flat.min(axis=0) + flat.max(axis=0)) / 2
        more = rim / float(np.abs(flat - middle).max())
        for share in SMALLER.tolist():
            stood = np.concatenate([one.scaled(edge_of(one), middle, share + more) for one in bent])
            if self._whole(stood[:, :, 3], stood[:, :, 2]):
                return share
        return None

    def smaller(self) -> str:
        """What keeps marks within their face where they are: of an outline the clause to write, its longer
        side shortened."""
        key = next((key for key in CONTOURS if self.call.given(key)), None)
        size = self.call.get(key) if key else None
        sides = list(size) if isinstance(size, tuple) else [size] if isinstance(size, float) else []
        share = self.fitting(0.0) if sides else None
        if share is None:
            return "make them smaller, or move them inward"
        long = sides.index(max(sides))
        sides[long] = math.floor(20 * share * sides[long]) / 20
        return f"write {key} {' x '.join(f'{side:g}' for side in sides)} mm"

    def clear_of(self, spots: np.ndarray, far: float) -> float:
        """The share of their size at which marks are so ``far`` from spots (m, 3), mm; 0 for none."""
        homes = np.repeat(self.homes, [len(one) for one in self.grounds], axis=0)
        go = np.concatenate(self.grounds)[:, :, 3] - homes

        def off(share: float) -> float:
            return float(np.linalg.norm((homes + share * go)[::SPARSE, None] - spots, axis=2).min())

        return next((share for share in SMALLER.tolist() if off(share) > far), 0.0)


def laid_of(piece: Piece, line: int) -> Laid:
    """The flat marks of a line as they are laid; at least one."""
    marks = [one for one in piece.plan_solids if one.feature == line and one.kind == PRISM]
    copies = [(one, edge, k) for one in marks for edge in [edge_of(one)] for k in range(len(one.frames))]
    return Laid(
        piece, line, np.concatenate([one.frames for one in marks]), [edge for _, edge, _ in copies],
        [one.stood(k, edge) for one, edge, k in copies],
        np.concatenate([_home(one, piece.features[line].frames) for one in marks]),
        float(marks[0].figures[1]), not marks[0].cut, marks,
    )  # fmt: skip


def _home(mark: PlanSolid, places: np.ndarray) -> np.ndarray:
    """For each copy of a mark the place (n, 3) it was laid from: the nearest one."""
    at = mark.frames[:, :, 3]
    near = np.linalg.norm(at[:, None] - places[None, :, :, 3], axis=2).argmin(axis=1)
    return np.asarray(places[near, :, 3])


def edge_of(mark: PlanSolid) -> np.ndarray:
    """Spots (k, 2) along all edges of a mark, evenly apart."""
    spots = []
    for loop in trace_all(mark.figures[0], FINE):
        way = np.roll(loop, -1, axis=0) - loop
        count = np.maximum(np.ceil(np.linalg.norm(way, axis=1) / APART).astype(int), 1)
        row = np.repeat(np.arange(len(loop)), count)
        step = np.concatenate([np.arange(n) / n for n in count])
        spots.append(loop[row] + step[:, None] * way[row])
    return np.concatenate(spots)
