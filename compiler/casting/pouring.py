"""One casting with its sprues: how it freezes, and what comes of that."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ..freezing.freeze import STIFF, Frozen, freeze
from ..freezing.grid import FINER, grid_of
from ..freezing.heat import chvorinov
from ..freezing.pools import Pool, pools, reached
from ..judging.figure_rule import Reading
from ..judging.piece import Piece
from ..measures.closest import nearest
from ..measures.kinds import Floats
from ..measures.skin import Skin
from ..measures.voxels import reach
from .caster import Caster
from .sprues import Sprue

FINE, TRIAL = 300_000, 150_000  # cells
DEEP = 4.0  # times the way heat goes in the mould while metal freezes: so much mould is looked at
LEAST_DEEP, MOST_DEEP = 4.0, 15.0  # mm
WORST = 400  # cells looked at for walls that metal comes to late
FIRST = 5.0  # moduli: a round sprue as thick has a modulus of 1.25 of that
FOOT = 0.7  # of its thickness: what freezes so near to the foot of a sprue is of the sprue
COARSE = 1.5  # cells: where smaller balls fit, the grid does not tell how fast metal cools

Watch = Callable[[float], None]  # share done


@dataclass(frozen=True, eq=False)
class Limits:
    """``late`` share of its time that liquid may freeze after its feed, ``least`` mm3 of it that
    counts, ``slow`` share of the time metal runs that it may take to come."""

    late: float
    least: float
    slow: float


class Pouring:
    """One casting of one alloy, with its sprues, frozen on a grid of at most ``cells``."""

    def __init__(
        self, skin: Skin, sprues: Sequence[Sprue], caster: Caster, limits: Limits,
        cells: int = FINE, watch: Watch | None = None, pitch: float | None = None,
    ) -> None:  # fmt: skip
        self.skin, self.sprues, self.caster, self.limits = skin, tuple(sprues), caster, limits
        thick = max([whole_modulus(skin), *(sprue.across / 4 for sprue in sprues)])
        time = 1.5 * chvorinov(caster.melt, caster.mould, caster.pour) * thick**2
        depth = float(np.clip(DEEP * np.sqrt(caster.mould.spread * time), LEAST_DEEP, MOST_DEEP))
        grid = grid_of(skin, [sprue.rod() for sprue in sprues], depth=depth, most=cells, pitch=pitch)
        told = None if watch is None else (lambda _, share: watch(share))
        self.frozen: Frozen = freeze(grid, caster.melt, caster.mould, caster.pour, told)

    @cached_property
    def pools(self) -> list[Pool]:
        """Liquid cut off that counts; the ends of the sprues, in the stem, stay liquid."""
        limits, feeds = self.limits, [sprue.rod().end for sprue in self.sprues]
        return [
            pool for pool in pools(self.frozen, feeds)
            if pool.volume >= limits.least and pool.late > limits.late
        ]  # fmt: skip

    @property
    def lost(self) -> float:
        """How bad it is: liquid cut off by how late it freezes, mm3."""
        return sum(pool.late * pool.volume for pool in self.pools)

    @property
    def unfed(self) -> list[Pool]:
        """Bodies that no sprue reaches."""
        return [pool for pool in self.pools if pool.gate is None]

    @property
    def choked(self) -> list[tuple[Pool, Sprue]]:
        """Pools that were cut off because their sprue froze first."""
        return [(pool, sprue) for pool in self.pools if (sprue := self._sprue_at(pool)) is not None]

    @property
    def hot(self) -> list[Pool]:
        """Pools that metal of the piece itself cut off."""
        return [pool for pool in self.pools if pool.gate is not None and self._sprue_at(pool) is None]

    def _sprue_at(self, pool: Pool) -> Sprue | None:
        """The sprue that froze where a pool was cut off, if one did."""
        gate = pool.gate
        if gate is None or not self.sprues:
            return None
        near = min(self.sprues, key=lambda sprue: float(np.linalg.norm(sprue.at - gate)))
        at_foot = float(np.linalg.norm(near.at - gate)) < FOOT * near.across
        return near if pool.gate_added or at_foot else None

    @cached_property
    def arrival(self) -> tuple[Floats, Floats]:
        """For each cell when metal comes to it and until when it runs there, s; inf outside."""
        frozen = self.frozen
        far = reached(frozen, [sprue.at for sprue in self.sprues])
        core = _grown(np.where(np.isfinite(frozen.stiff), frozen.stiff, 0.0))
        wide = _grown(self._balls())
        rule = chvorinov(self.caster.melt, self.caster.mould, self.caster.pour, STIFF) * wide**2
        # The grid is too coarse for thin walls; no shape stays liquid longer than a wall as thick.
        runs = np.where(wide < COARSE * frozen.grid.pitch, rule, core)
        return far / self.caster["speed"], runs

    def _balls(self) -> Floats:
        """The radius of the ball that fits about the metal in each cell, mm."""
        grid = self.frozen.grid
        rim = FINER * grid.rim
        inner = tuple(slice(rim, n - rim) for n in grid.fine.shape)
        ball = reach(~np.pad(grid.fine[inner], 1), 4 * FINER)[1:-1, 1:-1, 1:-1] * grid.pitch / FINER
        nx, ny, nz = (n // FINER for n in ball.shape)
        most = ball.reshape(nx, FINER, ny, FINER, nz, FINER).max(axis=(1, 3, 5))
        return np.pad(np.asarray(most, dtype=float), grid.rim)

    def slow(self, owner_of: Callable[[Floats], int]) -> list[Reading]:
        """Walls that metal comes to late, the worst of each feature."""
        grid = self.frozen.grid
        comes, runs = self.arrival
        own = self.frozen.metal & (grid.added < 0.5 * grid.share) & np.isfinite(comes)
        ratio = np.where(own, comes / np.maximum(runs, 1e-9), 0.0)
        found: dict[int, Reading] = {}
        for cell in np.argsort(-ratio, axis=None, kind="stable")[:WORST].tolist():
            place = np.unravel_index(cell, ratio.shape)
            if ratio[place] <= self.limits.slow:
                break
            at = grid.middle(np.array(place))
            owner = owner_of(at)
            found.setdefault(owner, Reading(owner, float(ratio[place]), at, float(runs[place])))
        return list(found.values())

    def thicker(self, pool: Pool, sprue: Sprue) -> float:
        """The thickness at which a sprue would freeze after a pool, mm: time goes with its square; and a
        sprue has a larger modulus than all it feeds."""
        wide = 1.05 * sprue.across * float(np.sqrt(pool.last / max(pool.cut, 1e-9)))
        return float(np.ceil(10 * max(wide, FIRST * whole_modulus(self.skin))) / 10)


def whole_modulus(skin: Skin) -> float:
    """Volume by surface of all of it, mm."""
    return skin.volume / max(float(skin.areas.sum()), 1e-9)


def _grown(values: Floats) -> Floats:
    """The most of each cell and all its neighbours."""
    for axis in range(3):
        line = np.moveaxis(np.pad(values, [(int(k == axis),) * 2 for k in range(3)], "edge"), axis, 0)
        values = np.moveaxis(np.maximum(np.maximum(line[1:-1], line[:-2]), line[2:]), 0, axis)
    return values


def own_last(pouring: Pouring) -> tuple[float, Floats]:
    """When the last metal of the piece itself froze, s, and where (3,) mm."""
    frozen = pouring.frozen
    own = frozen.metal & (frozen.grid.added < 0.5 * frozen.grid.share)
    times = np.where(own, frozen.solid, -np.inf)
    cell = np.array(np.unravel_index(int(np.argmax(times)), times.shape))
    return float(times[tuple(cell)]), frozen.grid.middle(cell)


def metal_at(skin: Skin, piece: Piece) -> Callable[[Floats], int]:
    """Which feature's metal is at a place: that of the nearest face, faces that a cut laid bare apart."""
    cut, laid = ({one.feature for one in piece.plan_solids if one.cut is work} for work in (True, False))
    kept = ~np.isin(skin.owner, list(cut - laid))
    own = skin.part(kept) if kept.any() else skin
    return lambda at: max(0, int(own.owner[nearest(own, at)[1]]))


def places_of(pouring: Pouring, owner_of: Callable[[Floats], int]) -> dict[str, tuple[Reading, ...]]:
    """What the rules of casting see, by the names of ``Pour``; ``owner_of`` tells the feature at a place."""
    thin = tuple(
        Reading(
            sprue.feature if sprue.feature >= 0 else owner_of(sprue.at), pool.late, sprue.at,
            pouring.thicker(pool, sprue),
        )
        for pool, sprue in pouring.choked
    )  # fmt: skip
    return {
        "hot": tuple(Reading(owner_of(p.at), p.late, p.at, p.volume) for p in pouring.hot),
        "unfed": tuple(Reading(owner_of(p.at), p.volume, p.at) for p in pouring.unfed),
        "thin": thin,
        "slow": tuple(pouring.slow(owner_of)) if pouring.sprues else (),
    }
