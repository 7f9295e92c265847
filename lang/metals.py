"""Metals as a text names them, checked with the bench."""

from __future__ import annotations

from . import tree
from .bench import Bench
from .faults import Fault, Span
from .reckoner import Reckoner
from .report import Report
from .scope import Scope
from .suggest import did_you_mean
from .values import Bare, Broken, Text


class Metals:
    """Reads the metals of a piece and of its series."""

    def __init__(self, bench: Bench, reckoner: Reckoner, report: Report) -> None:
        self._bench = bench
        self._reckoner = reckoner
        self._report = report

    def read(self, node: tree.Expression, scope: Scope) -> str | None:
        """The metal that ``node`` (a bare name, or a text) says; None and a fault if it says
        none."""
        if isinstance(node, tree.Name) and scope.find(node.name) is None:
            return self.named(node.name, node.span)
        value = self._reckoner.value(node, scope)
        if isinstance(value, Bare):
            return self.named(value.name, node.span)
        if isinstance(value, Text):
            return self.named(value.text, node.span)
        if not isinstance(value, Broken):
            self._report.fault(
                "wrong-kind",
                f"a metal is due here, not {self._reckoner.describe(value)}",
                node.span,
            )
        return None

    def named(self, name: str, span: Span | None) -> str | None:
        """The metal's own name for ``name``; None and a fault if there is no such metal."""
        metal = self._bench.check_metal(name)
        if metal is None:
            known = tuple(self._bench.metals())
            remedy = did_you_mean(name, known)
            if remedy is None and known:
                remedy = "one of " + ", ".join(known[:8]) + (", …" if len(known) > 8 else "")
            self._report.tell(
                Fault(
                    "unknown-metal",
                    f"there is no metal `{name}`",
                    span,
                    seen=name,
                    remedy=remedy,
                )
            )
        return metal
