"""The lines of a text by the names that remedies tell them by, and what is done to whole lines."""

from __future__ import annotations

import re
from collections.abc import Iterator

from ...lang import tree
from ...lang.faults import Fault
from ...lang.parse import parse
from .remark import Remark

Head = tree.Feature | tree.Group


class Lines:
    """The lines of a text that one remark is about."""

    def __init__(self, one: Fault, text: str) -> None:
        assert one.span is not None
        self.one, self.span, self.text = one, one.span, text
        named = list(heads_of(text, one.span.path))
        self.own = next((head for _, head in named if head.span.encloses(one.span)), None)
        made = {name: head for name, head in named if isinstance(one, Remark) and head.head in one.made}
        self.heads = made | dict(named) | made  # of one name in two branches of a 'when' that which did work

    def found(self, name: str) -> Head | None:
        """The line of a name as remarks tell it: with its block's, and what its word calls its parts."""
        parts = ".".join(name.split(" of ")[::-1]).split(".")
        for count in range(len(parts), 0, -1):
            if line := self.heads.get(".".join(parts[:count])):
                return line
        return next((head for full, head in self.heads.items() if full.split(".")[-1] == parts[-1]), None)

    def without(self, name: str) -> str:
        """The text without the line of a name."""
        head = self.found(name)
        if head is None:
            return self.text
        start = self.text.rfind("\n", 0, head.span.start) + 1
        end = self.text.find("\n", head.span.end)
        return self.text[:start] + (self.text[end + 1 :] if end >= 0 else "")

    def below(self, line: str, block: str | None) -> str:
        """The text with a line below all others, or those of a block."""
        head = self.found(block) if block else None
        last = list(tree.work_in(tree.lines_below(head))) if head is not None else []
        if not last:
            return f"{self.text.rstrip()}\n{line}\n"
        start, first = self.text.rfind("\n", 0, last[0].span.start) + 1, last[0].span.start
        indent, stop = self.text[start:first], self.text.find("\n", last[-1].span.end) % (len(self.text) + 1)
        return f"{self.text[:stop]}\n{indent}{line}{self.text[stop:]}"

    def put_below(self, name: str, other: str) -> str | None:
        """The text with the line of a name below that of another, which it stands above."""
        head, last = self.found(name), self.found(other)
        if head is None or last is None or last.span.start < head.span.end:
            return None
        start = self.text.rfind("\n", 0, head.span.start) + 1
        end, stop = (
            self.text.find("\n", max(clause.span.end for clause in one.clauses)) % (len(self.text) + 1)
            for one in (head, last)
        )
        return f"{self.text[:start]}{self.text[end + 1 : stop]}\n{self.text[start:end]}{self.text[stop:]}"

    def worded(self, word: str, now: str, name: str) -> str:
        """The text with another word for that of the line of a name; "" where it is not that word's."""
        head = self.found(name)
        if not isinstance(head, tree.Feature):
            return ""
        start, end = head.word.span.start, head.word.span.end
        return f"{self.text[:start]}{word}{self.text[end:]}" if self.text[start:end] == now else ""

    def again(self, name: str, more: bool, flag: str) -> str | None:
        """The text with the line of a name once more below all others, in a casting of its own, with or
        without a ``flag``; moved there, where that is none."""
        head = self.found(name)
        if head is None:
            return None
        line = self.text[head.span.start : head.span.end]
        own = head.name.name if head.name is not None else self.text[head.head.start : head.head.end]
        if not flag:
            return f"{self.without(name).rstrip()}\ncasting {own}-half\n  {line}\n"
        line = re.sub(rf",\s*{flag}\b", "", line)
        line = re.sub(r"^([a-z-]+)[^:]*", r"\1 half", line) + f", {flag}" * more
        return self.below(f"casting {own}-other\n  {line}", None)


def heads_of(text: str, path: str) -> Iterator[tuple[str, Head]]:
    """Every line of work of a text by its name, with those of the blocks it stands in."""
    return _heads(parse(text, path)[0].lines)


def _heads(lines: tuple[tree.Line, ...], block: str = "") -> Iterator[tuple[str, Head]]:
    for line in lines:
        name = block
        if isinstance(line, tree.Feature | tree.Group):
            word = line.word.name if isinstance(line, tree.Feature) else line.word
            name = f"{block}{line.name.name if line.name is not None else word}"
            yield name, line
            name += "."
        if not isinstance(line, tree.Feature):
            yield from _heads(tree.lines_below(line), name)
