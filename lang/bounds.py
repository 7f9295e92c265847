"""The bounds of a clause: figures outside refused, ranges shown for reference pages."""

from __future__ import annotations

from typing import Any, NamedTuple

from .measures import order
from .shown import quantity
from .values import ANGLE, LENGTH, MASS, NUMBER, Dimension, Quantity
from .words import Kind, Take

# What the figures of a clause measure, and whether as a share of something.
MEASURED: dict[Kind, tuple[Dimension, bool]] = {
    Kind.LENGTH: (LENGTH, False),
    Kind.SIZE: (LENGTH, False),
    Kind.LENGTHS: (LENGTH, False),
    Kind.STONE_SIZE: (LENGTH, False),
    Kind.ANGLE: (ANGLE, False),
    Kind.MASS: (MASS, False),
    Kind.COUNT: (NUMBER, False),
    Kind.COUNTS: (NUMBER, False),
    Kind.NUMBER: (NUMBER, False),
    Kind.PERCENT: (NUMBER, True),
}


class Refusal(NamedTuple):
    """Why a value will not do."""

    code: str
    message: str
    remedy: str | None = None
    seen: str | None = None
    limit: str | None = None


def out_of_bounds(plain: Any, take: Take) -> Refusal | None:
    """The refusal of figures outside the take's bounds; None if all are inside."""
    if take.least is None and take.over is None and take.most is None:
        return None
    for part in plain if isinstance(plain, tuple) else (plain,):
        if not isinstance(part, int | float) or isinstance(part, bool):
            continue
        low = take.least is not None and order(part, take.least) < 0
        low = low or (take.over is not None and order(part, take.over) <= 0)
        high = take.most is not None and order(part, take.most) > 0
        if low or high:
            return _beyond(part, take, low)
    return None


def _beyond(part: float, take: Take, low: bool) -> Refusal:
    dimension, share = MEASURED.get(take.kind, (NUMBER, False))

    def show(value: float) -> str:
        return quantity(Quantity(value, dimension, share))

    bound = take.least if take.least is not None else take.over
    if low and part < 0 and bound is not None and bound >= 0 and out_of_bounds(-part, take) is None:
        message = f"{take.name} {show(part)} is less than nothing"
        return Refusal(
            "out-of-range", message, f"write {show(-part)}, without the minus", show(part),
            f"at least {show(bound)}",
        )  # fmt: skip
    if low and take.least is None:
        limit, remedy = f"more than {show(take.over or 0.0)}", "make it larger"
    elif low:
        limit, remedy = f"at least {show(take.least or 0.0)}", f"make it {show(take.least or 0.0)}, or more"
    else:
        limit, remedy = f"at most {show(take.most or 0.0)}", f"make it {show(take.most or 0.0)}, or less"
    return Refusal(
        "out-of-range", f"{take.name} {show(part)} is too {'small' if low else 'large'}", remedy, show(part),
        limit,
    )
