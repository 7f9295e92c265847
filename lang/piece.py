"""The outer block of a piece: title, metal, measures that can be set, waivers, series, and the
words of other files."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from . import tree
from .bench import Bench
from .evaluate import Evaluator
from .faults import Fault, Span
from .measures import comparable
from .outcome import Measured, SeriesPlan, Waiver
from .parse import parse_value
from .ranges import Range, outside, read_range
from .resolve import Resolver
from .scope import Known, Scope
from .shown import quantity, value_name
from .suggest import did_you_mean
from .values import BROKEN, LENGTH, NUMBER, Bare, Broken, Quantity, Sequence, Text
from .words import Word

SETTINGS_PATH = "--set"
MOST_MAKINGS = 500


class PieceRun(Evaluator):
    """An evaluator that knows the files of the piece and what was set from outside.

    ``libraries`` are the trees of the taken files by path, ``origin`` the path each ``from`` line
    takes from. ``settings`` are texts of the language, or values (from a series).
    """

    def __init__(
        self,
        bench: Bench,
        root: Scope,
        choices: frozenset[str],
        records: Mapping[Span, Word],
        libraries: Mapping[str, tree.File],
        origin: Mapping[Span, str],
    ) -> None:
        super().__init__(bench, choices, records)
        self.root = root
        self.choices = choices
        self.libraries = libraries
        self.origin = origin
        self.settings: dict[str, Any] = {}
        self.unset: dict[str, Span] = {}
        self.settable: list[str] = []
        self.outer = Scope(root)
        self._scopes: dict[str, Scope] = {}

    def set_from_outside(self, settings: Mapping[str, Any]) -> None:
        """Keep ``settings`` until their measures are met; texts are read when they are."""
        self.settings = dict(settings)
        start, line = 0, 1
        for name, text in settings.items():
            length = len(name) + 1 + (len(text) if isinstance(text, str) else 0)
            self.unset[name] = Span(SETTINGS_PATH, line, 1, line, length + 1, start, start + length)
            start += length + 1
            line += 1

    # --- words of other files

    def take(self, line: tree.TakeFrom) -> dict[str, Known | None]:
        """The words a ``from`` line brings; None for those that failed and were told."""
        path = self.origin.get(line.span)
        words = self.library(path).words if path is not None else {}
        return {name.name: words.get(name.name) for name in line.names}

    def library(self, path: str) -> Scope:
        """The words and measures of a taken file; its work is not done."""
        scope = self._scopes.get(path)
        if scope is None:
            scope = self._scopes[path] = Scope(self.root)
            lines = self.libraries[path].lines
            kept = tree.Measure | tree.WordBlock | tree.TakeFrom | tree.Unread
            self.block(tuple(line for line in lines if isinstance(line, kept)), scope, "")
        return scope

    # --- lines of the outer block

    def other_line(self, line: tree.Line, scope: Scope) -> None:
        """Lines that stand in the outer block, or waive."""
        match line:
            case tree.Piece() if scope is self.outer:
                self.piece(line, scope)
            case tree.Waive():
                self.waive(line, scope)
            case tree.Series() if scope is self.outer:
                self.series(line, scope)

    def piece(self, line: tree.Piece, scope: Scope) -> None:
        """Title, notes and metal."""
        self.outcome.title = line.title.text if line.title is not None else ""
        notes = []
        for clause in line.clauses:
            if clause.key.name == "note" and isinstance(clause.value, tree.Quoted):
                notes.append(clause.value.text)
            elif clause.key.name == "metal" and clause.value is not None:
                name = self.bare(clause.value, scope)
                if name is not None:
                    metal = self.metal(name, clause.value.span)
                    self.outcome.metal = self.outcome.metal or metal
        self.outcome.notes = tuple(notes)

    def bare(self, node: tree.Expression, scope: Scope) -> str | None:
        """What a bare name, or a text, says."""
        if isinstance(node, tree.Name) and scope.find(node.name) is None:
            return node.name
        value = self.reckoner.value(node, scope)
        return self.said(value, node.span)

    def said(self, value: Any, span: Span) -> str | None:
        """The metal a value says."""
        if isinstance(value, Bare):
            return value.name
        if isinstance(value, Text):
            return value.text
        if not isinstance(value, Broken):
            self.fault("wrong-kind", f"a metal is due here, not {self.reckoner.describe(value)}",
                       span)
        return None

    def metal(self, name: str, span: Span | None) -> str | None:
        """The metal's own name, or None (and a fault) if there is no such metal."""
        check = getattr(self.bench, "check_metal", None)
        metals = getattr(self.bench, "metals", None)
        known = tuple(metals()) if metals is not None else None
        if check is not None:
            found = check(name)
        else:
            found = name if known is None or name in known else None
        if found is None:
            remedy = did_you_mean(name, known or ())
            if remedy is None and known:
                remedy = "one of " + ", ".join(known[:8]) + (", …" if len(known) > 8 else "")
            self.tell(Fault("unknown-metal", f"there is no metal `{name}`", span, seen=name,
                            remedy=remedy))
        return found if found is None else str(found)

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
            said = [c.value.text for c in line.clauses
                    if c.key.name == "help" and isinstance(c.value, tree.Quoted)]
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
            self.fault("wrong-kind", f"{name} has a range, so it is a figure, not "
                       f"{self.reckoner.describe(value)}", span)
            return BROKEN
        if not comparable(value, bounds.most) or (value.share != bounds.most.share and value.value):
            remedy = None
            code = "dimension"
            if value.dimension == NUMBER and bounds.most.dimension == LENGTH:
                code, remedy = "unit-missing", f"add mm: {quantity(value)} mm"
            self.fault(code, f"{name} is {value_name(value)}, and its range {bounds.shown()}",
                       span, remedy)
            return BROKEN
        beyond = outside(value, bounds)
        if beyond is not None:
            size, seen, bound = beyond
            limit = f"at {'least' if size == 'small' else 'most'} {bound}"
            self.fault("out-of-range", f"{name} {seen} is too {size}", span, seen=seen,
                       limit=limit)
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
        if isinstance(own, Bare | Text) and isinstance(node, tree.Name):
            if scope.find(node.name) is None:
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
            code, remedy = "dimension", None
            if value.dimension == NUMBER and own.dimension == LENGTH and not value.share:
                code, remedy = "unit-missing", f"add mm: {quantity(value)} mm"
            self.fault(code, f"{name} is {value_name(own)}, not {value_name(value)}", place,
                       remedy)
            return BROKEN
        if type(own) is type(value) or (isinstance(own, Bare | Text) and isinstance(
            value, Bare | Text
        )):
            return value
        self.fault("wrong-kind", f"{name} is {self.reckoner.describe(own)}, not "
                   f"{self.reckoner.describe(value)}", place)
        return BROKEN

    def unknown_settings(self) -> None:
        """Faults for settings that no measure of the outer block took."""
        for name, span in self.unset.items():
            self.fault("unknown-measure", f"there is no measure `{name}` to set", span,
                       did_you_mean(name, self.settable)
                       or ("it has " + ", ".join(self.settable)
                           if self.settable else "this piece has no measures"))
        self.unset = {}

    def waive(self, line: tree.Waive, scope: Scope) -> None:
        """A rule waived with a reason."""
        rules = getattr(self.bench, "rules", None)
        if rules is not None:
            names = tuple(rules())
            if line.rule.name not in names:
                self.fault("unknown-rule", f"there is no rule `{line.rule.name}`",
                           line.rule.span, did_you_mean(line.rule.name, names)
                           or "posy explain lists the rules")
                return
        feature = None
        if line.feature is not None:
            value = self.reckoner.value(line.feature, scope)
            if isinstance(value, Broken):
                return
            feature = self.reckoner.name_of(value)
            if feature is None:
                self.fault("wrong-kind", "a feature is due here, not "
                           f"{self.reckoner.describe(value)}", line.feature.span)
                return
        if not line.reason.text.strip():
            self.fault("value-missing", "a waiver needs its reason", line.reason.span,
                       "say why it is all right here")
            return
        self.outcome.waivers.append(Waiver(line.rule.name, feature, line.reason.text, line.span))

    # --- series

    def series(self, line: tree.Series, scope: Scope) -> None:
        """A range to make in one go."""
        measures: list[tuple[str, tuple[Any, ...]]] = []
        metals: list[str] = []
        good = True
        for clause in line.clauses:
            if clause.value is None:
                continue
            if clause.key.name == "metal":
                found = self.series_metals(clause.value, scope)
                good = good and None not in found
                metals += [metal for metal in found if metal is not None]
                continue
            values = self.series_values(clause, scope)
            good = good and values is not None
            if values is not None:
                measures.append((clause.key.name, values))
        count = math.prod([len(values) for _, values in measures]) * max(1, len(metals))
        if count > MOST_MAKINGS:
            self.fault("series-too-long", f"this series makes {count:,} pieces", line.span,
                       "make it of fewer values", limit=f"at most {MOST_MAKINGS}")
        elif good and (measures or metals):
            name = line.name.name if line.name is not None else ""
            self.outcome.series.append(
                SeriesPlan(name, line.span, tuple(measures), tuple(metals))
            )

    def series_metals(self, node: tree.Expression, scope: Scope) -> list[str | None]:
        """The metals of a series."""
        members = node.members if isinstance(node, tree.Run) else (node,)
        found = []
        for member in members:
            name = self.bare(member, scope)
            found.append(None if name is None else self.metal(name, member.span))
        return found

    def series_values(self, clause: tree.Clause, scope: Scope) -> tuple[Any, ...] | None:
        """The values of one measure of a series, each as it could be set from outside."""
        assert clause.value is not None
        measured = self.outcome.measures.get(clause.key.name)
        if measured is None:
            if not isinstance(scope.find(clause.key.name), Broken | None):
                self.fault("unknown-measure", f"`{clause.key.name}` is not a measure",
                           clause.key.span, did_you_mean(clause.key.name, self.outcome.measures))
            return None
        value = self.reckoner.value(clause.value, scope)
        if isinstance(value, Broken):
            return None
        members = value.members if isinstance(value, Sequence) else (value,)
        nodes = clause.value.members if isinstance(clause.value, tree.Run) else (clause.value,)
        if len(nodes) != len(members):  # the run came from a measure
            nodes = (clause.value,) * len(members)
        good = []
        line = tree.Measure(clause.key, clause.value, (), clause.span)
        for member, node in zip(members, nodes, strict=True):
            fit = self.fitting(measured.name, measured.value, member, node.span)
            good.append(self.ranged(line, fit, measured.range, node.span))
        return None if any(isinstance(value, Broken) for value in good) else tuple(good)


def _move(span: Span, base: Span, shift: int) -> Span:
    """A span of a setting's value, as a span of the line ``name=value`` at ``base``."""
    return Span(
        SETTINGS_PATH, base.line, span.column + shift, base.line, span.end_column + shift,
        base.start + span.start + shift, base.start + span.end + shift,
    )


def _shifted(fault: Fault, base: Span, shift: int) -> Fault:
    """A fault of a setting's value at its place in the line ``name=value``."""
    return replace(fault, span=_move(fault.span, base, shift) if fault.span else base)
