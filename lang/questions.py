"""What an expression asks: functions, and parts and figures of features asked of the bench."""

from __future__ import annotations

import math
from collections.abc import Callable, Set
from typing import Any

from . import tree
from .expressions import PLAIN_VALUES, Figures
from .faults import Fault
from .functions import FUNCTIONS
from .scope import Scope
from .shown import value_name
from .suggest import did_you_mean
from .values import BROKEN, LENGTH, NUMBER, Broken, Point, Quantity, Sequence, Size, Truth


class Reckoner(Figures):
    """Reckons every expression for the evaluator; see Figures for what it is made with."""

    def __init__(
        self, bench: Any, choices: Set[str], tell: Callable[[Fault], None]
    ) -> None:
        super().__init__(bench, choices, tell)
        self.ways[tree.Invoke] = self._invoke
        self.ways[tree.Of] = self._of

    def _invoke(self, node: tree.Invoke, scope: Scope) -> Any:
        function = FUNCTIONS.get(node.function.name)
        if function is None:
            return BROKEN  # reported by resolve.py, as are wrong counts of arguments
        most = len(node.arguments) if function.most is None else function.most
        if not function.least <= len(node.arguments) <= most:
            return BROKEN
        if function.reckon is None:
            way = {"pick": self._pick, "between": self._between, "count": self._count}
            if function.name == "given":
                key, said = node.arguments[0], scope.find_given()
                if said is None or not isinstance(key, tree.Name):
                    return BROKEN
                return Truth(key.name in said)
            return way[function.name](node, scope)
        figures = [self.figure(argument, scope) for argument in node.arguments]
        good = [figure for figure in figures if isinstance(figure, Quantity)]
        if len(good) < len(figures):
            return BROKEN
        result, trouble = function.reckon(good)
        return result if trouble is None else self.trouble(trouble, node.span)

    def spots(self, node: tree.Expression, scope: Scope) -> list[Any] | Broken:
        """The single places (or members of a run or size) that ``node`` stands for."""
        value = self.value(node, scope)
        if isinstance(value, Broken):
            return value
        if isinstance(value, Sequence):
            return list(value.members)
        if isinstance(value, Size):
            return list(value.parts)
        if isinstance(value, Point):
            return [value]
        if not isinstance(value, PLAIN_VALUES) and self.bench is not None:
            places = self.bench.as_kind(value, "places")
            spots = None if places is None else self.bench.spots(places)
            if spots is not None:
                return list(spots)
        return self.fault(
            "wrong-kind",
            f"places are due here, not {self.describe(value)}",
            node.span,
            "as in: ends of frame",
        )

    def _pick(self, node: tree.Invoke, scope: Scope) -> Any:
        spots = self.spots(node.arguments[0], scope)
        which = self.figure(node.arguments[1], scope)
        if isinstance(spots, Broken) or isinstance(which, Broken):
            return BROKEN
        span = node.arguments[1].span
        if which.dimension != NUMBER or which.share or which.value != int(which.value):
            return self.fault(
                "not-whole", f"a count is due here, not {value_name(which)}", span
            )
        if not 1 <= which.value <= len(spots):
            return self.fault(
                "out-of-range",
                f"there is no place number {which.value:g} here",
                span,
                seen=f"{which.value:g}",
                limit=f"1 to {len(spots)}" if spots else "no places",
            )
        return spots[int(which.value) - 1]

    def _between(self, node: tree.Invoke, scope: Scope) -> Any:
        ends = []
        for argument in node.arguments:
            spots = self.spots(argument, scope)
            if isinstance(spots, Broken):
                return BROKEN
            if len(spots) != 1:
                return self.fault(
                    "wrong-kind",
                    f"one place is due here, not {len(spots)}",
                    argument.span,
                    "take one of them: pick(ends of frame, 2)",
                )
            ends.append(spots[0])
        first, second = ends
        if isinstance(first, Point) and isinstance(second, Point):
            return _half_way(first, second)
        between = getattr(self.bench, "between", None)
        middle = between(first, second) if between is not None else None
        if middle is None:
            return self.fault("wrong-kind", "there is no half way between these", node.span)
        return middle

    def _count(self, node: tree.Invoke, scope: Scope) -> Any:
        spots = self.spots(node.arguments[0], scope)
        return spots if isinstance(spots, Broken) else Quantity(float(len(spots)))

    def _of(self, node: tree.Of, scope: Scope) -> Any:
        value = self.value(node.thing, scope)
        span = node.thing.span
        for name in reversed(node.names):
            if isinstance(value, Broken):
                return value
            if isinstance(value, PLAIN_VALUES) or self.bench is None:
                return self.fault(
                    "wrong-kind",
                    f"{name.name} of … asks a feature, not {self.describe(value)}",
                    span,
                )
            answer, why = self.bench.look(value, name.name)
            if answer is None:
                message, remedy = _missing(name.name, why or f"{self.describe(value)} offers")
                return self.fault("unknown-part", message, name.span, remedy)
            whole = self.name_of(value)
            if whole is not None and not isinstance(answer, PLAIN_VALUES):
                self.name_thing(answer, f"{whole}.{name.name}")
            value, span = answer, name.span.to(node.span)
        return value


def _missing(name: str, why: str) -> tuple[str, str | None]:
    """Message and remedy for a part that is not there; "frame offers face, rim" lists those
    that are."""
    thing, offers, listed = why.partition(" offers")
    if not offers:
        return why, None
    names = [one for one in listed.strip().split(", ") if one not in ("", "nothing by name")]
    near = did_you_mean(name, names)
    all_of_them = f"it offers {', '.join(names)}" if names else "it offers nothing by name"
    return f"{thing} offers no '{name}'", near or all_of_them


def _half_way(first: Point, second: Point) -> Point:
    """The point half way; a missing third member counts as zero."""
    zero = Quantity(0.0, LENGTH)
    parts = []
    for index in range(max(len(first.parts), len(second.parts))):
        a = first.parts[index] if index < len(first.parts) else zero
        b = second.parts[index] if index < len(second.parts) else zero
        parts.append(Quantity(math.fsum((a.value, b.value)) / 2, LENGTH))
    return Point(tuple(parts))
