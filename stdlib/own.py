"""Tables with rows of a house's own beside them: alloys and gems of the workshop whose piece is made.

One house counts at a time, that of the piece being made; a row of the house never replaces one of the table.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Generic, TypeVar, overload

T = TypeVar("T")


class WithOwn(Mapping[str, T], Generic[T]):
    """A table by name, the house's own rows last."""

    def __init__(self, rows: Mapping[str, T]) -> None:
        self.table: Mapping[str, T] = rows
        self.own: Mapping[str, T] = {}

    def __getitem__(self, name: str) -> T:
        return self.table[name] if name in self.table else self.own[name]

    def __iter__(self) -> Iterator[str]:
        yield from self.table
        yield from self.own

    def __len__(self) -> int:
        return len(self.table) + len(self.own)

    def adopt(self, own: Mapping[str, T]) -> None:
        """Let these be the house's rows, in the place of any before."""
        self.own = {name: row for name, row in own.items() if name not in self.table}


class Names(Sequence[str]):
    """The names of a table as it stands whenever they are asked for."""

    def __init__(self, table: Mapping[str, Any]) -> None:
        self._table = table

    @overload
    def __getitem__(self, index: int) -> str: ...

    @overload
    def __getitem__(self, index: slice) -> tuple[str, ...]: ...

    def __getitem__(self, index: int | slice) -> str | tuple[str, ...]:
        return tuple(self._table)[index]

    def __iter__(self) -> Iterator[str]:
        return iter(self._table)

    def __len__(self) -> int:
        return len(self._table)

    def __contains__(self, name: object) -> bool:
        return name in self._table
