"""Faults for people, for editors and for programs: one type, three renderings, no colour unless
asked for."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Mapping
from typing import Any

from .faults import Fault, Level, Span
from .source import Source

SCHEMA = 1
MOST_WIDTH = 100  # columns of a source line shown; longer ones are cut around the place
_TAB = 4
_COLOURS = {Level.FAULT: "31", Level.WARNING: "33", Level.NOTE: "36"}


class Snippets:
    """Renders faults; ``sources`` holds the text of each path (no text, no line shown)."""

    def __init__(self, sources: Mapping[str, str], colour: bool = False) -> None:
        self.sources = sources
        self.colour = colour
        self._lines: dict[str, Source] = {}

    def full(self, fault: Fault) -> str:
        """The fault with its line, carets under the place, and what to try.

        Inside a word, the user's own line comes first and the place in the word after it.
        """
        head = f"{fault.level.value}[{fault.code}]"
        lines = [f"{self.paint(head, fault.level)}: {fault.message}"]
        places = [span for span in (*fault.trail, fault.span) if span is not None]
        if fault.trail and fault.span is not None and _on_line(fault.span, places[0]):
            places = [fault.span]  # told at the user's line already
        for index, span in enumerate(places):
            label = "-->" if index == 0 else "called from there:"
            lines += self.frame(span, label, fault.level)
        for span, message in fault.also:
            lines += self.frame(span, f"{message}:", Level.NOTE)
        for name, text in (
            ("seen", fault.seen),
            ("limit", fault.limit),
            ("why", fault.reason),
            ("try", fault.remedy),
        ):
            if text:
                lines += _told(name, text)
        return "\n".join(lines)

    def frame(self, span: Span, label: str, level: Level) -> list[str]:
        """Where, the numbered line, and carets under the place."""
        lines = [f"  {label} {where(span)}"]
        text = self.line(span.path, span.line)
        if text is None:
            return lines
        shown, before, under = _window(text, span)
        gutter = " " * len(str(span.line))
        more = f" … to line {span.end_line}" if span.end_line > span.line else ""
        lines.append(f" {gutter} |")
        lines.append(f" {span.line} | {shown}".rstrip())
        lines.append(f" {gutter} | {' ' * before}{self.paint('^' * under, level)}{more}")
        return lines

    def line(self, path: str, number: int) -> str | None:
        """Line ``number`` of the text at ``path``; None if that text is not known."""
        source = self._lines.get(path)
        if source is None:
            if path not in self.sources:
                return None
            source = self._lines[path] = Source(self.sources[path], path)
        return source.line(number)

    def paint(self, text: str, level: Level) -> str:
        """``text`` in the colour of ``level``, if colour is wanted."""
        return f"\x1b[1;{_COLOURS[level]}m{text}\x1b[0m" if self.colour else text

    def all(self, faults: Iterable[Fault]) -> str:
        """All faults in full, a blank line between."""
        return "\n\n".join(self.full(fault) for fault in faults)


def _told(name: str, text: str) -> list[str]:
    """A line of what is told about a fault, folded below itself when it is long."""
    from textwrap import wrap

    start = f"  {name}: "
    return wrap(
        text, MOST_WIDTH, initial_indent=start, subsequent_indent=" " * len(start),
        break_long_words=False, break_on_hyphens=False, drop_whitespace=True,
    )  # fmt: skip


def _on_line(span: Span, head: Span) -> bool:
    """Whether ``span`` is part of the line whose head is ``head``."""
    return span.path == head.path and span.line == head.line


def told_at(fault: Fault) -> Span | None:
    """Where the fault is told first: in the user's own line, if it is inside a word."""
    span = fault.span
    if fault.trail and (span is None or not _on_line(span, fault.trail[0])):
        return fault.trail[0]
    return span


def where(span: Span) -> str:
    """path:line:column."""
    return f"{span.path}:{span.line}:{span.column}"


def short(fault: Fault) -> str:
    """One line for editors and grep: ``path:line:column: level[code] message (try …)``."""
    span = told_at(fault)
    place = "-" if span is None else where(span)
    rest = f" ({fault.remedy})" if fault.remedy else ""
    return f"{place}: {fault.level.value}[{fault.code}] {fault.message}{rest}"


def json_record(fault: Fault) -> dict[str, Any]:
    """The fault as plain data (schema 1). Lines and columns count from 1, in characters;
    ``start`` and ``end`` are character offsets, end exclusive; ``place`` is in mm."""
    return {
        "schema": SCHEMA,
        "code": fault.code,
        "level": fault.level.value,
        "message": fault.message,
        "span": None if fault.span is None else _span_record(fault.span),
        "seen": fault.seen,
        "limit": fault.limit,
        "remedy": fault.remedy,
        "reason": fault.reason,
        "also": [{"span": _span_record(span), "message": text} for span, text in fault.also],
        "trail": [_span_record(span) for span in fault.trail],
        "feature": fault.feature,
        "place": None if fault.place is None else list(fault.place),
    }


def _span_record(span: Span) -> dict[str, Any]:
    return {
        "path": span.path,
        "line": span.line,
        "column": span.column,
        "end_line": span.end_line,
        "end_column": span.end_column,
        "start": span.start,
        "end": span.end,
    }


# --- columns on a terminal


def _width(text: str) -> int:
    """Columns that ``text`` takes on a terminal; tabs are shown as four."""
    return sum(_one_width(character) for character in text)


def _one_width(character: str) -> int:
    if character == "\t":
        return _TAB
    if character.isascii():
        return 1 if character.isprintable() else 0
    if unicodedata.combining(character) or unicodedata.category(character) in (
        "Cf",
        "Cc",
        "Mn",
    ):
        return 0
    return 2 if unicodedata.east_asian_width(character) in "WF" else 1


def _clean(text: str) -> str:
    """``text`` fit for a terminal: tabs as spaces, nothing that could steer it."""
    text = text.replace("\t", " " * _TAB)
    return "".join(
        c for c in text if c.isprintable() or unicodedata.category(c) in ("Zs", "Mn")
    )


def _window(text: str, span: Span) -> tuple[str, int, int]:
    """The line (cut around the place if it is long), columns before the carets, carets."""
    first = min(max(0, span.column - 1), len(text))
    last = span.end_column - 1 if span.end_line == span.line else len(text)
    last = min(max(last, first), len(text))
    cut = 0
    front = back = ""
    if len(text) > MOST_WIDTH:
        cut = max(0, min(first - 30, len(text) - MOST_WIDTH + 10))
        front = "… " if cut else ""
        back = " …" if cut + MOST_WIDTH - 10 < len(text) else ""
        text = text[: cut + MOST_WIDTH - 10]
        last = min(last, len(text))
    before = len(front) + _width(text[cut:first])
    under = max(1, _width(text[first:last]))
    return front + _clean(text[cut:]) + back, before, under
