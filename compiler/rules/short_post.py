"""Ear posts too short for lobe and clutch."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..bench.roles import Role
from ..judging.figure_rule import LEAST, Aspect, Reading, Test, Tier, figure_rule
from ..judging.rule import Level

if TYPE_CHECKING:
    from ..judging.piece import Piece


def _posts(piece: Piece) -> Iterator[Reading]:
    rods = piece.rods
    for k, line in enumerate(rods.feature.tolist()):
        if piece.is_for(line, Role.EAR_POST) and rods.long[k] > 2 * rods.wire[k]:
            told = piece.call(line).figure("long")
            yield Reading(line, float(rods.long[k]) if told is None else told, rods.foot[k])


RULE = figure_rule(
    "short-post", "An ear post is too short.", Level.WARNING, LEAST,
    Test(
        Aspect(_posts, "long", ("long",)),
        (Tier("least", "this ear post is too short for lobe and clutch"),),
        "make it {value} long", mend="long",
    ),
    why="A lobe is 4 to 6 mm thick and a clutch takes 3 mm more.",
    remedy="Make it 9.5 to 11 mm long.",
    source="common practice, no source",
)  # fmt: skip
