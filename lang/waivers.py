"""`waive` lines: rules that a piece may break, with the reason."""

from __future__ import annotations

from . import tree
from .bench import Bench
from .outcome import Waiver
from .reckoner import Reckoner
from .report import Report
from .scope import Scope
from .suggest import did_you_mean
from .values import Broken


class Waivers:
    """Reads `waive` lines; ``waivers`` are those without a fault."""

    def __init__(self, bench: Bench, reckoner: Reckoner, report: Report) -> None:
        self._rules = tuple(bench.rules())
        self._reckoner = reckoner
        self._report = report
        self.waivers: list[Waiver] = []

    def waive(self, line: tree.Waive, scope: Scope) -> None:
        """One rule waived."""
        if line.rule.name not in self._rules:
            self._report.fault(
                "unknown-rule", f"there is no rule '{line.rule.name}'", line.rule.span,
                did_you_mean(line.rule.name, self._rules) or "posy why lists the rules",
            )
            return
        feature = None
        if line.feature is not None:
            value = self._reckoner.value(line.feature, scope)
            if isinstance(value, Broken):
                return
            feature = self._reckoner.name_of(value)
            if feature is None:
                self._report.fault(
                    "wrong-kind", f"a part is needed here, not {self._reckoner.describe(value)}",
                    line.feature.span,
                )
                return
        if not line.reason.text.strip():
            self._report.fault(
                "value-missing", "a waiver needs its reason", line.reason.span,
                "say why it is all right here",
            )
            return
        self.waivers.append(Waiver(line.rule.name, feature, line.reason.text, line.span))
