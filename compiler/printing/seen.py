"""What the rules see of a print plan: places in the frame of the piece, by the feature they are of."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from ..judging.figure_rule import Reading
from ..judging.pours import Print
from ..measures.kinds import Floats
from .cups import Pocket
from .overhangs import Patch
from .plan import PrintPlan
from .printer import Printer


def seen(plan: PrintPlan, printer: Printer) -> Print:
    """One plan, for the rules."""
    layers = plan.layers

    def layer(at: Floats) -> int:
        """Of the printer, from 1: the cells may be coarser, and the piece is lifted."""
        return int(at[2] / printer.layer) + 1

    middle = plan.mesh[0].mean(axis=0)
    flat = np.sort(plan.size[:2] / np.sort(printer.room[:2])[np.argsort(np.argsort(plan.size[:2]))])
    apart: tuple[Patch | Pocket, ...] = (*plan.left, *plan.afloat)
    fine = [layers.at(cells) for cells in plan.fine]
    return Print(
        plan.casting or "the piece", _owner(plan, middle), plan.stood.back(middle[None])[0],
        _places(plan, ((one.place, 1.0, layer(one.place)) for one in apart)),
        _places(plan, ((one.place, one.area, layer(layers.at(one.lowest)[0])) for one in plan.unheld)),
        _places(plan, ((cup.place, cup.area, layer(cup.place)) for cup in plan.cups)),
        _places(plan, ((at.mean(axis=0), len(at), layer(at.min(axis=0))) for at in fine)),
        None if printer.sizes.lift else float(layers.areas[layers.areas > 0][0]),
        float(max(flat[-1], plan.size[2] / printer.room[2])),
    )


def _places(plan: PrintPlan, rows: Iterable[tuple[Floats, float, float]]) -> tuple[Reading, ...]:
    return tuple(
        Reading(_owner(plan, at), float(figure), plan.stood.back(at[None])[0], float(other))
        for at, figure, other in rows
    )


def _owner(plan: PrintPlan, at: Floats) -> int:
    """The feature whose face lies nearest."""
    points, triangles = plan.mesh
    middles = points[triangles].mean(axis=1)
    known = np.flatnonzero(plan.owner >= 0)
    return int(plan.owner[known[np.argmin(((middles[known] - at) ** 2).sum(axis=1))]])
