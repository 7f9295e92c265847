"""Reads the trade tables: tab-separated files under ``stdlib/tables``, one source per row.

A table that breaks the rules below is our own bug, so it raises :class:`TableError`.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path

Row = dict[str, str]
TABLES = Path(__file__).with_name("tables")


class TableError(Exception):
    """A table shipped with posy is malformed: a bug of ours, never of a user's file."""


def read_rows(table: str, columns: Sequence[str]) -> list[Row]:
    """Rows of ``tables/<table>.tsv`` in file order, each a mapping from column to text.

    Lines starting with ``#`` are remarks. The header must be exactly ``columns``, each row
    must fill ``columns[0]`` and ``source``, and cells may not carry stray blanks.
    Raises TableError otherwise.
    """
    text = TABLES.joinpath(f"{table}.tsv").read_text("utf-8")
    return parse_rows(table, text, columns)


def parse_rows(table: str, text: str, columns: Sequence[str]) -> list[Row]:
    """The rows in ``text``; ``table`` names it in errors. See :func:`read_rows`."""
    lines = [
        (number, line.split("\t"))
        for number, line in enumerate(text.splitlines(), start=1)
        if line and not line.startswith("#")
    ]
    if not lines or lines[0][1] != list(columns):
        raise TableError(f"{table}: the header must be {' '.join(columns)}")
    return [_row(f"{table}.tsv line {number}", cells, columns) for number, cells in lines[1:]]


def _row(where: str, cells: list[str], columns: Sequence[str]) -> Row:
    """One checked row."""
    if len(cells) != len(columns):
        raise TableError(f"{where}: {len(cells)} cells for {len(columns)} columns")
    row = dict(zip(columns, cells, strict=True))
    if any(cell != cell.strip() for cell in cells):
        raise TableError(f"{where}: a cell has blanks round it")
    if not row[columns[0]] or not row.get("source"):
        raise TableError(f"{where}: needs a {columns[0]} and a source")
    return row


def number(row: Row, column: str) -> float:
    """The figure in a column; TableError if it is none."""
    try:
        return float(row[column])
    except ValueError as error:
        raise TableError(f"{column} {row[column]!r} is not a number: {row}") from error


def number_or_none(row: Row, column: str) -> float | None:
    """The figure in a column, or None where the cell is blank."""
    return number(row, column) if row[column] else None


def one_of(row: Row, column: str, choices: Sequence[str]) -> str:
    """The word in a column, which must be one of ``choices``; TableError otherwise."""
    if row[column] not in choices:
        raise TableError(f"{column} {row[column]!r} is not one of {choices}: {row}")
    return row[column]


def words(row: Row, column: str) -> tuple[str, ...]:
    """The comma-separated words of a column; none for a blank cell."""
    return tuple(word.strip() for word in row[column].split(",") if word.strip())


def unrepeated(table: str, names: Iterable[str]) -> None:
    """TableError if a name comes twice."""
    seen: set[str] = set()
    for name in names:
        if name in seen:
            raise TableError(f"{table}: {name!r} comes twice")
        seen.add(name)
