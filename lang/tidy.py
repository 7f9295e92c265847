"""One layout for all texts: ``tidy`` puts a text into it, with its comments and blank lines.

Where a line is broken stays the writer's choice; how far it is indented, what stands between its
words, and what may be left out are ours. The tidied text is read again and has to say the same,
so tidying can change no piece."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any

from lark import Lark, Token

from . import tree
from .faults import Fault
from .layout import Logical, lay_out
from .parse import parse
from .source import Source
from .tables import parser

INDENT = 2
_WITH_CLAUSES_BELOW = frozenset(("PIECE", "MEASURE", "TAKES", "EXPECT", "SERIES", "NAME"))
_NO_BLANK_BEFORE = frozenset(("COMMA", "COLON", "RIGHT"))
_LINE_END = re.compile(r"\r\n|\n|\r")


@dataclass(frozen=True, slots=True)
class Row:
    """A row of the tidied text: the row of the source it comes from, its depth and what it says."""

    source: int
    depth: int
    text: str


def tidied(text: str, path: str) -> tuple[str, list[Fault]]:
    """``text`` in the one layout. A text that cannot be read stays as it is, with its faults.

    Line ends and a byte order mark stay as the editor saved them."""
    file, faults = parse(text, path)
    marks = _Marks(file.lines)
    faults += marks.faults
    if faults:
        return text, faults
    rows = _Tidy(Source(text, path), file, marks).rows()
    mark = "\ufeff" if text.startswith("\ufeff") else ""
    end = found.group() if (found := _LINE_END.search(text)) else "\n"
    new = mark + "".join(f"{line}{end}" for line in _spaced(rows))
    again, faults = parse(new, path)
    if faults or _said(again.lines) != _said(file.lines) or _remarks(again) != _remarks(file):
        raise AssertionError(f"tidying {path} would change what it says")
    return new, []


def _spaced(rows: list[Row]) -> Iterator[str]:
    """Rows as lines, with one blank line where the source had any."""
    last = rows[0].source if rows else 0
    for row in rows:
        if row.source > last + 1:
            yield ""
        last = row.source
        yield " " * (INDENT * row.depth) + row.text


def _said(node: Any) -> Any:
    """What a node of the tree says, without where it stands and how a figure is written."""
    if isinstance(node, tuple):
        return tuple(map(_said, node))
    names = getattr(node, "__dataclass_fields__", None)
    if names is None:
        return node
    left_out = {"span", "head", "below"} | ({"text"} if isinstance(node, tree.Number) else set())
    parts = (_said(getattr(node, name)) for name in names if name not in left_out)
    return type(node).__name__, *parts


def _remarks(file: tree.File) -> list[str]:
    """The words of all comments."""
    return [comment.text.lstrip("#").strip() for comment in file.comments]


class _Marks:
    """Where in a text a sign means one thing and not another, by offset."""

    def __init__(self, lines: tuple[tree.Line, ...]) -> None:
        self.signs: set[int] = set()  # a minus before its figure
        self.calls: set[int] = set()  # the end of a function's name
        self.figures: list[tuple[int, int]] = []  # fractions
        self.faults: list[Fault] = []  # of lines that nobody can tell how to lay out
        waiting: list[Any] = [lines]
        while waiting:
            node = waiting.pop()
            if isinstance(node, tuple):
                waiting += node
            elif (names := getattr(node, "__dataclass_fields__", None)) is not None:
                self._mark(node)
                waiting += (getattr(node, name) for name in names if name != "span")

    def _mark(self, node: Any) -> None:
        if isinstance(node, tree.Minus):
            self.signs |= set(range(node.span.start, node.inner.span.start))
        elif isinstance(node, tree.Invoke):
            self.calls.add(node.function.span.end)
        elif isinstance(node, tree.Number) and "/" in node.text:
            self.figures.append((node.span.start, node.span.end))
        elif isinstance(node, tree.Feature) and node.lines:
            said = f"{node.word.name} takes no lines of work below it"
            remedy = "move it to the left edge of its block"
            self.faults.append(Fault("block-misplaced", said, node.lines[0].span, remedy=remedy))

    def in_figure(self, offset: int) -> bool:
        """Whether a sign belongs to a fraction."""
        return any(start < offset < end for start, end in self.figures)


class _Tidy:
    """Lays out one text that can be read."""

    def __init__(self, source: Source, file: tree.File, marks: _Marks) -> None:
        self._source = source
        self._marks = marks
        self._comments = {comment.span.line - 1: comment for comment in file.comments}
        self._rows: list[Row] = []
        # The indent in the source and the depth of each line whose block may still go on.
        self._open: list[tuple[int, int]] = []

    def rows(self) -> list[Row]:
        """All rows, comments among them."""
        self._block(lay_out(self._source).lines, 0, "line")
        for number in sorted(self._comments):
            self._own_comment(number, 0)
        return self._rows

    def _block(self, lines: list[Logical], depth: int, start: str) -> None:
        for line in lines:
            tokens = _tokens(self._source.text, line, start)
            first = self._source.row(line.start)
            for number in sorted(one for one in self._comments if one < first):
                self._own_comment(number, depth)
            while self._open and self._open[-1][1] >= depth:
                self._open.pop()
            self._open.append((line.indent, depth))
            self._line(tokens, depth, start == "clauses")
            below = "clauses" if start == "clauses" or tokens[0].type in _WITH_CLAUSES_BELOW else "line"
            self._block(line.below, depth + 1, below)

    def _own_comment(self, number: int, depth: int) -> None:
        """A comment on a row of its own, as deep as the line below it, or as the block above it
        that it stands in."""
        comment = self._comments.pop(number)
        here = comment.span.column - 1
        fits = [deep for indent, deep in self._open if indent <= here]
        self._rows.append(Row(number, max([depth, *fits]), _comment(comment.text)))

    def _line(self, tokens: list[Token], depth: int, clauses: bool) -> None:
        """One logical line, broken where its writer broke it."""
        inner, deep, opened = depth, 0, 0
        for row, on_row in self._by_row(tokens):
            for number in sorted(one for one in self._comments if one < row):
                text = _comment(self._comments.pop(number).text)
                self._rows.append(Row(number, inner, text))
            deep, opened = inner, opened + _opening(on_row)
            # Clause lines need no comma at their end.
            apart = clauses and not opened and on_row[-1].type == "COMMA"
            said = self._written(on_row[:-1] if apart else on_row)
            if row in self._comments:
                said += "  " + _comment(self._comments.pop(row).text)
            self._rows.append(Row(row, deep, said))
            inner = depth if apart else depth + 1

    def _by_row(self, tokens: list[Token]) -> Iterator[tuple[int, list[Token]]]:
        """The tokens of a logical line by the rows of the source."""
        on_row: list[Token] = []
        last = -1
        for token in tokens:
            row = self._source.row(token.start_pos or 0)
            if on_row and row != last:
                yield last, on_row
                on_row = []
            last = row
            on_row.append(token)
        yield last, on_row

    def _written(self, tokens: list[Token]) -> str:
        """The words of one row with what belongs between them."""
        tokens = [
            token for token, after in zip(tokens, [*tokens[1:], None], strict=True)
            if after is None or token.type != "COMMA" or after.type != "BECAUSE"
        ]  # fmt: skip
        said = ""
        for before, token in zip([None, *tokens], tokens, strict=False):
            if before is not None and self._blank(before, token):
                said += " "
            said += _word(token)
        return said

    def _blank(self, before: Token, token: Token) -> bool:
        """Whether a blank stands between two tokens."""
        start, after = token.start_pos or 0, before.start_pos or 0
        if token.type in _NO_BLANK_BEFORE or before.type == "LEFT":
            return False
        if token.type == "LEFT" and after + len(before) in self._marks.calls and before.type == "NAME":
            return False
        if before.type == "MINUS" and after in self._marks.signs:
            return False
        return not ("OVER_SIGN" in (before.type, token.type) and self._marks.in_figure(start))


def _word(token: Token) -> str:
    """A token as it is written."""
    text = str(token)
    if token.type == "NUMBER" and text.startswith("."):
        return f"0{text}"
    return " ".join(text.split()) if token.type in ("MIXED", "PHRASE") else text


def _comment(text: str) -> str:
    """A comment with a blank after its mark."""
    return f"# {text[1:]}" if text[1:2].isalnum() else text


def _opening(tokens: list[Token]) -> int:
    """How many more parentheses open than close."""
    kinds = [token.type for token in tokens]
    return kinds.count("LEFT") - kinds.count("RIGHT")


@cache
def _lexer() -> Lark:
    """The parser of one line that makes no tree."""
    return parser()


def _tokens(text: str, line: Logical, start: str) -> list[Token]:
    """The tokens of a logical line that can be read, placed in the whole text; the colon of a head
    that has nothing after it is left out."""
    reading = _lexer().parse_interactive(text[line.start : line.end], start=start)
    tokens = [Token.new_borrow_pos(token.type, token.value, token) for token in reading.exhaust_lexer()]
    for token in tokens:
        token.start_pos = (token.start_pos or 0) + line.start
    if tokens[-1].type == "COLON":
        tokens.pop()
    return tokens
