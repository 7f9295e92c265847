"""unattached-bead: beads and prongs that float."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...judging.digits import mm, place, rounded_up
from ...judging.rule import Verdict

if TYPE_CHECKING:
    from ...judging.castings import Body
    from ...judging.piece import Piece

ROOT = 0.1  # mm, of metal a bead lies in at the least


def check(piece: Piece) -> Iterator[Verdict]:
    seen: set[int] = set()
    metal = [body for body in piece.casting_measures.bodies if not body.small]
    for body in piece.casting_measures.bodies:
        first, owners = body.casting not in seen, [one for one in body.shell.owners if one >= 0]
        seen.add(body.casting)
        if body.small and not first:
            what = "a bead" if owners[0] in piece.sets.beads else "a prong"
            yield Verdict(
                f"{what} of {piece.name_of(owners[0])} touches no metal",
                owners[0],
                "a body of its own",
                "joined to the metal",
                _remedy(body, metal),
                float(len(piece.casting_measures.bodies)),
                1.0,
                keys=("sunk", "root", "inward", "foot"),
                place=place(body.shell.centre),
            )


def _remedy(body: Body, metal: list[Body]) -> str:
    """What reaches the nearest metal: a bead that only just floats is sunk; one that is farther
    off than it is long cannot be."""
    low, high = body.skin.box
    reach = float((high - low).max())
    near = [one for one in metal if one.meets(body, reach)]
    off = min((body.gap(one, reach) for one in near), default=reach)
    if off < reach:
        return f"it stands {mm(off)} off: sink it {rounded_up(off + ROOT)} deeper, or bring it over the metal"
    return f"it stands more than {mm(off)} off: bring it over the metal, with the stones it is to hold"
