"""Words taught in the piece and taken from other files, made known to the lines below them."""

from __future__ import annotations

from collections.abc import Mapping

from . import tree
from .blocks import DoBlock
from .faults import Span
from .scope import Known, Scope
from .values import BROKEN
from .words import Word

_READ = tree.Measure | tree.WordBlock | tree.TakeFrom | tree.Unread


class Libraries:
    """Does `word` and `from` lines.

    ``records`` are the records of word blocks by span, ``trees`` the files of the piece by path,
    ``origin`` the path each ``from`` line takes from; ``root`` holds the words that need no
    teaching, ``do`` does the lines of a file."""

    def __init__(
        self, records: Mapping[Span, Word], trees: Mapping[str, tree.File], origin: Mapping[Span, str],
        root: Scope, do: DoBlock,
    ) -> None:
        self._records = records
        self._trees = trees
        self._origin = origin
        self._root = root
        self._do = do
        self._scopes: dict[str, Scope] = {}

    def word(self, line: tree.WordBlock, scope: Scope) -> None:
        """A word taught here."""
        record = self._records.get(line.span)
        if record is not None:
            scope.words[line.name.name] = Known(record, line, scope)

    def take(self, line: tree.TakeFrom, scope: Scope) -> None:
        """The words a ``from`` line brings; None for those that failed and were told."""
        path = self._origin.get(line.span)
        words = self._file(path).words if path is not None else {}
        scope.words.update((name.name, words.get(name.name)) for name in line.names)

    def unread(self, line: tree.Unread, scope: Scope) -> object:
        """What a line that could not be read may have named stands for nothing: BROKEN."""
        for name in line.names:
            scope.define(name, BROKEN)
            if line.names[0] in ("word", "from"):
                scope.words.setdefault(name, None)
        return BROKEN

    def _file(self, path: str) -> Scope:
        """The words and measures of a taken file; its work is not done."""
        scope = self._scopes.get(path)
        if scope is None:
            scope = self._scopes[path] = Scope(self._root)
            lines = self._trees[path].lines
            self._do(tuple(line for line in lines if isinstance(line, _READ)), scope)
        return scope
