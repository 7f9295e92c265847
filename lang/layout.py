"""From a text to its logical lines, nested by indentation.

A logical line is one or more rows of the text: a comma, `to` or `over` at the end or an open
parenthesis carries it on. With rows.py it meets everything that can be odd about a file as such, so that
the grammar sees one clean line at a time."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from .faults import Fault, Span
from .rows import Row, Rows, read_rows
from .source import Source
from .tree import Comment

MOST_CARRIED = 20_000  # in one line carried on over several rows
MOST_SIZE = 1_000_000  # of a file, in bytes (and so at most as many characters)
MOST_BLOCKS = 24
MOST_PARENTHESES = 40

# The end of a row that is not the end of its line.
_CARRIES_ON = re.compile(r"(?:,|(?<![\w-])(?:to|over))$")
_BLOCK_START = re.compile(
    r"(piece|measure|workpiece|casting|each|when|otherwise|word|takes|expect|waive|series|serves)(?![\w-])"
)


@dataclass(slots=True)
class Logical:
    """One logical line: characters ``start`` to ``end`` of the text, and the lines below it.

    ``readable`` is False when layout has already reported it; ``comma`` is where a comma ends
    it with nothing to carry on to."""

    indent: int
    start: int
    end: int
    readable: bool = True
    comma: int | None = None
    below: list[Logical] = field(default_factory=list)


class _Layout:
    """Joins rows into lines and nests them."""

    def __init__(self, rows: Rows) -> None:
        self.rows = rows.rows
        self.source = rows.source
        self.text = rows.text
        self.fault = rows.fault

    def lines(self) -> list[Logical]:
        """Rows joined where the end of one or an open parenthesis carries them on."""
        made: list[Logical] = []
        position = 0
        while position < len(self.rows):
            line, position = self.one_line(position)
            made.append(line)
        return made

    def one_line(self, position: int) -> tuple[Logical, int]:
        """The logical line that starts at row ``position``, and the row after it."""
        head = row = self.rows[position]
        line = Logical(head.indent, head.start, head.end, head.readable)
        opens = list(row.opens)
        deep = row.deep
        position += 1
        while opens or _CARRIES_ON.search(self.text, row.start, row.end):
            following = self.rows[position] if position < len(self.rows) else None
            if (
                not line.readable
                or following is None
                or not self.carries(head, row, following, bool(opens))
            ):
                break
            row = following
            position += 1
            deep = max(deep, len(opens) + row.deep)
            del opens[max(0, len(opens) - row.closes) :]
            opens += row.opens
            line.end = row.end
            line.readable = line.readable and row.readable
        if line.readable:
            self.check_line(line, opens, deep)
        return line, position

    def carries(self, head: Row, row: Row, following: Row, open_: bool) -> bool:
        """Whether ``following`` belongs to the line that starts with ``head``."""
        if following.indent > head.indent:
            return True
        first = self.text[following.start]
        if open_:
            # A line as far left as the head is a new line, or a forgotten parenthesis would
            # swallow the rest of the file; only a closing one may stand there.
            return first == ")"
        if following.indent < head.indent:
            return False
        body = self.text[following.start : following.end]
        plain = re.sub(r'"[^"]*"', "", body)
        return ":" not in plain and not _BLOCK_START.match(body)

    def check_line(self, line: Logical, opens: list[int], deep: int) -> None:
        """Faults that concern a logical line as a whole."""
        if opens:
            line.readable = False
            start, stop = opens[-1], self._closing(opens[-1], line.end)
            self.fault(
                "parenthesis-not-closed", "this parenthesis is never closed", start, stop,
                remedy=f"write {self.text[start:stop]}), or close it elsewhere",
            )
        elif deep > MOST_PARENTHESES:
            line.readable = False
            self.fault(
                "too-deep", f"parentheses stand {deep} deep here", line.start, line.start + 1,
                seen=f"{deep} deep", limit=f"at most {MOST_PARENTHESES}",
                remedy="give parts of the figure names with measure",
            )
        elif line.end - line.start > MOST_CARRIED:
            line.readable = False
            self.fault(
                "line-too-long", "this line is carried on too far", line.start, line.start + 1,
                seen=f"{line.end - line.start:,} characters", limit=f"at most {MOST_CARRIED:,} characters",
                remedy="put clauses on lines of their own",
            )
        elif self.text[line.end - 1] == ",":
            line.comma = line.end - 1
            line.end = line.start + len(self.text[line.start : line.end - 1].rstrip())
            line.readable = line.end > line.start
            if not line.readable:
                self.fault("unreadable", "a comma stands alone here", line.start, line.comma + 1)

    def _closing(self, start: int, end: int) -> int:
        """Where the parenthesis at ``start`` most likely ends: before the next clause, or after
        a sum before the next member of a size."""
        text = re.split(r"\s*[#\n]", self.text[start:end], maxsplit=1)[0]
        for found in re.finditer(r"(\s+x\s)|\s*,\s*[^\W\d]|\s*,?\s*$", text):
            if not found.group(1) or re.search(r"\s[-+*/]\s", text[: found.start()]):
                return start + max(1, found.start())
        return start + len(text)

    def nest(self, lines: list[Logical]) -> list[Logical]:
        """Lines put below the lines they are indented under."""
        top: list[Logical] = []
        stack: list[tuple[int, list[Logical]]] = [(0, top)]
        deep = False
        for line in lines:
            if not top:
                if line.indent:
                    self.odd_indent(line, "the first line stands at the left edge", (0,))
                stack = [(line.indent, top)]
            elif line.indent > stack[-1][0]:
                if len(stack) > MOST_BLOCKS:
                    if not deep:
                        self.too_deep(line)
                    deep = True
                    continue
                stack.append((line.indent, stack[-1][1][-1].below))
            left = stack[-1]
            while line.indent < stack[-1][0] and len(stack) > 1:
                left = stack.pop()
            if line.indent != stack[-1][0]:
                known = (*(indent for indent, _ in stack), left[0])
                self.odd_indent(line, "no line above starts at this depth", known)
                if line.indent > stack[-1][0]:
                    # Most likely a slip inside the block just left: read it as part of that.
                    stack.append((line.indent, left[1]))
                else:
                    stack[-1] = (line.indent, top)
            stack[-1][1].append(line)
        return top

    def odd_indent(self, line: Logical, why: str, known: tuple[int, ...]) -> None:
        """The fault for an indentation that fits no block."""
        row = self.source.starts[self.source.row(line.start)]
        self.fault(
            "indent-mismatch", f"this line is indented by {line.indent}: {why}", row, line.start,
            seen=f"{line.indent} spaces",
            limit="one of " + ", ".join(map(str, known)) if len(known) > 1 else f"{known[0]}",
            remedy="indent lines of one block alike",
        )

    def too_deep(self, line: Logical) -> None:
        """The fault for too many blocks in blocks."""
        self.fault(
            "too-deep", "blocks stand too deep in blocks here", line.start, line.end,
            limit=f"at most {MOST_BLOCKS} deep", remedy="teach a word for the inner part",
        )


@dataclass(frozen=True, slots=True)
class Laid:
    """A text laid out: its nested lines, its comments, and what was wrong."""

    lines: list[Logical]
    comments: tuple[Comment, ...]
    faults: list[Fault]


def lay_out(source: Source) -> Laid:
    """The logical lines of ``source``, nested by indentation."""
    if len(source.text) > MOST_SIZE or len(source.text.encode("utf-8", "replace")) > MOST_SIZE:
        fault = Fault(
            "file-too-large", "this file is too large to be a piece", Span(source.path, 1, 1, 1, 1),
            limit=f"at most {MOST_SIZE:,} bytes",
        )
        return Laid([], (), [fault])
    rows = read_rows(source)
    layout = _Layout(rows)
    nested = layout.nest(layout.lines())
    return Laid(nested, tuple(rows.comments), rows.faults)
