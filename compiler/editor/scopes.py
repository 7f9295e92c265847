"""What names mean where: each name of a text with its uses, and which are in sight at a place."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from ...lang import tree

MEASURE, FEATURE, TURN, KEY, WORD = "measure", "feature", "round of an each", "clause of a word", "word"


@dataclass(eq=False)
class Binding:
    """A name: where and by what line it is given, its uses; ``again`` if its block has one of that name."""

    name: tree.Name
    kind: str
    line: Any
    uses: list[tree.Name] = field(default_factory=list)
    again: bool = False

    def places(self) -> list[tree.Name]:
        """All places where it is written, the first where it is given."""
        return [self.name, *self.uses]

    def written(self) -> list[tuple[int, int]]:
        """Their characters, (first, end) each."""
        return [(one.span.start, one.span.end) for one in self.places()]


@dataclass(eq=False)
class Block:
    """The lines from ``start`` to ``end`` that see its names, and what they see besides."""

    start: int
    end: int
    indent: int
    above: Block | None = None
    names: dict[str, Binding] = field(default_factory=dict)
    words: dict[str, Binding] = field(default_factory=dict)

    def named(self, name: str) -> Binding | None:
        """What ``name`` stands for here."""
        return self.names.get(name) or (self.above.named(name) if self.above else None)

    def taught(self, name: str) -> Binding | None:
        """The word of the text's own called ``name``."""
        return self.words.get(name) or (self.above.taught(name) if self.above else None)


class Scopes:
    """All names of a file, read in the order of the work as the language does."""

    def __init__(self, file: tree.File) -> None:
        self.bindings: list[Binding] = []
        self._text = file.text
        self._blocks = [Block(0, len(file.text) + 1, 0)]
        self._lines(file.lines, self._blocks[0])

    def at(self, offset: int) -> Binding | None:
        """The name that is written at ``offset``, if it is one of the text's own."""
        for one in self.bindings:
            if any(start <= offset <= end for start, end in one.written()):
                return one
        return None

    def in_sight(self, offset: int, indent: int) -> list[Binding]:
        """The names that a line at ``offset``, indented by ``indent``, may use; the nearest last."""
        found: dict[str, Binding] = {}
        for block in self._blocks:
            if block.start <= offset <= block.end and block.indent <= indent:
                for name, one in (*block.words.items(), *block.names.items()):
                    if one.name.span.end < offset:
                        found[name] = one
        return list(found.values())

    # --- the walk

    def _lines(self, lines: tuple[tree.Line, ...], block: Block) -> None:
        for number, line in enumerate(lines):
            following = lines[number + 1].span.start if number + 1 < len(lines) else block.end
            self._line(line, block, following)

    def _line(self, line: tree.Line, block: Block, end: int) -> None:
        match line:
            case tree.Feature():
                word = block.taught(line.word.name)
                if word is not None:
                    word.uses.append(line.word)
                self._clauses(line.clauses, block)
                self._give(line.name, FEATURE, line, block)
            case tree.Group():
                self._clauses(line.clauses, block)
                self._inner(line.lines, block, line.span.start, end)
                self._give(line.name, FEATURE, line, block)
            case tree.Measure():
                self._use(line.value, block)
                self._clauses(line.clauses, block)
                self._give(line.name, MEASURE, line, block)
            case tree.Each():
                for part in (line.first, line.last, line.step, line.things):
                    self._use(part, block)
                inner = self._block(block, line.lines, line.span.start, end)
                self._give(line.name, TURN, line, inner)
                self._lines(line.lines, inner)
            case tree.When():
                for number, branch in enumerate(line.branches):
                    self._use(branch.test, block)
                    last = number + 1 == len(line.branches)
                    stop = end if last else line.branches[number + 1].span.start
                    self._inner(branch.lines, block, branch.span.start, stop)
                self._leave(line, block)
            case tree.WordBlock():
                inner = self._block(block, line.lines, line.span.start, end)
                for take in line.takes:
                    self._give(take.name, KEY, take, inner)
                self._lines(line.lines, inner)
                self._give(line.name, WORD, line, block)
            case tree.TakeFrom():
                for name in line.names:
                    self._give(name, WORD, line, block)
            case tree.Unread():
                self._inner(line.lines, block, line.span.start, end)
            case _:
                self._others(line, block)

    def _leave(self, line: tree.When, block: Block) -> None:
        """What all branches of a `when` name, one binding for all of them, is known after it."""
        inner = [one for one in self._blocks if one.above is block][-len(line.branches) :]
        for name in tree.names_made((line,)):
            first, *others = [one for one in inner if name in one.names] or [block]
            for other in others:
                first.names[name].uses += other.names[name].places()
                self.bindings.remove(other.names[name])
                other.names[name] = first.names[name]
            if name in first.names:
                block.names.setdefault(name, first.names[name])

    def _others(self, line: Any, block: Block) -> None:
        """Lines that use names and give none."""
        for part in ("test", "feature"):
            self._use(getattr(line, part, None), block)
        if isinstance(line, tree.Series):
            for clause in line.clauses:
                self._use(clause.key, block)
        self._clauses(getattr(line, "clauses", ()), block)

    def _inner(self, lines: tuple[tree.Line, ...], block: Block, start: int, end: int) -> None:
        self._lines(lines, self._block(block, lines, start, end))

    def _block(self, above: Block, lines: tuple[tree.Line, ...], start: int, end: int) -> Block:
        """A block below the head that starts at ``start``."""
        indent = lines[0].span.column - 1 if lines else 1
        block = Block(start, end, indent, above)
        self._blocks.append(block)
        return block

    def _give(self, name: tree.Name | None, kind: str, line: Any, block: Block) -> None:
        if name is None:
            return
        there = block.words if kind == WORD else block.names
        made = Binding(name, kind, line, again=name.name in there)
        self.bindings.append(made)
        there.setdefault(name.name, made)

    def _clauses(self, clauses: tuple[tree.Clause, ...], block: Block) -> None:
        for clause in clauses:
            self._use(clause.value, block)

    def _use(self, node: Any, block: Block) -> None:
        for name in referred(node):
            meant = block.named(name.name)
            if meant is not None:
                meant.uses.append(name)


def referred(node: tree.Expression | None) -> Iterator[tree.Name]:
    """The names an expression looks up, as nodes; those it asks a feature for are none."""
    return (one for one in (tree.within(node) if node else ()) if isinstance(one, tree.Name))
