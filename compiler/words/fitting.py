"""A band fitted beside a ring made before: where it stands along the finger, and how it bows round a head."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from ...lang.bench import Call
from ...lang.words import Kind, Take
from ..bench.feature import Feature
from ..bench.piece_bench import PieceBench
from ..geometry import frames as fr
from ..measures.triangles import spread
from ..shapes.shank import Shank, risen, steepness
from .common import length
from .finger_clauses import INNER_BEND, bow

ROOM = 0.1  # mm between the two rings where the line says no gap
STEP = math.radians(1.0)  # between the places round the ring where they are held against one another
SPOT = 0.1  # mm between spots looked at on a face of the ring beside it
RISES = np.arange(0.0, 8.0, 0.02)  # mm, tried
BOWS = np.radians(np.arange(14.0, 91.0, 1.0))  # from the head, where a bow is level again, tried
WORTH = 0.02  # mm nearer on average: what is bowed for less stays level


class Course(NamedTuple):
    """How a band goes round: ``rise`` mm along the finger at its head, in a point or in a bow that is level
    ``bow`` radians from it; ``up``, mm from the ring beside it to where it stands."""

    rise: float
    pointed: bool
    bow: float
    up: float = 0.0


def fitting() -> tuple[Take, ...]:
    """The clauses of a band that lies beside another ring."""
    return (
        Take(
            "next-to", Kind.PART,
            "a ring made above: it stands above that, as near as 'gap' all round, bowed about its head so "
            "far as that stands in its way: a fitted wedding band; one beside a pointed band is pointed",
            not_with=("at", "on", "under", "along", "upon", "row", "circle", "grid", "open"),
        ),
        Take("below", Kind.FLAG, "stands below that ring, its bow looking down", goes_with=("next-to",)),
        length("gap", "room between the two rings", goes_with=("next-to",), zero=True),
    )  # fmt: skip


def said(call: Call, inside: float, wide: float, thick: float) -> Course:
    """The course a line tells itself."""
    rise = call.get("vee") or call.get("wave") or 0.0
    return Course(rise, call.given("vee"), bow(call, inside / 2 + thick, wide))


def fitted(bench: PieceBench, call: Call, band: Shank) -> tuple[Course, np.ndarray]:
    """The course of a ``band`` nearest to the ring of `next-to`, what the line says of it kept, and where
    that ring stands (1, 3, 4): of all that clear it, the one with the least room between them all round."""
    ring = _ring(call.get("next-to")) or bench.ring(None)  # a head is cast with its ring
    if ring is None:
        call.refuse(
            "wrong-kind", f"{call.get('next-to').name} is no ring", "next-to",
            remedy="name the band or signet that it lies beside, or its head",
        )
    frame = ring.frames[:1]
    angles = np.arange(0.0, math.pi + STEP / 2, STEP)
    way = -1.0 if call.get("below") else 1.0
    own = fr.apply(fr.inverse(frame[0]), bench.beside(call.get("next-to")).reshape(-1, 3)) * (1.0, way, 1.0)
    radius = band.inside / 2 + band.thick
    need = _tops(own.reshape(-1, 3, 3), band.inside / 2, radius, angles) + call.get("gap", ROOM)
    told = said(call, band.inside, band.wide, band.thick)
    pointed = told.pointed or bool(not told.rise and ring.shank.pointed)
    bows = [told.bow] if pointed or call.given("long") else [*BOWS.tolist(), ring.shank.bow]
    tried = (_nearest(band, need, angles, Course(told.rise, pointed, one)) for one in bows)
    rise, pointed, one, off = min(tried)[1]
    return Course(way * rise, pointed, one, way * off), frame


def _nearest(band: Shank, need: np.ndarray, angles: np.ndarray, told: Course) -> tuple[float, Course]:
    """How far off on average, mm, and the course of the nearest band that goes no lower than ``need`` (m,) mm
    at ``angles`` (m,) from its head; of all rises, where none is ``told``."""
    rises, way = RISES, angles.tolist()
    if told.rise:
        rises = np.array([told.rise])
    elif not told.pointed:  # its inner edge must not fold
        most = (told.bow * (band.inside / 2 + band.thick) / math.pi) ** 2 * 2 / (band.wide / 2 + INNER_BEND)
        rises = rises[rises <= most]
    lift, steep = (np.array([f(a, 1.0, told.pointed, told.bow) for a in way]) for f in (risen, steepness))
    wide, thick = np.array([band.at(a) for a in way]).T
    slant = np.hypot(1.0, rises[:, None] * steep / (band.inside / 2 + thick / 2))
    edge = rises[:, None] * lift - wide / 2 * slant
    up = (need - edge).max(axis=1)
    off = (up[:, None] + edge - need).mean(axis=1) + WORTH * (rises > 0)
    k = int(off.argmin())
    return float(off[k]), told._replace(rise=float(rises[k]), up=math.ceil(up[k] * 100) / 100)


def _ring(feature: Feature) -> Feature | None:
    """What goes round the finger of a part: itself, or the first of what it is made of."""
    if feature.shank is not None:
        return feature
    inner = map(_ring, feature.parts)
    return next((one for one in inner if one is not None), None)


def _tops(own: np.ndarray, low: float, high: float, angles: np.ndarray) -> np.ndarray:
    """How far along the finger metal and stones (n, 3, 3) reach between two radii, at angles from the head
    (m,) on either side of it."""
    spots = _spots(own)
    out = np.hypot(spots[:, 0], spots[:, 2])
    spots = spots[(out > low) & (out < high)]
    place = np.abs(np.arctan2(spots[:, 0], spots[:, 2])) / STEP
    tops = np.full(len(angles), own[:, :, 1].min())
    for near in (np.floor(place), np.ceil(place)):
        np.maximum.at(tops, np.minimum(near.astype(int), len(angles) - 1), spots[:, 1])
    return tops


def _spots(corners: np.ndarray) -> np.ndarray:
    """Spots (k, 3) all over triangles (n, 3, 3), no farther apart than SPOT."""
    longest = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).max(axis=1)
    parts, found = np.ceil(longest / SPOT).astype(int), []
    for count in np.unique(parts).tolist():
        found.append(spread(corners[parts == count], count).reshape(-1, 3))
    return np.concatenate(found)
