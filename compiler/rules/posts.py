"""Ear posts: too thin, too thick, too short."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..bench.roles import Role
from ..judging.digits import below, least, mm, place, rounded_up
from ..judging.figure_rule import LEAST, MOST, Aspect, Reading, Test, Tier, figure_check
from ..judging.posts import POST, free_of_metal
from ..judging.rule import Level, Mend, Verdict

if TYPE_CHECKING:
    from ..judging.piece import Piece


thin_post = figure_check(
    "thin-post", LEAST,
    Test(
        POST,
        (
            Tier("least", "this ear post is too thin", Level.WARNING),
            Tier("advised", "this ear post is rather thin", Level.HINT),
        ),
        "take wire of {value}", mend="wire",
    ),
)  # fmt: skip

thick_post = figure_check(
    "thick-post", MOST,
    Test(POST, (Tier("most", "this ear post is thick"),), "take wire of {value}", mend="wire"),
)  # fmt: skip


def _posts(piece: Piece) -> Iterator[Reading]:
    rods = piece.rods
    for k, line in enumerate(rods.feature.tolist()):
        if piece.is_for(line, Role.EAR_POST) and rods.long[k] > 2 * rods.wire[k]:
            told = piece.call(line).figure("long")
            yield Reading(line, float(rods.long[k]) if told is None else told, rods.foot[k], k)


def short_post_on_metal(piece: Piece) -> Iterator[Verdict]:
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


short_post = figure_check(
    "short-post", LEAST,
    Test(
        Aspect(_posts, "long", ("long",)),
        (Tier("least", "this ear post is too short for lobe and clutch"),),
        "make it {value} long", mend="long",
    ),
)  # fmt: skip
