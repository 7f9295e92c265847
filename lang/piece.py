"""One run of a piece: each kind of line, and what does it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Set
from typing import Any

from . import tree
from .bench import Bench
from .blocks import Blocks
from .expectations import Expectations
from .expressions import reckoner
from .faults import Fault, Span
from .libraries import Libraries
from .metals import Metals
from .outcome import Outcome
from .report import Report
from .scope import Scope
from .series import Series
from .settable import Settable
from .values import BROKEN
from .waivers import Waivers
from .words import Word
from .work import Work


class PieceRun:
    """Does the lines of a piece with ``bench``. Make a new one for each run.

    ``root`` holds the words that need no teaching; ``choices`` are the bare names that stand for
    themselves; for ``records``, ``trees`` and ``origin`` see Libraries, for ``settings``
    Settable. ``metal`` takes the place of the piece's own."""

    def __init__(
        self, bench: Bench, root: Scope, choices: Set[str], records: Mapping[Span, Word],
        trees: Mapping[str, tree.File], origin: Mapping[Span, str], settings: Mapping[str, Any],
        metal: str | None,
    ) -> None:
        self._outer = Scope(root)
        self._title = ""
        self._notes: tuple[str, ...] = ()
        self._report = report = Report()
        self._reckoner = reckoner(bench, choices, report.tell)
        self._metals = Metals(bench, self._reckoner, report)
        self._metal = metal
        self._settable = Settable(self._reckoner, report, self._outer, settings)
        self._series = Series(self._reckoner, report, self._settable, self._metals)
        self._waivers = Waivers(bench, self._reckoner, report)
        work = Work(bench, self._reckoner, report, self._do)
        blocks = Blocks(self._reckoner, report, self._do)
        libraries = Libraries(records, trees, origin, root, self._do)
        self._doers: dict[type, Callable[[Any, Scope], object]] = {
            tree.Feature: work.feature,
            tree.Group: work.group,
            tree.Measure: self._settable.measure,
            tree.Each: blocks.each,
            tree.When: blocks.when,
            tree.Expect: Expectations(self._reckoner, report).expect,
            tree.WordBlock: libraries.word,
            tree.TakeFrom: libraries.take,
            tree.Unread: libraries.unread,
            tree.Waive: self._waivers.waive,
            tree.Piece: self._piece,
            tree.Series: self._series_line,
        }

    def lines(self, lines: tuple[tree.Line, ...]) -> None:
        """The lines of the outer block; raises Enough where a cap stops the run."""
        if self._metal is not None:
            self._metal = self._metals.named(self._metal, None)
        self._do(lines, self._outer)
        self._settable.check_all_set()

    def outcome(self) -> Outcome:
        """What the lines done so far gave."""
        names = self._outer.names.items()
        return Outcome(
            title=self._title, notes=self._notes, metal=self._metal, measures=self._settable.measures,
            waivers=self._waivers.waivers, series=self._series.plans,
            features={n: made for n, made in names if self._reckoner.name_of(made) is not None},
            faults=self._report.faults, left_out=tuple(self._report.left_out),
        )

    def _do(self, lines: tuple[tree.Line, ...], scope: Scope) -> None:
        """Has each line of a block done by the object for its kind, in order; one that gives BROKEN came to
        nothing."""
        for line in lines:
            do = self._doers.get(type(line))
            if do is not None and do(line, scope) is BROKEN:
                self._report.failed(line.span)

    def unsaid(self) -> tuple[Fault, ...]:
        """What came to nothing though no fault was told, by a slip of a standard word or of the language."""
        return self._report.unsaid()

    def _series_line(self, line: tree.Series, scope: Scope) -> None:
        """A series; in an inner block resolve.py has told of it."""
        if scope is self._outer:
            self._series.read(line, scope)

    def _piece(self, line: tree.Piece, scope: Scope) -> None:
        """Title, notes and metal; in an inner block resolve.py has told of it."""
        if scope is not self._outer:
            return
        self._title = line.title.text if line.title is not None else ""
        notes = []
        for clause in line.clauses:
            if clause.key.name == "note" and isinstance(clause.value, tree.Quoted):
                notes.append(clause.value.text)
            elif clause.key.name == "metal" and clause.value is not None:
                metal = self._metals.read(clause.value, scope)
                self._metal = self._metal or metal
        self._notes = tuple(notes)
