"""The tree: how many pieces stand in a flask, and what is weighed out for them.

Every wax stands on the stem by its first sprue, at the angle of the house or one that suits it better,
all alike; tiers follow each other up the stem."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ..measures.kinds import Floats
from ..measures.rays import spots_on
from ..measures.skin import Skin
from .sprues import Sprue

CELL = 0.5  # mm: points nearer than this are one
COLUMN = 1.5  # mm: the skin is looked at in columns so wide
MOST_SPOTS = 20_000
QUARTER = np.array([[0.0, 1.0, 0.0], [-1.0, 0.0, 0.0], [0.0, 0.0, 1.0]])
MOST_AROUND = 60


@dataclass(frozen=True)
class Flask:
    """The house's flask, mm: ``inside`` diameter, ``tall``, room to leave at the ``wall``, at the
    ``top``, the ``gap`` between waxes, the ``stem``, the ``button`` and how tall that is; ``angle`` deg
    between stem and sprue."""

    inside: float
    tall: float
    wall: float
    top: float
    gap: float
    stem: float
    button: float
    button_tall: float
    angle: float

    @property
    def usable(self) -> float:
        """Height for waxes, from the button up, mm."""
        return self.tall - self.top - self.button_tall

    @property
    def button_volume(self) -> float:
        """The button: a cone from its diameter to that of the stem, mm3."""
        a, b = self.button / 2, self.stem / 2
        return math.pi * self.button_tall / 3 * (a * a + a * b + b * b)

    @property
    def volume(self) -> float:
        """All of its inside, mm3."""
        return math.pi / 4 * self.inside**2 * self.tall


@dataclass(frozen=True, eq=False)
class Wax:
    """A wax as it stands on its sprue: ``points`` (n, 3) mm, z along the sprue away from the stem, which
    the metal begins ``sprue`` mm from."""

    points: Floats
    sprue: float


@dataclass(frozen=True)
class Tree:
    """How many waxes go in one flask: ``around`` in a tier, ``tiers`` that are ``pitch`` mm apart; the
    ``angle`` deg of their sprues; ``alone`` where one stands upright on the button, and ``why``. ``stem`` mm
    is how long the stem is."""

    around: int
    tiers: int
    pitch: float
    angle: float
    stem: float
    alone: bool = False
    why: str = ""

    @property
    def room(self) -> int:
        """Waxes in all."""
        return self.around * self.tiers


def wax_of(skin: Skin, sprues: Sequence[Sprue]) -> Wax:
    """A piece on its first sprue (upside down without one)."""
    points = np.concatenate((skin.points, spots_on(skin, CELL, MOST_SPOTS).at))
    way = sprues[0].way if sprues else np.array([0.0, 0.0, 1.0])
    foot = sprues[0].at if sprues else points[np.argmax(points[:, 2])]
    side = np.cross([0.0, 1.0, 0.0] if abs(way[1]) < 0.9 else [1.0, 0.0, 0.0], way)
    side /= np.linalg.norm(side)
    turned = (points - foot) @ np.stack((side, np.cross(way, side), -way), axis=1)
    cells = np.unique(np.round(turned / CELL).astype(np.int64), axis=0)
    return Wax(cells * CELL, max((sprue.long for sprue in sprues), default=0.0))


def tree(wax: Wax, flask: Flask) -> Tree:
    """As many of one wax as go in the flask, turned about its sprue either way."""
    ways = [
        (wax.points @ turn, wax.sprue, flask, angle)
        for angle in dict.fromkeys((flask.angle, 60.0, 45.0, 30.0))
        for turn in (np.eye(3), QUARTER)
    ]
    best = max((standing(*way) for way in ways), key=lambda one: one.room)
    return best if best.room else _alone(wax, flask, min(_over(*_leaning(*way), flask) for way in ways)[1])


def _over(x: Floats, y: Floats, z: Floats, flask: Flask) -> tuple[float, str]:
    """By how much a wax as it leans misses its place at the stem, mm (none below 0), and how that is told."""
    far, room = float(np.hypot(x, y).max()), flask.inside / 2 - flask.wall
    tall = _tall(z)
    return max(
        (far - room, f"it would reach {far:.1f} mm from the middle of the flask, of {room:g} mm there are"),
        (tall - flask.usable, f"it would stand {tall:.1f} mm tall, of {flask.usable:g} mm there are"),
        (flask.stem / 2 - float(x.min()), "it would run into the stem"),
    )


def _tall(z: Floats) -> float:
    """How much of the stem a wax takes, mm."""
    return float(max(z.max(), 0.0) - min(z.min(), 0.0))


def _leaning(points: Floats, sprue: float, flask: Flask, angle: float) -> tuple[Floats, Floats, Floats]:
    """A wax on a sprue at an angle to the stem: x out from the stem, y beside it, z along it."""
    out, up = math.sin(math.radians(angle)), math.cos(math.radians(angle))
    along, flat = points[:, 2] + sprue, points[:, 0]
    return flask.stem / 2 + along * out - flat * up, points[:, 1], along * up + flat * out


def standing(points: Floats, sprue: float, flask: Flask, angle: float) -> Tree:
    """The tree with sprues at an angle to the stem."""
    x, y, z = _leaning(points, sprue, flask, angle)
    if _over(x, y, z, flask)[0] > 0:
        return Tree(0, 0, 0.0, angle, 0.0)
    tall = _tall(z)
    pitch = _pitch(x, y, z) + flask.gap
    tiers = 1 + int((flask.usable - tall) / pitch + 1e-9)
    return Tree(_around(x, y, flask.gap), tiers, pitch, angle, (tiers - 1) * pitch + tall)


def _around(x: Floats, y: Floats, gap: float) -> int:
    """How many go round the stem: each keeps half the gap from the planes between neighbours."""
    for count in range(MOST_AROUND, 1, -1):
        half = math.pi / count
        if float((x * math.sin(half) - np.abs(y) * math.cos(half)).min()) >= gap / 2:
            return count
    return 1


def _pitch(x: Floats, y: Floats, z: Floats) -> float:
    """How far one must be moved along the stem so as to clear itself, mm: the tallest column of it."""
    column = np.round(np.stack((x, y), axis=1) / COLUMN).astype(np.int64)
    _, which = np.unique(column, axis=0, return_inverse=True)
    which = which.reshape(-1)
    high, low = np.full(which.max() + 1, -np.inf), np.full(which.max() + 1, np.inf)
    np.maximum.at(high, which, z)
    np.minimum.at(low, which, z)
    return float((high - low).max())


def _alone(wax: Wax, flask: Flask, why: str) -> Tree:
    """One wax upright on the button, if it goes in; ``why`` it has no place at a stem."""
    flat = wax.points[:, :2]
    across = 2 * float(np.linalg.norm(flat - (flat.min(axis=0) + flat.max(axis=0)) / 2, axis=1).max())
    tall = wax.sprue + float(np.ptp(wax.points[:, 2]))
    fits = across <= flask.inside - 2 * flask.wall and tall <= flask.usable
    return Tree(int(fits), int(fits), 0.0, 0.0, 0.0, alone=True, why=why)


@dataclass(frozen=True)
class Weights:
    """What one flask of so many waxes takes, g and mm3: ``pieces``, ``sprues``, ``stem``, ``button``, all in
    metal; ``wax`` g of all but the button; ``times`` metal over wax; ``slurry`` mm3 of investment."""

    count: int
    pieces: float
    sprues: float
    stem: float
    button: float
    wax: float
    times: float
    slurry: float

    @property
    def metal(self) -> float:
        """To weigh out."""
        return self.pieces + self.sprues + self.stem + self.button


def weights(
    count: int, volume: float, sprues: Sequence[Sprue], stands: Tree, flask: Flask, density: float,
    wax: float,
    joined: float = 0.0,
) -> Weights:  # fmt: skip
    """What is weighed out for ``count`` pieces, ``joined`` rods with them: mm3, densities in g/cm3."""
    dense = density / 1000
    feeding = (sum(sprue.volume for sprue in sprues) + joined) * count
    stem = math.pi / 4 * flask.stem**2 * stands.stem
    pattern = volume * count + feeding + stem
    return Weights(
        count, volume * count * dense, feeding * dense, stem * dense, flask.button_volume * dense,
        pattern * wax / 1000, density / wax, flask.volume - pattern - flask.button_volume,
    )  # fmt: skip
