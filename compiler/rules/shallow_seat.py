"""Seats without a ledge for the stone to sit on."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import TYPE_CHECKING

from ..bench.roles import FigureOf, Role
from ..judging.digits import below, mm
from ..judging.figure_rule import Reading
from ..judging.figures import figure
from ..judging.moves import told
from ..judging.remedies import deeper
from ..judging.seats import cut_into
from ..judging.stone_table import pavilion_of

if TYPE_CHECKING:
    from ..bench.stone_kind import StoneKind
    from ..judging.beds import Bed
    from ..judging.piece import Piece


FLAT = 0.05  # mm; a stone that is no deeper lies on its back


def check(piece: Piece) -> Iterator[Reading]:
    beds = {bed.stone: bed for bed in piece.beds}
    for stone, seat in piece.seated.items():
        setting = piece.stones.of(stone)
        hole = (piece.call(seat).get("hole") or 0.0) * setting.width
        bed = beds.get(stone)
        above = max(0.0, -bed.sunk) if bed and cut_into(piece, seat, bed) else 0.0
        # Above the face the stone only meets metal where its pavilion has come in so far.
        wide = setting.width * (1 - min(1.0, above / _deep(setting)))
        ledge = (wide - hole) / 2
        yield Reading(
            seat, ledge, stone, words={"ledge": mm(max(0.0, ledge))},
            cure=partial(_remedy, piece, stone, seat, above),
        )  # fmt: skip


def _deep(setting: StoneKind) -> float:
    """How far a stone narrows below its girdle's middle, mm; a flat back hardly does."""
    return max(pavilion_of(setting), FLAT)


def _remedy(piece: Piece, stone: int, seat: int, above: float, least_ledge: float) -> str:
    """How much lower the stone is to be set that stands ``above`` the face, mm, or how wide the light hole is
    then, where that does not make it too narrow."""
    setting = piece.stones.of(stone)
    hole, ledge = piece.call(seat).get("hole") or 0.0, least_ledge / setting.width
    pavilion = _deep(setting)
    lower = above - pavilion * max(0.0, 1.0 - hole - 2 * ledge)
    smaller = 1 - above / pavilion - 2 * ledge
    line, frame = int(piece.stones.line[stone]), piece.stones.frames[stone]
    done = []
    if above > lower > 0:
        way = told(piece, line, -lower * frame[:, 2], "lower", at=frame[:, 3])
        done.append(f"move {piece.name_of(line)} {way}")
    if not below(smaller, piece.bound("narrow-light-hole", "least", seat)):
        done.append(f"say 'hole {100 * smaller // 1:.0f} %'")
    return ", or ".join(done) or "set the stone lower, and make the light hole smaller"


def on_metal(piece: Piece) -> Iterator[Reading]:
    """Stones between walls: the ledge the metal itself has, whatever its light hole."""
    held = set(piece.prongs.stone[piece.prongs.holding].tolist())
    yield from _uncarried(piece, held)
    held |= {bezel.stone for bezel in piece.bezels}  # a ledge all round may be narrower
    for stone, seat in piece.seated.items():
        form = piece.stone_measures.form(stone)
        if stone in held or not piece.is_for(seat, Role.RIM) or form.low - form.tip < FLAT:
            continue
        width = piece.stones.of(stone).width
        # On a large stone a ledge that will do for any is enough.
        limit = min(
            piece.bound("shallow-seat", "between-walls", seat) * width,
            piece.bound("shallow-seat", "ledge", seat),
        )
        yield Reading(
            seat, piece.stone_measures.surrounds[stone].ledge, stone, find="walls", bound=limit,
            words={"width": mm(width)},
        )  # fmt: skip


def _uncarried(piece: Piece, held: set[int]) -> Iterator[Reading]:
    """Stones that a wall goes round, or that lie in a body, and that nothing is left under."""
    from ..judging.floors import uncarried
    from ..judging.stone_metal import metal_on_axes

    walls = {bezel.stone: bezel.feature for bezel in piece.bezels if bezel.stone not in held}
    beds = {bed.stone: bed for bed in piece.beds}
    for stone, seat in piece.seated.items():
        body, bed = piece.call(seat).get("in"), beds.get(stone)
        own = body is not None and bed is not None and body.index == bed.body
        if own and not piece.is_for(seat, Role.RIM):
            walls[stone] = body.index
        else:
            walls.pop(stone, None)
    measures = piece.stone_measures
    forms, stones = [measures.form(stone) for stone in walls], [measures.stones[stone] for stone in walls]
    skin = piece.skin_measures.skin
    widest, filled = uncarried(forms, stones, skin), metal_on_axes(forms, stones, skin)
    for (stone, wall), free, metal in zip(walls.items(), widest, filled, strict=True):
        bound = piece.bound("loose-stone", "gap", wall)
        if metal < 0 and not below(free, bound):  # one that metal fills does not fall
            opened = _roof(piece, wall, beds.get(stone))
            yield opened or Reading(wall, free, stone, find="falls", bound=bound)


def _roof(piece: Piece, wall: int, bed: Bed | None) -> Reading | None:
    """That a body is hollowed to nearer its face than a stone in it is deep; None where it is not."""
    if bed is None or (mend := deeper(piece, wall, 0.0)) is None or mend.feature in (None, wall):
        return None
    hollow, deep = mend.feature, bed.sunk + piece.stones.of(bed.stone).pavilion()
    roof = figure(piece.call(hollow), FigureOf.ROOF)
    if roof is None or not below(roof[1], deep):
        return None
    floor = piece.bound("thin-bearing", "least", wall)
    mend = deeper(piece, wall, deep + floor - roof[1]) or mend
    write = f"write {mend.key} {mend.value} in the line of {piece.name_of(hollow)}"
    return Reading(
        hollow, roof[1], bed.stone, find="roof", bound=deep, mend=mend,
        words={"deep": mm(deep), "floor": mm(floor)}, others=(wall, piece.seated[bed.stone]),
        cure=f"{write}, or take a stone less deep",
    )  # fmt: skip
