"""What is measured of a piece as it is worn: the bore it is put on by, its weight, how it hangs.

Each figure is taken the first time a rule asks for it. Lengths mm, weights g."""

from __future__ import annotations

from functools import cached_property, lru_cache
from typing import Any

import numpy as np

from ...lang.values import UNITS
from ...stdlib.gems import GEMS
from ..bench.feature import Feature
from ..bench.stone_solid import stone_mesh
from ..geometry.line import Line
from ..measures.kinds import Floats, cross, frame_of
from ..measures.linking import LINKED, linked
from ..measures.mass import mass, volume_and_centre
from ..measures.skin import Skin
from ..shapes.wire_face import WireFace, scales
from .bores import Bore, bore_of
from .castings import to_a_wrist
from .hanging import loops_of
from .joined_metal import masses
from .piece import Piece
from .shanks import Section, away_from_ends, sections_round


class WearMeasures:
    """All that is measured of one piece as it is worn."""

    def __init__(self, piece: Piece) -> None:
        self.piece, self.metal = piece, piece.skin_measures

    @cached_property
    def bands(self) -> list[Feature]:
        """The bands a finger or a wrist goes through."""
        return [f for f in self.piece.features if "inside-around" in f.offers and len(f.frames)]

    @cached_property
    def bore(self) -> Feature | None:
        """The band a finger or a wrist goes through, the closest of several."""
        return min(self.bands, key=_inside, default=None)

    @cached_property
    def inner(self) -> float:
        """Radius of the bore, mm."""
        return 0.0 if self.bore is None else _inside(self.bore) / 2

    hole = cached_property(lambda self: bore_of(self.piece))

    @cached_property
    def oval(self) -> tuple[Line, Floats] | None:
        """The line of wire that goes round a wrist, looking away from it, and how far its inner side lies
        below each of its points, mm; None without one."""
        for one in self.piece.features:
            line = to_a_wrist(one)
            if line is not None and isinstance(one.surface, WireFace):
                share = np.linspace(0.0, 1.0, len(line.points))
                return line, scales(share, one.surface.widths) * one.surface.high / 2
        return None

    @cached_property
    def holes(self) -> list[Bore]:
        """The holes of all bands, each with its own middle and axis; without any, that of wire."""
        found = [Bore(f.frames[0, :, 3], f.frames[0, :, 1], _inside(f) / 2, f.index) for f in self.bands]
        return found or [one for one in (self.hole,) if one is not None]

    @cached_property
    def sections(self) -> list[Section]:
        """Sections of the metal round the finger or the wrist, of a ring that stands open those a
        quarter turn and more from there: towards its ends nothing bends it."""
        if self.hole is None:
            return []
        out, _ = frame_of(self.hole.axis) if self.bore is None else (self.bore.frames[0][:, 2], None)
        side = cross(self.hole.axis, out)
        frame = np.column_stack((side, self.hole.axis, out, self.hole.middle))
        return away_from_ends(sections_round(self.metal.skin, frame, self.hole.radius))

    @cached_property
    def goes_round(self) -> bool:
        """Whether metal goes all the way round the bore: whether it links with a line along the
        finger that comes back outside of everything."""
        if self.bore is None:
            return False
        frame, far = self.bore.frames[0], 2 * self.metal.skin.size
        along, out = far * frame[:, 1], far * frame[:, 2]
        line = frame[:, 3] + np.array([-along, along, along - out, -along - out])
        return linked(line, self.metal.skin) == LINKED

    @cached_property
    def centre(self) -> tuple[float, Floats]:
        """Weight in g and centre of mass (3,) of metal and stones together."""
        return mass([*masses(self.piece, self.piece.parts), *self.stone_masses])

    @cached_property
    def stone_masses(self) -> list[tuple[tuple[float, Floats], float]]:
        """Volume mm3, centre (3,) and density of every stone, in the order of ``piece.stones``; by
        its weight where that was measured."""
        rows, found = self.piece.stones, []
        for k, frame in enumerate(rows.frames):
            setting = rows.of(k)
            volume, centre = _stone_mass(setting.figures)
            place = frame[:, :3] @ centre + frame[:, 3]
            density = GEMS[setting.gem].density
            if setting.carats is not None:  # the scales know better
                density = setting.carats * UNITS["ct"][1] / volume * 1000
            found.append(((volume, place), density))
        return found

    loops = cached_property(lambda self: loops_of(self.piece))


@lru_cache(maxsize=256)
def _stone_mass(figures: tuple[Any, ...]) -> tuple[float, Floats]:
    """Volume mm3 and centroid of a stone in its own frame."""
    points, triangles = stone_mesh(figures)
    return volume_and_centre(Skin(points, triangles, np.zeros(len(triangles), dtype=np.int64)))


def _inside(band: Feature) -> float:
    """Inside diameter of a band, mm."""
    inside = band.look("inside")
    return 0.0 if inside is None else float(inside.value)
