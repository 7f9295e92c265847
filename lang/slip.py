"""Where reading stopped in a line, and the tables that tell what was likely meant there."""

from __future__ import annotations

import re
from collections.abc import Set

from .faults import Fault
from .source import Source

# Characters that editors, keyboards and other habits put in the place of ours.
_INSTEAD = {
    "write x between the figures of a size": "×",
    "write the plain minus -": "−–—",
    'write plain quotes "': "“”„«»‘’'",
    "write deg": "°º",
    "write <=": "≤",
    "write >=": "≥",
    "write is not": "≠",
    "write /": "÷",
    "write *": "⋅·",
    "write a * a for a square": "^",
    "write and": "&",
    "write or": "|",
    "write not": "!",
    "write ,; clauses stand between commas": ";",
    "write ( )": "[]",
    "indent the lines of a block": "{}",
    "a name begins with a letter": "_",
    "names stand without a $": "$",
    "a comma at the end of a line carries it on": '\\',
    "write at": "@",
    "write to": "～",
}
QUOTES = _INSTEAD['write plain quotes "']
LOOKALIKES = {mark: remedy for remedy, marks in _INSTEAD.items() for mark in marks}

SHAPES = {
    "piece": 'piece "Title"',
    "measure": "measure name = value, from least to most",
    "each": "each name from 1 to 5, or: each name in places",
    "when": "when test",
    "otherwise": "otherwise, or: otherwise when test",
    "word": "word name",
    "takes": 'takes key: kind, default value, help "…"',
    "help": 'help "…"',
    "serves": "serves as role, role",
    "example": 'example "…"',
    "from": 'from "file.posy" take name, name',
    "expect": 'expect test, else "message"',
    "waive": 'waive rule on part because "reason"',
    "series": "series name: measure value to value, metal name to name",
    "workpiece": "workpiece name: placing clauses",
    "casting": "casting name: placing clauses",
}

RESERVED = frozenset(("x", "of", "to", "over", "and", "or", "not", "is"))
STARTS_VALUE = frozenset(("NUMBER", "LEFT", "TEXT"))
_WORD = re.compile(r"[^\W\d_][\w-]*")
EXPECTED = {
    "NAME": "a name",
    "NUMBER": "a figure",
    "TEXT": 'a text in quotes ("…")',
    "EQUAL": "=",
    "COLON": "a colon",
    "FROM": "from",
    "IN": "in",
    "TO": "to",
    "AS": "as",
    "TAKE": "take",
    "BECAUSE": "because",
}


class Slip:
    """Where reading stopped in one logical line."""

    def __init__(self, source: Source, start: int, end: int, at: int | None, accepts: Set[str]) -> None:
        self.source = source
        self.start, self.end = start, end
        self.line = source.text[start:end]
        self.at = end if at is None else min(at, end)
        self.accepts = accepts
        self.rest = source.text[self.at : end]
        self.before = source.text[start : self.at].rstrip()
        found = _WORD.match(self.rest)
        self.word = found.group() if found else ""
        first = _WORD.match(self.line)
        self.first = first.group() if first else ""

    def fault(
        self, code: str, message: str, remedy: str | None = None, start: int | None = None,
        end: int | None = None,
    ) -> Fault:
        """A fault at ``start`` to ``end`` (where reading stopped, unless told otherwise)."""
        start = self.at if start is None else start
        if end is None:
            end = min(self.end, start + max(1, len(self.word)))
        if start >= self.end:  # at the end of the line: point at its last character
            start, end = max(self.start, self.end - 1), self.end
        return Fault(code, message, self.source.span(start, max(end, start)), remedy=remedy)
