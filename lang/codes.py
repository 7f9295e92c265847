"""Every fault of the language by its code: what it means, why it is one, wrong and right.

The records stand in codes.toml; `posy why NAME` prints them, and a test runs every wrong example and wants
exactly that code, and every right one and wants none. The compiler keeps records of the same kind."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType
from typing import Any


@dataclass(frozen=True)
class Code:
    """One kind of fault. ``wrong`` and ``right`` are whole files; ``files`` those they take,
    ``settings`` what is set from outside for the wrong one. ``shown`` is False where the wrong
    example only hints at the real thing (a file of a megabyte)."""

    name: str
    title: str
    why: str
    wrong: str
    right: str
    files: Mapping[str, str] = field(default_factory=dict)
    settings: Mapping[str, str] = field(default_factory=dict)
    shown: bool = True


def records(path: Path) -> dict[str, dict[str, Any]]:
    """The tables of a TOML file by name; the examples in them end with a line end."""
    tables = tomllib.loads(path.read_text("utf-8"))
    for table in tables.values():
        table |= {key: f"{table[key]}\n" for key in ("wrong", "right") if table.get(key)}
    return tables


def codes_in(path: Path) -> Mapping[str, Code]:
    """The codes on record in a TOML file, by name."""
    return MappingProxyType({name: Code(name, **table) for name, table in records(path).items()})


CODES = codes_in(Path(__file__).with_name("codes.toml"))
