"""Where the user's own line says a figure: from a core clause inside words out to that line."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from ...lang import tree
from ...lang.bench import Call
from ...lang.companions import clashes
from ...lang.faults import Span
from ...lang.lexicon import Lexicon
from ...lang.placing import PLACING_BY_NAME
from ...lang.words import Take

Head = tree.Feature | tree.Group


@dataclass(frozen=True)
class SourceLine:
    """The user's line a verdict belongs to (None when its text is not at hand), the clause that
    says the figure (None when the line leaves it to a default), and the name it has."""

    span: Span
    line: Head | None
    clause: tree.Clause | None
    key: str | None


class SourceLines:
    """Finds lines by their heads, in the user's texts and in the standard words."""

    def __init__(self, trees: Mapping[str, tree.File], words: Lexicon) -> None:
        self._trees, self._words = trees, words

    def of(self, call: Call, key: str | None, keys: tuple[str, ...]) -> SourceLine:
        """Where the line that ``call`` came of says ``key``, or else one of ``keys``."""
        outer = call.trail[0] if call.trail else call.span
        line = self.heads.get(outer)
        if line is None:
            argument = call.arguments.get(key) if key and not call.trail else None
            span = argument.span if argument is not None and argument.given else outer
            return SourceLine(span, None, None, key)
        names = [self._handed_on(call, key)] if key else []
        found = self._clause(line, [name for name in (*names, *keys) if name])
        if found is not None:
            value = found.value
            return SourceLine(value.span if value is not None else found.span, line, found, found.key.name)
        taken = [name for name in (*names, *keys) if name and self._takes(line, name)]
        return SourceLine(outer, line, None, taken[0] if taken else None)

    @cached_property
    def heads(self) -> dict[Span, Head]:
        """Every line of work by the span of its head."""
        blocks = [file.lines for file in self._trees.values()]
        blocks += [word.body.lines for word in self._words.met() if isinstance(word.body, tree.WordBlock)]
        lines = (line for block in blocks for line in tree.work_in(block))
        return {line.head: line for line in lines if isinstance(line, tree.Feature | tree.Group)}

    def _handed_on(self, call: Call, key: str) -> str | None:
        """The clause of the outermost line that ends up as ``key`` of the core line, if each
        word on the way hands it on as it is."""
        name: str | None = key
        for head in (call.span, *reversed(call.trail[1:])) if call.trail else ():
            line = self.heads.get(head)
            clause = self._clause(line, [name]) if line is not None and name else None
            value = clause.value if clause is not None else None
            name = value.name if isinstance(value, tree.Name) else None
        return name

    @staticmethod
    def _clause(line: Head | None, names: Iterable[str]) -> tree.Clause | None:
        if line is None:
            return None
        for name in names:
            for clause in line.clauses:
                if clause.key.name == name:
                    return clause
        return None

    def rests_on(self, call: Call, other: Call) -> bool:
        """Whether the line that ``call`` came of stands at, on or for what the other line makes, or what
        rests on that: where the other is moved, it goes along."""
        base = self.of(other, None, ()).line
        looked, seen = [self.of(call, None, ()).line], set[Span]()
        while looked:
            line = looked.pop()
            if line is None or line.head in seen:
                continue
            seen.add(line.head)
            if line is base and len(seen) > 1:
                return True
            looked += self._named_by(line)
        return False

    def stands_at(self, call: Call, key: str = "at") -> Head | None:
        """The line of work whose name alone the line that ``call`` came of says in ``key``; None without."""
        line = self.of(call, None, ()).line
        at = self._clause(line, [key])
        if line is None or at is None or not isinstance(at.value, tree.Name):
            return None
        return next(self.named_in(line, {at.value.name}), None)

    def _named_by(self, line: Head) -> Iterator[Head]:
        """The lines of work that the clauses of a line name."""
        values = (clause.value for clause in line.clauses if clause.value is not None)
        return self.named_in(line, dict.fromkeys(name for value in values for name in tree.words_in(value)))

    def named_in(self, line: Head, names: Iterable[str]) -> Iterator[Head]:
        """The lines of work that ``names`` stand for in a line: of one name the last above it."""
        for name in names:
            above = [
                one for head, one in self.heads.items()
                if one.name is not None and one.name.name == name
                and head.path == line.head.path and head.start < line.head.start
            ]  # fmt: skip
            if above:
                yield max(above, key=lambda one: one.head.start)

    def named_around(self, lines: Iterable[Head]) -> Iterator[Head]:
        """The lines that lines of work and the blocks they stand in name."""
        for line in list(lines):
            blocks = (
                one for one in self.heads.values()
                if isinstance(one, tree.Group) and one.head.path == line.head.path
                and one.span.start <= line.head.start < one.span.end
            )  # fmt: skip
            for one in (line, *blocks):
                yield from self._named_by(one)

    def can_say(self, line: Head, name: str) -> bool:
        """Whether the line has a clause of that name, or could have beside those it has."""
        has = self._clause(line, [name]) is not None
        return has or (self._takes(line, name) and not self.excludes(line, name))

    def excludes(self, line: Head, name: str) -> bool:
        """Whether the line could have a clause of that name if it had not another."""
        keys = [clause.key.name for clause in line.clauses]
        if name in keys:
            return False
        return any(name in pair for pair in clashes((*keys, name), self.takes_of(line)))

    def _takes(self, line: Head, name: str) -> bool:
        """Whether the word of ``line`` takes a clause of that name."""
        return name in self.takes_of(line)

    def takes_of(self, line: Head) -> dict[str, Take]:
        """The clauses that the word of a line takes, by name; none where there is no such word."""
        word = self._words.get(line.word.name if isinstance(line, tree.Feature) else line.word)
        if word is None:
            return {}
        common = PLACING_BY_NAME if word.places else {}
        return {**common, **{take.name: take for take in word.takes}}
