"""no-clasp: a chain closed round for good that is too short to go over the head, or the hand."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ...bench.feature import Places
from ...bench.roles import Role
from ...judging.digits import above, below
from ...judging.figure_rule import Reading
from ...judging.rule import Level, Mend

if TYPE_CHECKING:
    from ....lang.bench import Use
    from ...judging.piece import Piece

ELSEWHERE = {"along", "hangs-in", "clasp-room"}  # clauses of a chain that is no closed round


def check(piece: Piece) -> Iterator[Reading]:
    if any(True for _ in piece.with_role(Role.CLASP)):
        return
    for feature in piece.features:
        within = piece.call(feature.index).within
        use = next((one for one in within if one.word.take("from") and one.word.take("long")), None)
        said = {key for key, one in use.arguments.items() if one.given} if use is not None else set()
        if use is None or "long" not in said or said & ELSEWHERE:
            continue
        drawn = "from" not in said  # in a round of its own, as a bought chain whose clasp comes with it
        if not drawn and not _comes_back(piece, use):
            continue
        long = float(use.arguments["long"].value)
        over = "over-head" if above(long, piece.bound("no-clasp", "neck", feature)) else "over-hand"
        bound = piece.bound("no-clasp", over, feature)
        if below(long, bound) and above(long, piece.bound("no-clasp", "wrist", feature)):
            sure = over == "over-head" and not drawn  # a short one may be a swag
            yield Reading(
                feature.index, long, feature, find="drawn" if drawn else "", bound=bound,
                words={"over": over.replace("-", " the "), "chain": use.name},
                level=None if sure else Level.HINT,
                mend=Mend("long", f"{bound:g} mm", "least") if sure else None, once=use.name,
            )  # fmt: skip


def _comes_back(piece: Piece, use: Use) -> bool:
    """Whether a chain ends in loops of the same body of metal that it begins in, so that nothing opens."""
    measures, loops = piece.casting_measures, piece.wear_measures.loops
    bodies = []
    given = [use.arguments[key].value for key in ("from", "back-to") if key in use.arguments]
    frames = [frame for places in given if isinstance(places, Places) for frame in places.frames]
    if len(frames) != 2 or not loops:
        return False
    for frame in frames:
        spot = frame[:, 3]
        near = min(loops, key=lambda loop: float(np.linalg.norm(loop.middle - spot)))
        bodies.append(measures.body_of(near))
    return bodies[0] is not None and bodies[0] == bodies[1]
