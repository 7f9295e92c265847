"""Ear posts: too thin, too thick, too short."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ..bench.roles import Role
from ..judging.digits import below, rounded_up
from ..judging.figure_rule import Reading
from ..judging.moves import lead, told
from ..judging.posts import BESIDE, ear_posts, free_of_metal
from ..judging.rule import Mend

if TYPE_CHECKING:
    from ..judging.piece import Piece

EASE = 0.15  # mm, told beyond what lacks
REACH = 3.0  # mm to either side of a post, a wire that hangs beside it


def short_post_on_metal(piece: Piece) -> Iterator[Reading]:
    for post in ear_posts(piece):
        bound = piece.bound("short-post", "least", post.feature)
        free, owner = (post.figure, -1) if below(post.figure, bound) else free_of_metal(piece, post.of)
        if free < post.figure and below(free, bound):
            beside = owner >= 0 and piece.is_for(owner, Role.EAR_WIRE)
            long = rounded_up(post.figure + bound - free)
            own = piece.casting_measures.casting_at(np.array(post.at))
            hung = owner >= 0 and own is not None and owner not in own.skin.owner  # as a jacket on it
            moved = "" if hung else ", or stand it on the face it leaves"
            yield Reading(
                post.feature, free, post.at, find="in-metal", others=(owner,) if beside else (),
                cure=_off_wire(piece, post, owner) if beside else f"make it {long} long{moved}",
                mend=None if beside else Mend("long", long, "least"),
            )  # fmt: skip


def _off_wire(piece: Piece, post: Reading, wire: int) -> str:
    """The move aside that takes an ear wire off a post, with room for its clutch."""
    spots = piece.skin_measures.skin.part(piece.skin_measures.skin.owner == wire)
    clear = float(piece.rods.wire[post.of]) / 2 + BESIDE + EASE
    near = (spots.corners.reshape(-1, 3) - post.at)[:, 0]
    near = near[np.abs(near) < REACH]
    left, right = clear + float(near.max(initial=0.0)), clear - float(near.min(initial=0.0))
    way = np.array([-left if left < right else right, 0.0, 0.0])
    name = piece.name_of(lead(piece, wire))
    moved = told(piece, lead(piece, wire), way, "aside")
    return f"move {name} {moved}, off the post; or leave one of the two out"
