"""A source text with its line table: offsets to lines and columns, the same everywhere."""

from __future__ import annotations

import re
from bisect import bisect_right

from .faults import Fault, Span

_LINE_END = re.compile(r"\r\n|\n|\r")


class Source:
    """A text and where its lines start and end.

    Lines end at LF, CRLF or a lone CR. A byte order mark belongs to no line: offsets count it,
    columns do not. A last newline starts no line of its own."""

    __slots__ = "_at", "ends", "path", "starts", "text"

    def __init__(self, text: str, path: str) -> None:
        self.text = text
        self.path = path
        start = 1 if text.startswith("\ufeff") else 0
        self.starts = [start]
        self.ends: list[int] = []
        for found in _LINE_END.finditer(text, start):
            self.ends.append(found.start())
            self.starts.append(found.end())
        self.ends.append(len(text))
        if len(self.starts) > 1 and self.starts[-1] == len(text):
            self.starts.pop()
            self.ends.pop()
        self._at = 0

    def row(self, offset: int) -> int:
        """The index (from 0) of the line that holds ``offset``."""
        at = self._at  # most questions concern the line asked about last
        starts = self.starts
        if starts[at] <= offset and (at + 1 == len(starts) or offset < starts[at + 1]):
            return at
        self._at = max(0, bisect_right(starts, offset) - 1)
        return self._at

    def span(self, start: int, end: int) -> Span:
        """The stretch from offset ``start`` to ``end`` (exclusive)."""
        row = self.row(start)
        last = row if end <= self.ends[row] else self.row(end)
        return Span(
            self.path, row + 1, start - self.starts[row] + 1, last + 1, end - self.starts[last] + 1, start,
            end,
        )

    def line(self, number: int) -> str:
        """The text of line ``number`` (from 1) without its end; empty if there is none."""
        if 1 <= number <= len(self.starts):
            return self.text[self.starts[number - 1] : self.ends[number - 1]]
        return ""


class Excerpt(Source):
    """A text that stands within another, ``before`` characters into the stretch ``of`` it."""

    __slots__ = ("before", "of")

    def __init__(self, text: str, of: Span, before: int) -> None:
        super().__init__(text, of.path)
        self.of, self.before = of, before

    def span(self, start: int, end: int) -> Span:
        """A stretch of this text, as one of the text it stands in."""
        own, of, right = super().span(start, end), self.of, self.of.column - 1 + self.before
        return Span(
            self.path, own.line + of.line - 1, own.column + right, own.end_line + of.line - 1,
            own.end_column + right, start + of.start + self.before, end + of.start + self.before,
        )


def decode(data: bytes, path: str) -> tuple[str, list[Fault]]:
    """Bytes of a file as text. Bytes that are not UTF-8 become U+FFFD, which layout reports;
    a file in UTF-16 (seen by its byte order mark) is told here by name."""
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        fault = Fault(
            "not-utf8", "this file is saved as UTF-16", Span(path, 1, 1, 1, 1), remedy="save it as UTF-8",
        )
        return "", [fault]
    return data.decode("utf-8", errors="replace"), []
