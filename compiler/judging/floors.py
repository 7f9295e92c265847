"""The thinnest metal straight below the seat of each stone."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..measures.arcs import longest_gap
from ..measures.kinds import Flags, Floats, Ints, dot, place_of, unit
from ..measures.stone import Stone
from .forms import COUNT, STEP, Form, Spot

if TYPE_CHECKING:
    from ..measures.skin import Skin

SPOKES = 18
THIRD = 3  # of the directions round a stone, those looked below in
INSIDE, CLEAR, OFF = 0.9, 0.01, 0.3  # of its radius; mm above its back, below it
EDGE = 0.006  # mm beyond the edge of the light hole, clear of the facets of its bore
WALL = 0.25  # a face of a seat met flatter than that (cosine) is the wall of its light hole, no bearing
HALVINGS = 9  # of the way out to where metal begins


def floors(
    forms: list[Form], stones: list[Stone], holes: list[float], skin: Skin, seats: Flags
) -> list[Spot | None]:
    """The thinnest metal straight below the seat of each stone, from its light hole (a share of its width) to
    its girdle; None where a stone has no seat below it.

    Lines every 20 degrees, at the edge of the light hole, or at what another cut has left of it, and at the
    girdle; exact for the mesh along them."""
    if not stones:
        return []
    ends = [_ends(form, stone, hole) for form, stone, hole in zip(forms, stones, holes, strict=True)]
    edge, rim = np.concatenate(ends, axis=1)
    way = np.repeat([-stone.turn[2] for stone in stones], SPOKES, axis=0)
    thick, into, out, at = _below(skin, seats, np.concatenate((edge, rim)), np.tile(way, (2, 1)))
    count = len(edge)
    thick[:count] -= EDGE * _growth(skin, into[:count], out[:count], way, unit(rim - edge))
    bare = np.flatnonzero((into[:count] < 0) & (into[count:] >= 0))
    if len(bare):
        thick[bare], _, out[bare], at[bare] = _where_metal_begins(
            skin, seats, edge[bare], rim[bare], way[bare], skin.owner[into[count + bare]]
        )
    found: list[Spot | None] = []
    for lines in np.arange(2 * count).reshape(2, -1, SPOKES).swapaxes(0, 1).reshape(len(stones), -1):
        i = int(lines[np.argmin(thick[lines])])
        spot = Spot(max(float(thick[i]), 0.0), place_of(at[i]), int(skin.owner[out[i]]))
        found.append(spot if np.isfinite(thick[i]) else None)
    return found


def uncarried(forms: list[Form], stones: list[Stone], skin: Skin) -> list[float]:
    """The widest arc, degrees, in which no metal lies right below the rim of each stone."""
    if not stones:
        return []
    start, way, reach = map(np.concatenate, zip(*map(_below_rim, forms, stones), strict=True))
    met = skin.grid.cast(start, way, leaving=False, reach=reach)[1] >= 0
    return (THIRD * STEP * longest_gap(met.reshape(len(stones), -1))).tolist()


def _below_rim(form: Form, stone: Stone) -> tuple[Floats, Floats, Floats]:
    """Lines (n, 3) down from the rim of a stone, and how far each is followed (n,), mm."""
    turn = np.radians(np.arange(0, COUNT, THIRD) * STEP)
    far = INSIDE * form.rim[::THIRD]
    start = np.stack((far * np.cos(turn), far * np.sin(turn), np.full(len(far), form.low + CLEAR)), axis=1)
    way = np.tile(-stone.turn[2], (len(far), 1))
    reach = CLEAR + OFF + (1 - INSIDE) * float(form.rim.max()) * 1.2  # a pavilion falls away so far
    return stone.world(start), way, np.full(len(far), reach)


def _below(skin: Skin, seats: Flags, start: Floats, way: Floats) -> tuple[Floats, Ints, Ints, Floats]:
    """The metal that lines (n,) meet at the face of a seat: its thickness along them, mm (inf where
    it ends at the wall of a seat), the faces in and out (-1: no seat is met) and its middle."""
    far, into = skin.grid.cast(start, way, leaving=False)
    into = np.where(seats[into] & (dot(way, skin.normals[into]) < -WALL), into, -1)
    ok = into >= 0
    thick, out = np.full(len(start), np.inf), np.full(len(start), -1, dtype=np.int64)
    bottom = start[ok] + (far[ok, None] + 1e-6) * way[ok]
    thick[ok], out[ok] = skin.grid.cast(bottom, way[ok])
    thick[seats[out]] = np.inf
    depth = np.where(np.isfinite(thick), far + thick / 2, 0.0)
    return thick, into, out, start + depth[:, None] * way


def _growth(skin: Skin, into: Ints, out: Ints, way: Floats, aside: Floats) -> Floats:
    """How much thicker the metal between two faces gets along ``way`` for each mm ``aside``."""
    both = np.flatnonzero((into >= 0) & (out >= 0))
    slopes = [dot(n, aside[both]) / dot(n, way[both]) for n in skin.normals[np.stack((into, out))[:, both]]]
    grown = np.zeros(len(into))
    grown[both] = slopes[0] - slopes[1]
    return grown


def _where_metal_begins(
    skin: Skin, seats: Flags, bare: Floats, rim: Floats, way: Floats, whose: Ints
) -> tuple[Floats, Ints, Ints, Floats]:
    """What lines meet that stand where the seat of a line of the text (n,) begins, between places without
    and places with it (n, 3)."""
    for _ in range(HALVINGS):
        middle = (bare + rim) / 2
        into = _below(skin, seats, middle, way)[1]
        met = ((into >= 0) & (skin.owner[into] == whose))[:, None]
        bare, rim = np.where(met, bare, middle), np.where(met, middle, rim)
    return _below(skin, seats, rim, way)


def _ends(form: Form, stone: Stone, hole: float) -> Floats:
    """Starting points of a stone's lines in the girdle plane, at the light hole and at the girdle,
    (2, SPOKES, 3)."""
    spoke = np.arange(SPOKES) * COUNT // SPOKES
    turn = np.radians(spoke * STEP)
    far = form.rim[spoke]
    edge = np.minimum(min(hole, 0.9) + EDGE / far, 0.97)
    level = np.full(SPOKES, form.low - 1e-3)
    ends = [
        np.stack((share * far * np.cos(turn), share * far * np.sin(turn), level), axis=1)
        for share in (edge, np.full(SPOKES, 0.97))
    ]
    return stone.world(np.stack(ends))
