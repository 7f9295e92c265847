"""Text in rows of so many columns, as a terminal counts them."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Container, Iterator, Sequence

TAB = 4  # columns a tab is shown with
# A word with the blanks before it; a figure and its unit are one.
_PIECE = re.compile(r"( *)([^ ]*\d (?:mm|%|deg|g|ct)(?![^\W\d_])[^ ]*|[^ ]+)")


def width_of(text: str) -> int:
    """Columns that ``text`` takes on a terminal."""
    return sum(map(_one_width, text))


def _one_width(character: str) -> int:
    if character == "\t":
        return TAB
    if character.isascii():
        return 1 if character.isprintable() else 0
    if unicodedata.category(character) in ("Cf", "Cc", "Mn", "Me"):
        return 0
    return 2 if unicodedata.east_asian_width(character) in "WF" else 1


def clean(text: str) -> str:
    """``text`` fit for a terminal: tabs as spaces, nothing that could steer it."""
    text = text.replace("\t", " " * TAB)
    return "".join(c for c in text if c.isprintable() or unicodedata.category(c) in ("Zs", "Mn", "Me"))


def fold(text: str, width: int, first: str = "", other: str | None = None) -> list[str]:
    """``text`` in rows of at most ``width`` columns, broken at blanks (inside a word only when it
    is wider than a row). ``first`` stands before the first row, ``other`` before the rest (as
    many blanks when left out). Blanks within a row stay as they are."""
    other = " " * width_of(first) if other is None else other
    room = max(8, width - max(width_of(first), width_of(other)))
    rows: list[str] = []
    for line in text.split("\n"):
        rows += _folded(line, room)
    return [f"{other if number else first}{row}".rstrip() for number, row in enumerate(rows or [""])]


def _folded(line: str, room: int) -> list[str]:
    """One line in rows of at most ``room`` columns."""
    rows, row, wide = [], "", 0
    for blanks, piece in _pieces(line, room):
        taken = width_of(piece)
        if row and wide + len(blanks) + taken > room:
            rows.append(row)
            row, wide, blanks = "", 0, ""
        row += blanks + piece
        wide += len(blanks) + taken
    return [*rows, row]


def _pieces(line: str, room: int) -> Iterator[tuple[str, str]]:
    """The words of a line with the blanks before each; what is wider than a row in parts."""
    for found in _PIECE.finditer(line):
        blanks, word = found.groups()
        while width_of(word) > room:
            count = next(k for k in range(len(word), 0, -1) if width_of(word[:k]) <= room)
            yield blanks, word[:count]
            blanks, word = "", word[count:]
        yield blanks, word


def in_columns(rows: list[tuple[str, str]], width: int, most: int = 30) -> list[str]:
    """Names and what is said of them in two columns; on a narrow screen one below the other."""
    if not rows:
        return []
    first = min(most, max(width_of(name) for name, _ in rows)) + 2
    if 2 + first > 0.45 * width:
        return [
            line for name, said in rows
            for line in (*fold(name, width, "  "), *(fold(said, width, "    ") if said else ()))
        ]  # fmt: skip
    lines: list[str] = []
    for name, said in rows:
        if width_of(name) + 2 > first:
            lines += fold(name, width, "  ")
            name = ""
        start = f"  {name}{' ' * (first - width_of(name))}"
        lines += fold(said, width, start) if said else [start.rstrip()]
    return lines


def in_table(rows: Sequence[Sequence[str]], right: Container[int], indent: str = "") -> list[str]:
    """Rows of cells below one another, two blanks between columns; those of ``right`` end at their right."""
    wide = [max(map(len, column)) for column in zip(*rows, strict=True)]
    lines = []
    for row in rows:
        cells = [cell.rjust(wide[k]) if k in right else cell.ljust(wide[k]) for k, cell in enumerate(row)]
        lines.append(f"{indent}{'  '.join(cells)}".rstrip())
    return lines
