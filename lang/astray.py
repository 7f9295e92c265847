"""A clause written as if it were a word: where it belongs.

`soften: at rim of heart, by 0.3 mm` means the line of heart, and there soften 0.3 mm."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from .names import Block
from .samples import sample
from .words import Take, Word

_FIGURE = re.compile(r"(?<![\w.])\d+(?:\.\d+)? ?(?:mm|cm|in|deg|%|g)(?!\w)")


class Host(NamedTuple):
    """The thing called ``name`` that takes the clause, and the line it is on, from 1."""

    name: str
    line: int
    take: Take

    def remedy(self, said: str) -> str:
        """What to do with a line that says ``said``: its one figure is the clause's."""
        figures, key = _FIGURE.findall(said), self.take.name
        clause = f"{key} {figures[0]}" if len(figures) == 1 else sample(self.take) or key
        return f"take it up into line {self.line}, after a comma: {clause}"


def host(keys: Sequence[str], said: str, block: Block) -> Host | None:
    """What a line that says ``said``, whose word is none but may mean one of ``keys``, is to change: the last
    thing it names that takes such a clause, or the last above that does; None where nothing in sight does."""
    named = set(re.findall(r"[^\W\d_][\w-]*", said))
    hosts = [found for around in block.around() for found in _taking(keys, around)]
    return next((found for found in hosts if found.name in named), next(iter(hosts), None))


def _taking(keys: Sequence[str], block: Block) -> Iterator[Host]:
    """What is named in ``block`` and takes one of the clauses ``keys``, the last first."""
    for name, word in reversed(block.within.items()):
        span = block.names.get(name)
        if isinstance(word, Word) and span is not None:
            takes = {take.name: take for take in word.takes}
            yield from (Host(name, span.line, takes[key]) for key in keys if key in takes)
