"""What a revision comes to, made anew and taken down as plain data."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from ...lang.faults import Fault, is_fatal
from ..making.result import Built
from ..making.session import Session
from ..making.weights import Weights, weigh
from .revision import Revision

if TYPE_CHECKING:
    from ..making.pipeline import Progress

_WANTED = (
    "posy", "title", "metal", "note", "made", "text_sha256", "box_mm", "metal_weight", "stones",
    "measures", "remarks", "waivers",
)  # fmt: skip


@dataclass(frozen=True)
class Made:
    """A revision made today: the metal and what it comes to."""

    revision: Revision
    built: Built
    record: Mapping[str, Any]

    @property
    def faults(self) -> tuple[Fault, ...]:
        """The faults that kept it from being made."""
        return self.built.faults if is_fatal(self.built.faults) else ()


def make(
    revision: Revision, *, session: Session | None = None, tolerance: float | None = None,
    check_metal: bool = True, progress: Progress | None = None, disk: bool = False,
) -> Made:  # fmt: skip
    """Make a revision; of the ``disk`` with all that holds there, else of its own files alone."""
    from ..making.pipeline import build  # a make that is only kept builds nothing anew

    built = build(
        revision.path, files=None if disk else revision.files, session=session, tolerance=tolerance,
        check_metal=check_metal, progress=progress,
    )  # fmt: skip
    return Made(revision, built, taken_down(built))


def taken_down(built: Built) -> dict[str, Any]:
    """Figures and remarks of what was made, under the keys of the summary."""
    from ..files.summary import summary

    weights, _ = weigh(built) if built.parts else (None, [])
    record = summary(built, weights, {})
    return {**{key: record[key] for key in _WANTED}, **_cost(built, weights)}


def _cost(built: Built, weights: Weights | None) -> dict[str, Any]:
    """What it costs by the prices of its house, of its day: each part of the reckoning, and the sums. No
    price is called old here."""
    from ..cost.reckoning import reckoned
    from ..cost.sheet import parts_of, sums
    from ..cost.work import work_of

    if weights is None or "currency" not in built.house.tables.get("cost", {}):
        return {}
    cost, _ = reckoned(work_of(built, weights), built.house, None)
    if cost is None:
        return {}
    rows = [*parts_of(cost.lines).items(), *((what, figure) for what, figure, _ in sums(cost))]
    return {
        "cost": [
            {"name": name, "shown": f"{figure:f} {cost.currency}" if figure is not None else "no price"}
            for name, figure in rows
        ]
    }
