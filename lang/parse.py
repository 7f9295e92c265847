"""Text to tree: layout cuts the lines, the grammar reads each by itself.

``parse`` never raises, whatever the text. A line that cannot be read becomes ``Unread`` and one
fault; the lines around it are read as if nothing had happened."""

from __future__ import annotations

import re
import threading
from dataclasses import replace
from functools import cache, lru_cache
from typing import Any

from lark import Lark
from lark.exceptions import UnexpectedCharacters, UnexpectedInput, UnexpectedToken

from . import tree
from .build import Build
from .faults import MOST_FAULTS, Fault, Level
from .layout import Logical, lay_out
from .rows import HIDDEN
from .source import Source
from .suggest import nearest
from .tables import parser

BLOCK_WORDS = (
    "posy", "piece", "measure", "workpiece", "casting", "each", "when", "otherwise", "word", "takes", "help",
    "example", "from", "expect", "waive", "series", "serves",
)
_NAMES = re.compile(r"[^\W\d_][\w-]*")
_build = Build()
_lock = threading.Lock()  # the builder is shared: one text at a time


@cache
def _grammar() -> Lark:
    """The reader of lines, made on first use and kept."""
    return parser(_build)


class _Reader:
    """Reads the logical lines of one source into nodes."""

    def __init__(self, source: Source) -> None:
        self.source = source
        self.faults: list[Fault] = []
        self.enough = False

    def read(self, line: Logical, start: str) -> Any:
        """One logical line by grammar start ``start``; None (and a fault) if unreadable."""
        if not line.readable:
            return None
        node, fault = self.attempt(line, start)
        if fault is not None:
            self.add(fault)
        return node

    def attempt(self, line: Logical, start: str) -> tuple[Any, Fault | None]:
        """As ``read``, but hands the fault back."""
        if self.enough:
            return None, None
        _build.begin(self.source, line.start, line.end, start == "clauses")
        text = self.source.text[line.start : line.end]
        before = len(_build.faults)
        try:
            return _grammar().parse(text, start=start), None
        except UnexpectedInput as slip:
            del _build.faults[before:]
            return None, self.slip(line, slip)

    def slip(self, line: Logical, slip: UnexpectedInput) -> Fault:
        """The fault for a line the grammar refused."""
        from .slips import explain

        at: int | None = None
        accepts: set[str] = set()
        if isinstance(slip, UnexpectedToken):
            accepts = set(slip.accepts or slip.expected or ())
            if slip.token.type != "$END":
                at = line.start + (slip.token.start_pos or 0)
        elif isinstance(slip, UnexpectedCharacters):
            accepts = set(slip.allowed or ())
            at = line.start + (slip.pos_in_stream or 0)
        return explain(self.source, line.start, line.end, at, accepts)

    def add(self, fault: Fault) -> None:
        """Keep a fault, up to a hundred."""
        if len(self.faults) >= MOST_FAULTS:
            if not self.enough:
                self.faults.append(
                    Fault(
                        "too-many-faults", "too many lines cannot be read; the rest is left out", fault.span,
                        Level.FAULT, limit=f"at most {MOST_FAULTS} told at once",
                    )
                )
            self.enough = True
            return
        self.faults.append(fault)

    # --- blocks

    def block(self, lines: list[Logical]) -> tuple[tree.Line, ...]:
        """The lines of a block; each ``otherwise`` joins the ``when`` above it."""
        made: list[tree.Line] = []
        for line in lines:
            node = self.line(line)
            if not isinstance(node, tree.Branch):
                made.append(node)
                continue
            above = made[-1] if made else None
            if isinstance(above, tree.When) and above.branches[-1].test is not None:
                made[-1] = replace(above, branches=(*above.branches, node))
            elif not isinstance(above, tree.Unread):
                self.add(
                    Fault(
                        "otherwise-alone", "this otherwise follows no when", node.span,
                        remedy="put it right below the lines of its when, at the same depth",
                    )
                )
        return tuple(made)

    def line(self, line: Logical) -> tree.Line | tree.Branch:
        """One line with what stands below it."""
        node = self.read(line, "line")
        if node is None:
            return self.unread(line)
        if isinstance(node, tree.Feature):
            return self.feature(node, line)
        if isinstance(node, tree.Group | tree.Each | tree.WordBlock | tree.Branch):
            return replace(node, lines=self.block(line.below))
        if isinstance(node, tree.When):
            branch = replace(node.branches[0], lines=self.block(line.below))
            return tree.When((branch,), node.span)
        if isinstance(node, tree.Piece | tree.Measure | tree.Takes | tree.Expect | tree.Series):
            clauses, _ = self.clauses(line.below)
            return replace(node, clauses=node.clauses + clauses)
        for below in line.below[:1]:
            self.add(
                Fault(
                    "block-misplaced", "this line takes no lines below it",
                    self.source.span(below.start, below.end), also=((node.span, "the line above"),),
                    remedy="move it to the left edge of its block",
                )
            )
        return node  # type: ignore[no-any-return]

    def feature(self, node: tree.Feature, line: Logical) -> tree.Line:
        """A feature with the clause lines below it."""
        if not line.below:
            return node
        meant = nearest(node.word.name, BLOCK_WORDS)
        if meant and self.looks_like_block(line):
            self.add(
                Fault(
                    "unknown-word", f"there is no word '{node.word.name}'", node.word.span,
                    remedy=f"did you mean '{meant}'?",
                )
            )
            names = (node.name.name,) if node.name else ()
            return tree.Unread(names, (), node.span)
        if self.looks_like_block(line):  # resolve.py tells it, unless the word itself is none
            return replace(node, whole=False, lines=self.block(line.below))
        clauses, whole = self.clauses(line.below)
        return replace(node, clauses=node.clauses + clauses, whole=whole)

    def looks_like_block(self, line: Logical) -> bool:
        """Whether the lines below read as lines of work and not all as clauses."""
        readable = [below for below in line.below if below.readable]
        as_clauses = all(self.attempt(below, "clauses")[1] is None for below in readable)
        return not as_clauses and all(self.attempt(below, "line")[1] is None for below in readable)

    def clauses(self, lines: list[Logical]) -> tuple[tuple[tree.Clause, ...], bool]:
        """Clause lines, and whether all of them could be read."""
        made: list[tree.Clause] = []
        whole = True
        for line in lines:
            node = self.read(line, "clauses")
            if node is None:
                whole = False
                continue
            made.extend(node)
            for below in line.below[:1]:
                whole = False
                self.add(
                    Fault(
                        "block-misplaced", "a clause takes no lines below it",
                        self.source.span(below.start, below.end),
                        remedy=f"indent it by {line.indent} spaces, as the clause above",
                    )
                )
        return tuple(made), whole

    def unread(self, line: Logical) -> tree.Unread:
        """A line that could not be read: keep the names it may define, and read its block if
        it is plainly one."""
        text = self.source.text[line.start : line.end]
        head = re.split(r"[:=]", HIDDEN.sub("", text), maxsplit=1)[0]
        names = _NAMES.findall(head)
        lines: tuple[tree.Line, ...] = ()
        if names and names[0] in ("workpiece", "casting", "each", "when", "otherwise", "word"):
            lines = self.block(line.below)
        return tree.Unread(tuple(names[:8]), lines, self.source.span(line.start, line.end))


def parse(text: str, path: str) -> tuple[tree.File, list[Fault]]:
    """The tree of ``text`` and everything that could not be read in it; never raises.

    ``path`` is how the file is named in faults. The result for the same text and path is kept."""
    file, faults = _parse(text, path)
    return file, list(faults)


@lru_cache(maxsize=64)
def _parse(text: str, path: str) -> tuple[tree.File, tuple[Fault, ...]]:
    source = Source(text, path)
    laid = lay_out(source)
    with _lock:
        _build.faults = []
        reader = _Reader(source)
        lines = reader.block(laid.lines)
        faults = laid.faults[:MOST_FAULTS] + _build.faults[:MOST_FAULTS] + reader.faults
    faults.sort(key=lambda fault: fault.span.start if fault.span else -1)
    return tree.File(path, lines, laid.comments, text), tuple(faults)


def parse_value(source: Source) -> tuple[tree.Expression | None, tuple[Fault, ...]]:
    """A value by itself: a default of a core word, a ``--set`` from the command line."""
    text = source.text
    start, end = len(text) - len(text.lstrip()), len(text.rstrip())
    if start >= end:
        fault = Fault("value-missing", "a value is missing", source.span(0, 0))
        return None, (fault,)
    laid = lay_out(source)
    if laid.faults or len(laid.lines) != 1 or laid.lines[0].below:
        first = (
            laid.faults[0]
            if laid.faults
            else Fault("unreadable", "one value is needed here", source.span(start, end))
        )
        return None, (first,)
    with _lock:
        _build.faults = []
        node, slip = _Reader(source).attempt(laid.lines[0], "value")
        faults = (*_build.faults, *((slip,) if slip else ()))
    return node, faults
