"""The measures of a piece: their ranges, and those set from outside."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from . import tree
from .faults import Span
from .measures import comparable
from .names import Names
from .outcome import Measured
from .parse import parse_value
from .ranges import Range, outside, read_range
from .reckoner import Reckoner
from .report import Report
from .scope import Scope
from .shown import quantity, unit, value_name
from .source import Excerpt
from .suggest import did_you_mean
from .values import ANGLE, BROKEN, LENGTH, MASS, NUMBER, Bare, Broken, Quantity, Text

SETTINGS_PATH = "--set"


class Settable:
    """Does `measure` lines. Those of the scope ``outer`` can be set from outside by
    ``settings``: texts of the language, or values.

    ``measures`` are those of ``outer`` met so far, in order."""

    def __init__(self, reckoner: Reckoner, report: Report, outer: Scope, settings: Mapping[str, Any]) -> None:
        self._reckoner = reckoner
        self._report = report
        self._outer = outer
        self._settings = dict(settings)
        # Of those no measure has taken yet; clauses of lines are set as the text is read.
        self._places = {name: span for name, span in places_of(settings).items() if "." not in name}
        self._met: list[str] = []
        self.measures: dict[str, Measured] = {}

    def measure(self, line: tree.Measure, scope: Scope) -> Any:
        """A measure, whose value is given back; in the outer block it may have been set from outside."""
        own = self._reckoner.value(line.value, scope)
        bounds, help_ = None, ""
        for clause in line.clauses:
            if clause.key.name == "from":
                bounds = read_range(clause, self._reckoner, scope)
            elif clause.key.name == "help" and isinstance(clause.value, tree.Quoted):
                help_ = help_ or clause.value.text
        name = line.name.name
        if scope is not self._outer or name in scope.names:
            value = self._ranged(name, own, bounds, line.value.span)
            scope.define(name, value)
            return value
        self._met.append(name)
        value, span = own, line.value.span
        if name in self._settings:
            value, span = self._setting(name, own, scope)
        value = self._ranged(name, value, bounds, span, line.span)
        scope.define(name, value)
        if not isinstance(value, Broken):
            was_set = name in self._settings
            self.measures[name] = Measured(name, value, line.span, help_, bounds, was_set)
        return value

    def fitting(self, measured: Measured, value: Any, span: Span) -> Any:
        """``value`` if ``measured`` could be set to it; else BROKEN and a fault."""
        value = self._alike(measured.name, measured.value, value, span)
        return self._ranged(measured.name, value, measured.range, span)

    def _ranged(
        self, name: str, value: Any, bounds: Range | None, span: Span, line: Span | None = None
    ) -> Any:
        """``value`` if it is in its range, which ``line`` gives; a bare zero takes the unit of the range."""
        if bounds is None or isinstance(value, Broken):
            return value
        if not isinstance(value, Quantity):
            kind = self._reckoner.describe(value)
            message = f"{name} has a range, so it is a figure, not {kind}"
            return self._reckoner.fault("wrong-kind", message, span)
        if not comparable(value, bounds.most) or (value.share != bounds.most.share and value.value):
            code, remedy = _unit_of(bounds.most, value)
            message = f"{name} is {value_name(value)}, and its range {bounds.shown()}"
            return self._reckoner.fault(code, message, span, remedy)
        beyond = outside(value, bounds)
        if beyond is not None:
            size, seen, bound = beyond
            limit = f"at {'least' if size == 'small' else 'most'} {bound}"
            message = f"{name} {seen} is too {size}"
            also: tuple[tuple[Span, str], ...] = ()
            remedy = f"write {bound}, or give it another range"
            if line is not None and line.path != span.path:
                also = (line, f"here {name} may be {bounds.shown()}"),
                remedy = "change the range there, or choose another value"
            return self._reckoner.fault(
                "out-of-range", message, span, remedy, seen=seen, limit=limit, also=also
            )
        return value

    # --- what is set from outside

    def _setting(self, name: str, own: Any, scope: Scope) -> tuple[Any, Span]:
        """The value set from outside for a measure whose own value is ``own``."""
        span, given = self._places[name], self._settings[name]
        del self._places[name]
        if not isinstance(given, str):
            return given, span
        node, faults = parse_value(Excerpt(given, span, len(name) + 1))
        for fault in faults:
            self._report.tell(fault)
        if node is None:
            return BROKEN, span
        named = isinstance(own, Bare | Text) and isinstance(node, tree.Name)
        if named and isinstance(node, tree.Name) and scope.find(node.name) is None:
            return Bare(node.name), node.span
        return self._alike(name, own, _value(node, self._reckoner, scope), node.span), node.span

    def _alike(self, name: str, own: Any, value: Any, span: Span) -> Any:
        """``value`` if it is of the same kind as the measure's own."""
        if isinstance(own, Broken) or isinstance(value, Broken):
            return BROKEN
        if isinstance(own, Quantity) and isinstance(value, Quantity):
            if own.dimension == value.dimension and own.share == value.share:
                return value
            if value.value == 0 and value.dimension == NUMBER:
                return Quantity(0.0, own.dimension, own.share)
            code, remedy = _unit_of(own, value)
            message = f"{name} is {value_name(own)}, not {value_name(value)}"
            return self._reckoner.fault(code, message, span, remedy)
        if type(own) is type(value) or (isinstance(own, Bare | Text) and isinstance(value, Bare | Text)):
            return value
        kinds = f"{self._reckoner.describe(own)}, not {self._reckoner.describe(value)}"
        return self._reckoner.fault("wrong-kind", f"{name} is {kinds}", span)

    def check_all_set(self) -> None:
        """Faults for settings that no measure of the outer block took."""
        for name, span in self._places.items():
            remedy = did_you_mean(name, self._met)
            if name in self._outer.names and name not in self._met:
                remedy = f"say which clause of that line, as in: --set {name}.gem=ruby"
            elif remedy is None and self._met:
                remedy = "it has " + ", ".join(self._met)
            self._report.fault(
                "unknown-measure", f"there is no measure '{name}' to set", span,
                remedy or "this piece has no measures",
            )
        self._places = {}


def settings_text(settings: Mapping[str, Any]) -> dict[str, str]:
    """The source of faults about settings, for snippets: ``{"--set": "across=2.8 mm"}``."""
    return {SETTINGS_PATH: "\n".join(_lines(settings))} if settings else {}


def _lines(settings: Mapping[str, Any]) -> list[str]:
    """One line ``name=value`` for each setting."""
    return [f"{name}={text if isinstance(text, str) else ''}" for name, text in settings.items()]


def places_of(settings: Mapping[str, Any]) -> dict[str, Span]:
    """Where each setting stands in ``settings_text``."""
    places, start = {}, 0
    for row, (name, line) in enumerate(zip(settings, _lines(settings), strict=True), start=1):
        end = start + len(line)
        places[name] = Span(SETTINGS_PATH, row, 1, row, len(line) + 1, start, end)
        start = end + 1
    return places


def _value(node: tree.Expression, reckoner: Reckoner, scope: Scope) -> Any:
    """The value of an expression from outside: its names are looked at first."""
    if any(scope.find(name) is None for name in tree.names_in(node)):
        names = Names(reckoner.choices)
        names.loose(node, scope.visible())
        for fault in names.notes.faults:
            reckoner.tell(fault)
        if names.notes.faults:
            return BROKEN
    return reckoner.value(node, scope)


def _unit_of(wanted: Quantity, value: Quantity) -> tuple[str, str | None]:
    """The code and remedy for a figure that is not of the ``wanted`` kind: a unit left out?"""
    if value.dimension != NUMBER or value.share:
        return "dimension", None
    if wanted.share:
        # 1.2 means 120 %, and 80 means 80 %.
        hundred = Quantity(value.value * (100.0 if abs(value.value) < 5.0 else 1.0), NUMBER)
        return "percent-missing", f"add %: {quantity(hundred)} %"
    if wanted.dimension not in (LENGTH, ANGLE, MASS):
        return "dimension", None
    name = unit(wanted.dimension)
    return "unit-missing", f"add {name}: {quantity(value)} {name}"
