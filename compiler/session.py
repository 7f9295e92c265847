"""One piece, from a bench full of steps to finished metal; and what a long-lived process keeps."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from ..lang.faults import Fault
from .bench import PieceBench
from .result import Part, Stone
from .solids import TRIANGLES_LIMIT, Memo, Workshop, owners_of, triangles_of

if TYPE_CHECKING:
    from .kernel import Readout

FINAL = 0.005  # mm, chord tolerance of what is handed on
LIVE = 0.02  # mm, while editing
# The lift of a facet is the leading term of its distance to the true surface; what is left is
# bounded by this share of it (measured over all shapes and the outside pieces: under 2 %).
LIFT_ERROR = 0.05


@dataclass
class Session:
    """What survives from build to build in one process."""

    memo: Memo = field(default_factory=Memo)


def new_bench() -> PieceBench:
    """A fresh bench (tests run the language suite against it)."""
    return PieceBench()


def oversized(bench: PieceBench, session: Session, tolerance: float) -> list[Fault]:
    """A fault at the line that takes the piece past the cap on triangles."""
    total = 0
    for step, count in triangles_of(bench.plan().steps, session.memo, tolerance):
        total += count
        if total > TRIANGLES_LIMIT:
            call = bench.lines[step.feature]
            return [
                call.fault(
                    "too-many-triangles",
                    f"with {call.name} the piece passes the cap on triangles",
                    seen=f"{total:,}",
                    limit=f"{TRIANGLES_LIMIT:,}",
                    remedy="fewer copies, or a coarser --tolerance",
                )
            ]
    return []


def metal_parts(
    bench: PieceBench,
    session: Session,
    tolerance: float,
    progress: Callable[[str, float], None] | None = None,
) -> tuple[tuple[Part, ...], list[Fault]]:
    """Carry out the plan: one part per alloy, and faults where no sound metal came out."""
    from .kernel import problem, read

    steps = bench.plan().steps

    def tell(number: int) -> None:
        if progress is not None and steps:
            progress(bench.lines[steps[min(number, len(steps) - 1)].feature].name, number / len(steps))

    solids = Workshop(session.memo, tolerance, bench.metal, tell).metals(steps)
    parts, faults = [], []
    ranks = _ranks(bench)
    for metal, solid in solids.items():
        trouble = problem(solid)
        if trouble is not None:
            faults.append(_unsound(bench, session, tolerance, trouble))
            continue
        if solid.is_empty():
            faults.append(_cut_away(bench, metal))
            continue
        parts.append(_part(metal, read(solid), session.memo, ranks))
    return tuple(parts), faults


def _cut_away(bench: PieceBench, metal: str) -> Fault:
    """A fault at the last cut: it left nothing of an alloy."""
    cuts = [step.feature for step in bench.plan().steps if step.work == "cut"]
    call = bench.lines[cuts[-1] if cuts else -1]
    return call.fault(
        "no-metal",
        f"after {call.name} nothing is left of the {metal}",
        remedy="make the cut smaller, move it, or say with `in` what it cuts",
    )


def _ranks(bench: PieceBench) -> dict[str, tuple[int, int]]:
    """Digest of each simple step to (rank in the order of work, feature)."""
    ranks: dict[str, tuple[int, int]] = {}
    for digest, feature in owners_of(bench.plan().steps):
        ranks.setdefault(digest, (len(ranks), feature))
    return ranks


def _part(metal: str, out: Readout, memo: Memo, ranks: dict[str, tuple[int, int]]) -> Part:
    """Sort triangles by the order of work, name their features, and weigh the facets' shortfall."""
    marks, which = np.unique(out.mark, return_inverse=True)
    found = [ranks.get(memo.owners.get(int(mark), ""), (len(ranks), -1)) for mark in marks]
    rank = np.array([f[0] for f in found])[which]
    owner = np.array([f[1] for f in found])[which]
    lift = np.zeros(len(out.triangles))
    for index, mark in enumerate(marks):
        table = memo.lifts.get(int(mark))
        if table is not None:
            chosen = which == index
            lift[chosen] = table[out.face[chosen]]
    shortfall = np.where(out.cut, -1.0, 1.0) * lift * out.areas()
    order = np.argsort(rank, kind="stable")
    volume = out.volume()
    return Part(
        metal,
        out.points,
        out.triangles[order].astype(np.int32),
        owner[order].astype(np.int32),
        volume + float(shortfall.sum()),
        volume,
        LIFT_ERROR * float(np.abs(shortfall).sum()) + 1e-6 * volume,
    )


def _unsound(bench: PieceBench, session: Session, tolerance: float, trouble: str) -> Fault:
    """Find the first line after which the kernel fails, and blame it."""
    from .kernel import join, problem

    steps = bench.plan().steps
    for last in range(1, len(steps) + 1):
        solids = Workshop(session.memo, tolerance, bench.metal).metals(steps[:last])
        if any(problem(solid) is not None for solid in solids.values()):
            call = bench.lines[steps[last - 1].feature]
            return call.fault(
                "unsound-solid",
                f"no sound metal comes of {call.name} ({trouble})",
                remedy="change its figures a little; please report the text that does this",
            )
    return Fault("unsound-solid", f"the joined metal is not sound ({trouble})")


def stones_of(bench: PieceBench) -> tuple[Stone, ...]:
    """Every stone with its number, weight both ways and place, in the order of the text."""
    from ..stdlib.gems import GEMS

    found: list[Stone] = []
    for group in bench.stones():
        setting = group.setting
        formula, volume = _carats(setting.figures, GEMS[setting.gem].density)
        for frame in group.frames:
            found.append(
                Stone(
                    len(found) + 1, group.feature, setting.cut, setting.size, setting.gem,
                    formula, volume, frame,
                )
            )
    return tuple(found)


@cache
def _carats(figures: tuple[object, ...], density: float) -> tuple[float, float]:
    from ..stdlib.stones import weigh
    from ..stdlib.cuts import CUTS

    name, long, wide, *rest = figures
    weight = weigh(CUTS[str(name)], long, wide, rest[0] if rest else None, density)  # type: ignore[arg-type]
    return weight.carats_formula, weight.carats_volume
