"""Pieces of known figures, each with the recipe that builds it exactly (see `exact.py`).

Figures are frozen dataclasses, so that a posy text, a faceted solid and an exact one can all
be written from the same numbers. x runs right, y up, z out to the onlooker; a plate or bar is
centred on x-y with its back at z = 0; a finger band turns about y. Lengths in mm, angles in
degrees. The pieces and their default figures are our own."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, pi, radians, sin, sqrt, tan

from exact import Recipe
from exact_round import PAST, BallPost, BentWire, DomedBand, FlatBand, JumpRing, Piece, Z, bar, hole


@dataclass(frozen=True)
class PlainBar(Piece):
    """A bar with its upright edges rounded."""

    length: float = 32.0
    width: float = 5.0
    height: float = 1.8
    corner: float = 0.6

    def recipe(self) -> Recipe:
        return [bar(self.length, self.width, self.height, self.corner)]

    def text(self) -> str:
        return f"bar b: size {self.length} x {self.width} x {self.height} mm, corner {self.corner} mm"


@dataclass(frozen=True)
class Tube(Piece):
    """A length of tube standing on z = 0."""

    outside: float = 4.0
    inside: float = 3.2
    length: float = 6.0

    def recipe(self) -> Recipe:
        body = ["add", ("cylinder", (0, 0, 0), (0, 0, self.length), self.outside / 2)]
        return [body, hole(0, 0, self.inside / 2, self.length)]

    def text(self) -> str:
        return f"tube t: outside {self.outside} mm, inside {self.inside} mm, long {self.length} mm"


@dataclass(frozen=True)
class DrilledDisc(Piece):
    """A disc with holes evenly round a circle, the first at three o'clock."""

    across: float = 16.0
    thickness: float = 1.2
    holes: int = 7
    drill: float = 1.5
    circle: float = 11.0

    def recipe(self) -> Recipe:
        body = ["add", ("cylinder", (0, 0, 0), (0, 0, self.thickness), self.across / 2)]
        r, turns = self.circle / 2, [2 * pi * k / self.holes for k in range(self.holes)]
        return [body, *(hole(r * cos(t), r * sin(t), self.drill / 2, self.thickness) for t in turns)]

    def text(self) -> str:
        return f"""
disc d: across {self.across} mm, thick {self.thickness} mm
drill holes: at face of d, circle {self.holes}, radius {self.circle / 2} mm, across {self.drill} mm
"""


@dataclass(frozen=True)
class SetBar(Piece):
    """A bar hollowed from the back, with seats in a row and shared prongs between them.

    A seat is a cylinder from the girdle up past the face, a cone from the girdle down to the
    light hole, and the light hole through the roof. Prongs are rods in pairs at the gaps and
    ends of the row, biting `bite` into the outline of the stones, with half-ball tops if
    `domed`; `rise` is from the face to the top of the rod's straight part."""

    stones: int = 5
    across: float = 2.6
    pitch: float = 2.85
    length: float = 16.0
    width: float = 4.9
    height: float = 2.4
    corner: float = 0.6
    wall: float = 0.9
    roof: float = 1.1
    sink: float = 0.35
    bearing: float = 41.0
    light: float = 1.3
    wire: float = 0.9
    rise: float = 0.5
    bite: float = 0.1
    root: float = 0.5
    domed: bool = False

    def centres(self) -> list[float]:
        """Places of the stones along x."""
        return [(k - (self.stones - 1) / 2) * self.pitch for k in range(self.stones)]

    def prongs(self) -> list[tuple[float, float]]:
        """Places of the prongs in x-y."""
        reach = self.across / 2 + self.wire / 2 - self.bite
        y = sqrt(reach**2 - (self.pitch / 2) ** 2)
        xs = [(k - self.stones / 2) * self.pitch for k in range(self.stones + 1)]
        return [(x, side) for x in xs for side in (-y, y)]

    def recipe(self) -> Recipe:
        long, wide = self.length - 2 * self.wall, self.width - 2 * self.wall
        deep = self.height - self.roof
        hollow = ["cut", ("box", -long / 2, -wide / 2, -PAST, long, wide, deep + PAST)]
        body = bar(self.length, self.width, self.height, self.corner)
        return [body, hollow, *self._seats(), *self._rods()]

    def _seats(self) -> Recipe:
        girdle, r, light = self.height - self.sink, self.across / 2, self.light / 2
        fall = (r - light) * tan(radians(self.bearing))
        steps: Recipe = []
        for x in self.centres():
            at = x, 0, girdle
            steps.append(["cut", ("cylinder", at, (0, 0, self.sink + PAST), r)])
            steps.append(["cut", ("cone", at, (0, 0, -fall), r, light)])
            steps.append(hole(x, 0, light, girdle))
        return steps

    def _rods(self) -> Recipe:
        foot, top, r = self.height - self.root, self.height + self.rise, self.wire / 2
        steps: Recipe = []
        for x, y in self.prongs():
            steps.append(["add", ("cylinder", (x, y, foot), (0, 0, top - foot), r)])
            if self.domed:
                steps.append(["add", ("sphere", (x, y, top), r)])
        return steps

    def text(self) -> str:
        foot = f"out {self.height - self.root} mm"
        if self.domed:
            tip, long = "round", self.root + self.rise + self.wire / 2
        else:
            tip, long = "flat", self.root + self.rise
        rods = "\n".join(
            f"rod r{k}: right {x} mm, up {y} mm, {foot}, wire {self.wire} mm, long {long} mm, tip {tip}"
            for k, (x, y) in enumerate(self.prongs())
        )
        return f"""
stone row: round {self.across} mm, gem garnet, row {self.stones}, every {self.pitch} mm, out {self.height - self.sink} mm
bar frame: size {self.length} x {self.width} x {self.height} mm, corner {self.corner} mm
hollow back: in frame, wall {self.wall} mm, roof {self.roof} mm
seat s: for row, in frame, hole 50 %
{rods}
"""


@dataclass(frozen=True)
class LoopedBar(Piece):
    """A bar with a flat loop at its right end; the loop's wire is half sunk in the end."""

    length: float = 24.0
    width: float = 4.0
    height: float = 2.0
    corner: float = 0.5
    inside: float = 2.0
    wire: float = 1.0

    def recipe(self) -> Recipe:
        ring = (self.inside + self.wire) / 2
        centre = self.length / 2 + ring, 0, self.height / 2
        loop = ["add", ("torus", centre, Z, ring, self.wire / 2)]
        return [bar(self.length, self.width, self.height, self.corner), loop]

    def text(self) -> str:
        ring = (self.inside + self.wire) / 2
        return f"""
bar b: size {self.length} x {self.width} x {self.height} mm, corner {self.corner} mm
jump-ring j: right {self.length / 2 + ring} mm, out {self.height / 2} mm, wire {self.wire} mm, inside {self.inside} mm
"""


@dataclass(frozen=True)
class BeadedPlate(Piece):
    """A plate with a row of beads along x, each half sunk in the face."""

    length: float = 14.0
    width: float = 3.0
    height: float = 1.0
    beads: int = 9
    bead: float = 1.0
    pitch: float = 1.2

    def recipe(self) -> Recipe:
        row = [(k - (self.beads - 1) / 2) * self.pitch for k in range(self.beads)]
        balls = [["add", ("sphere", (x, 0, self.height), self.bead / 2)] for x in row]
        return [bar(self.length, self.width, self.height, 0), *balls]

    def text(self) -> str:
        return f"""
bar b: size {self.length} x {self.width} x {self.height} mm
ball g: row {self.beads}, every {self.pitch} mm, across {self.bead} mm, out {self.height - self.bead / 2} mm
"""


@dataclass(frozen=True)
class PiercedOval(Piece):
    """An elliptical plate pierced by an elliptical window, with a drilled hole above it."""

    length: float = 22.0
    width: float = 16.0
    thickness: float = 1.1
    window_length: float = 9.0
    window_width: float = 6.0
    drill: float = 1.8
    drill_up: float = 5.5

    def recipe(self) -> Recipe:
        rim = [("ellipse", (0, 0), (self.length / 2, self.width / 2))]
        window = [("ellipse", (0, 0), (self.window_length / 2, self.window_width / 2))]
        tool = "prism", window, self.thickness + 2 * PAST
        return [
            ["add", ("prism", rim, self.thickness)],
            ["cut", tool, ("shift", (0, 0, -PAST))],
            hole(0, self.drill_up, self.drill / 2, self.thickness),
        ]

    def text(self) -> str:
        return f"""
plate o: oval {self.length} x {self.width} mm, thick {self.thickness} mm
pierce window: at face of o, oval {self.window_length} x {self.window_width} mm
drill hole: at face of o, up {self.drill_up} mm, across {self.drill} mm
"""


PIECES: dict[str, Piece] = {
    "plain bar": PlainBar(),
    "tube": Tube(),
    "drilled disc": DrilledDisc(),
    "set bar": SetBar(),
    "set bar, domed prongs": SetBar(domed=True),
    "jump ring": JumpRing(),
    "looped bar": LoopedBar(),
    "beaded plate": BeadedPlate(),
    "flat band": FlatBand(),
    "D-section band": DomedBand(),
    "court band": DomedBand(comfort=0.3),
    "ball on a post": BallPost(),
    "bent wire": BentWire(),
    "pierced oval": PiercedOval(),
}
