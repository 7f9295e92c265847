"""Seats: the metal they are cut into, their light holes and the room they leave the stone."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ..bench.feature import Feature
from ..bench.plan import SEAT
from ..bench.roles import Role
from .bound import Bound
from .digits import mm
from .figure_rule import Reading
from .holed import HOLE, round_about
from .pairs import near_pairs
from .stone_table import pavilion_of

if TYPE_CHECKING:
    from ..measures.light import Shut
    from ..measures.skin import Skin
    from .beds import Bed
    from .piece import Piece


def seats_of(piece: Piece) -> dict[int, int]:
    """The seat line of each stone that has one: stone index to feature index."""
    seats: dict[int, int] = {}
    for one in piece.plan_solids:
        if one.kind == SEAT:
            stone, _ = near_pairs(piece.stones.frames[:, :, 3], one.frames[:, :, 3], 1e-3)
            seats.update((int(k), one.feature) for k in stone)
    return seats


def cut_into(piece: Piece, seat: int, bed: Bed) -> bool:
    """Whether the seat of a line is cut into the body of this bed; it may be other metal, the prong's own."""
    into = piece.call(seat).get("in")
    if not isinstance(into, Feature) or into.body is None:
        return True
    return into.body == piece.features[bed.body].body


def cut_by(piece: Piece, seat: int) -> list[int]:
    """The features whose metal a seat is cut into; none known when it is cut into all."""
    into = piece.call(seat).get("in")
    return [] if into is None else [f.index for f in piece.features if f.body in into.bodies()]


def cut_too(piece: Piece, stone: int, metal: int) -> str:
    """What cuts the seat of a stone into the metal behind it too, so that its hole goes through both; ""
    where its line does not say what it is cut into, or that metal is only made below it."""
    seat = piece.seated[stone]
    if "in" not in piece.clauses_of(seat) or piece.features[metal].body is None or metal > seat:
        return ""
    into = " + ".join(piece.name_of(one) for one in (*cut_by(piece, seat), metal))
    return f"write in {into} in the line of {piece.name_of(seat)}: its hole then goes through both"


def closed(piece: Piece, seat: int) -> bool:
    """Whether the seat of a line is closed below on purpose."""
    return "blind" in piece.clauses_of(seat) or piece.call(seat).get("hole") == 0


def may_close(piece: Piece, seat: int) -> bool:
    """Whether the line that made a seat could say that it is closed below."""
    return not closed(piece, seat) and piece.can_say(seat, "blind")


def on_wire(piece: Piece, seat: int, behind: int) -> bool:
    """Whether what stands behind a seat is wire that was there before it, so that its own cup, which might be
    closed, stands on it: wire is not drilled through. Not the shank of a ring, which its word drills."""
    hole = piece.wear_measures.hole
    wire = piece.is_for(behind, Role.WIRE) and not piece.is_for(behind, Role.SETTING)
    return wire and behind < seat and (hole is None or hole.feature != behind) and may_close(piece, seat)


def shut_of(piece: Piece) -> dict[int, Shut]:
    """What shuts the light hole of each stone whose seat lets no light out: by stone index. The metal must
    be made. Metal of another casting shuts a hole that it lies on: what stands across a hollow, as the other
    half of a locket does, comes away from it."""
    found = _shut_in(piece, piece.skin_measures.skin, sorted(piece.seated))
    castings = piece.casting_measures
    if not found or len(castings.castings) < 2:
        return found
    for stone, shut in list(found.items()):
        own = castings.casting_at(piece.stones.frames[stone, :, 3])
        if own is not None and not _lies_on(piece, stone, shut, own.skin):
            del found[stone]
            found |= _shut_in(piece, own.skin, [stone])
    return found


def _shut_in(piece: Piece, skin: Skin, stones: list[int]) -> dict[int, Shut]:
    """What of some metal shuts the light holes of some stones, by stone index."""
    from ..measures.light import Holes, shut_holes

    radii = np.array([hole_of(piece, stone) for stone in stones])
    pavilions = np.array([pavilion_of(piece.stones.of(stone)) for stone in stones])
    shares = np.array([piece.call(piece.seated[stone]).get("hole") or 0.0 for stone in stones])
    wanted = np.array([way_wanted(piece, stone) for stone in stones])
    holes = Holes(piece.stones.frames[stones], (1 - shares) * pavilions, pavilions, radii, wanted)
    found = shut_holes(skin, holes)
    return {stone: shut for stone, shut in zip(stones, found, strict=True) if shut is not None}


def way_wanted(piece: Piece, stone: int) -> float:
    """How wide a way out the light hole under a stone wants, mm: a share of its own width, and no more than
    light and a brush need; 0.0 of one that is closed on purpose."""
    seat = piece.seated[stone]
    if closed(piece, seat):
        return 0.0
    share, enough = (piece.bound("blind-seat", what, seat) for what in ("way", "enough"))
    return min(share * 2 * hole_of(piece, stone), enough)


def hole_of(piece: Piece, stone: int) -> float:
    """The radius of the light hole under a stone, mm."""
    return float(piece.stones.of(stone).width * piece.call(piece.seated[stone]).get("hole") / 2)


def _lies_on(piece: Piece, stone: int, shut: Shut, own: Skin) -> bool:
    """Whether what shuts a hole is of the stone's own casting, or lies so near to that, where the hole ends,
    that neither light nor a brush passes between."""
    from ..measures.light import CLEAR
    from ..measures.rays import within

    frame, radius = piece.stones.frames[stone], hole_of(piece, stone)
    spots, ways = round_about(frame[:, 3] - shut.free * frame[:, 2], frame)
    return shut.feature in own.owner or bool(within(own, spots + radius * ways, CLEAR * radius).any())


def light_holes(piece: Piece) -> Iterator[Reading]:
    """The light hole of each seat, of the width of its stone."""
    for stone, seat in piece.seated.items():
        hole, kind = piece.call(seat).get("hole"), piece.stones.of(stone)
        if hole:
            wide = {"wide": mm(hole * kind.width)}
            yield Reading(seat, hole, of=kind, words=wide, value=lambda bound: f"{100 * bound:g} %")


def hole_borne(piece: Piece, limit: Bound, reading: Reading) -> Bound | None:
    """The least light hole a seat is to have, a share of its stone: no wider than the shank it is cut into
    bears; None where that bears none."""
    share = share_borne(piece, reading.feature, reading.of.width)
    return limit if share >= limit else Bound(share, limit.limit) if share else None


def share_borne(piece: Piece, seat: int, width: float) -> float:
    """The widest light hole that a seat for stones of a ``width`` may have, a share of that in whole per
    cent: in a shank with the least wall left on both sides, 0.0 where that leaves none worth having."""
    into = piece.call(seat).get("in")
    if not isinstance(into, Feature) or into.shank is None:
        return 1.0
    wide = into.shank.wide - 2 * piece.bound("thin-wall", "least", into)
    return math.floor(100 * wide / width) / 100 if wide >= HOLE else 0.0


def clearances(piece: Piece) -> Iterator[Reading]:
    """The room each seat leaves round its stone."""
    for seat in sorted(set(piece.seated.values())):
        room = piece.call(seat).get("clearance")
        if room is not None:
            yield Reading(seat, room, value=lambda _: "0.04 mm")
