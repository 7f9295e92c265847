"""filled-window: a window sawn in a part, filled by another part that lies across both."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from ...bench.feature import Feature
from ...bench.plan import PRISM
from ...bench.roles import Role
from ...bench.things import indices
from ...judging.digits import above
from ...judging.figure_rule import Reading
from ...judging.moves import told
from ...metal.kernel import join

if TYPE_CHECKING:
    from manifold3d import Manifold

    from ...judging.piece import Piece
    from ...measures.kinds import Floats

DEEP = 60.0  # mm, no metal that is sawn through is so thick
OUTSIDE = 0.5  # of a part, more of it beyond the window and it only lies across
STEPS = np.arange(0.25, 12.1, 0.25)  # mm, how far it is moved off
IN_PLACE = Role.WIRE, Role.SETTING, Role.PRONG, Role.RIM, Role.FINDING, Role.PIN, Role.BEADED_EDGE, Role.SHANK


def filled_window(piece: Piece) -> Iterator[Reading]:
    """A window that another body fills in part, most of which lies outside it."""
    bodies = [
        (one, join(solids)) for one, _ in piece.with_role(Role.BODY)
        if not piece.is_for(one.index, *IN_PLACE) and (solids := piece.laid({one.index}))
    ] if any(_windows(piece)) else []  # fmt: skip
    for cut, tool, frame in _windows(piece):
        into = piece.call(cut.index).get("in")
        hosts = indices(into) if isinstance(into, Feature) else set()
        host = [solid for one, solid in bodies if one.index in hosts]
        room = join(host) ^ tool if host else None
        if room is None or room.volume() <= 0:
            continue
        for one, solid in bodies:
            if one.index in hosts or (solid ^ tool).volume() > OUTSIDE * solid.volume():
                continue
            shared = room ^ solid ^ piece.metal
            figure = shared.volume() / room.volume()
            bound = piece.bound("filled-window", "most", one.index)
            pair = frozenset((one.index, *hosts))  # of two that fill each other's, one is moved
            if above(figure, bound):
                low, high = np.array(shared.bounding_box()).reshape(2, 3)
                yield Reading(
                    one.index, figure, (low + high) / 2, bound=bound, others=(cut.index,), once=pair,
                    cure=_remedy(piece, one, piece.features[max(hosts)], solid, room, frame, bound),
                )  # fmt: skip


def _windows(piece: Piece) -> Iterator[tuple[Feature, Manifold, Floats]]:
    """Every hole of any outline that is sawn right through: its line, its tool, and a frame of it (3, 4)."""
    opens = (one for one, _ in piece.with_role(Role.OPENS))
    sawn = {one.index: one for one in opens if not piece.is_for(one.index, Role.HOLE)}
    for one in piece.plan_solids:
        if one.cut and one.feature in sawn and one.figures[-1] is None:
            tool = replace(one, kind=PRISM, figures=(one.figures[0], -DEEP, 1.0))
            yield sawn[one.feature], join(piece.standing([tool])), one.frames[0]


def _remedy(
    piece: Piece, one: Feature, host: Feature, solid: Manifold, room: Manifold, frame: Floats, bound: float
) -> str:
    """The least move in the plane of the window that frees it, of whatever came later."""
    ways = [sign * frame[:, axis] for axis in (0, 1) for sign in (1.0, -1.0)]
    for far in STEPS.tolist():
        for way in ways:
            if (solid.translate(far * way) ^ room).volume() < bound * room.volume():
                late, sign = max((_whole(piece, one), 1.0), (_whole(piece, host), -1.0))
                moved = told(piece, late, sign * far * way, "off it")
                return f"move {piece.name_of(late)} {moved}, or turn it off the window"
    return "move it off the window, or make the window smaller"


def _whole(piece: Piece, feature: Feature) -> int:
    """The workpiece a part stands in; itself where it stands in none."""
    outer = feature.name.rpartition(".")[0]
    return next((whole.index for whole in piece.features if whole.name == outer), feature.index)
