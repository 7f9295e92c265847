"""Series: what is to be made in one go; and metals, which a series may vary."""

from __future__ import annotations

import math
from typing import Any

from . import tree
from .arguments import choices_shown
from .faults import Fault, Span
from .outcome import SeriesPlan
from .scope import Scope
from .settings import Settable
from .suggest import did_you_mean
from .values import Bare, Broken, Sequence, Text

MOST_MAKINGS = 500


class SeriesReader(Settable):
    """An evaluator that reads series."""

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
            self.fault(
                "wrong-kind", f"a metal is due here, not {self.reckoner.describe(value)}", span
            )
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
            hint = getattr(self.bench, "metal_hint", None)
            remedy = hint(name) if hint else did_you_mean(name, known or ())
            remedy = remedy or choices_shown(known or ())
            self.tell(
                Fault(
                    "unknown-metal",
                    f"there is no metal '{name}'",
                    span,
                    seen=name,
                    remedy=remedy,
                )
            )
        return found if found is None else str(found)

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
            self.fault(
                "series-too-long",
                f"this series makes {count:,} pieces",
                line.span,
                "make it of fewer values",
                limit=f"at most {MOST_MAKINGS}",
            )
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
                self.fault(
                    "unknown-measure",
                    f"'{clause.key.name}' is not a measure",
                    clause.key.span,
                    did_you_mean(clause.key.name, self.outcome.measures)
                    or "a series varies measures of the outer block, or the metal",
                )
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
