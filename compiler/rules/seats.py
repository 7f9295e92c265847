"""Seats and what they leave of the metal: tight, slack, deep, shallow, near an edge, empty; light holes."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ..bench.plan import SEAT
from ..bench.roles import Role
from ..geometry import frames as fr
from ..judging.bezels import is_cup
from ..judging.digits import above, below, least, mm, most, place, rounded_up
from ..judging.moves import told
from ..judging.pairs import near_pairs
from ..judging.remedies import wider
from ..judging.rule import Level, Verdict

if TYPE_CHECKING:
    from ..judging.beds import Bed
    from ..judging.piece import Piece
    from ..judging.plan_solids import PlanSolid


GIRDLE = 0.05  # mm over the face of its metal, from which a girdle lies in the open


def shallow_pocket(piece: Piece) -> Iterator[Verdict]:
    """Pockets too shallow for the stone that is cemented in them."""
    for bed in piece.beds:
        seat = piece.seated.get(bed.stone)
        if seat is None or not piece.is_for(seat, Role.INLAY):
            continue
        stone = piece.stones.of(bed.stone)
        deep = bed.sunk + stone.pavilion()
        bound = piece.bound("shallow-pocket", "least", seat) * (stone.crown() + stone.pavilion())
        if below(deep, bound):
            yield Verdict(
                "this pocket is shallow for its stone",
                int(piece.stones.feature[bed.stone]),
                f"{mm(max(deep, 0.0))} of the stone lies in it",
                f"{least(mm(bound))}, half its thickness",
                f"sink the stone {rounded_up(bound - deep)} deeper, as with 'level table'",
                deep,
                bound,
                place=place(piece.stones.frames[bed.stone, :, 3]),
            )


SETTING = 0.02  # mm, no setter sinks a table level with the face any closer


def deep_seat(piece: Piece) -> Iterator[Verdict]:
    """Stones sunk below the face of their metal."""
    share = piece.bound("deep-seat", "sunk")
    for bed in piece.beds:
        seat = piece.seated.get(bed.stone)
        limit = share * piece.stones.of(bed.stone).crown()
        if seat is None or is_cup(piece, bed) or not above(bed.sunk, limit + SETTING):
            continue
        line = int(piece.stones.line[bed.stone])
        frame = piece.stones.frames[bed.stone]
        up = (bed.sunk - limit) * frame[:, 2]
        yield Verdict(
            "this stone lies below the face of its metal",
            seat,
            f"girdle {mm(bed.sunk)} below the face",
            most(f"{mm(limit)}, its crown"),
            f"move {piece.name_of(line)} {told(piece, line, up, 'higher', at=frame[:, 3])}, or make the body "
            "thinner",
            bed.sunk,
            limit,
            key="for",
            keys=("for", "in"),
            place=place(piece.stones.frames[bed.stone, :, 3]),
        )


def empty_seat(piece: Piece) -> Iterator[Verdict]:
    """Seats without a stone: their metal was repeated or moved, and the stone stayed."""
    for solid in piece.plan_solids:
        if solid.kind != SEAT:
            continue
        spots = solid.frames[:, :, 3]
        empty = np.ones(len(spots), dtype=bool)
        empty[near_pairs(piece.stones.frames[:, :, 3], spots, 1e-3)[1]] = False
        for spot in spots[empty]:
            line = solid.parts[0] if solid.parts else solid.feature
            yield Verdict(
                f"{piece.name_of(solid.feature)} is cut here, and no stone stands in it",
                line,
                "no stone",
                "a stone in every seat",
                _empty_remedy(piece, line, solid),
                0.0,
                1.0,
                place=place(spot),
            )


def _empty_remedy(piece: Piece, line: int, seat: PlanSolid) -> str:
    source, call = piece.features[line].source, piece.call(seat.feature)
    setting = call.within[0].name if call.within else call.name
    if source is not None and source.name != setting:
        return f"repeat the setting with it, which takes its stones along: of {source.name} + {setting}"
    into = call.get("in")
    if seat.bent is not None and into is not None:
        return f"bend the setting with it, which takes its stones along: of {into.name} + {setting}"
    return "lay the stones in the same block as the seat, above it, or in a line of their own where it stands"


def thin_floor(piece: Piece) -> Iterator[Verdict]:
    """Too little metal under a stone."""
    floor = piece.bound("thin-floor", "under-seat")
    plate, given = (
        piece.bound("thin-floor", "pave-plate"),
        piece.bound("thin-floor", "pave-stone"),
    )
    for bed in piece.beds:
        seat = piece.seated.get(bed.stone)
        if seat is None or is_cup(piece, bed) or piece.is_for(seat, Role.INLAY):
            continue
        wanted = plate * (piece.stones.of(bed.stone).width / given)
        thin = below(bed.below, floor)
        if not thin and not (bed.stone in piece.shared and below(bed.below, wanted)):
            continue
        from ..judging.remedies import deeper

        bound = floor if thin else wanted
        yield Verdict(
            "there is too little metal under this stone"
            if thin
            else "the plate is thin for stones of this size in shared prongs",
            bed.body,
            f"{mm(max(0.0, bed.below))} below the girdle",
            least(mm(bound)),
            "make the body or the roof of the hollow thicker",
            bed.below,
            bound,
            key="size",
            keys=("size", "thick", "roof"),
            place=place(piece.stones.frames[bed.stone, :, 3]),
            level=Level.WARNING if thin else Level.HINT,
            mend=deeper(piece, bed.body, bound - bed.below),
        )


def _between_ends(piece: Piece, bed: Bed) -> bool:
    """Whether a stone stands in the opening of its shank, held by the two ends alone."""
    body = piece.features[bed.body]
    if body.shank is None or not body.shank.open:
        return False
    right, _, out = fr.apply(fr.inverse(body.frames[0]), piece.stones.frames[bed.stone, :, 3])
    return bool(body.shank.beyond(float(np.arctan2(right, out))) > 0)


def stone_near_edge(piece: Piece) -> Iterator[Verdict]:
    """Stones too near the edge of their metal."""
    floor, advised = (
        piece.bound("stone-near-edge", "least"),
        piece.bound("stone-near-edge", "advised"),
    )
    for bed in piece.beds:
        seat = piece.seated.get(bed.stone)
        if seat is None or is_cup(piece, bed) or not below(bed.edge, advised) or _between_ends(piece, bed):
            continue
        past, near = below(bed.edge, 0.0), below(bed.edge, floor)
        if below(bed.sunk, -GIRDLE):  # no metal of it lies beside the girdle: a head holds the stone
            continue
        # Its sides are cut away, and shared prongs or bars hold it.
        shared = bed.stone in piece.shared or bed.stone in piece.barred
        if shared and not past:
            continue
        bound = 0.0 if past else floor if near else advised
        remedy, mend = wider(piece, bed.body, bed.stone, advised - bed.edge)
        yield Verdict(
            "a stone reaches past the edge of its metal"
            if past
            else "a stone sits near the edge of its metal",
            bed.body,
            f"{mm(bed.edge)} of metal outside the girdle",
            least(mm(bound)),
            f"{remedy}, or take smaller stones",
            bed.edge,
            bound,
            key="size",
            keys=("size", "across", "wide"),
            place=place(piece.stones.frames[bed.stone, :, 3]),
            level=Level.FAULT if past and not shared else Level.WARNING if near else Level.HINT,
            mend=mend,
            others=(seat,),
        )
