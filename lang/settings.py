"""Measures of the outer block: their ranges, and what is set from outside."""

from __future__ import annotations

from collections.abc import Mapping, Set
from dataclasses import replace
from typing import Any

from . import tree
from .evaluate import Evaluator
from .faults import Fault, Span
from .measures import comparable
from .outcome import Measured
from .parse import parse_value
from .ranges import Range, outside, read_range
from .resolve import Resolver
from .scope import Scope
from .shown import quantity, unit, value_name
from .suggest import did_you_mean
from .values import ANGLE, BROKEN, LENGTH, MASS, NUMBER, Bare, Broken, Quantity, Text

SETTINGS_PATH = "--set"


class Settable(Evaluator):
    """An evaluator whose outer measures can be set: texts of the language, or values."""

    def ready(self, choices: Set[str], outer: Scope) -> None:
        """Make ready: ``outer`` is the scope of the outer block."""
        self.choices = choices
        self.outer = outer
        self.settings: dict[str, Any] = {}
        self.unset: dict[str, Span] = {}
        self.settable: list[str] = []

    def set_from_outside(self, settings: Mapping[str, Any]) -> None:
        """Keep ``settings`` until their measures are met; texts are read when they are."""
        self.settings = dict(settings)
        start, line = 0, 1
        for name, text in settings.items():
            length = len(name) + 1 + (len(text) if isinstance(text, str) else 0)
            self.unset[name] = Span(
                SETTINGS_PATH, line, 1, line, length + 1, start, start + length
            )
            start += length + 1
            line += 1

    def measure(self, line: tree.Measure, scope: Scope) -> None:
        """A measure; in the outer block it may have been set from outside."""
        own = self.reckoner.value(line.value, scope)
        bounds = None
        for clause in line.clauses:
            if clause.key.name == "from":
                bounds = read_range(clause, self.reckoner, scope)
        value, span = own, line.value.span
        settable = scope is self.outer and line.name.name not in scope.names
        if settable:
            self.settable.append(line.name.name)
        if settable and line.name.name in self.settings:
            span = self.unset.pop(line.name.name)
            value, span = self.setting(line.name.name, own, span, scope)
        value = self.ranged(line, value, bounds, span)
        self.define(line.name, value, scope)
        if settable and not isinstance(value, Broken):
            said = [
                c.value.text
                for c in line.clauses
                if c.key.name == "help" and isinstance(c.value, tree.Quoted)
            ]
            name = line.name.name
            self.outcome.measures[name] = Measured(
                name, value, line.span, said[0] if said else "", bounds, name in self.settings
            )

    def ranged(self, line: tree.Measure, value: Any, bounds: Range | None, span: Span) -> Any:
        """``value`` if it is in its range; a bare zero takes the unit of the range."""
        if bounds is None or isinstance(value, Broken):
            return value
        name = line.name.name
        if not isinstance(value, Quantity):
            self.fault(
                "wrong-kind",
                f"{name} has a range, so it is a figure, not {self.reckoner.describe(value)}",
                span,
            )
            return BROKEN
        if not comparable(value, bounds.most) or (
            value.share != bounds.most.share and value.value
        ):
            code, remedy = _unit_of(bounds.most, value)
            self.fault(
                code,
                f"{name} is {value_name(value)}, and its range {bounds.shown()}",
                span,
                remedy,
            )
            return BROKEN
        beyond = outside(value, bounds)
        if beyond is not None:
            size, seen, bound = beyond
            limit = f"at {'least' if size == 'small' else 'most'} {bound}"
            self.fault(
                "out-of-range", f"{name} {seen} is too {size}", span, seen=seen, limit=limit
            )
            return BROKEN
        return value

    def setting(self, name: str, own: Any, span: Span, scope: Scope) -> tuple[Any, Span]:
        """The value set from outside for a measure whose own value is ``own``."""
        given = self.settings[name]
        if not isinstance(given, str):
            return given, span
        shift = len(name) + 1
        node, faults = parse_value(given, SETTINGS_PATH)
        for fault in faults:
            self.tell(_shifted(fault, span, shift))
        place = _move(Span("", 1, 1, 1, len(given) + 1, 0, len(given)), span, shift)
        if node is None:
            return BROKEN, place
        named = isinstance(own, Bare | Text) and isinstance(node, tree.Name)
        if named and isinstance(node, tree.Name) and scope.find(node.name) is None:
            return Bare(node.name), place
        told = self.reckoner.tell
        self.reckoner.tell = lambda fault: self.tell(_shifted(fault, span, shift))
        try:
            value = self.look_at(node, scope)
        finally:
            self.reckoner.tell = told
        return self.fitting(name, own, value, place), place

    def look_at(self, node: tree.Expression, scope: Scope) -> Any:
        """The value of an expression from outside: its names are looked at first."""
        if any(scope.find(name) is None for name in tree.names_in(node)):
            resolver = Resolver({}, self.choices, {}, {})
            resolver.loose(node, scope.visible())
            for fault in resolver.faults:
                self.reckoner.tell(fault)
            if resolver.faults:
                return BROKEN
        return self.reckoner.value(node, scope)

    def fitting(self, name: str, own: Any, value: Any, place: Span) -> Any:
        """``value`` if it is of the same kind as the measure's own."""
        if isinstance(own, Broken) or isinstance(value, Broken):
            return BROKEN
        if isinstance(own, Quantity) and isinstance(value, Quantity):
            if own.dimension == value.dimension and own.share == value.share:
                return value
            if value.value == 0 and value.dimension == NUMBER:
                return Quantity(0.0, own.dimension, own.share)
            code, remedy = _unit_of(own, value)
            self.fault(
                code, f"{name} is {value_name(own)}, not {value_name(value)}", place, remedy
            )
            return BROKEN
        if type(own) is type(value) or (
            isinstance(own, Bare | Text) and isinstance(value, Bare | Text)
        ):
            return value
        self.fault(
            "wrong-kind",
            f"{name} is {self.reckoner.describe(own)}, not {self.reckoner.describe(value)}",
            place,
        )
        return BROKEN

    def unknown_settings(self) -> None:
        """Faults for settings that no measure of the outer block took."""
        for name, span in self.unset.items():
            self.fault(
                "unknown-measure",
                f"there is no measure '{name}' to set",
                span,
                did_you_mean(name, self.settable)
                or (
                    "it has " + ", ".join(self.settable)
                    if self.settable
                    else "this piece has no measures"
                ),
            )
        self.unset = {}


def _unit_of(wanted: Quantity, value: Quantity) -> tuple[str, str | None]:
    """The code and remedy for a figure that is not of the ``wanted`` kind: a unit left out?"""
    if value.dimension != NUMBER or value.share:
        return "dimension", None
    if wanted.share:
        return "percent-missing", f"add %: {quantity(value)} %"
    if wanted.dimension not in (LENGTH, ANGLE, MASS):
        return "dimension", None
    name = unit(wanted.dimension)
    return "unit-missing", f"add {name}: {quantity(value)} {name}"


def _move(span: Span, base: Span, shift: int) -> Span:
    """A span of a setting's value, as a span of the line ``name=value`` at ``base``."""
    return Span(
        SETTINGS_PATH,
        base.line,
        span.column + shift,
        base.line,
        span.end_column + shift,
        base.start + span.start + shift,
        base.start + span.end + shift,
    )


def _shifted(fault: Fault, base: Span, shift: int) -> Fault:
    """A fault of a setting's value at its place in the line ``name=value``."""
    return replace(fault, span=_move(fault.span, base, shift) if fault.span else base)
