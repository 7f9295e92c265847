"""Walls round stones, as the plan tells: bodies little larger than their stone. Lengths mm."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from ...stdlib.cuts import CUTS
from ..bench.plan import LATHE, simple_steps
from ..bench.roles import Role
from ..geometry import frames as fr
from ..geometry.outlines import Outline, trace
from .beds import SQUARE
from .figure_rule import Reading
from .moves import told
from .pairs import near_pairs
from .remedies import onto_its_band
from .rule import Mend

if TYPE_CHECKING:
    from .beds import Bed
    from .bound import Bound
    from .piece import Piece

# A body that reaches further past its stone than this all round is no bezel.
WIDEST = 1.5
# What the edge loses in height as it is laid over and filed, mm: house choice, no source.
SPARE = 0.2
NO_WALL = Role.FINDING, Role.EAR_POST, Role.PIN  # what stands in a stone's place, but was made for no stone
ON_AXIS = 0.05  # mm, a stone no farther than this from the axis of a cup stands on it


@dataclass(frozen=True)
class Bezel:
    """A wall round a stone: its line, the stone, the wall's thickness at the girdle and how far
    it rises above the girdle's middle (``lip``)."""

    feature: int
    stone: int
    wall: float
    lip: float


def bezels_of(piece: Piece) -> list[Bezel]:
    """Every stone that lies sunk in a body which follows its girdle, but for those cemented in."""
    found = []
    for bed in piece.beds:
        if bed.sunk > 0.05 and is_cup(piece, bed):
            seat = piece.seated.get(bed.stone)
            room = piece.call(seat).get("clearance", 0.0) if seat is not None else 0.0
            found.append(Bezel(bed.body, bed.stone, bed.edge - room, bed.sunk))
    known = {bezel.stone for bezel in found}
    found += (bezel for bezel in _turned(piece) if bezel.stone not in known)
    return [
        one for one in found
        if not piece.is_for(one.feature, *NO_WALL)
        and not piece.is_for(piece.seated.get(one.stone, one.feature), Role.INLAY)  # cemented: none goes over
    ]  # fmt: skip


def _turned(piece: Piece) -> Iterator[Bezel]:
    """Hollow turned bodies that a round stone lies in, on their axis."""
    stones = piece.stones
    for cup in piece.plan_solids:
        if cup.kind != LATHE or cup.cut or piece.features[cup.feature].outline is not None:
            continue
        profile = np.array(cup.figures[0])
        reach = float(np.abs(profile[:, 1]).max())
        for stone, home in zip(*near_pairs(stones.frames[:, :, 3], cup.frames[:, :, 3], reach), strict=True):
            setting = stones.of(int(stone))
            local = fr.compose(fr.inverse(cup.frames[home])[None], stones.frames[stone][None])[0]
            off, height = float(np.hypot(*local[:2, 3])), float(local[2, 3])
            if setting.cut != "round" or off > ON_AXIS or local[2, 2] < SQUARE:
                continue
            inner, outer = _radii(profile, height)
            seat = piece.seated.get(int(stone))
            room = piece.call(seat).get("clearance", 0.0) if seat is not None else 0.0
            wall, lip = outer - setting.width / 2 - room, float(profile[:, 1].max()) - height
            if inner > 0 and 0 < wall < WIDEST and lip > 0.05:
                yield Bezel(cup.feature, int(stone), wall, lip)


def _radii(profile: np.ndarray, height: float) -> tuple[float, float]:
    """The least and the greatest radius of a closed profile (n, 2) at a height; 0 for none."""
    start, end = profile, np.roll(profile, -1, axis=0)
    low, high = np.minimum(start, end)[:, 1], np.maximum(start, end)[:, 1]
    met = (low <= height) & (height <= high) & (high > low)
    if not met.any():
        return 0.0, 0.0
    (r, z), (far, top) = start[met].T, end[met].T
    radii = r + (height - z) / (top - z) * (far - r)
    return float(radii.min()), float(radii.max())


def is_cup(piece: Piece, bed: Bed) -> bool:
    """Whether the body is a collet, tube or bezel made for this one stone."""
    outline, seat = piece.features[bed.body].outline, piece.seated.get(bed.stone)
    if bed.ring or outline is None:
        return False
    held = bed.stone in piece.grips_by_stone or bed.stone in piece.beaded
    if held and not bed.tube and not piece.is_for(bed.body, Role.SETTING, Role.RIM):
        return False  # a ground that is no wall: prongs or grains hold what lies in it
    if seat is not None and piece.is_for(seat, Role.RIM) and not (
        bed.tube or piece.is_for(bed.body, Role.SETTING)
    ):
        return False  # sunk flush into a plate: its own edge is rubbed over
    setting = piece.stones.of(bed.stone)
    wide = sorted((setting.length, setting.width))
    return all(over - own <= 2 * WIDEST for over, own in zip(_sides(outline), wide, strict=True))


@lru_cache(maxsize=256)
def _sides(outline: Outline) -> list[float]:
    """The lesser and the greater side of the box round an outline, mm."""
    points = trace(outline, 0.05)
    return sorted((points.max(axis=0) - points.min(axis=0)).tolist())


def walls(piece: Piece) -> Iterator[Reading]:
    """The wall of each bezel."""
    return (_read(piece, bezel, bezel.wall) for bezel in piece.bezels)


def lips(piece: Piece) -> Iterator[Reading]:
    """How far each bezel rises above the girdle."""
    return (_read(piece, bezel, bezel.lip) for bezel in piece.bezels)


def _read(piece: Piece, bezel: Bezel, figure: float) -> Reading:
    at = piece.stones.frames[bezel.stone, :, 3]
    return Reading(bezel.feature, figure, at, piece.stones.of(bezel.stone))


def flush_lips(piece: Piece) -> Iterator[Reading]:
    """The metal over the girdle of a stone sunk into a face, at the lowest side of it."""
    steps = simple_steps(piece.bench.plan().steps)
    cut = {(step.feature, body) for step in steps for body in step.into or ()}
    for bed in piece.beds:
        seat, body = piece.seated.get(bed.stone), piece.features[bed.body].body
        if seat is None or not piece.is_for(seat, Role.RIM) or is_cup(piece, bed):
            continue
        # Not in a bezel's wall alone.
        if (seat, body) in cut or not any(feature == seat for feature, _ in cut):
            yield Reading(
                seat, bed.sunk, bed.stone, piece.stones.of(bed.stone),
                cure=lambda bound, bed=bed: _let_in(piece, bed.stone, bound - bed.sunk),
            )  # fmt: skip


def _let_in(piece: Piece, stone: int, lack: float) -> str | tuple[str, Mend]:
    """Laid square to the band it leans off; else its table level with the face by its own line, where that
    says nothing of how deep it lies and sinks it so far as it lacks, else that line's move inward."""
    if square := onto_its_band(piece, stone):
        return square
    made = int(piece.stones.feature[stone])
    call, name = piece.call(made), piece.name_of(made)
    line = piece.source_lines.of(call, None, ()).line
    says = line is not None and piece.source_lines.can_say(line, "level")
    said = any(map(call.given, ("level", "inward", "out")))
    if says and not said and piece.stones.of(stone).crown() >= lack:
        return f"add 'level table' to the line of {name}", Mend("level", "table", feature=made)
    way = -lack * piece.stones.frames[stone, :, 2]
    return f"move {name} {told(piece, made, way, 'deeper')}, or make the face flatter"


def _of_crown(share: Bound, reading: Reading, spare: float = 0.0) -> Bound:
    """A share of the crown, above the girdle's middle, mm."""
    stone = reading.of
    cut, sizes = CUTS[stone.form], (stone.length, stone.width)
    return share * cut.crown_height(*sizes) + (cut.girdle_thickness(*sizes) / 2 + spare)


def allowed(_: Piece, share: Bound, reading: Reading) -> Bound | None:
    """How far above the girdle's middle the wall may rise, mm; round a dome or a pearl any."""
    return _of_crown(share, reading, SPARE) if CUTS[reading.of.form].crowned else None


def faceted(_: Piece, share: Bound, reading: Reading) -> Bound | None:
    """How far above the girdle's middle the wall has to rise over a crown, mm."""
    return None if CUTS[reading.of.form].domed else _of_crown(share, reading)


def cabochon(piece: Piece, share: Bound, reading: Reading) -> Bound | None:
    """As ``faceted`` over a stone that rises from an upright wall."""
    stone = reading.of
    if not CUTS[stone.form].domed:
        return None
    cut, sizes = CUTS[stone.form], (stone.length, stone.width)
    # The height counts from its back, where the stone has its origin.
    above = piece.bound("low-bezel", "above-wall", reading.feature) + cut.girdle_thickness(*sizes)
    return max(above, share * cut.total_depth(*sizes))


def flush(_: Piece, least: Bound, reading: Reading) -> Bound:
    """What can be pushed over a sunk stone; over a small one half its crown."""
    return least * min(1.0, reading.of.crown() / 2 / least)
