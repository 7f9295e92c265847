"""Reads the trade tables: tab-separated files under ``stdlib/tables``, one source per row.

A table that breaks the rules below is our own bug, so it raises :class:`TableError`."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import MISSING, fields
from pathlib import Path
from types import MappingProxyType
from typing import Any, TypeVar

Row = dict[str, str]
T = TypeVar("T")
TABLES = Path(__file__).with_name("tables")


class TableError(Exception):
    """A table shipped with posy is malformed: a bug of ours, never of a user's file."""


def records(table: str, record: type[T], **kinds: Sequence[str] | Callable[[Row], Any]) -> list[T]:
    """The rows of a table as records: its columns are the fields of ``record``, each cell read as its field
    is declared (text, figure, yes or no, words with commas between). ``kinds`` gives the choices of a
    column, or how a field is worked out from a row. Raises TableError."""
    found = read_rows(table)
    made = {name: kind for name, kind in kinds.items() if callable(kind)}
    asked = [one for one in fields(record) if one.name not in made]  # type: ignore[arg-type]
    lacking = {one.name for one in asked if one.default is MISSING} - found[0].keys()
    odd = found[0].keys() - {one.name for one in asked}
    if lacking or (odd and not made):
        raise TableError(f"{table}: columns that are lacking or odd: {' '.join(sorted(lacking | odd))}")
    readers = {one.name: _READERS[str(one.type)] for one in asked if one.name in found[0]}
    readers |= {name: _choice(kind) for name, kind in kinds.items() if not callable(kind)}
    return [
        record(**{name: read(row, name) for name, read in readers.items()},
               **{name: make(row) for name, make in made.items()})
        for row in found
    ]  # fmt: skip


def by_name(table: str, record: type[T], **kinds: Sequence[str] | Callable[[Row], Any]) -> Mapping[str, T]:
    """``records`` by their first field, in table order. Neither that nor a name in ``also`` comes twice."""
    key = fields(record)[0].name  # type: ignore[arg-type]
    rows = records(table, record, **kinds)
    unrepeated(table, (name for one in rows for name in (getattr(one, key), *getattr(one, "also", ()))))
    return MappingProxyType({getattr(one, key): one for one in rows})


def read_rows(table: str, columns: Sequence[str] | None = None) -> list[Row]:
    """Rows of ``tables/<table>.tsv`` in file order, each a mapping from column to text.

    Lines starting with ``#`` are remarks. The header must be exactly ``columns``, where they are given;
    each row must fill its first column and ``source``, and cells may not carry stray blanks.
    Raises TableError otherwise."""
    text = TABLES.joinpath(f"{table}.tsv").read_text("utf-8")
    return parse_rows(table, text, columns)


def parse_rows(table: str, text: str, columns: Sequence[str] | None = None) -> list[Row]:
    """The rows in ``text``; ``table`` names it in errors. See :func:`read_rows`."""
    lines = [
        (number, line.split("\t"))
        for number, line in enumerate(text.splitlines(), start=1)
        if line and not line.startswith("#")
    ]
    if len(lines) < 2 or columns not in (None, lines[0][1]):
        raise TableError(f"{table}: it must have rows, and the header {' '.join(columns or ())}")
    return [_row(f"{table}.tsv line {number}", cells, lines[0][1]) for number, cells in lines[1:]]


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


def _choice(choices: Sequence[str]) -> Callable[[Row, str], str]:
    return lambda row, column: one_of(row, column, choices)


# How a cell is read, by what its field is declared as.
_READERS: Mapping[str, Callable[[Row, str], Any]] = {
    "str": lambda row, column: row[column],
    "int": lambda row, column: int(row[column]),
    "float": number,
    "float | None": lambda row, column: number(row, column) if row[column] else None,
    "bool": lambda row, column: one_of(row, column, ("yes", "no")) == "yes",
    "tuple[str, ...]": words,
}
