"""What a name stands for, block by block."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from . import tree
from .lexicon import Lexicon
from .words import Word


@dataclass(frozen=True, slots=True)
class Absent:
    """The value of a word's key that the line did not give and that has no default."""

    key: str


@dataclass(frozen=True, slots=True)
class Known:
    """A word one can use: its record, and for a word written in posy its lines and the scope
    they were written in."""

    word: Word
    block: tree.WordBlock | None = None
    scope: Scope | None = None


class Scope:
    """The names and words of one block; what is not here is looked up around it.

    ``prefix`` begins the full names of features made in it ("left." in the group left); a block
    without one of its own has that around it."""

    __slots__ = "given", "lexicon", "names", "parent", "prefix", "words"

    def __init__(
        self, parent: Scope | None = None, given: frozenset[str] | None = None,
        lexicon: Lexicon | None = None, prefix: str | None = None,
    ) -> None:
        self.parent = parent
        if prefix is None:
            prefix = "" if parent is None else parent.prefix
        self.prefix: str = prefix
        self.names: dict[str, Any] = {}
        self.words: dict[str, Known | None] = {}  # None: its teaching failed, and was told
        self.lexicon = lexicon  # of the outermost: words that need no teaching
        self.given = given  # in a word: the keys its line said

    def define(self, name: str, value: Any) -> None:
        """Give ``name`` its value, unless it is taken (told by resolve.py)."""
        self.names.setdefault(name, value)

    def around(self) -> Iterator[Scope]:
        """This block and those around it, the outermost last."""
        scope: Scope | None = self
        while scope is not None:
            yield scope
            scope = scope.parent

    def find(self, name: str) -> Any:
        """What ``name`` stands for, or None."""
        return next((scope.names[name] for scope in self.around() if name in scope.names), None)

    def find_word(self, name: str) -> Known | None:
        """The word called ``name``, or None."""
        for scope in self.around():
            if name in scope.words:
                return scope.words[name]
            if scope.lexicon is not None and name in scope.lexicon:
                word = scope.lexicon[name]
                known = scope.words[name] = Known(word, word.body, scope)
                return known
        return None

    def find_given(self) -> frozenset[str] | None:
        """The keys said by the line that used the word this block belongs to; None outside."""
        return next((scope.given for scope in self.around() if scope.given is not None), None)

    def meant(self, said: str) -> Sequence[str]:
        """The clauses and figures that people may mean by a name there is not."""
        *_, outermost = self.around()
        return () if outermost.lexicon is None else outermost.lexicon.trade.clauses.get(said, ())

    def visible(self) -> Iterator[str]:
        """All names in sight, the nearest first."""
        for scope in self.around():
            yield from scope.names
