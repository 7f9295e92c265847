"""loose-stone: a stone that can slide or lift out."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...bench.roles import Role
from ...judging.digits import place
from ...judging.rule import Level, Rule, Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece


def _check(piece: Piece) -> Iterator[Verdict]:
    pearls = []
    folded = {line for one, _ in piece.with_role(Role.PRONG) for line in piece.services.lines(one.index)}
    for stone, around in enumerate(piece.stone_measures.surrounds):
        feature = int(piece.stones.feature[stone])
        bound = piece.bound("loose-stone", "gap", feature)
        if around.free < bound - 1e-6:
            continue
        if piece.stones.of(stone).cut == "pearl":
            pearls.append(stone)
            continue
        wall = around.push_free < bound - 1e-6
        seat = piece.seated.get(stone)
        if seat is not None and piece.is_for(seat, Role.INLAY):
            continue  # cemented: shallow-pocket tells of it
        rimmed = seat is not None and piece.is_for(seat, Role.RIM, Role.GRAINS)
        if wall and (stone in piece.walled or rimmed or int(piece.stones.line[stone]) in folded):
            continue  # such a setting is pushed over by design
        yield Verdict(
            "this stone is held only once metal is pushed over it" if wall
            else "this stone can slide or lift out",
            feature,
            f"{around.free:.0f} degrees of its girdle have no metal over them",
            f"less than {bound:g} degrees",
            "push the wall over in setting" if wall
            else "sink it until metal stands above its girdle, as with 'level table'" if rimmed
            else "set prongs or beads so that no half of the girdle is free",
            around.free,
            bound,
            place=place(piece.stones.frames[stone, :, 3]),
            level=Level.HINT if wall else None,
            others=() if seat is None else (seat,),
        )  # fmt: skip
    yield from _unpegged(piece, pearls)


def _unpegged(piece: Piece, pearls: list[int]) -> Iterator[Verdict]:
    """Pearls with no metal in them, which no prongs or walls hold either."""
    from ...judging.stone_metal import shared_by

    pegged = shared_by(piece, pearls)
    for stone in pearls:
        if stone not in pegged:
            feature = int(piece.stones.feature[stone])
            yield Verdict(
                "nothing stands in this pearl to hold it",
                feature, "no peg", "a peg in its hole",
                "let a rod reach half way into it, or move the pearl down onto its peg",
                0.0, 1.0,
                place=place(piece.stones.frames[stone, :, 3]),
                level=Level.WARNING,
            )  # fmt: skip


RULE = Rule(
    "loose-stone",
    "A stone can slide or lift out.",
    "metal",
    Level.FAULT,
    "A stone stays in when metal laps over its edge and no half of the girdle is without: past "
    "a free half it slides out.",
    "Add prongs or beads on the free side.",
    "elementary geometry",
    _check,
    follows=("low-bezel",),
)
