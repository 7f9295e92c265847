"""How heavy and how large a piece comes out, and what of it crumbles."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ...bench.roles import FigureOf, Role
from ...judging.bores import FINGER
from ...judging.digits import above, below, mm, most, place
from ...judging.figures import figures, narrowest
from ...judging.posts import ear_hooks
from ...judging.rule import Level, Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece




def heavy_piece(piece: Piece) -> Iterator[Verdict]:
    """More weight than is comfortable to wear; what goes round nothing and has no loop is none."""
    ear = any(piece.with_role(Role.EAR_POST, Role.EAR_WIRE)) or any(ear_hooks(piece))
    ring = "ring" if piece.wear_measures.inner < FINGER else "bangle"
    what = ring if piece.wear_measures.bore is not None else "earring" if ear else "pendant"
    if what == "pendant" and not piece.wear_measures.loops:
        return
    for casting in piece.casting_measures.cast:
        grams, centre = casting.centre
        owners = np.unique(casting.skin.owner)
        bound = piece.bound("heavy-piece", what, int(owners[owners >= 0].min(initial=0)))
        if above(grams, bound):
            yield Verdict(
                f"this is heavy for {'an' if what == 'earring' else 'a'} {what}",
                int(owners[owners >= 0].min(initial=0)),
                f"{grams:.1f} g with its stones",
                f"{bound:g} g or less",
                "make its shank thinner or narrower, or hollow its head from the back"
                if what == ring
                else "hollow it from the back, or make it smaller",
                grams,
                bound,
                place=place(centre),
            )


def heavy_solid(piece: Piece) -> Iterator[Verdict]:
    """Solid masses that should be hollow."""
    for feature, call in piece.with_role(Role.BODY, Role.BEAD):
        across = next(figures(call, FigureOf.THICKNESS, FigureOf.MASS), None)
        if across is None or call.get("bought"):
            continue
        _, key, value = across
        limit = piece.bound("heavy-solid", "most", feature)
        # What the text states is how much there is to look for; what counts is the metal.
        if not above(narrowest(value), limit):
            continue
        thick, at = piece.skin_measures.thickest(feature.index)
        if above(thick, limit):
            yield Verdict(
                "this solid mass is thicker than needed",
                feature.index,
                f"a ball of {mm(thick)} fits in the metal",
                most(mm(limit)),
                "hollow it from the back, or make it thinner",
                thick,
                limit,
                key=key,
                keys=(key, "thick", "height"),
                place=place(at),
            )


def out_of_scale(piece: Piece) -> Iterator[Verdict]:
    """A weight nobody wears, as cm written for mm gives."""
    for casting in piece.casting_measures.cast:
        grams, centre = casting.centre
        bound = piece.bound("out-of-scale", "most")
        if above(grams, bound):
            owners, counts = np.unique(casting.skin.owner, return_counts=True)
            size = casting.skin.box[1] - casting.skin.box[0]
            yield Verdict(
                f"{casting.called} weighs more than anyone wears",
                int(max(owners[np.argmax(counts)], 0)),
                f"{grams:,.0f} g, {size[0]:.0f} x {size[1]:.0f} x {size[2]:.0f} mm",
                f"{bound:g} g or less",
                "check the units: mm where cm, in or m is written",
                grams,
                bound,
                place=place(centre),
            )


def metal_in_crumbs(piece: Piece) -> Iterator[Verdict]:
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
        crumbs = below(least.volume, bound)
        yield Verdict(
            f"the {part.metal} comes out in {len(bodies)} separate bodies"
            + (f": {piece.name_of(mine)} is too little to be cast by itself" if crumbs else ""),
            mine,
            f"the least {least.volume:.3g} mm3",
            f"{bound:g} mm3 or more for a body that is cast by itself",
            "give these parts the metal they stand on, or join them in their own"
            if crumbs
            else "cast each on a sprue of its own, or join them in their own metal",
            least.volume,
            bound,
            keys=("metal",),
            place=place(least.centre),
            level=Level.WARNING if crumbs else Level.HINT,
        )
