"""``from least to most``, on a measure or on a word's key."""

from __future__ import annotations

from typing import NamedTuple

from . import tree
from .measures import comparable, mismatch, order
from .reckoner import Reckoner
from .scope import Scope
from .shown import apart, quantity
from .values import Broken, Quantity, Sequence


class Range(NamedTuple):
    """Inclusive bounds of one dimension."""

    least: Quantity
    most: Quantity

    def shown(self) -> str:
        """ "2 mm to 3 mm"."""
        return f"{quantity(self.least)} to {quantity(self.most)}"


def read_range(clause: tree.Clause, reckoner: Reckoner, scope: Scope) -> Range | None:
    """The range a ``from`` clause says; None (and a fault) if it says none."""
    if clause.value is None:
        return None  # reported by resolve.py
    value = reckoner.value(clause.value, scope)
    if isinstance(value, Broken):
        return None
    span = clause.value.span
    members = value.members if isinstance(value, Sequence) else ()
    if len(members) != 2 or not isinstance(value, Sequence) or value.joints != ("to",):
        reckoner.fault("range-shape", "a range has two ends", span, "as in: from 2 mm to 3 mm")
        return None
    least, most = members
    if not isinstance(least, Quantity) or not isinstance(most, Quantity):
        reckoner.fault("range-shape", "the ends of a range are figures", span, "as in: from 2 mm to 3 mm")
        return None
    if not comparable(least, most):
        reckoner.trouble(mismatch("to", least, most), span)
        return None
    if least.value == 0 and not any(least.dimension):
        least = Quantity(0.0, most.dimension, most.share)
    if order(least.value, most.value) > 0:
        reckoner.fault(
            "range-shape", "the range starts above its end", span, "put the smaller figure first",
            seen=quantity(least), limit=quantity(most),
        )
        return None
    return Range(least, most)


def outside(value: Quantity, bounds: Range) -> tuple[str, str, str] | None:
    """("small" or "large", value shown, bound shown) if ``value`` is outside; else None."""
    if order(value.value, bounds.least.value) < 0:
        return "small", *apart(value, bounds.least)
    if order(value.value, bounds.most.value) > 0:
        return "large", *apart(value, bounds.most)
    return None
