"""`series` lines: what is to be made in one go."""

from __future__ import annotations

import math
from typing import Any

from . import tree
from .metals import Metals
from .outcome import SeriesPlan
from .reckoner import Reckoner
from .report import Report
from .scope import Scope
from .settable import Settable
from .suggest import did_you_mean
from .values import Broken, Sequence

MOST_MAKINGS = 500


class Series:
    """Reads `series` lines; ``plans`` are those read so far.

    ``settable`` holds the measures that a series can vary."""

    def __init__(self, reckoner: Reckoner, report: Report, settable: Settable, metals: Metals) -> None:
        self._reckoner = reckoner
        self._report = report
        self._settable = settable
        self._metals = metals
        self.plans: list[SeriesPlan] = []

    def read(self, line: tree.Series, scope: Scope) -> None:
        """One series; it is left out if anything in it is wrong."""
        measures: list[tuple[str, tuple[Any, ...] | None]] = []
        metals: list[str | None] = []
        for clause in line.clauses:
            if clause.value is None:
                continue
            if clause.key.name == "metal":
                value = clause.value
                members = value.members if isinstance(value, tree.Run) else (value,)
                metals += [self._metals.read(member, scope) for member in members]
            else:
                measures.append((clause.key.name, self._values(clause, scope)))
        good = [(name, values) for name, values in measures if values is not None]
        count = math.prod([len(values) for _, values in good]) * max(1, len(metals))
        if count > MOST_MAKINGS:
            self._report.fault(
                "series-too-long", f"this series makes {count:,} pieces", line.span,
                "make it of fewer values", limit=f"at most {MOST_MAKINGS}",
            )
            return
        made_in = [metal for metal in metals if metal is not None]
        whole = len(good) == len(measures) and len(made_in) == len(metals)
        if whole and (measures or metals):
            name = line.name.name if line.name is not None else ""
            self.plans.append(SeriesPlan(name, line.span, tuple(good), tuple(made_in)))

    def _values(self, clause: tree.Clause, scope: Scope) -> tuple[Any, ...] | None:
        """The values of one measure of a series, each as it could be set from outside."""
        assert clause.value is not None
        name = clause.key.name
        measured = self._settable.measures.get(name)
        if measured is None:
            if not isinstance(scope.find(name), Broken | None):
                self._report.fault(
                    "unknown-measure",
                    f"'{name}' is not a measure",
                    clause.key.span,
                    did_you_mean(name, self._settable.measures)
                    or "a series varies measures of the outer block, or the metal",
                )
            return None
        value = self._reckoner.value(clause.value, scope)
        if isinstance(value, Broken):
            return None
        members = value.members if isinstance(value, Sequence) else (value,)
        nodes = clause.value.members if isinstance(clause.value, tree.Run) else (clause.value,)
        if len(nodes) != len(members):  # the run came from a measure
            nodes = (clause.value,) * len(members)
        good = [
            self._settable.fitting(measured, member, node.span)
            for member, node in zip(members, nodes, strict=True)
        ]
        return None if any(isinstance(value, Broken) for value in good) else tuple(good)
