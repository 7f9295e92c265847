"""Figures of a line by what they measure, whatever its word calls the clause."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ...lang.bench import Call
from ..bench.roles import FigureOf


def figures(call: Call, *of: FigureOf) -> Iterator[tuple[FigureOf, str, Any]]:
    """(what it measures, clause, value) of every clause that measures one ``of`` these and has a
    value; mm, a size is a tuple."""
    for take in call.word.takes:
        if take.figure_of in of and call.get(take.name) is not None:
            yield take.figure_of, take.name, call.get(take.name)


def figure(call: Call, of: FigureOf) -> tuple[str, Any] | None:
    """The clause that measures ``of`` and its value, or None."""
    return next(((key, value) for _, key, value in figures(call, of)), None)


def narrowest(value: Any) -> float:
    """A figure, or the least member of a size, mm."""
    return float(min(value) if isinstance(value, tuple) else value)
