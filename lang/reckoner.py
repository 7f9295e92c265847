"""The value of an expression. How each kind of expression gets its value stands in figures.py,
comparisons.py and questions.py; expressions.py puts them together."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Set
from typing import Any

from . import measures, tree
from .bench import Bench
from .faults import Fault, Span
from .measures import Trouble
from .report import Enough
from .scope import Scope
from .shown import value_name
from .values import BROKEN, Bare, Broken, Point, Quantity, Sequence, Size, Text, Truth

MOST_STEPS = 1_000_000  # parts of expressions reckoned in one run: about two seconds
PLAIN_VALUES = Quantity, Text, Bare, Truth, Size, Point, Sequence

# How one kind of expression gets its value: (reckoner, expression, scope) -> value.
Way = Callable[["Reckoner", Any, Scope], Any]


class Reckoner:
    """Gives expressions their values.

    ``bench`` may be None where only figures can stand (bounds of a word's keys). ``choices`` are the bare
    names that stand for themselves. ``tell`` takes each fault; an expression without a value is BROKEN, and
    whatever holds it stays silent. ``ways`` says for each kind of expression how it gets its value."""

    def __init__(
        self, bench: Bench | None, choices: Set[str], tell: Callable[[Fault], None], ways: Mapping[type, Way],
    ) -> None:
        self.bench = bench
        self.choices = choices
        self.tell = tell
        self._ways = ways
        self._steps = 0
        self.wanted: str | None = None  # the kind of value that what is asked next is to be, as Kind names it
        # By id; the thing is held too, so that no other thing gets its id.
        self._names: dict[int, tuple[str, Any]] = {}

    # --- faults

    def fault(self, code: str, message: str, span: Span, remedy: str | None = None, **more: Any) -> Broken:
        """Tell a fault; the value is BROKEN."""
        self.tell(Fault(code, message, span, remedy=remedy, **more))
        return BROKEN

    def trouble(self, trouble: Trouble, span: Span) -> Broken:
        """Tell what was wrong in a piece of arithmetic."""
        return self.fault(trouble.code, trouble.message, span, trouble.remedy)

    def describe(self, value: Any) -> str:
        """A few words on any value."""
        known = value_name(value)
        if known is not None:
            return known
        return self.bench.describe(value) if self.bench is not None else "a thing"

    # --- full names of features

    def name_thing(self, thing: Any, name: str) -> None:
        """Keep the full name of a feature, unless it has one."""
        self._names.setdefault(id(thing), (name, thing))

    def name_of(self, thing: Any) -> str | None:
        """The full name of a feature, or None."""
        return self._names.get(id(thing), (None, None))[0]

    # --- values

    def value(self, node: tree.Expression, scope: Scope) -> Any:
        """The value of ``node``, or BROKEN."""
        self._steps += 1
        if self._steps > MOST_STEPS:
            self.fault(
                "too-much-work", "working out all figures of this piece takes too long", node.span,
                "do what repeats in fewer turns",
            )
            raise Enough
        return self._ways[type(node)](self, node, scope)

    def figure(self, node: tree.Expression, scope: Scope) -> Quantity | Broken:
        """The value of ``node`` if it is a figure; else BROKEN and a fault."""
        return self.as_figure(self.value(node, scope), node)

    def as_figure(self, value: Any, node: tree.Expression) -> Quantity | Broken:
        """``value``, that ``node`` has, if it is a figure; else BROKEN and a fault."""
        if type(value) is Quantity or isinstance(value, Broken):
            return value
        return self.fault("wrong-kind", f"a figure is needed here, not {self.describe(value)}", node.span)

    def test(self, node: tree.Expression, scope: Scope) -> bool | Broken:
        """The outcome of the test ``node``; BROKEN and a fault if it is no test."""
        value = self.value(node, scope)
        if isinstance(value, Truth):
            return value.yes
        if isinstance(value, Broken):
            return value
        return self.fault(
            "wrong-kind", f"a test is needed here, not {self.describe(value)}", node.span,
            "compare it with something: a < b, a is b",
        )

    def spots(self, node: tree.Expression, scope: Scope) -> list[Any] | Broken:
        """The single places or paths (or members of a run or size) that ``node`` stands for."""
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
            spots = self.bench.spots(value if places is None else places)
            if spots is not None:
                return list(spots)
        return self.fault(
            "wrong-kind", f"places are needed here, not {self.describe(value)}", node.span,
            self._for_places(value, node),
        )

    def _for_places(self, value: Any, node: tree.Expression) -> str:
        """What to write where something that is no place was given: a path is gone along whole."""
        bench = None if isinstance(value, PLAIN_VALUES) else self.bench
        if bench is None or bench.as_kind(value, "path") is None:
            return "as in: ends of frame"
        names = ["rim", "frame"]
        if isinstance(node, tree.Of) and isinstance(node.thing, tree.Name):
            names = [name.name for name in (*node.names, node.thing)]
        return f"one line goes along all of a path, as in: along {' of '.join(names)}, fit 2 mm"

    def with_unit(self, value: float, unit: str, span: Span) -> Any:
        """A number with a unit; BROKEN for a unit reported by the parser."""
        if unit not in ("%", "ga") and unit not in measures.UNITS:
            return BROKEN
        figure, trouble = measures.with_unit(value, unit)
        return figure if trouble is None else self.trouble(trouble, span)
