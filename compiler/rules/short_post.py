"""Ear posts too short, as the text states them and as they stand free of metal."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..bench.roles import Role
from ..judging.digits import below, least, mm, place, rounded_up
from ..judging.figure_rule import LEAST, Aspect, Reading, Test, Tier, figure_check
from ..judging.posts import free_of_metal
from ..judging.rule import Mend, Verdict

if TYPE_CHECKING:
    from ..judging.piece import Piece


def _posts(piece: Piece) -> Iterator[Reading]:
    rods = piece.rods
    for k, line in enumerate(rods.feature.tolist()):
        if piece.is_for(line, Role.EAR_POST) and rods.long[k] > 2 * rods.wire[k]:
            told = piece.call(line).figure("long")
            yield Reading(line, float(rods.long[k]) if told is None else told, rods.foot[k], k)


def on_metal(piece: Piece) -> Iterator[Verdict]:
    for post in _posts(piece):
        bound = piece.bound("short-post", "least", post.feature)
        free = post.figure if below(post.figure, bound) else free_of_metal(piece, post.of)
        if free < post.figure and below(free, bound):
            value = rounded_up(post.figure + bound - free)
            yield Verdict(
                "this ear post stands in metal for part of its length", post.feature,
                f"{mm(free)} of it free", least(mm(bound)),
                f"stand it on the face it leaves, or make it {value} long", free, bound,
                key="long", keys=("inward", "at"), place=place(post.at), mend=Mend("long", value, "least"),
            )  # fmt: skip


check = figure_check(
    "short-post", LEAST,
    Test(
        Aspect(_posts, "long", ("long",)),
        (Tier("least", "this ear post is too short for lobe and clutch"),),
        "make it {value} long", mend="long",
    ),
)  # fmt: skip
