"""Pieces of wire, bands and balls of known figures, and what all such pieces share (see `exact_pieces.py`)."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from math import cos, pi, radians, sin

from exact import Recipe

Z = 0, 0, 1


PAST = 0.5  # mm by which a tool goes past the face it cuts


class Piece:
    """A piece of known figures; `recipe` builds it exactly."""

    def recipe(self) -> Recipe:
        """Return the steps of work for the exact kernel."""
        raise NotImplementedError

    def text(self) -> str:
        """Return the same piece as posy is told it."""
        raise NotImplementedError

    def figures(self) -> dict[str, float]:
        """Return the numbers of the piece by name (mm, degrees, counts)."""
        return asdict(self)  # type: ignore[call-overload]


def bar(length: float, width: float, height: float, corner: float) -> Recipe:
    corners = -length / 2, -width / 2, 0, length, width, height
    return ["add", ("rounded-box", *corners, corner) if corner else ("box", *corners)]


def hole(x: float, y: float, r: float, through: float) -> Recipe:
    return ["cut", ("cylinder", (x, y, -PAST), (0, 0, through + 2 * PAST), r)]


@dataclass(frozen=True)
class JumpRing(Piece):
    """A closed ring of round wire lying flat about the origin."""

    inside: float = 4.0
    wire: float = 0.9

    def recipe(self) -> Recipe:
        return [["add", ("torus", (0, 0, 0), Z, (self.inside + self.wire) / 2, self.wire / 2)]]

    def text(self) -> str:
        return f"jump-ring j: wire {self.wire} mm, inside {self.inside} mm"


@dataclass(frozen=True)
class FlatBand(Piece):
    """A flat finger band about the y axis."""

    inside: float = 17.2
    width: float = 4.0
    thickness: float = 1.6

    def recipe(self) -> Recipe:
        at, axis, r = (0, -self.width / 2, 0), (0, self.width, 0), self.inside / 2
        past_at, past = (0, -self.width / 2 - PAST, 0), (0, self.width + 2 * PAST, 0)
        body = ["add", ("cylinder", at, axis, r + self.thickness)]
        return [body, ["cut", ("cylinder", past_at, past, r)]]

    def text(self) -> str:
        return f"band b: inside {self.inside} mm, wide {self.width} mm, thick {self.thickness} mm"


@dataclass(frozen=True)
class DomedBand(Piece):
    """A band about the y axis, domed outside (D section), and inside too if `comfort` > 0.

    `inside` is measured at the middle of the width, where the finger passes; `edge` is the
    thickness at the edges with the inside taken as straight; `comfort` is how far the inside
    falls away at the edges (a court section)."""

    inside: float = 17.2
    width: float = 5.0
    thickness: float = 2.0
    edge: float = 1.0
    comfort: float = 0.0

    def dome(self, rise: float) -> float:
        """Radius of the arc that rises `rise` over the width (sagitta formula)."""
        return ((self.width / 2) ** 2 + rise**2) / (2 * rise)

    def recipe(self) -> Recipe:
        bore, half = self.inside / 2, self.width / 2
        out = self.dome(self.thickness - self.edge)
        start, edge = (bore + self.comfort, -half), (bore + self.edge, -half)
        outline: Recipe = [("start", start), ("line", edge)]
        outline.append(("arc", (bore + self.thickness - out, 0), (bore + self.edge, half)))
        outline.append(("line", (bore + self.comfort, half)))
        if self.comfort:
            outline.append(("arc", (bore + self.dome(self.comfort), 0), start))
        else:
            outline.append(("line", start))
        return [["add", ("turned", outline, (0, 0, 0), (0, 1, 0), 360)]]

    def text(self) -> str:
        profile = "court" if self.comfort else "d"
        return f"band b: inside {self.inside} mm, wide {self.width} mm, thick {self.thickness} mm, profile {profile}"


@dataclass(frozen=True)
class BallPost(Piece):
    """A ball about the origin with a post from its centre down to z = -length."""

    ball: float = 4.0
    wire: float = 0.8
    length: float = 11.0

    def recipe(self) -> Recipe:
        post = ["add", ("cylinder", (0, 0, 0), (0, 0, -self.length), self.wire / 2)]
        return [["add", ("sphere", (0, 0, 0), self.ball / 2)], post]

    def text(self) -> str:
        return f"""
ball b: across {self.ball} mm, inward {self.ball / 2} mm
rod r: wire {self.wire} mm, long {self.length} mm, inward {self.length} mm
"""


@dataclass(frozen=True)
class BentWire(Piece):
    """Round wire: a leg along x, a bend to the left in x-y, a tail, then a bend square to z."""

    wire: float = 1.0
    leg: float = 8.0
    bend: float = 3.0
    turn: float = 120.0
    tail: float = 5.0
    lift: float = 2.0

    def path(self) -> Recipe:
        """Centre line of the wire."""
        t = radians(self.turn)
        ahead = cos(t), sin(t)
        bent = self.leg + self.bend * sin(t), self.bend * (1 - cos(t))
        tail = [p + self.tail * a for p, a in zip(bent, ahead, strict=True)]
        end = [p + self.lift * a for p, a in zip(tail, ahead, strict=True)]
        return [
            ("start", (0, 0, 0)),
            ("line", (self.leg, 0, 0)),
            ("arc", (self.leg, self.bend, 0), (*bent, 0)),
            ("line", (*tail, 0)),
            ("arc", (*tail, self.lift), (*end, self.lift)),
        ]

    def run(self) -> float:
        """Length of the centre line."""
        return self.leg + radians(self.turn) * self.bend + self.tail + pi / 2 * self.lift

    def recipe(self) -> Recipe:
        return [["add", ("pipe", self.path(), self.wire / 2)]]

    def text(self) -> str:
        t = radians(self.turn)
        mid = self.leg + self.bend * sin(t / 2), self.bend * (1 - cos(t / 2))
        (x0, y0, _), (x1, y1, _), (x2, y2, z2) = (step[-1] for step in self.path()[2:])
        ahead = cos(t), sin(t)
        half = pi / 4
        over = x1 + self.lift * sin(half) * ahead[0], y1 + self.lift * sin(half) * ahead[1]
        rise = self.lift * (1 - cos(half))
        return f"""
path l: through (0, 0, 0) to ({self.leg}, 0, 0 mm) over ({mid[0]}, {mid[1]}, 0 mm) to ({x0}, {y0}, 0 mm) to
  ({x1}, {y1}, 0 mm) over ({over[0]}, {over[1]}, {rise} mm) to ({x2}, {y2}, {z2} mm)
wire w: along l, round {self.wire} mm
""".replace(" to\n  ", " to ")
