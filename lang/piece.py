"""The outer block of a piece: title, metal, measures that can be set, waivers, series, and the
words of other files."""

from __future__ import annotations

from collections.abc import Mapping, Set

from . import tree
from .bench import Bench
from .faults import Span
from .outcome import Waiver
from .scope import Known, Scope
from .series import SeriesReader
from .suggest import did_you_mean
from .values import Broken
from .words import Word


class PieceRun(SeriesReader):
    """An evaluator that knows the files of the piece and what was set from outside.

    ``libraries`` are the trees of the taken files by path, ``origin`` the path each ``from``
    line takes from. ``settings`` are texts of the language, or values (from a series).
    """

    def __init__(
        self,
        bench: Bench,
        root: Scope,
        choices: Set[str],
        records: Mapping[Span, Word],
        libraries: Mapping[str, tree.File],
        origin: Mapping[Span, str],
    ) -> None:
        super().__init__(bench, choices, records)
        self.root = root
        self.libraries = libraries
        self.origin = origin
        self.ready(choices, Scope(root))
        self._scopes: dict[str, Scope] = {}

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

    def waive(self, line: tree.Waive, scope: Scope) -> None:
        """A rule waived with a reason."""
        rules = getattr(self.bench, "rules", None)
        if rules is not None:
            names = tuple(rules())
            if line.rule.name not in names:
                self.fault(
                    "unknown-rule",
                    f"there is no rule '{line.rule.name}'",
                    line.rule.span,
                    did_you_mean(line.rule.name, names) or "posy why lists the rules",
                )
                return
        feature = None
        if line.feature is not None:
            value = self.reckoner.value(line.feature, scope)
            if isinstance(value, Broken):
                return
            feature = self.reckoner.name_of(value)
            if feature is None:
                self.fault(
                    "wrong-kind",
                    f"a feature is due here, not {self.reckoner.describe(value)}",
                    line.feature.span,
                )
                return
        if not line.reason.text.strip():
            self.fault(
                "value-missing",
                "a waiver needs its reason",
                line.reason.span,
                "say why it is all right here",
            )
            return
        self.outcome.waivers.append(
            Waiver(line.rule.name, feature, line.reason.text, line.span)
        )
