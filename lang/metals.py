"""Metals as a text names them, checked with the bench."""

from __future__ import annotations

from . import tree
from .bench import Bench
from .faults import Fault, Span
from .reckoner import Reckoner
from .report import Report
from .scope import Scope
from .values import Bare, Broken, Text


class Metals:
    """Reads the metals of a piece and of its series."""

    def __init__(self, bench: Bench, reckoner: Reckoner, report: Report) -> None:
        self._bench = bench
        self._reckoner = reckoner
        self._report = report

    def read(self, node: tree.Expression, scope: Scope) -> str | None:
        """The metal that ``node`` says: a bare name, a text, or a measure that holds one of
        them; None and a fault if it is none of these."""
        if not isinstance(node, tree.Name | tree.Quoted):
            self._no_name(node)
            return None
        if isinstance(node, tree.Name) and scope.find(node.name) is None:
            return self.named(node.name, node.span)
        value = self._reckoner.value(node, scope)
        if isinstance(value, Bare):
            return self.named(value.name, node.span)
        if isinstance(value, Text):
            return self.named(value.text, node.span)
        if not isinstance(value, Broken):
            self._report.fault(
                "wrong-kind", f"a metal is needed here, not {self._reckoner.describe(value)}", node.span,
            )
        return None

    def _no_name(self, node: tree.Expression) -> None:
        """The fault for a metal written as a sum or the like: `gold - 750`."""
        joined = "-".join(tree.words_in(node))
        metal = self._bench.check_metal(joined)
        remedy = f"write it as one name: {metal}" if metal is not None else None
        self._report.fault(
            "wrong-kind", "a metal is one name, with no blanks or signs in it but hyphens", node.span,
            remedy or self._bench.metal_hint(joined),
        )

    def named(self, name: str, span: Span | None) -> str | None:
        """The metal's own name for ``name``; None and a fault if there is no such metal."""
        metal = self._bench.check_metal(name)
        if metal is None:
            self._report.tell(
                Fault(
                    "unknown-metal", f"no one metal is called '{name}'", span, seen=name,
                    remedy=self._bench.metal_hint(name),
                )
            )
        return metal
