"""A text in an editor, and what is known of it; each thing is found out when first asked for."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property, lru_cache
from pathlib import Path

from ...lang import tree
from ...lang.bench import Argument, Call
from ...lang.faults import Span
from ...lang.lexicon import Lexicon
from ...lang.loader import Files, Folder, Over
from ...lang.program import Program
from ...lang.words import Take, Word
from ..house import FILE as HOUSE
from ..house.house import places_for
from ..making.pipeline import check, lines_of_work, read
from ..making.result import Built
from .scopes import Scopes


class Look:
    """``text`` as it stands in the editor at ``path``; ``others`` are unsaved texts beside it."""

    def __init__(self, path: str, text: str, others: Mapping[str, str] | None = None) -> None:
        self.path, self.text = path, text
        texts: dict[str, str | bytes] = {**_house(path), **(others or {}), path: text}
        self.files: Files = Over(Folder(path), texts)

    @cached_property
    def program(self) -> Program:
        """The text read and its names checked."""
        return read(self.path, self.files)

    @cached_property
    def checked(self) -> Built:
        """The plan and its remarks, without metal."""
        return check(self.path, files=self.files)

    @cached_property
    def scopes(self) -> Scopes:
        """What names mean where."""
        return Scopes(self.program.tree)

    @cached_property
    def calls(self) -> list[Call]:
        """The lines of work that were done."""
        return lines_of_work(self.path, self.files)

    @cached_property
    def words(self) -> Lexicon:
        """Every word that can be written here, those of the text's own among them."""
        own = {word.name: word for word in self.program.records.values()}
        return self.program.words.with_further(own)

    def word(self, name: str) -> Word | None:
        """A word by its name."""
        return self.words.get(name)

    def line_at(self, offset: int) -> tree.Line | None:
        """The innermost line of the tree that covers ``offset``."""
        return _innermost(self.program.tree.lines, offset)

    def figures(self, span: Span) -> list[Argument]:
        """What the clause whose value stands at ``span`` came to, once for each time it was worked."""
        found: dict[int, Argument] = {}
        for call in self.calls:
            for said in (call.arguments, *(use.arguments for use in call.within)):
                for one in said.values():
                    if one.span == span:
                        found.setdefault(id(one), one)
        return list(found.values())


@lru_cache(maxsize=16)
def look(path: str, text: str, others: tuple[tuple[str, str], ...] = ()) -> Look:
    """The text looked at, kept as long as it is the newest of some."""
    return Look(path, text, dict(others))


def takes_of(word: Word) -> dict[str, Take]:
    """All clauses a line with this word may have, its own before the placing ones."""
    from ...lang.handed import handed_by
    from ...lang.placing import PLACING_BY_NAME
    from ..words import core_words

    own = {take.name: take for take in word.takes}
    if word.body is not None:
        own |= handed_by(word, core_words().get("workpiece"))
    return {**own, **({n: t for n, t in PLACING_BY_NAME.items() if n not in own} if word.places else {})}


def _house(path: str) -> dict[str, str | bytes]:
    """The house limits that hold for a piece, laid beside it."""
    for place in places_for(path):
        try:
            return {(Path(path).parent / HOUSE).as_posix(): place.read_bytes()}
        except OSError:
            continue
    return {}


def _innermost(lines: tuple[tree.Line, ...], offset: int) -> tree.Line | None:
    for line in lines:
        found = _innermost(tree.lines_below(line), offset)
        if found is not None:
            return found
        clauses = getattr(line, "clauses", ())
        spans = [line.span, *(clause.span for clause in clauses)]
        if any(span.start <= offset <= span.end for span in spans):
            return line
    return None
