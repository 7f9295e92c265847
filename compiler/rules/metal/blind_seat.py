"""Seats whose light hole does not come out."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...bench.feature import Feature
from ...bench.plan import simple_steps
from ...bench.roles import Role
from ...judging.digits import mm, place, rounded_down, rounded_up
from ...judging.remedies import HOLE, borne, may_be_holed, off_the_holes, written
from ...judging.rule import Mend, Verdict
from ...judging.seats import closed, may_close, on_wire

if TYPE_CHECKING:
    from ...judging.piece import Piece
    from ...measures.light import Shut

NEAR = 0.02  # mm, metal this near below a point holds it
LIGHT = 0.3  # of a stone's width: a hole through the shank below it


def check(piece: Piece) -> Iterator[Verdict]:
    for stone, shut in piece.shut.items():
        seat = piece.seated[stone]
        # A post or a pin stands where the weight is, behind the stone or not.
        pin = piece.is_for(shut.feature, Role.EAR_POST, Role.PIN)
        # Metal that a point stands in is cut by a seat: see stone-in-metal.
        # What crosses the hole of a cup on wire is told once, as crossed-hole.
        crossed = on_wire(piece, seat, shut.feature)
        if not closed(piece, seat) and not pin and not crossed and not _stands_in(piece, stone, shut):
            spot = place(piece.stones.frames[stone, :, 3])
            yield _stated(piece, seat, shut, spot) or _behind(piece, stone, seat, shut)


def _stands_in(piece: Piece, stone: int, shut: Shut) -> bool:
    """Whether what shuts a hole is other metal, that the point of the stone stands in."""
    tip = piece.stone_measures.form(stone).tip
    return shut.feature != piece.seated[stone] and shut.free < 2 * NEAR - tip


def _stated(
    piece: Piece, seat: int, shut: Shut, spot: tuple[float, float, float]
) -> Verdict | None:
    """A hole that ends in the metal because its line says how deep."""
    deep, back = piece.call(seat).get("deep"), shut.free + shut.thick
    if deep is None or "deep" not in piece.clauses_of(seat) or shut.feature not in (seat, *_cut(piece, seat)):
        return None
    return Verdict(
        "the light hole under this stone does not come out",
        seat,
        f"{mm(deep)} deep",
        f"{mm(back)} of metal below the girdle",
        "leave 'deep' out: the hole then goes through",
        deep,
        back,
        key="deep",
        keys=("deep",),
        place=spot,
        mend=Mend("deep", rounded_up(back + 0.2), "least"),
    )


def _behind(piece: Piece, stone: int, seat: int, shut: Shut) -> Verdict:
    """A hole that other metal shuts, or that nobody would drill so far."""
    back = mm(shut.free + shut.thick)
    shuts = _metal(piece, seat, shut.feature)
    cut = shuts != seat and piece.features[shuts].body is None
    name = "the metal there" if cut else piece.name_of(shuts)
    wide = piece.stones.of(stone).width * _free(piece, seat, shuts)
    if not cut and shuts != seat and not may_be_holed(piece, shuts, wide, int(piece.stones.line[stone])):
        remedy = off_the_holes(piece, shuts)
    elif cut or (shuts > seat and piece.call(seat).within):
        remedy = f"drill or pierce {name} behind the stone, or move it off the hole"
    elif shuts > seat:
        into = ", and leave 'in' out" if piece.call(seat).get("in") is not None else ""
        remedy = f"put the line of {name} above the seat{into}: the hole then goes through both"
    elif shuts == seat:
        remedy = f"say 'deep {rounded_up(shut.free + shut.thick + 0.2)}', or take less metal there"
    else:
        remedy = _drill(piece, stone, shuts, shut, wide)
    if may_close(piece, seat):
        remedy += "; or say 'blind', if it is closed on purpose"
    return Verdict(
        "the light hole behind this stone is shut",
        seat,
        f"{mm(shut.thick)} of metal shuts it, {back} below the girdle",
        "a way out at the back",
        remedy,
        shut.thick,
        0.0,
        place=place(piece.stones.frames[stone, :, 3]),
    )


def _drill(piece: Piece, stone: int, shuts: int, shut: Shut, wide: float) -> str:
    """A hole through the metal that shuts a stone's, no wider than that bears."""
    metal, whose, block = written(piece, shuts, int(piece.stones.line[stone]))
    borne_there = borne(piece, stone, shuts, shut.free + shut.thick / 2)
    if borne_there < min(wide, HOLE):
        broad = rounded_up(HOLE + 2 * piece.bound("thin-wall", "least", shuts))
        said = piece.call(shuts).get("wide")
        broader = f"make {metal} {broad} wide or more, for a light hole" if said else f"move {metal} aside"
        return f"{broader}; or let it be, where light comes to the stone from the side"
    across = rounded_down(min(wide, borne_there))
    return f"write drill light: at centres of {whose}, in {metal}, across {across}, below both lines{block}"


def _free(piece: Piece, seat: int, shuts: int) -> float:
    """How wide a hole is to be made behind a stone, of its width: through wire as wide as the seat's own, or
    the wire still crosses that; through a shank a narrow one will do."""
    hole = piece.wear_measures.hole
    crosses = piece.is_for(shuts, Role.WIRE) and (hole is None or hole.feature != shuts)
    return float(piece.call(seat).get("hole") or 0.5) if crosses else LIGHT


def _metal(piece: Piece, seat: int, owner: int) -> int:
    """The metal that shuts a hole: where its face is one that a cut left, what that is cut into, sooner
    than what the seat is cut into."""
    if owner == seat or piece.features[owner].body is not None:
        return owner
    steps = [step for step in simple_steps(piece.bench.plan().steps) if step.feature == owner]
    of = piece.call(owner).get("of")
    into = {body for step in steps for body in step.into or (of.bodies() if isinstance(of, Feature) else ())}
    cut = [f.index for f in piece.features if f.body in into and f.index != seat]
    mine = set(_cut(piece, seat))
    return min(cut, key=lambda one: (one in mine, one), default=owner)


def _cut(piece: Piece, seat: int) -> list[int]:
    """The features whose metal a seat is cut into; none known when it is cut into all."""
    into = piece.call(seat).get("in")
    return [] if into is None else [f.index for f in piece.features if f.body in into.bodies()]
