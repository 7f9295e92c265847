"""no-clasp: a chain closed round for good that is too short to go over the head."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ...bench.feature import Places
from ...bench.roles import Role
from ...judging.digits import above, below, least, mm, place
from ...judging.rule import Mend, Verdict

if TYPE_CHECKING:
    from ....lang.bench import Use
    from ...judging.piece import Piece


def check(piece: Piece) -> Iterator[Verdict]:
    if any(True for _ in piece.with_role(Role.CLASP)):
        return
    told: set[str] = set()
    for feature in piece.features:
        use = next((one for one in piece.call(feature.index).within if "back-to" in one.arguments), None)
        if use is None or use.name in told or not _comes_back(piece, use):
            continue
        told.add(use.name)
        long = float(use.arguments["long"].value)
        bound, neck = (piece.bound("no-clasp", what, feature) for what in ("over-head", "neck"))
        if below(long, bound) and above(long, neck):
            yield Verdict(
                "this chain is closed round without a clasp, and too short to go over the head",
                feature.index,
                f"{mm(long)} round",
                least(mm(bound)),
                "or close it by a clasp: each half in a casting of its own, with a chain 'from' it 'back-to' "
                "the piece on each side",
                long,
                bound,
                key="long",
                keys=("long",),
                place=place(feature.frames[0, :, 3]),
                mend=Mend("long", f"{bound:g} mm", "least"),
            )  # fmt: skip


def _comes_back(piece: Piece, use: Use) -> bool:
    """Whether a chain ends in loops of the same body of metal that it begins in, so that nothing opens."""
    measures, loops = piece.casting_measures, piece.wear_measures.loops
    bodies = []
    for key in ("from", "back-to"):
        places = use.arguments[key].value if key in use.arguments else None
        if not isinstance(places, Places) or not len(places) or not loops:
            return False
        spot = places.frames[0, :, 3]
        near = min(loops, key=lambda loop: float(np.linalg.norm(loop.middle - spot)))
        bodies.append(measures.body_of(near))
    return bodies[0] is not None and bodies[0] == bodies[1]
