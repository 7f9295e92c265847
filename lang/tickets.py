"""Faults for people, for editors and for programs: a bench ticket, a line, plain data.

A ticket is rows of a label and what it says: how bad it is and what is wrong, the line as it is
written with the place in brackets, the figure now and the one wanted, what to do, what to ask."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Any

from .faults import Fault, Level, Span
from .folding import clean, fold, width_of
from .source import Source

NARROWEST, USUAL, WIDEST = 40, 80, 120  # columns of a ticket
_MOST_ROWS = 4  # of a source line; a longer one is cut around the place
_LABELS = 9  # columns of the labels
_COLOURS = {Level.FAULT: "31", Level.WARNING: "33", Level.HINT: "36"}

Row = tuple[str, str]


class Tickets:
    """Renders faults as tickets of ``width`` columns; ``sources`` holds the text of each path
    (no text, no line shown)."""

    def __init__(self, sources: Mapping[str, str], colour: bool = False, width: int = USUAL) -> None:
        self.sources = sources
        self.colour = colour
        self.width = min(max(width, NARROWEST), WIDEST)
        self._lines: dict[str, Source] = {}

    def full(self, fault: Fault) -> str:
        """The ticket of a fault. Inside a word, the user's own line comes first and the place in
        the word after it."""
        rows: list[Row] = [(fault.level.value, fault.message), *self._places(fault)]
        if fault.seen or fault.limit:
            rows += self._compared(fault.seen, fault.limit)
        for label, text in (("why", fault.reason), ("do", fault.remedy), ("then", fault.then)):
            if text:
                rows.append((label, text))
        lines = self._laid(*rows[0], fault.level)
        for row in (*rows[1:], ("ask", _page_of(fault))):
            lines += self._laid(*row)
        return "\n".join(lines)

    def all(self, faults: Iterable[Fault]) -> str:
        """All tickets, those of a file below its name, a blank line between."""
        lines: list[str] = []
        for path, mine in by_file(faults).items():
            if path:
                lines.append(self.paint(clean(path), "1"))
            lines += [self.full(fault) for fault in mine]
        return "\n\n".join(lines)

    def _places(self, fault: Fault) -> list[Row]:
        """The line or lines that a fault is about."""
        places = [span for span in (*fault.trail, fault.span) if span is not None]
        if fault.trail and fault.span is not None and _on_line(fault.span, places[0]):
            places = [fault.span]  # told at the user's line already
        rows: list[Row] = []
        home = places[0].path if places else None
        for number, span in enumerate(places):
            note = "in a word used there" if number and span.path == home else ""
            rows += self._place(span, home, note)
        for span, message in fault.also:
            rows += self._place(span, home, message)
        return rows

    def _place(self, span: Span, home: str | None, note: str) -> list[Row]:
        """A line with its place marked, and what is noted of it; a line of another file than
        ``home`` with the name of that."""
        label = span.path if span.path.startswith("--") else f"line {span.line}"
        rows: list[Row] = []
        if span.path != home:
            if home is not None and span.path[:1] == "<":  # posy's own words are not the user's to mend
                return [] if note else [("inside", _called(span.path))]
            rows, label = [("inside", f"{_called(span.path)}, line {span.line}")], ""
        text = self._line(span.path, span.line)
        if text is not None:
            rows.append((label, marked(text, span, _MOST_ROWS * (self.width - _LABELS))))
        return [*rows, ("", f"({note})")] if note else rows

    def _line(self, path: str, number: int) -> str | None:
        """Line ``number`` of the text at ``path``; None if that text is not known."""
        source = self._lines.get(path)
        if source is None:
            if path not in self.sources:
                return None
            source = self._lines[path] = Source(self.sources[path], path)
        return source.line(number)

    def _compared(self, seen: str | None, limit: str | None) -> list[Row]:
        """What it is now and what is wanted, side by side where they fit."""
        both = f"{seen}   wanted {limit}"
        if seen and limit and _LABELS + width_of(both) <= self.width:
            return [("now", both)]
        return [(label, text) for label, text in (("now", seen), ("wanted", limit)) if text]

    def _laid(self, label: str, text: str, level: Level | None = None) -> list[str]:
        """A row of the ticket, in as many lines as it takes; the label of a level in colour."""
        start = label + " " * max(1, _LABELS - len(label))
        said = "\n".join(map(clean, text.split("\n")))
        lines = fold(said, self.width, start, " " * _LABELS)
        if level is not None:
            lines[0] = self.paint(label, f"1;{_COLOURS[level]}") + lines[0][len(label) :]
        return lines

    def paint(self, text: str, colour: str) -> str:
        """``text`` in a colour of the terminal's own palette, if colour is wanted."""
        return f"\x1b[{colour}m{text}\x1b[0m" if self.colour else text


def marked(text: str, span: Span, most: int) -> str:
    """A line of text with ``span`` in brackets, in double ones where it has brackets itself.

    What is blank before the place is left out, and of a line longer than ``most`` characters
    what is far from it."""
    first = min(max(0, span.column - 1), len(text))
    last = span.end_column - 1 if span.end_line == span.line else len(text)
    last = min(max(last, first), len(text))
    before, place, after = text[:first].lstrip(), text[first:last], text[last:].rstrip()
    if len(before) + len(place) + len(after) > most:
        third = most // 3
        before = before if len(before) < third else f"…{before[-third:]}"
        place = place if len(place) < third else f"{place[:third]}…"
        after = after if len(after) < third else f"{after[:third]}…"
    deep = 1 + max(map(len, re.findall(r"\[+|\]+", before + place + after)), default=0)
    more = f" … to line {span.end_line}" if span.end_line > span.line else ""
    whole = f"{before}{'[' * deep}{place or ' '}{']' * deep}{after}{more}"
    return clean(whole)


def by_file(faults: Iterable[Fault]) -> dict[str, list[Fault]]:
    """Faults by the file they are told in, in the order met; those without a place, or of an
    option, under the file before them."""
    groups: dict[str, list[Fault]] = {}
    path = ""
    for fault in faults:
        span = told_at(fault)
        if span is not None and not span.path.startswith("--"):
            path = span.path
        groups.setdefault(path, []).append(fault)
    return groups


def _on_line(span: Span, head: Span) -> bool:
    """Whether ``span`` is part of the line whose head is ``head``."""
    return span.path == head.path and span.line == head.line


def _called(path: str) -> str:
    """What a file is called where a word inside it is meant: a word of posy's own by its name."""
    name = clean(path)
    return f"the word {name.rpartition('/')[2].removesuffix('.posy')}" if name[:1] == "<" else name


def _page_of(fault: Fault) -> str:
    """What tells more of a fault: of what a standard word expects, the page of its clauses."""
    paths = [clean(span.path) for span, _ in fault.also] if fault.code == "expectation" else []
    word = next((path for path in paths if path[:1] == "<"), "")
    return f"posy words {word.rpartition('/')[2].removesuffix('.posy')}" if word else f"posy why {fault.code}"


def told_at(fault: Fault) -> Span | None:
    """Where the fault is told first: in the user's own line, if it is inside a word."""
    span = fault.span
    if fault.trail and (span is None or not _on_line(span, fault.trail[0])):
        return fault.trail[0]
    return span


def in_a_line(fault: Fault) -> str:
    """One line for editors and for looking through: file, line, level, name, what is wrong and what to do."""
    span = told_at(fault)
    place = "" if span is None else f"{clean(span.path)} line {span.line} "
    rest = f" (do: {fault.remedy})" if fault.remedy else ""
    return f"{place}{fault.level.value} {fault.code}: {fault.message}{rest}"


def json_record(fault: Fault) -> dict[str, Any]:
    """The fault as plain data: what the table "Data for programs" in DEVELOPERS.md lists."""
    return {
        "name": fault.code,
        "level": fault.level.value,
        "text": fault.message,
        "where": None if fault.span is None else place_record(fault.span),
        "now": fault.seen,
        "wanted": fault.limit,
        "do": fault.remedy,
        "then": fault.then,
        "why": fault.reason,
        "see_also": [{"where": place_record(span), "text": text} for span, text in fault.also],
        "called_from": [place_record(span) for span in fault.trail],
        "part": fault.feature,
        "spot": None if fault.place is None else list(fault.place),
    }


def place_record(span: Span) -> dict[str, Any]:
    """A stretch of a text: lines and columns count from 1, in characters; ``characters`` are its
    first and the one after its last, counted from 0 through the file."""
    return {
        "file": span.path,
        "line": span.line,
        "column": span.column,
        "to_line": span.end_line,
        "to_column": span.end_column,
        "characters": [span.start, span.end],
    }
