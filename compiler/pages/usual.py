"""What holds where a clause is left out, and what is common at the bench: for its row in the reference.
Defaults that are worked out are shown as the figure they come to in the word's example."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from ...lang.bench import Call
from ...lang.shown import quantity
from ...lang.values import ANGLE, LENGTH, MASS, NUMBER, Quantity
from ...lang.words import Kind, Take, Word
from ...stdlib.rows import read_rows
from ..files.digits import plain
from ..words.common import LARGEST

ANY_WORD = "*"
_DIMENSIONS = {Kind.LENGTH: LENGTH, Kind.ANGLE: ANGLE, Kind.MASS: MASS}
_UNITS = frozenset(["mm", "cm", "in", "deg", "g", "ct", "max", "min"])
_NAMES = re.compile(r"(?<![\w-])(?!of\b)[^\W\d_][\w-]*(?! of\b)(?![\w-])")


@dataclass(frozen=True)
class Row:
    """``usual`` holds when the clause is left out, ``bench`` is common; None where not said."""

    usual: str | None
    bench: str | None


@cache
def rows() -> Mapping[tuple[str, str], Row]:
    """The rows of the table by word (or ANY_WORD) and clause."""
    columns = ["word", "clause", "usual", "bench", "source"]
    return {
        (row["word"], row["clause"]): Row(*(None if row[k] == "-" else row[k] for k in columns[2:4]))
        for row in read_rows("clause-pages", columns)
    }


def row_of(take: Take, word: Word) -> Row:
    """What the table says of a clause of a word. A row for every word says nothing where the
    clause has a usual value or a range of its own."""
    own = rows().get((word.name, take.name))
    if own is not None:
        return own
    any_word = rows().get((ANY_WORD, take.name), Row(None, None))
    return Row(
        any_word.usual if take.default is None else None,
        any_word.bench if take.most in (None, LARGEST) and take.over is None else None,
    )


def usual(take: Take, word: Word) -> str | None:
    """What holds when the clause is left out; None where nothing is said of it."""
    said, default = row_of(take, word).usual, take.default
    if said is not None or default is None:
        return said
    names = _NAMES.findall(default)
    figured = take.kind in _DIMENSIONS or take.kind in (Kind.PERCENT, Kind.NUMBER)
    if not figured or all(name in _UNITS for name in names):
        return default
    line = _bare_example(word)
    if not isinstance(line.get(take.name), int | float):
        return default
    by = [one for name in dict.fromkeys(names) if (one := _shown(name, line, word))]
    figure = _figure(line[take.name], take)
    return f"{figure} for {' and '.join(by)}" if by else figure


def _figure(value: float, take: Take) -> str:
    dimension = _DIMENSIONS.get(take.kind, NUMBER)
    return quantity(Quantity(round(float(value), 2), dimension, take.kind is Kind.PERCENT))


def _shown(name: str, line: Mapping[str, Any], word: Word) -> str | None:
    """What a default goes by, as the example has it: "a 2.5 mm stone", "wire 0.6 mm"."""
    take, value = word.take(name), line.get(name)
    if take is None or value is None:
        return None
    if take.kind is Kind.STONES and value.stones:
        return f"a {plain(max(stone.width for stone in value.stones), 2)} mm stone"
    return f"{name} {_figure(value, take)}" if isinstance(value, int | float) else None


def _bare_example(word: Word) -> Mapping[str, Any]:
    """The clauses of the word's example but those with a usual value: these as worked out."""
    worked_out = tuple(f"{take.name} " for take in word.takes if take.default is not None)
    head, _, clauses = word.example.rpartition(": ")
    kept = [one for one in clauses.split(", ") if not one.startswith(worked_out)]
    return next(iter(_lines(word.name, f"{head}: {', '.join(kept)}")), {})


@cache
def _lines(name: str, example: str) -> tuple[Mapping[str, Any], ...]:
    """The clauses of each line that the word's scene has of it."""
    from ...lang.loader import Texts
    from ..making.pipeline import lines_of_work
    from .scenes import PIECE, Scene, scenes

    scene = scenes().get(name) or Scene(name, texts={PIECE: f"{example}\n"})
    return tuple(_said(name, lines_of_work(PIECE, Texts(scene.with_example(example)))))


def _said(name: str, calls: Iterable[Call]) -> Iterator[Mapping[str, Any]]:
    for call in calls:
        for use in call.within:
            if use.word.name == name:
                yield {key: said.value for key, said in use.arguments.items()}
        if call.word.name == name:
            yield {key: said.value for key, said in call.arguments.items()}
