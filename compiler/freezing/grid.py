"""The cells: even over the metal, wider and wider out into the mould."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ..measures.kinds import Flags, Floats, Ints
from ..measures.skin import Skin
from ..measures.voxels import fill

MOST = 3_000_000  # cells, some hundreds of MB
GROWTH = 1.35  # of the cells in the mould, each by the one before it
FINEST = 0.12  # mm
FINER = 2  # the share of metal in a cell is counted in so many parts each way


@dataclass(frozen=True, eq=False)
class Rod:
    """Round metal added to a piece: from ``start`` to ``end`` (3,) mm, thickness ``first`` to
    ``last`` mm; its end is closed by a ball ``stem`` mm across, for the stem it runs into."""

    start: Floats
    end: Floats
    first: float
    last: float
    stem: float = 0.0

    def holds(self, at: Floats) -> Flags:
        """Whether spots (..., 3) lie in it."""
        way = self.end - self.start
        along = np.clip((at - self.start) @ way / max(float(way @ way), 1e-12), 0.0, 1.0)
        off = np.linalg.norm(at - self.start - along[..., None] * way, axis=-1)
        inside = off <= (self.first + along * (self.last - self.first)) / 2
        if self.stem:
            inside |= np.linalg.norm(at - self.end, axis=-1) <= self.stem / 2
        return np.asarray(inside)

    @property
    def box(self) -> tuple[Floats, Floats]:
        """Lowest and highest corner."""
        ends = np.stack((self.start, self.end))
        room = np.array([max(self.first, self.last), max(self.last, self.stem)])[:, None] / 2
        return (ends - room).min(axis=0), (ends + room).max(axis=0)


@dataclass(frozen=True, eq=False)
class Grid:
    """Cells: ``widths`` of each axis, mm; ``low`` (3,) mm where the even ones begin, which are
    ``pitch`` wide, ``rim`` cells in from every side. ``share`` (nx, ny, nz) of metal in each, ``added``
    that of rods alone; ``fine`` (2 nx, 2 ny, 2 nz) which eighths of the cells are metal."""

    low: Floats
    pitch: float
    rim: int
    widths: tuple[Floats, Floats, Floats]
    share: Floats
    added: Floats
    fine: Flags

    @property
    def shape(self) -> tuple[int, int, int]:
        """Cells along each axis."""
        return self.share.shape  # type: ignore[return-value]

    @cached_property
    def cells(self) -> int:
        """How many cells there are."""
        return int(self.share.size)

    @cached_property
    def volumes(self) -> Floats:
        """Of each cell, mm3."""
        x, y, z = self.widths
        return np.asarray(x[:, None, None] * y[None, :, None] * z)

    def index(self, at: Floats) -> Ints:
        """The cell (k, 3) of each spot (k, 3), kept within the even cells."""
        inner = np.array(self.shape) - 2 * self.rim
        place = np.floor((np.asarray(at) - self.low) / self.pitch).astype(np.int64)
        return np.asarray(np.clip(place, 0, np.maximum(inner - 1, 0)) + self.rim)

    def middle(self, cell: Ints) -> Floats:
        """The middle (k, 3) of even cells (k, 3), mm."""
        return self.low + (np.asarray(cell) - self.rim + 0.5) * self.pitch


def grid_of(
    skin: Skin, rods: Sequence[Rod] = (), *, depth: float = 8.0, most: int = 200_000,
    pitch: float | None = None,
) -> Grid:  # fmt: skip
    """The cells over a piece and its rods, with ``depth`` mm of mould round them; as fine as ``most``
    cells allow, or as the ``pitch`` given, where that comes to no more than MOST cells."""
    boxes = [skin.box, *(rod.box for rod in rods)]
    low = np.min([box[0] for box in boxes], axis=0)
    high = np.max([box[1] for box in boxes], axis=0)
    pitch = max(pitch or 0.0, fitting(high - low, depth, MOST if pitch else most))
    outer = _outer(pitch, depth)
    inner = np.maximum(np.ceil((high - low) / pitch - 1e-9).astype(int), 1)
    low = (low + high) / 2 - inner * pitch / 2
    fine, share, added = _shares(skin, rods, low, pitch, inner)
    rim = len(outer)
    x, y, z = (np.concatenate((outer[::-1], np.full(n, pitch), outer)) for n in inner)
    wide = FINER * rim
    return Grid(low, pitch, rim, (x, y, z), np.pad(share, rim), np.pad(added, rim), np.pad(fine, wide))


def fitting(size: Floats, depth: float, most: int) -> float:
    """The finest pitch, mm, at which there are no more than ``most`` cells; two figures."""
    pitch = FINEST
    while True:
        rim = 2 * len(_outer(pitch, depth))
        if float(np.prod(np.ceil(size / pitch) + rim)) <= most:
            break
        pitch *= 1.05
    return float(f"{pitch:.2g}") if pitch > FINEST else FINEST


def _outer(pitch: float, depth: float) -> Floats:
    """Widths of the cells outward into the mould."""
    widths = [pitch]
    while sum(widths) < depth:
        widths.append(widths[-1] * GROWTH)
    return np.array(widths)


def _shares(
    skin: Skin, rods: Sequence[Rod], low: Floats, pitch: float, inner: Ints
) -> tuple[Flags, Floats, Floats]:
    """Which eighths of the even cells are metal; each cell's share of metal (to true volume), and of rods."""
    fine = pitch / FINER
    nx, ny, nz = (FINER * int(n) for n in inner)
    metal = fill(skin, low + fine / 2, fine, (nx, ny, nz))
    own = _held(gathered(metal), skin.volume / pitch**3)
    rod = np.zeros_like(metal)
    for one in rods:
        _mark(one, rod, low, fine)
    added = gathered(rod & ~metal)
    return metal | rod, np.minimum(own + added, 1.0), added


def _held(share: Floats, volume: float) -> Floats:
    """The shares with those of cells that are partly metal scaled so that all come to ``volume`` cells."""
    for _ in range(5):
        part = (share > 0) & (share < 1)
        lacks = volume - float(share[~part].sum())
        if not part.any() or lacks <= 0:
            break
        share = np.where(part, np.minimum(share * (lacks / float(share[part].sum())), 1.0), share)
    return share


def _mark(rod: Rod, flags: Flags, low: Floats, fine: float) -> None:
    """Set the cells a rod fills."""
    first = np.maximum(np.floor((rod.box[0] - low) / fine).astype(int), 0)
    last = np.minimum(np.ceil((rod.box[1] - low) / fine).astype(int), np.array(flags.shape))
    spans = [low[k] + (np.arange(first[k], last[k]) + 0.5) * fine for k in range(3)]
    at = np.stack(np.meshgrid(*spans, indexing="ij"), axis=-1)
    flags[first[0] : last[0], first[1] : last[1], first[2] : last[2]] |= rod.holds(at)


def gathered(flags: Flags) -> Floats:
    """The share of fine cells set in each cell."""
    nx, ny, nz = (n // FINER for n in flags.shape)
    parts = flags.reshape(nx, FINER, ny, FINER, nz, FINER)
    return np.asarray(parts.mean(axis=(1, 3, 5)))
