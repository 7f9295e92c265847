"""Ear posts: too thin, too thick, too short."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.digits import below, least, mm, place, rounded_up
from ..judging.posts import ear_posts, free_of_metal
from ..judging.rule import Mend, Verdict

if TYPE_CHECKING:
    from ..judging.piece import Piece


def short_post_on_metal(piece: Piece) -> Iterator[Verdict]:
    for post in ear_posts(piece):
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
