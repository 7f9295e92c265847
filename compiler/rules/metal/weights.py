"""How heavy and how large a piece comes out, and what of it crumbles."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ...bench.roles import FigureOf, Role
from ...judging.bores import FINGER
from ...judging.digits import above, below, share
from ...judging.figure_rule import Reading
from ...judging.figures import figures, narrowest
from ...judging.posts import ear_hooks

if TYPE_CHECKING:
    from ...judging.piece import Piece


SLIMMER = "make its shank thinner or narrower, or hollow its head from the back"


def heavy_piece(piece: Piece) -> Iterator[Reading]:
    """More weight than is comfortable to wear; what goes round nothing and has no loop is none."""
    ear = any(piece.with_role(Role.EAR_POST, Role.EAR_WIRE)) or any(ear_hooks(piece))
    ring = "ring" if piece.wear_measures.inner < FINGER else "bangle"
    what = ring if piece.wear_measures.bore is not None else "earring" if ear else "pendant"
    if what == "pendant" and not piece.wear_measures.loops:
        return
    for casting in piece.casting_measures.cast:
        grams, centre = casting.centre
        owners = np.unique(casting.skin.owner)
        owner = int(owners[owners >= 0][0]) if (owners >= 0).any() else 0
        yield Reading(
            owner, grams, centre,
            words={
                "what": what, "a": "an" if what == "earring" else "a",
                "share": lambda bound, grams=grams: share((bound / grams) ** (1 / 3)),
            },
            cure=SLIMMER if what == ring else None,
        )  # fmt: skip


def heavy_solid(piece: Piece) -> Iterator[Reading]:
    """Solid masses that should be hollow."""
    for feature, call in piece.with_role(Role.BODY, Role.BEAD):
        across = next(figures(call, FigureOf.THICKNESS, FigureOf.MASS), None)
        if across is None or call.get("bought"):
            continue
        _, key, value = across
        settings = (use for use in call.within if Role.SETTING in use.word.roles)
        cup = next((use.name for use in settings if "blind" in use.arguments), "")
        limit = piece.bound("heavy-solid", "filled" if cup else "most", feature)
        # What the text states is how much there is to look for; what counts is the metal.
        if not above(narrowest(value), limit):
            continue
        thick, at = piece.skin_measures.thickest(feature.index)
        yield Reading(
            feature.index, thick, at, key=key, keys=(key, "thick", "height"), words={"cup": cup},
            find="filled" if cup else "solid",
        )  # fmt: skip


def out_of_scale(piece: Piece) -> Iterator[Reading]:
    """A weight nobody wears, as cm written for mm gives."""
    for casting in piece.casting_measures.cast:
        grams, centre = casting.centre
        owners, counts = np.unique(casting.skin.owner, return_counts=True)
        size = casting.skin.box[1] - casting.skin.box[0]
        said = {
            "what": casting.called, "grams": f"{grams:,.0f} g",
            "size": f"{size[0]:.0f} x {size[1]:.0f} x {size[2]:.0f} mm",
        }  # fmt: skip
        yield Reading(int(max(owners[np.argmax(counts)], 0)), grams, centre, words=said)


def metal_in_crumbs(piece: Piece) -> Iterator[Reading]:
    """An alloy that comes out in pieces of its own."""
    from ...measures.bodies import pieces
    from ...measures.skin import Skin

    alloys = Counter(part.casting for part in piece.parts)
    for part in piece.parts:
        if alloys[part.casting] < 2 or part.bought:
            continue  # of one alloy, see loose-piece
        bodies = pieces(Skin(part.points, part.triangles, part.owner))
        if len(bodies) < 2:
            continue
        least = bodies[-1]
        owners = [owner for owner in least.owners if owner >= 0] or [0]
        mine = next((one for one in owners if piece.metal_of(one) == part.metal), owners[0])
        bound = piece.bound("metal-in-crumbs", "least", mine)
        yield Reading(
            mine, least.volume, least.centre, bound=bound,
            words={"metal": part.metal, "count": str(len(bodies))},
            find="crumbs" if below(least.volume, bound) else "",
        )  # fmt: skip
