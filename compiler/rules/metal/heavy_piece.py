"""heavy-piece: more weight than is comfortable to wear."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ...bench.roles import Role
from ...judging.digits import above, place
from ...judging.posts import ear_hooks
from ...judging.rule import Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece

FINGER = 14.0  # mm, the radius of a bore that is a wrist's and no finger's


def check(piece: Piece) -> Iterator[Verdict]:
    ear = any(piece.with_role(Role.EAR_POST, Role.EAR_WIRE)) or any(ear_hooks(piece))
    ring = "ring" if piece.wear_measures.inner < FINGER else "bangle"
    what = ring if piece.wear_measures.bore is not None else "earring" if ear else "pendant"
    bound = piece.bound("heavy-piece", what)
    for casting in piece.casting_measures.cast:
        grams, centre = casting.centre
        if above(grams, bound):
            owners = np.unique(casting.skin.owner)
            yield Verdict(
                f"this is heavy for {'an' if what == 'earring' else 'a'} {what}",
                int(owners[owners >= 0][0]) if (owners >= 0).any() else 0,
                f"{grams:.1f} g with its stones",
                f"{bound:g} g or less",
                "hollow it from the back, or make it smaller",
                grams,
                bound,
                place=place(centre),
            )
