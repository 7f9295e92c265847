"""Names and functions in expressions, looked up without running anything."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Set
from dataclasses import dataclass, field

from . import tree
from .faults import MOST_FAULTS, Fault, Level, Span
from .functions import FUNCTIONS
from .suggest import did_you_mean
from .words import Word

NUMBER_WORDS = (
    "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven",
    "twelve",
)  # fmt: skip


@dataclass(slots=True)
class Block:
    """What is known statically in one block. ``where`` is outer, library, word or inner."""

    where: str
    parent: Block | None = None
    names: dict[str, Span | None] = field(default_factory=dict)
    words: dict[str, Word | None] = field(default_factory=dict)  # None: known but unusable
    lexicon: Mapping[str, Word] = field(default_factory=dict)  # words that need no teaching
    later: dict[str, Span] = field(default_factory=dict)
    later_words: set[str] = field(default_factory=set)
    keys: frozenset[str] | None = None  # of the word this is the body of
    # What a `when` or `each` above named for itself: the line that did, and which of the two.
    gone: dict[str, tuple[tree.Named, type[tree.Line]]] = field(default_factory=dict)
    work: set[str] = field(default_factory=set)  # in a library: names of work, which is not done
    # What the things named here offer by name: the blocks of groups, the words of lines.
    within: dict[str, Block | Word] = field(default_factory=dict)

    def finds(self, name: str) -> bool:
        """Whether ``name`` is in sight."""
        block: Block | None = self
        while block is not None:
            if name in block.names:
                return True
            block = block.parent
        return False

    def lost(self, name: str) -> tuple[tree.Named, type[tree.Line]] | None:
        """The line in a `when` or `each`, and which of the two, that named ``name`` last but for itself."""
        for block in self.around():
            if name in block.gone or name in block.names:
                return block.gone.get(name)
        return None

    def way_to(self, name: str) -> str | None:
        """How ``name`` is asked of the last thing named in sight that offers it: outer of his."""
        ways = (way for block in self.around() if (way := block.way_within(name)) is not None)
        return next(ways, None)

    def way_within(self, name: str) -> str | None:
        """The way to ``name`` by what is named in this block."""
        for holder, held in reversed(self.within.items()):
            if name in (held.offers if isinstance(held, Word) else held.names):
                return f"{name} of {holder}"
            way = None if isinstance(held, Word) else held.way_within(name)
            if way is not None:
                return f"{way} of {holder}"
        return None

    def word(self, name: str) -> tuple[bool, Word | None]:
        """(known, record) of the word ``name``."""
        block: Block | None = self
        while block is not None:
            if name in block.words:
                return True, block.words[name]
            if name in block.lexicon:
                return True, block.lexicon[name]
            block = block.parent
        return False, None

    def around(self) -> Iterable[Block]:
        """This block and those around it."""
        block: Block | None = self
        while block is not None:
            yield block
            block = block.parent

    def in_word(self) -> Block | None:
        """The body of the word this block is in, if it is in one."""
        return next((block for block in self.around() if block.keys is not None), None)


class Notes:
    """The faults of a text, up to a hundred."""

    def __init__(self) -> None:
        self.faults: list[Fault] = []

    def fault(
        self, code: str, message: str, span: Span, remedy: str | None = None,
        also: tuple[tuple[Span, str], ...] = (), level: Level = Level.FAULT, seen: str | None = None,
        limit: str | None = None,
    ) -> None:
        """Note a fault, up to a hundred."""
        if not self.full():
            self.faults.append(Fault(code, message, span, level, seen, limit, remedy, also))

    def full(self) -> bool:
        """Whether enough has been told: looking for what was meant costs time."""
        return len(self.faults) >= MOST_FAULTS


class Names:
    """Checks names and functions in expressions against what is in sight.

    ``choices`` are the bare names that stand for themselves somewhere; faults go to ``notes``."""

    def __init__(self, choices: Set[str], notes: Notes | None = None) -> None:
        self.choices = choices
        self.notes = notes or Notes()
        self.fault = self.notes.fault

    def loose(self, node: tree.Expression, names: Iterable[str]) -> None:
        """An expression by itself (a setting), where ``names`` are in sight."""
        self.value(node, Block("outer", names=dict.fromkeys(names)))

    def value(self, node: tree.Expression, block: Block) -> None:
        """The names and functions in an expression."""
        match node:
            case tree.Name():
                if not block.finds(node.name):
                    if node.name not in self.choices:
                        self.unknown_name(node, block)
                    return
                if (lost := block.lost(node.name)) is not None and isinstance(lost[0], tree.Measure):
                    self.gone(node, block, *lost)
                if block.in_word() is not None:
                    self.not_of_work(node, block)
            case tree.Invoke():
                self.invoke(node, block)
            case tree.Of(thing=tree.Name() as thing) if not block.finds(thing.name):
                self.unknown_name(thing, block)  # what offers parts is no choice
            case _:
                for part in tree.parts_of(node):
                    self.value(part, block)

    def gone(self, node: tree.Name, block: Block, line: tree.Named, of: type[tree.Line]) -> None:
        """A name that a block above gave, which ends there; it may stand for what was before that block."""
        assert line.name is not None
        known, once = block.finds(node.name), of is tree.Each
        branches = "name it in each branch of that when, its otherwise too"
        self.fault(
            "name-gone",
            f"'{node.name}' is not that of line {line.name.span.line}, which holds in its block alone"
            if known else f"'{node.name}' holds in a block alone that ends above",
            node.span,
            "give one of the two another name" + f"; or {branches}, and not above it" * (not once)
            if known else f"{branches}; or " * (not once) + "move this line into that block",
            also=((line.name.span, "named here"),), level=Level.WARNING if known else Level.FAULT,
        )

    def not_of_work(self, node: tree.Name, block: Block) -> None:
        """A word that is taken elsewhere cannot rest on the work of its own file."""
        for around in block.around():
            if node.name in around.names:
                if node.name in around.work:
                    self.fault(
                        "word-needs-work",
                        f"this word rests on '{node.name}', made in the work of its own file", node.span,
                        "let the word take it as a key: takes body: part",
                    )
                return

    def invoke(self, node: tree.Invoke, block: Block) -> None:
        """A function: known, with as many arguments as it takes."""
        name = node.function.name
        function = FUNCTIONS.get(name)
        if function is None:
            self.fault(
                "unknown-function", f"there is no function '{name}'", node.function.span,
                did_you_mean(name, FUNCTIONS) or "there are " + ", ".join(FUNCTIONS),
            )
        elif name == "given":
            self.given(node, block)
            return
        else:
            count = len(node.arguments)
            if count < function.least or (function.most is not None and count > function.most):
                rest = " or more" if function.most is None else f" to {function.most}"
                wanted = f"{function.least}{rest if function.most != function.least else ''}"
                self.fault(
                    "argument-count", f"{name} works on {wanted}, here on {count}", node.span,
                    f"as in: {function.example}", seen=str(count), limit=wanted,
                )
        for argument in node.arguments:
            self.value(argument, block)

    def given(self, node: tree.Invoke, block: Block) -> None:
        """given(key) and given(measure of key) ask for a key of the word they stand in."""
        body = block.in_word()
        if body is None or body.keys is None:
            self.fault(
                "given-misplaced", "given asks inside a word what its line said", node.span,
                "it means nothing outside a word",
            )
            return
        key = node.arguments[0] if len(node.arguments) == 1 else None
        if isinstance(key, tree.Of):  # what a key offers
            key = key.thing
        if not isinstance(key, tree.Name) or key.name not in body.keys:
            seen = key.name if isinstance(key, tree.Name) else ""
            self.fault(
                "given-misplaced",
                "given asks for one key of this word, or what that offers",
                node.span,
                did_you_mean(seen, body.keys and sorted(body.keys))
                or "its keys: " + ", ".join(sorted(body.keys)),
            )

    def unknown_name(self, node: tree.Name, block: Block, what: str = "name") -> None:
        """No such name: is it below, is a minus without spaces meant, is it misspelt?"""
        if self.notes.full():
            return
        for around in block.around():
            if node.name in around.later:
                self.fault(
                    "used-above", f"'{node.name}' is named further down", node.span,
                    "move its line above this one", also=((around.later[node.name], "named here"),),
                )
                return
        if (lost := block.lost(node.name)) is not None:
            self.gone(node, block, *lost)
            return
        if node.name.casefold() in NUMBER_WORDS:
            figure = NUMBER_WORDS.index(node.name.casefold())
            self.fault(
                "unknown-name", f"a figure is written in digits, not '{node.name}'", node.span,
                f"write {figure}",
            )
            return
        parts = node.name.split("-")
        for cut in range(1, len(parts)):
            left, right = "-".join(parts[:cut]), "-".join(parts[cut:])
            if block.finds(left) and (block.finds(right) or right.replace(".", "").isdigit()):
                self.fault(
                    "unknown-name", f"there is no {what} '{node.name}'", node.span,
                    f"write {left} - {right}; a minus needs spaces",
                )
                return
        among = (*in_sight(block), *sorted(self.choices))
        way = block.way_to(node.name)
        remedy = f"write {way}" if way else did_you_mean(node.name, among)
        if way and block.parent is not None and block.way_within(node.name) is None:  # of a block beside this
            remedy = (
                f"name a '{node.name}' in this block too, or move its line above both blocks: '{way}' lies "
                f"where {way.rpartition(' of ')[2]} stands"
            )
        self.fault("unknown-name", f"there is no {what} '{node.name}' above", node.span, remedy)


def in_sight(block: Block) -> list[str]:
    """Names in sight, at most a thousand: suggestions must not cost more than the file."""
    names: list[str] = []
    for around in block.around():
        names.extend(around.names)
        if len(names) > 1000:
            break
    return names[:1000]
