"""The rows of a text: comments, texts, parentheses, tabs, and characters that do not show."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from .faults import Fault
from .source import Source
from .tree import Comment

MOST_ROWS = 20_000
MOST_CHARACTERS = 2_000  # in one row

_MARKS = re.compile(r'"[^"]*"|["#()]')
# Control characters, zero-width and text-direction characters, lone surrogates: none of them
# shows in an editor, so none may change what a line means.
HIDDEN = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u00ad\u061c\u200b-\u200f\u2028-\u202e\u2060-\u206f"
    "\ufeff\ufff9-\ufffd\ud800-\udfff]"
)


@dataclass(slots=True)
class Row:
    """One row of the text without its comment."""

    number: int
    indent: int
    start: int
    end: int
    opens: list[int] = field(default_factory=list)  # offsets of ( left open, in order
    closes: int = 0  # ) that close something of an earlier row
    deep: int = 0
    readable: bool = True


class Rows:
    """Reads the rows of a text: the state of one pass over it."""

    def __init__(self, source: Source) -> None:
        self.source = source
        self.text = source.text
        self.faults: list[Fault] = []
        self.comments: list[Comment] = []
        self.rows: list[Row] = []
        self.tabbed: list[tuple[int, int]] = []

    def fault(self, code: str, message: str, start: int, end: int, **more: str) -> None:
        """Note a fault at characters ``start`` to ``end``."""
        self.faults.append(Fault(code, message, self.source.span(start, end), **more))  # type: ignore[arg-type]

    def read_rows(self) -> None:
        """Cut the text into rows; comments go to their own list, blank rows are left out."""
        count = len(self.source.starts)
        if count > MOST_ROWS:
            start = self.source.starts[MOST_ROWS]
            self.fault(
                "file-too-long", f"the file has {count:,} lines; the rest is not read", start,
                self.source.ends[MOST_ROWS], seen=f"{count:,} lines", limit=f"at most {MOST_ROWS:,} lines",
                remedy="teach a word for what repeats, or use each",
            )
        for number in range(min(count, MOST_ROWS)):
            self.read_row(number)
        if self.tabbed:
            others = len(self.tabbed) - 1
            more = f" (and {others} more line{'s' if others > 1 else ''})" if others else ""
            self.fault(
                "tab-indent", f"this line is indented with a tab{more}", *self.tabbed[0],
                remedy="indent with spaces; most editors can be set to do so",
            )

    def read_row(self, number: int) -> None:
        """Take in one row."""
        start, end = self.source.starts[number], self.source.ends[number]
        if end - start > MOST_CHARACTERS:
            self.fault(
                "line-too-long", f"this line has {end - start:,} characters", start, start + 60,
                seen=f"{end - start:,} characters", limit=f"at most {MOST_CHARACTERS:,} characters",
                remedy="put clauses on lines of their own",
            )
            return
        body = self.text[start:end]
        bare = body.lstrip()
        if not bare:
            return
        lead = body[: len(body) - len(bare)]
        first = start + len(lead)
        row = Row(number, len(lead.expandtabs(4)), first, end)
        self.read_marks(row)
        if row.end > first:
            if "\t" in lead:
                self.tabbed.append((start, first))
            self.rows.append(row)

    def read_marks(self, row: Row) -> None:
        """Find the comment, the parentheses and an unclosed text of one row."""
        for found in _MARKS.finditer(self.text, row.start, row.end):
            mark, place = found.group(), found.start()
            if mark == "#":
                comment = self.text[place : row.end].rstrip()
                span = self.source.span(place, place + len(comment))
                self.comments.append(Comment(comment, span))
                row.end = place
                break
            if mark[0] == '"' and self.text[place - 1 : place].isdigit():
                self.inch_mark(row, place)
                break
            if mark == '"':
                stop = row.start + len(self.text[row.start : row.end].rstrip())
                self.fault(
                    "text-not-closed", "this text has no closing quote mark on its line", place, stop,
                    remedy=f'write {self.text[place:stop]}"; inside a text "" stands for one mark',
                )
                row.readable = False
                break
            if mark == "(":
                row.opens.append(place)
                row.deep = max(row.deep, len(row.opens))
            elif mark == ")":
                if row.opens:
                    row.opens.pop()
                else:
                    row.closes += 1
        row.end = row.start + len(self.text[row.start : row.end].rstrip())

    def inch_mark(self, row: Row, place: int) -> None:
        """0.7" x 0.2": the mark that opens a text, where an inch was meant."""
        last = self.text.rfind('"', place, row.end) + 1
        start = place - len(re.search(r"[0-9./ ]*$", self.text[row.start : place]).group())  # type: ignore[union-attr]
        start += len(self.text[start:place]) - len(self.text[start:place].lstrip())
        written = re.sub(r'(?<=[0-9])"', " in", self.text[start:last])
        self.fault(
            "stray-character", 'the mark " opens a text; an inch is written in', start, last,
            remedy=f"write {written}",
        )
        row.readable = False

    def hidden(self) -> None:
        """Report characters that do not show; their rows are not read further."""
        found = list(HIDDEN.finditer(self.text, self.source.starts[0]))
        if not found:
            return
        rows = {row.number: row for row in self.rows}
        told: set[int] = set()
        for match in found:
            number = self.source.row(match.start())
            if number in told:
                continue
            told.add(number)
            if number in rows:
                rows[number].readable = False
            self.tell_hidden(match)

    def tell_hidden(self, match: re.Match[str]) -> None:
        """The fault for one hidden character."""
        code = ord(match.group())
        if code == 0xFFFD:
            self.fault(
                "not-utf8", "there are bytes here that are not UTF-8 text", match.start(), match.end(),
                remedy="save the file as UTF-8",
            )
        else:
            self.fault(
                "hidden-character", f"a character that does not show (U+{code:04X}) stands here",
                match.start(), match.end(), remedy="delete it, or type the line anew",
            )


def read_rows(source: Source) -> Rows:
    """The rows of ``source``, with their comments and faults."""
    rows = Rows(source)
    rows.read_rows()
    rows.hidden()
    return rows
