"""The run of time: heat goes from the metal into the mould until all is solid.

Enthalpy method: each cell keeps its heat, its temperature follows from it. A step is taken along x,
y and z in turn (the order turned round every step), each implicitly with the heat capacity the cell
has just then; the heat that passed is then entered in the books and the temperature read from them,
so no latent heat is skipped and none is lost: Q. T. Pham, Int. J. Heat Mass Transfer 28 (1985)
2079-2084 (one step, no iteration); V. R. Voller, IMA J. Numer. Anal. 5 (1985) 201-214 for the
enthalpy form. From memory: the sources' page numbers."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ..measures.kinds import Flags, Floats
from .grid import FINER, Grid
from .heat import Melt, Mould, Pour
from .sweeps import swept

STEP = 0.05  # of the time run so far: each step is so long
START = 0.02  # of the time heat takes through half a cell of mould: the first step
MOST_STEPS = 600
LEAST = 0.15  # share of metal in a cell that counts as metal
ROUNDS = 1  # within a step along an axis; two where mould and metal conduct alike
# Share of solid at which metal no longer runs: 0.2 to 0.4, M. C. Flemings, Solidification Processing
# (1974), from memory.
STIFF = 0.35

Watch = Callable[[float, float], None]  # time s, share of the metal that is solid


@dataclass(frozen=True, eq=False)
class Frozen:
    """When metal froze. Arrays of the grid's shape, s, inf where there is no metal: ``solid`` wholly,
    ``stiff`` so far that it no longer runs. ``taken`` J the mould took, ``given`` J the metal gave;
    ``latent`` J of the given is heat of freezing."""

    grid: Grid
    solid: Floats
    stiff: Floats
    steps: int
    given: float
    taken: float
    latent: float

    @property
    def balance(self) -> float:
        """How far heat given and taken are apart, as a share."""
        return abs(self.given - self.taken) / max(self.given, 1e-12)

    @cached_property
    def metal(self) -> Flags:
        """Cells that are metal by so much that a thin wall between two of them is not lost."""
        return np.asarray(self.grid.share >= LEAST)


def freeze(
    grid: Grid, melt: Melt, mould: Mould, pour: Pour, watch: Watch | None = None,
    *, step: float = STEP, until: float = np.inf, rounds: int = ROUNDS,
) -> Frozen:  # fmt: skip
    """Run until all metal is solid (or to ``until`` s), in steps of a share ``step`` of the time so far."""
    books = _Books(grid, melt, mould, pour)
    first = START * (grid.pitch / 2) ** 2 / mould.spread
    time, steps, order = 0.0, 0, (0, 1, 2)
    while steps < MOST_STEPS and books.liquid and time < until:
        span = min(first + step * time, until - time + 1e-12)
        books.step(span, order, rounds)
        time, steps, order = time + span, steps + 1, order[::-1]
        books.note(time, span)
        if watch is not None:
            watch(time, books.frozen_share)
    return books.frozen(steps)


def _first(values: Floats, axis: int) -> Floats:
    """The values with an axis first, as the sweep likes them."""
    return np.ascontiguousarray(np.moveaxis(values, axis, 0))


class _Books:
    """Temperatures of all cells, and the heat of those that hold metal."""

    def __init__(self, grid: Grid, melt: Melt, mould: Mould, pour: Pour) -> None:
        self.grid, self.melt, self.pour = grid, melt, pour
        share, volume = grid.share, grid.volumes
        self.stone = mould.capacity * (1.0 - share) * volume  # J/K of the mould in each cell
        self.at = np.flatnonzero(share > 0)
        self.filled = (share * volume).reshape(-1)[self.at]  # mm3 of metal
        rest = self.stone.reshape(-1)[self.at]
        at, heats = melt.knots
        # Heat of each cell above that at the solidus where its curve bends, J, and its slopes, J/K.
        self.bends = [heat * self.filled + (to - at[0]) * rest for to, heat in zip(at, heats, strict=True)]
        self.slopes = [
            slope * self.filled + rest
            for slope in (melt.density * melt.heat_solid, *np.diff(heats) / np.diff(at),
                          melt.density * melt.heat_liquid)
        ]  # fmt: skip
        self.full = self.bends[-1]
        self.capacity = self.stone.copy()
        spread = np.where(grid.fine, melt.conductivity, mould.conductivity)
        self.links = [self._links(spread, axis) for axis in range(3)]
        self.warm = np.full(grid.shape, float(pour.mould))
        self.heat = self.filled * melt.warmth(pour.metal) + rest * (pour.mould - melt.solidus)
        self.warm.reshape(-1)[self.at] = self._temperature()
        self.solid, self.stiff = (np.full(len(self.at), np.inf) for _ in range(2))
        self.was = self.heat

    def _links(self, spread: Floats, axis: int) -> Floats:
        """Heat that passes between neighbours along an axis, W/K, that axis first: in each quarter of
        the face through half a cell of the one and half a cell of the other."""
        flow = np.moveaxis(spread, axis, 0)
        others = [k for k in range(3) if k != axis]
        halves = [self.grid.widths[k].repeat(FINER) / FINER for k in (axis, *others)]
        slow = halves[0][:, None, None] / flow
        area = halves[1][:, None] * halves[2]
        quarter = area / (slow[1:-1:2] + slow[2::2])
        n, m, p = quarter.shape
        return np.asarray(quarter.reshape(n, m // FINER, FINER, p // FINER, FINER).sum(axis=(2, 4)))

    def _temperature(self) -> Floats:
        """Of the cells with metal, from their heat."""
        at = self.melt.knots[0]
        warm = at[0] + np.minimum(self.heat, 0.0) / self.slopes[0]
        for k in range(1, len(at)):
            low, high = self.bends[k - 1], self.bends[k]
            warm += np.clip(self.heat - low, 0.0, high - low) / self.slopes[k]
        warm += np.maximum(self.heat - self.full, 0.0) / self.slopes[-1]
        return np.asarray(warm)

    def _slope(self) -> Floats:
        """Heat to warm each cell with metal by a degree just now, J/K."""
        slope = self.slopes[0]
        for k, bend in enumerate(self.bends):
            slope = np.where(self.heat > bend, self.slopes[k + 1], slope)
        return slope

    def step(self, span: float, order: tuple[int, ...], rounds: int) -> None:
        """One step of ``span`` s along each axis in ``order``."""
        self.was = self.heat
        for axis in order:
            if self.grid.shape[axis] > 1:
                self._along(axis, span, rounds)

    def _along(self, axis: int, span: float, rounds: int) -> None:
        """One step along an axis, in rounds: each takes the slope of the heat where the last one came
        out, for that bends where metal begins and ends to freeze."""
        links, before = span * self.links[axis], self.heat
        stone = self.warm  # what is all mould keeps its slope
        for _ in range(rounds):
            slope = self._slope()
            base = self._temperature() - (self.heat - before) / slope
            start = stone.copy()
            start.reshape(-1)[self.at] = base
            self.capacity.reshape(-1)[self.at] = slope
            moved = swept(_first(start, axis), _first(self.capacity, axis), links)
            self.warm = np.ascontiguousarray(np.moveaxis(moved, 0, axis))
            self.heat = before + slope * (self.warm.reshape(-1)[self.at] - base)
        self.warm.reshape(-1)[self.at] = self._temperature()

    def note(self, time: float, span: float) -> None:
        """Enter what froze in the step that ended at ``time``."""
        for level, when in ((0.0, self.solid), ((1 - STIFF) * self.full, self.stiff)):
            past = (self.heat <= level) & np.isinf(when)
            if past.any():
                cut = np.broadcast_to(level, self.heat.shape)[past]
                fell = np.maximum(self.was[past] - self.heat[past], 1e-300)
                part = np.clip((self.was[past] - cut) / fell, 0.0, 1.0)
                when[past] = time - span + part * span

    @property
    def liquid(self) -> bool:
        """Whether any metal is not yet solid."""
        return bool(len(self.at)) and bool((self.heat > 0).any())

    @property
    def frozen_share(self) -> float:
        """How much of the metal is solid."""
        part = 1.0 - np.clip(self.heat / self.full, 0.0, 1.0)
        return float((part * self.filled).sum() / max(self.filled.sum(), 1e-12))

    def frozen(self, steps: int) -> Frozen:
        """What is known at the end."""
        melt, warm = self.melt, self.warm.reshape(-1)[self.at]
        now = melt.warmth(warm)
        given = float((self.filled * (melt.warmth(self.pour.metal) - now)).sum())
        taken = float((self.stone * (self.warm - self.pour.mould)).sum())
        solid, stiff = (self._spread(when) for when in (self.solid, self.stiff))
        latent = self.frozen_share * float(self.filled.sum()) * melt.density * melt.latent
        return Frozen(self.grid, solid, stiff, steps, given, taken, latent)

    def _spread(self, when: Floats) -> Floats:
        full = np.full(self.grid.shape, np.inf)
        full.reshape(-1)[self.at] = when
        return full
