"""Seats and what they leave of the metal: tight, slack, deep, shallow, near an edge, empty; light holes."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from ...stdlib.cuts import CUTS
from ..bench.plan import SEAT
from ..bench.roles import Role
from ..geometry import frames as fr
from ..geometry.outlines import trace
from ..judging.bezels import is_cup
from ..judging.digits import below, mm
from ..judging.figure_rule import Reading
from ..judging.moves import told
from ..judging.pairs import near_pairs
from ..judging.remedies import deeper, onto_its_band, thicker, wider
from ..judging.rule import Level, Mend
from ..judging.services import indices_of

if TYPE_CHECKING:
    from ..judging.beds import Bed
    from ..judging.piece import Piece
    from ..judging.plan_solids import PlanSolid
    from ..measures.kinds import Floats


THICKER = "make the body or the roof of the hollow thicker"
OVER = 2.0  # mm over a stone, from where that is looked for
ASIDE = 0.2  # mm beside a stone, where the face of its metal is looked for
GIRDLE = 0.05  # mm over the face of its metal, from which a girdle lies in the open


def shallow_pocket(piece: Piece) -> Iterator[Reading]:
    """Pockets too shallow for the stone that is cemented in them."""
    sunk = {bed.stone: bed.sunk for bed in piece.beds}
    for stone, seat in piece.seated.items():
        if not piece.is_for(seat, Role.INLAY):
            continue
        kind, frame = piece.stones.of(stone), piece.stones.frames[stone]
        feature = int(piece.stones.feature[stone])
        plain = piece.can_say(feature, "level") and piece.call(feature).get("level") != "table"
        plain = plain and not piece.call(feature).given("inward")
        thick = kind.crown() + kind.pavilion()
        deep = sunk[stone] + kind.pavilion() if stone in sunk else thick - _stands(piece, seat, stone)
        yield Reading(
            feature, deep, frame[:, 3], scale=thick, words={"in": mm(max(deep, 0.0))},
            cure=f"add 'level table' to the line of {piece.name_of(feature)}" if plain
            else partial(_deeper, piece, stone, deep),
        )  # fmt: skip
        call = piece.call(feature)
        if CUTS[kind.form].flat and call.get("level") == "table" and not call.given("out"):
            proud = _stands(piece, seat, stone, 0.0)
            yield Reading(feature, proud, stone, find="proud", cure=partial(_level, piece, stone, proud))


FALLS = 1.25  # times what lacks, as the face beside a stone may fall away: house choice, no source


def _deeper(piece: Piece, stone: int, deep: float, bound: float) -> str:
    line, frame = int(piece.stones.line[stone]), piece.stones.frames[stone]
    way = told(piece, line, -FALLS * (bound - deep) * frame[:, 2], "deeper", at=frame[:, 3])
    return f"move {piece.name_of(line)} {way}"


def _level(piece: Piece, stone: int, proud: float, _: float) -> str:
    line, frame = int(piece.stones.line[stone]), piece.stones.frames[stone]
    way = told(piece, line, -proud * frame[:, 2], "deeper", at=frame[:, 3])
    return f"move {piece.name_of(line)} {way}: its edges then lie level with it, or grind its top so"


def _stands(
    piece: Piece, seat: int, stone: int, aside: float = ASIDE, least: Callable[[Floats], float] = np.max
) -> float:
    """How far the top of a stone stands over the face of its pocket's metal, where that lies lowest so far
    beside it, or highest, mm; all of it where it lies beside that."""
    kind, frame = piece.stones.of(stone), piece.stones.frames[stone]
    round_it = trace(kind.outline, 0.02) * (1 + 2 * aside / kind.width)
    spots = np.repeat(frame[None], len(round_it), axis=0)
    spots[:, :, 3] += round_it @ frame[:, :2].T + (kind.crown() + OVER) * frame[:, 2]
    begins = piece.bench.below(piece.call(seat).get("in"), spots)[:, 0] - OVER
    return float(least(begins)) if np.isfinite(begins).all() else kind.crown() + kind.pavilion()


SETTING = 0.02  # mm, no setter sinks a table level with the face any closer


def deep_seat(piece: Piece) -> Iterator[Reading]:
    """Stones sunk below the face of their metal."""
    strokes: dict[int, float] = {}  # a brushed face is that between its strokes
    for _, call in piece.with_role(Role.TEXTURE):
        if call.given("in"):
            strokes |= dict.fromkeys(indices_of(call.get("in")), call.get("deep", 0.0))
    for bed in piece.beds:
        seat = piece.seated.get(bed.stone)
        if seat is not None and not is_cup(piece, bed):
            yield _sunk(piece, seat, bed.stone, bed.sunk, SETTING + strokes.get(bed.body, 0.0))
    yield from _in_a_pit(piece, {bed.stone for bed in piece.beds})


def _in_a_pit(piece: Piece, bedded: set[int]) -> Iterator[Reading]:
    """Stones over which metal other than a flat body or a band stands all round, and those that lean off
    the face of their band, over which it stands at one side."""
    for stone, seat in piece.seated.items():
        crown, leans = piece.stones.of(stone).crown(), onto_its_band(piece, stone)
        if leans:
            deep = crown - _stands(piece, seat, stone, least=np.min)
            yield Reading(seat, deep, stone, find="leans", scale=crown, cure=leans)
        elif stone not in bedded and piece.call(seat).get("in") is not None:
            yield _sunk(piece, seat, stone, crown - _stands(piece, seat, stone), SETTING)


def _sunk(piece: Piece, seat: int, stone: int, sunk: float, play: float) -> Reading:
    """How deep a girdle is sunk; the top of a flat stone, which only metal pushed over its edge holds."""
    kind = piece.stones.of(stone)
    if CUTS[kind.form].flat and not piece.is_for(seat, Role.INLAY):
        top = sunk - kind.crown()
        cure = partial(_higher, piece, stone, top)
        return Reading(seat, top, stone, find="flat", play=play, cure=cure)
    cure = partial(_higher, piece, stone, sunk)
    return Reading(seat, sunk, stone, scale=kind.crown(), play=play, cure=cure)


def _higher(piece: Piece, stone: int, sunk: float, limit: float) -> str:
    line, frame = int(piece.stones.line[stone]), piece.stones.frames[stone]
    way = told(piece, line, (sunk - limit) * frame[:, 2], "higher", at=frame[:, 3])
    return f"move {piece.name_of(line)} {way}, or make the body thinner"


def empty_seat(piece: Piece) -> Iterator[Reading]:
    """Seats without a stone: their metal was repeated or moved, and the stone stayed."""
    for solid in piece.plan_solids:
        if solid.kind != SEAT:
            continue
        spots = solid.frames[:, :, 3]
        empty = np.ones(len(spots), dtype=bool)
        empty[near_pairs(piece.stones.frames[:, :, 3], spots, 1e-3)[1]] = False
        for spot in spots[empty]:
            line = solid.parts[0] if solid.parts else solid.feature
            said = {"seat": piece.name_of(solid.feature)}
            yield Reading(line, 0.0, spot, bound=1.0, words=said, cure=_empty_remedy(piece, line, solid))


def _empty_remedy(piece: Piece, line: int, seat: PlanSolid) -> str:
    source, call = piece.features[line].source, piece.call(seat.feature)
    setting = call.within[0].name if call.within else call.name
    if source is not None and source.name != setting:
        return f"repeat the setting with it, which takes its stones along: of {source.name} + {setting}"
    into = call.get("in")
    if seat.bent is not None and into is not None:
        return f"bend the setting with it, which takes its stones along: of {into.name} + {setting}"
    return "lay the stones in the same block as the seat, above it, or in a line of their own where it stands"


def thin_floor(piece: Piece) -> Iterator[Reading]:
    """Too little metal under a stone; under one in shared prongs the more, the wider it is."""
    given = piece.bound("thin-floor", "pave-stone")
    for bed in piece.beds:
        seat = piece.seated.get(bed.stone)
        if seat is None or is_cup(piece, bed) or piece.is_for(seat, Role.INLAY):
            continue
        thin = below(bed.below, piece.bound("thin-floor", "under-seat"))
        if thin or bed.stone in piece.shared:
            wide = piece.stones.of(bed.stone).width / given
            yield Reading(
                bed.body, bed.below, bed.stone, find="" if thin else "shared", scale=1.0 if thin else wide,
                words={"below": mm(max(0.0, bed.below))},
                cure=lambda bound, bed=bed: _floored(piece, bed.body, bound - bed.below),
            )  # fmt: skip


def _floored(piece: Piece, body: int, lack: float) -> tuple[str, Mend | None]:
    mend = deeper(piece, body, lack)
    return THICKER if mend is None else thicker(piece, body, mend, lack), mend


def _between_ends(piece: Piece, bed: Bed) -> bool:
    """Whether a stone stands in the opening of its shank, held by the two ends alone."""
    body = piece.features[bed.body]
    if body.shank is None or not body.shank.open:
        return False
    right, _, out = fr.apply(fr.inverse(body.frames[0]), piece.stones.frames[bed.stone, :, 3])
    return bool(body.shank.beyond(float(np.arctan2(right, out))) > 0)


def stone_near_edge(piece: Piece) -> Iterator[Reading]:
    """Stones too near the edge of their metal."""
    advised = piece.bound("stone-near-edge", "advised")
    for bed in piece.beds:
        seat = piece.seated.get(bed.stone)
        if seat is None or is_cup(piece, bed) or not below(bed.edge, advised) or _between_ends(piece, bed):
            continue
        past = below(bed.edge, 0.0)
        if below(bed.sunk, -GIRDLE):  # no metal of it lies beside the girdle: a head holds the stone
            continue
        # Its sides are cut away, and shared prongs or bars hold it.
        shared = bed.stone in piece.shared or bed.stone in piece.barred
        if shared and not past:
            continue
        remedy, mend = wider(piece, bed.body, bed.stone, advised - bed.edge)
        yield Reading(
            bed.body, bed.edge, bed.stone, find="past" if past else "",
            level=(Level.WARNING if shared else Level.FAULT) if past else None,
            cure=f"{remedy}, or take smaller stones", mend=mend, others=(seat,),
        )  # fmt: skip
