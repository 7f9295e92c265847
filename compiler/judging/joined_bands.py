"""Bands that lie side by side on one finger, soldered or cast together, are one shank. Lengths mm."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from ..geometry import frames as fr
from ..shapes.shank import at_back

if TYPE_CHECKING:
    from ..bench.feature import Feature
    from .piece import Piece

TOUCH = 0.01  # bands no farther apart are joined
ALIKE = 0.05  # middles and ways of bands that lie on one axis agree within this


@dataclass(frozen=True)
class Figure:
    """A thickness or a width of a shank, and the clause of its widest band that says it."""

    key: str
    what: str
    value: float


@dataclass(frozen=True)
class JoinedBand:
    """The bands of one shank: the widest of them, and (thick, wide, taper) of each, with where it
    lies along the finger."""

    feature: Feature
    bands: tuple[tuple[float, float, Any, float], ...]

    @property
    def alone(self) -> bool:
        """Whether it is a single band."""
        return len(self.bands) == 1

    def figures(self) -> Iterator[Figure]:
        """What a shank is judged by: the thickness of its thickest band, the width over all."""
        yield Figure("thick", "thickness", max(thick for thick, *_ in self.bands))
        yield Figure("wide", "width", self._over_all([wide for _, wide, *_ in self.bands]))
        backs = [at_back(taper, wide, thick) for thick, wide, taper, _ in self.bands]
        if any(isinstance(taper, tuple) for _, _, taper, _ in self.bands):
            yield Figure("taper", "thickness", max(thick for _, thick in backs))
            yield Figure("taper", "width", self._over_all([wide for wide, _ in backs]))

    def _over_all(self, wides: list[float]) -> float:
        ends = [(at - wide / 2, at + wide / 2) for wide, (*_, at) in zip(wides, self.bands, strict=True)]
        return float(max(end for _, end in ends) - min(start for start, _ in ends))


def joined_bands(piece: Piece) -> Iterator[JoinedBand]:
    """The shanks of finger rings, bands that touch side by side taken together, in order."""
    left = [
        f for f in piece.rings
        if isinstance(piece.call(f.index).get("wide"), float | int)
        and isinstance(piece.call(f.index).get("thick"), float | int)
    ]  # fmt: skip
    left = [band for band in left if not any(_rides(piece, band, other) for other in left)]
    while left:
        mine = [left.pop(0)]
        for band in mine:  # grows as it goes
            near = [other for other in left if _touch(piece, band, other)]
            mine += near
            left = [other for other in left if other not in near]
        widest = max(mine, key=lambda band: float(piece.call(band.index).get("wide")))
        yield JoinedBand(widest, tuple(_told(piece, mine[0], band) for band in mine))


def _told(piece: Piece, first: Feature, band: Feature) -> tuple[float, float, Any, float]:
    call = piece.call(band.index)
    along = float(fr.apply(fr.inverse(first.frames[0]), band.frames[0][None, :, 3])[0, 1])
    return float(call.get("thick")), float(call.get("wide")), call.get("taper"), along


def _touch(piece: Piece, one: Feature, two: Feature) -> bool:
    inner, outer = zip(*(_radii(piece, band) for band in (one, two)), strict=True)
    return _level(piece, one, two) and max(inner) < min(outer)


def _rides(piece: Piece, one: Feature, two: Feature) -> bool:
    """Whether a band runs loose round another, which the finger wears: a ring that turns on a ring."""
    return one is not two and _level(piece, one, two) and _radii(piece, one)[0] >= _radii(piece, two)[1]


def _level(piece: Piece, one: Feature, two: Feature) -> bool:
    """Whether two bands lie on one axis, side by side or one round the other."""
    if not len(one.frames) or not len(two.frames):
        return False
    local = fr.apply(fr.inverse(one.frames[0]), two.frames[0][None, :, 3])[0]
    level = abs(float(one.frames[0][:, 1] @ two.frames[0][:, 1])) > 1 - ALIKE
    wide = sum(float(piece.call(band.index).get("wide")) for band in (one, two)) / 2
    return bool(level and np.hypot(local[0], local[2]) < ALIKE and abs(local[1]) <= wide + TOUCH)


def _radii(piece: Piece, band: Feature) -> tuple[float, float]:
    inside = band.look("inside")
    inner = 0.0 if inside is None else inside.value / 2
    return inner, inner + float(piece.call(band.index).get("thick"))
