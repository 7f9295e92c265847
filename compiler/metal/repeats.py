"""The metal of a piece that goes on the same for a long way: made short, then put back.

Ties together ``periods`` (where the work repeats), ``folds`` (the short piece), the kernel, and
``unfold`` (the whole piece); long even rows of beads of another pitch go through ``strips``.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import field, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from ...lang.lean import dataclass
from ..bench.plan import Step, labels_of
from .copies import Copies
from .folds import Folds, stretches
from .kernel import Readout, problem
from .locality import met
from .memo import key_of
from .periods import Chains, Crowd, Place, folds_of, pitches_of
from .runs import rows_of
from .unfold import CUTS, lengths_of, unfolded

if TYPE_CHECKING:
    from manifold3d import Manifold

    from .items import Solid
    from .solids import Workshop


PART_TRIANGLES = 5_000  # a guess at those of a part built by itself
END_COPIES = 5  # at either end of a run these may be real ones


@dataclass(frozen=True, eq=False)
class Repeats:
    """How a piece is made short: its ``folds``, who stands where in the stretches left out, and
    which copies go through strips (by the key of their step: the rows' frames)."""

    folds: Folds
    names: Names
    runs: dict[str, np.ndarray]

    def of(self, copies: Copies) -> list[Copies]:
        """A step's copies in the short piece; those of a run stay where they are."""
        run = self.runs.get(copies.owner.key)
        if run is None:
            return self.folds.of(copies)
        rest = copies.part(~run)
        return [*(self.folds.of(rest) if len(rest) else []), copies.part(run)]

    def is_run(self, copies: Copies) -> bool:
        """Whether copies are those of a run."""
        run = self.runs.get(copies.owner.key)
        return run is not None and len(copies) == int(run.sum())

    def whole(self, solid: Manifold) -> tuple[Readout, float] | None:
        """The whole metal of the short one, and its volume as the kernel tells it, mm3."""
        if problem(solid) is not None:
            return None
        cut = lengths_of(solid, self.folds)
        if cut is None:
            return None
        out = unfolded(cut[0], self.folds, self.names.renamed)
        return None if out is None else (out, cut[1])


def repeats_of(shop: Workshop, steps: Sequence[Step]) -> Repeats | None:
    """How a piece can be made short, if it can."""
    placed = list(_places(shop, steps))
    if not placed or any(step.shape.kind == "bent" for step in steps):
        return None
    runs = _runs(steps, placed)
    ordinary = [place for place in placed if place.alike not in runs]
    pitches = pitches_of(ordinary)
    for place in placed:
        if place.alike in runs and _goes_with(place, runs[place.alike], pitches):
            del runs[place.alike]
    places = [
        part for place in placed for part in _without(place, runs.get(place.alike))
        if len(part.frames)
    ]  # fmt: skip
    found = folds_of(places)
    if found is None:
        return None
    folds, crowd, chains = found
    by_owner = {
        place.copies.owner.key: runs[place.alike]
        for place in placed
        if place.alike in runs and place.copies is not None
    }
    return Repeats(folds, Names(crowd, chains, folds), by_owner)


def _places(shop: Workshop, steps: Sequence[Step]) -> Iterator[Place]:
    """Every step's copies, with what they must share with others to be of one row."""
    alloys = len({shop.named(label) for label in labels_of(steps)})
    adds = 0
    cuts = [(number, step.into) for number, step in enumerate(steps) if step.work == "cut"]
    for number, step in enumerate(steps):
        cutters: tuple[int, ...] = ()
        if step.work == "add":
            cutters = tuple(
                later for later, into in cuts
                if later > number and (into is None or step.body in into)
            )  # fmt: skip
        order = number if alloys > 1 else adds if step.work == "cut" else ""
        same = f"{step.work} {step.metal} {cutters} {step.into} {order}"
        adds += step.work == "add"
        loose = shop.loose(step)
        if loose is None:
            boxes = shop.part_boxes(step)
            yield Place(number, step.frames, boxes, f"{number} part", -1, PART_TRIANGLES)
            continue
        for copies in loose:
            yield Place(
                number, copies.frames, copies.boxes, f"{same} {copies.owner.shape.digest()}",
                copies.owner.id, len(copies.mesh.triangles), copies,
            )  # fmt: skip


def _runs(steps: Sequence[Step], placed: Sequence[Place]) -> dict[str, np.ndarray]:
    """Rows that strips could lay, by ``alike``: added, never cut, of the only alloy."""
    if len(labels_of(steps)) > 1:
        return {}
    several = Counter(place.alike for place in placed)
    runs = {}
    for place in placed:
        step = steps[place.step]
        if place.copies is None or step.work != "add" or several[place.alike] > 1:
            continue
        chosen = rows_of(place.copies)
        if chosen is None or _is_cut(steps, place, placed, chosen):
            continue
        runs[place.alike] = chosen
    return runs


def _is_cut(
    steps: Sequence[Step], place: Place, placed: Sequence[Place], chosen: np.ndarray
) -> bool:
    """Whether a later cut reaches the chosen copies."""
    boxes, body = place.boxes[chosen], steps[place.step].body
    for other in placed:
        step = steps[other.step]
        cuts = step.work == "cut" and (step.into is None or body in step.into)
        if other.step > place.step and cuts:
            reached = met(boxes, other.boxes)
            if reached is None or reached.any():
                return True
    return False


def _goes_with(place: Place, run: np.ndarray, pitches: Sequence[float]) -> bool:
    """Whether the row's pitch divides the pitch of what else repeats: then it repeats with it."""
    frames = place.frames[run]
    step = float(np.linalg.norm(frames[1, :, 3] - frames[0, :, 3]))
    return any(abs(pitch / step - round(pitch / step)) < 1e-5 * pitch / step for pitch in pitches)


def _without(place: Place, run: np.ndarray | None) -> list[Place]:
    """What is left of a place without its run, and the run's ends: there its copies are real."""
    if run is None:
        return [place]
    edges = np.flatnonzero(np.diff(np.concatenate([[0], run.astype(int), [0]])))
    ends = np.zeros(len(run), dtype=bool)
    for first, last in edges.reshape(-1, 2):
        ends[first : first + END_COPIES] = ends[last - END_COPIES : last] = True
    stops = replace(_part(place, ends, f"{place.alike} end"), triangles=0)
    return [_part(place, ~run, place.alike), stops]


def _part(place: Place, chosen: np.ndarray, alike: str) -> Place:
    copies = None if place.copies is None else place.copies.part(chosen)
    return replace(
        place, frames=place.frames[chosen], boxes=place.boxes[chosen], alike=alike, copies=copies
    )


@dataclass(eq=False)
class Names:
    """Whose the faces are of copies that were left out: the next in the row, so many periods on."""

    crowd: Crowd
    chains: dict[int, Chains]
    folds: Folds
    _mixed: dict[int, dict[int, dict[int, int]]] = field(default_factory=dict, init=False)

    def renamed(
        self, marks: np.ndarray, axis: int, part: int, periods: np.ndarray
    ) -> np.ndarray | None:
        """``marks`` (m,) of a length laid ``periods`` (k,) further on than it is, (k, m); None
        when one mark would have to be two."""
        found = np.repeat(marks[None], len(periods), axis=0)
        rows = self._rows(axis, part)
        if len(rows) == 0:
            return found
        chain, rank = self.chains[axis].chain, self.chains[axis].rank
        owner = self._owner
        gone = self.folds.periods(self.crowd.boxes, axis)
        for old in np.unique(marks).tolist():
            if old in CUTS:
                continue
            mine = rows[owner[rows] == old]
            if len(mine) == 0:
                continue
            columns = marks == old
            for k, count in enumerate(periods.tolist()):
                new = {
                    name
                    for row in mine.tolist()
                    if (name := self._at(axis, int(chain[row]), int(rank[row] + count - gone[row])))
                    is not None
                }
                if len(new) != 1:
                    return None
                found[k, columns] = new.pop()
        return found

    def key(self) -> str:
        """Whose the copies of all rows of several owners are, as a text."""
        return repr([sorted(self._rows_of(axis).items()) for axis in sorted(self.chains)])

    @cached_property
    def _owner(self) -> np.ndarray:
        owners = np.array([place.owner for place in self.crowd.places])
        return np.asarray(owners[self.crowd.place])

    def _at(self, axis: int, chain: int, rank: int) -> int | None:
        return self._rows_of(axis).get(chain, {}).get(rank)

    def _rows_of(self, axis: int) -> dict[int, dict[int, int]]:
        """The owners of each row that has several, by place in the row."""
        if axis not in self._mixed:
            owner, chains = self._owner, self.chains[axis]
            table: dict[int, dict[int, int]] = {}
            for row in np.flatnonzero(chains.chain >= 0).tolist():
                number, rank = int(chains.chain[row]), int(chains.rank[row])
                table.setdefault(number, {})[rank] = int(owner[row])
            self._mixed[axis] = {k: t for k, t in table.items() if len(set(t.values())) > 1}
        return self._mixed[axis]

    def _rows(self, axis: int, part: int) -> np.ndarray:
        """Rows of several owners' copies that reach into a part, in the short piece."""
        mixed = self._rows_of(axis)
        if not mixed:
            return np.zeros(0, dtype=np.int64)
        places = [-np.inf, *(place for place, _ in stretches(self.folds.along(axis))), np.inf]
        boxes = self.crowd.boxes
        middle = (boxes[:, axis] + boxes[:, axis + 3]) / 2
        shift = self.folds.shift(middle, axis)
        here = ~self.folds.left_out(boxes, axis)
        here &= np.isin(self.chains[axis].chain, list(mixed))
        here &= boxes[:, axis] - shift < places[part + 1]
        here &= boxes[:, axis + 3] - shift > places[part]
        return np.flatnonzero(here)


def whole_of(shop: Workshop, solid: Solid) -> tuple[Readout, float] | None:
    """The whole metal of a short solid, from the memo if it is there."""
    repeats = shop.repeats
    assert repeats is not None
    key = key_of("whole", solid.key, repeats.folds.key(), repeats.names.key())
    return shop.memo.take(
        f"{key} {shop.tolerance}",
        lambda: repeats.whole(shop.made(solid)),
        lambda found: 0 if found is None else len(found[0].triangles),
    )
