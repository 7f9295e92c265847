"""The static pass: names, words and clause keys, over the whole text.

It goes into every branch and every word, used or not, and so finds what a run would not meet.
What it reports the evaluator passes over in silence.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from . import tree
from .arguments import DUE, choices_shown
from .faults import Fault, Level, Span
from .functions import FUNCTIONS
from .placing import PLACING_BY_NAME
from .suggest import did_you_mean, nearest
from .words import Kind, Take, Word

MOST_FAULTS = 100
METAL_HINT = "metal is said once, below the piece line, or on a feature for a second colour"


@dataclass(slots=True)
class Block:
    """What is known statically in one block. ``where`` is outer, library, word or inner."""

    where: str
    parent: Block | None = None
    names: dict[str, Span | None] = field(default_factory=dict)
    words: dict[str, Word | None] = field(default_factory=dict)  # None: known but unusable
    later: dict[str, Span] = field(default_factory=dict)
    keys: frozenset[str] | None = None  # of the word this is the body of
    work: set[str] = field(default_factory=set)  # in a library: names of work, which is not done

    def finds(self, name: str) -> bool:
        """Whether ``name`` is in sight."""
        block: Block | None = self
        while block is not None:
            if name in block.names:
                return True
            block = block.parent
        return False

    def word(self, name: str) -> tuple[bool, Word | None]:
        """(known, record) of the word ``name``."""
        block: Block | None = self
        while block is not None:
            if name in block.words:
                return True, block.words[name]
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


class Resolver:
    """Walks a tree against the words that can be used.

    ``words`` are the core and standard words; ``choices`` the bare names that stand for
    themselves somewhere; ``taken`` what each ``from`` line of this text brings (by its span), or
    None where it failed; ``records`` the records of the word blocks (by span).
    """

    def __init__(
        self,
        words: Mapping[str, Word],
        choices: frozenset[str],
        taken: Mapping[Span, Mapping[str, Word | None]],
        records: Mapping[Span, Word],
    ) -> None:
        self.standard = words
        self.choices = choices
        self.taken = taken
        self.records = records
        self.faults: list[Fault] = []
        self.open_words: list[str] = []  # the words whose bodies we are in

    def file(self, file: tree.File, library: bool = False) -> list[Fault]:
        """Everything found in ``file``; a ``library`` is read for its words and measures only."""
        outer = Block("library" if library else "outer")
        outer.words.update(self.standard)
        self.block(file.lines, outer)
        return self.faults

    def fault(
        self, code: str, message: str, span: Span, remedy: str | None = None,
        also: tuple[tuple[Span, str], ...] = (), level: Level = Level.FAULT,
        seen: str | None = None, limit: str | None = None,
    ) -> None:
        """Note a fault, up to a hundred."""
        if len(self.faults) < MOST_FAULTS:
            self.faults.append(
                Fault(code, message, span, level, seen, limit, remedy, also)
            )

    def loose(self, node: tree.Expression, names: Iterable[str]) -> None:
        """An expression by itself (a setting), where ``names`` are in sight."""
        self.value(node, Block("outer", names=dict.fromkeys(names)))

    # --- blocks and names

    def block(self, lines: tuple[tree.Line, ...], block: Block) -> None:
        """The lines of a block, in order."""
        for line in lines:
            name = _defined(line)
            if name is not None:
                block.later.setdefault(name.name, name.span)
        for index, line in enumerate(lines):
            self.line(line, block, index == 0)

    def define(self, name: tree.Name, block: Block) -> None:
        """Make ``name`` known from here on."""
        if block.names.get(name.name) is not None:
            earlier = block.names[name.name]
            assert earlier is not None
            self.fault(
                "name-taken", f"`{name.name}` already names something in this block", name.span,
                "give one of them another name", also=((earlier, "first used here"),),
            )
            return
        block.names[name.name] = name.span
        block.later.pop(name.name, None)

    def line(self, line: tree.Line, block: Block, first: bool) -> None:
        """One line."""
        match line:
            case tree.Feature() | tree.Group() if block.where == "library":
                if line.name is not None:
                    block.names.setdefault(line.name.name, line.name.span)
                    block.work.add(line.name.name)
            case tree.Each() | tree.When() if block.where == "library":
                pass
            case tree.Feature():
                self.feature(line, block)
            case tree.Measure():
                self.measure(line, block)
            case tree.Group():
                self.group(line, block)
            case tree.Each():
                self.each(line, block)
            case tree.When():
                for branch in line.branches:
                    if branch.test is not None:
                        self.value(branch.test, block)
                    self.block(branch.lines, Block("inner", block))
            case tree.Expect() if block.where != "library":
                self.expect(line, block)
            case tree.Unread():
                for name in line.names:
                    block.names.setdefault(name, None)
                    if line.names[0] in ("word", "from"):
                        block.words.setdefault(name, None)
                self.block(line.lines, Block("inner", block))
            case _:
                self.placed_line(line, block, first)

    def placed_line(self, line: tree.Line, block: Block, first: bool) -> None:
        """Lines that may stand only in certain blocks."""
        match line:
            case tree.Piece():
                if block.where not in ("outer", "library") or not first:
                    self.misplaced(line.span, "piece", "it is the first line of the file")
                self.known_clauses(line.clauses, ("metal", "note"), "piece", {"note"})
            case tree.WordBlock():
                if block.where not in ("outer", "library"):
                    self.misplaced(line.span, "word", "teach words at the left edge of the file")
                self.word_block(line, block)
            case tree.TakeFrom():
                if block.where not in ("outer", "library"):
                    self.misplaced(line.span, "from", "take words at the left edge of the file")
                else:
                    self.take_from(line, block)
            case tree.Takes():
                if block.where != "word":
                    self.misplaced(line.span, "takes", "it belongs right below a word line")
            case tree.Help():
                if block.where != "word":
                    self.misplaced(line.span, line.word, "it belongs right below a word line")
            case tree.Series():
                if block.where not in ("outer", "library"):
                    self.misplaced(line.span, "series", "it belongs at the left edge of the file")
                elif block.where == "outer":
                    self.series(line, block)
            case tree.Waive():
                if block.in_word() is not None:
                    self.misplaced(line.span, "waive", "waive in the piece, not in a word")
                elif line.feature is not None and block.where != "library":
                    self.value(line.feature, block)

    def misplaced(self, span: Span, word: str, where: str) -> None:
        """The fault for a line in the wrong block."""
        self.fault("block-misplaced", f"a {word} line cannot stand here", span, where)

    def measure(self, line: tree.Measure, block: Block) -> None:
        """A measure: its value sees the names above it."""
        self.value(line.value, block)
        self.known_clauses(line.clauses, ("from", "help"), "measure")
        for clause in line.clauses:
            if clause.value is not None:
                self.value(clause.value, block)
        if block.work and any(name in block.work for name in tree.names_in(line.value)):
            block.work.add(line.name.name)
        self.define(line.name, block)

    def group(self, line: tree.Group, block: Block) -> None:
        """A group takes placing clauses only."""
        self.clauses(line.clauses, {}, True, "group", block)
        self.block(line.lines, Block("inner", block))
        if line.name is not None:
            self.define(line.name, block)

    def each(self, line: tree.Each, block: Block) -> None:
        """An each: its name is known inside only."""
        for part in (line.first, line.last, line.step, line.things):
            if part is not None:
                self.value(part, block)
        inner = Block("inner", block)
        inner.names[line.name.name] = line.name.span
        self.block(line.lines, inner)

    def expect(self, line: tree.Expect, block: Block) -> None:
        """An expect needs a message."""
        self.value(line.test, block)
        self.known_clauses(line.clauses, ("else", "try"), "expect")
        if not any(clause.key.name == "else" for clause in line.clauses):
            self.fault("clause-missing", "an expect line says what is wrong when it fails",
                       line.span, 'add: else "message"')
        for clause in line.clauses:
            if clause.value is not None:
                self.value(clause.value, block)

    def series(self, line: tree.Series, block: Block) -> None:
        """A series names measures above it, and metal."""
        if not line.clauses:
            self.fault("clause-missing", "a series says what it varies", line.span,
                       "as in: series sizes: across 2 mm to 3 mm")
        seen: dict[str, Span] = {}
        for clause in line.clauses:
            self.once(clause, seen)
            if clause.value is None:
                self.no_value(clause, "values joined by to")
            elif clause.key.name != "metal":
                if not block.finds(clause.key.name):
                    self.unknown_name(clause.key, block, "measure")
                self.value(clause.value, block)

    def take_from(self, line: tree.TakeFrom, block: Block) -> None:
        """Words of another file."""
        brought = self.taken.get(line.span, {})
        for name in line.names:
            self.teach(name, brought.get(name.name), block)

    def teach(self, name: tree.Name, word: Word | None, block: Block) -> None:
        """Make a word known from here on."""
        known, before = block.word(name.name)
        taught = name.name in block.words and name.name not in self.standard
        if taught and before is not None:
            self.fault("name-taken", f"a word `{name.name}` is already taught", name.span,
                       "give one of them another name")
        elif known and before is not None:
            self.fault(
                "word-hidden", f"this word stands in for the standard word {name.name}",
                name.span, "give it another name if that is not meant", level=Level.NOTE,
            )
        block.words[name.name] = word

    def word_block(self, line: tree.WordBlock, block: Block) -> None:
        """A word: its keys are names in its body."""
        body = Block("word", block, keys=frozenset(take.name.name for take in line.takes))
        self.open_words.append(line.name.name)
        working = False
        for take in line.lines:
            if isinstance(take, tree.Takes):
                self.takes(take, body)
                if working:
                    self.fault("block-misplaced", "takes lines stand above the work", take.span,
                               "move it up")
            elif not isinstance(take, tree.Help | tree.Measure | tree.Expect):
                working = True
        self.block(tuple(li for li in line.lines if not isinstance(li, tree.Takes)), body)
        self.open_words.pop()
        self.teach(line.name, self.records.get(line.span), block)

    def takes(self, line: tree.Takes, body: Block) -> None:
        """One key of a word."""
        self.known_clauses(
            line.clauses, ("default", "from", "choices", "needed", "help"), "takes",
            flags={"needed"},
        )
        for clause in line.clauses:
            if clause.key.name == "default" and clause.value is not None:
                bare = line.kind.name in ("choice", "any") and isinstance(clause.value, tree.Name)
                if not bare:
                    self.value(clause.value, body)
        self.define(line.name, body)

    # --- clauses

    def known_clauses(
        self, clauses: tuple[tree.Clause, ...], keys: tuple[str, ...], what: str,
        many: set[str] = frozenset(), flags: set[str] = frozenset(),  # type: ignore[assignment]
    ) -> None:
        """Clauses of lines that are no work: keys known, once each, with a value."""
        seen: dict[str, Span] = {}
        for clause in clauses:
            key = clause.key.name
            if key not in keys:
                self.fault(
                    "unknown-clause", f"{what} takes no `{key}`", clause.key.span,
                    did_you_mean(key, keys) or "it takes " + ", ".join(keys),
                )
                continue
            if key not in many:
                self.once(clause, seen)
            if clause.value is None and key not in flags:
                self.no_value(clause, 'a text in quotes' if key in ("help", "note") else "a value")
            elif key in ("help", "note", "else", "try") and not isinstance(
                clause.value, tree.Quoted
            ) and clause.value is not None:
                self.fault("wrong-kind", f"{key} is a text in quotes", clause.value.span,
                           f'as in: {key} "…"')

    def once(self, clause: tree.Clause, seen: dict[str, Span]) -> None:
        """A key stands once on a line."""
        key = clause.key.name
        if key in seen:
            self.fault("clause-twice", f"{key} is said twice", clause.key.span, "keep one of them",
                       also=((seen[key], "first said here"),))
        seen.setdefault(key, clause.key.span)

    def no_value(self, clause: tree.Clause, due: str) -> None:
        """A key without its value."""
        self.fault("value-missing", f"{clause.key.name} needs {due} after it", clause.key.span)

    def feature(self, line: tree.Feature, block: Block) -> None:
        """A line of work: its word, its clauses, then its name."""
        known, word = block.word(line.word.name)
        if not known:
            self.unknown_word(line, block)
        if word is not None:
            takes = {take.name: take for take in word.takes}
            self.clauses(line.clauses, takes, word.places, word.name, block)
            if line.whole:
                self.needed(line, word)
        else:  # nothing is known of its keys, but the names in its values can be looked at
            for clause in line.clauses:
                if clause.value is not None and not isinstance(clause.value, tree.Name):
                    self.value(clause.value, block)
        if line.name is not None:
            self.define(line.name, block)

    def unknown_word(self, line: tree.Feature, block: Block) -> None:
        """No such word: is it below, is it this very word, is it misspelt?"""
        name = line.word.name
        if name in self.open_words:
            self.fault("word-in-itself", f"the word {name} uses itself", line.word.span,
                       "repeat with each, or teach the inner part as a word of its own")
            return
        for around in block.around():
            if name in around.later:
                self.fault("used-above", f"the word {name} is taught further down",
                           line.word.span, "move the word above its use",
                           also=((around.later[name], "taught here"),))
                return
        words = [word for around in block.around() for word in around.words]
        near = nearest(name, words)
        if near is None and block.finds(name):
            remedy: str | None = f"`{name}` is a feature or a measure; a line starts with a word"
        else:
            remedy = f"did you mean `{near}`?" if near else "posy words lists all words"
        self.fault("unknown-word", f"there is no word `{name}`", line.word.span, remedy)

    def clauses(
        self, clauses: tuple[tree.Clause, ...], takes: Mapping[str, Take], places: bool,
        word: str, block: Block,
    ) -> None:
        """The clauses of a line of work."""
        seen: dict[str, Span] = {}
        for clause in clauses:
            key = clause.key.name
            take = takes.get(key) or (PLACING_BY_NAME.get(key) if places else None)
            if take is None:
                self.unknown_clause(clause, takes, places, word)
                if clause.value is not None and not isinstance(clause.value, tree.Name):
                    self.value(clause.value, block)
                continue
            self.once(clause, seen)
            if clause.value is None:
                if take.kind is not Kind.FLAG:
                    self.no_value(clause, DUE[take.kind])
            else:
                self.clause_value(clause.value, take, block)

    def clause_value(self, value: tree.Expression, take: Take, block: Block) -> None:
        """A clause's value; a choice may be a bare name."""
        if take.kind is Kind.CHOICE and isinstance(value, tree.Name):
            if not take.choices or value.name in take.choices or block.finds(value.name):
                return
            among = (*take.choices, *_in_sight(block))
            self.fault(
                "unknown-choice", f"{take.name} cannot be `{value.name}`", value.span,
                did_you_mean(value.name, among) or choices_shown(take.choices), seen=value.name,
            )
            return
        self.value(value, block)

    def unknown_clause(
        self, clause: tree.Clause, takes: Mapping[str, Take], places: bool, word: str
    ) -> None:
        """A key the word does not take."""
        key = clause.key.name
        among = (*takes, *(PLACING_BY_NAME if places else ()))
        remedy = did_you_mean(key, among)
        if remedy is None and key == "metal":
            remedy = METAL_HINT
        if remedy is None and takes:
            listed = ", ".join(list(takes)[:12])
            remedy = f"it takes {listed}" + (" and the placing clauses" if places else "")
        self.fault("unknown-clause", f"{word} takes no `{key}`", clause.key.span, remedy)

    def needed(self, line: tree.Feature, word: Word) -> None:
        """What the word needs and the line does not say."""
        given = [clause.key for clause in line.clauses]
        names = {key.name for key in given}
        for take in word.takes:
            if take.needed and take.default is None and take.name not in names:
                self.fault("clause-missing", f"{word.name} needs {take.name}, {DUE[take.kind]}",
                           line.head, f"add {take.name}" + (f": {take.help}" if take.help else ""))
        for group in word.one_of:
            said = [key for key in given if key.name in group]
            if not said:
                self.fault("clause-missing", f"{word.name} needs one of {', '.join(group)}",
                           line.head, "say one of them")
            for key in said[1:]:
                if key.name != said[0].name:
                    self.fault("clauses-disagree", f"{said[0].name} and {key.name} are said together",
                               key.span, "keep one of them",
                               also=((said[0].span, "the other one"),))

    # --- values

    def value(self, node: tree.Expression, block: Block) -> None:
        """The names and functions in an expression."""
        match node:
            case tree.Name():
                if not block.finds(node.name) and node.name not in self.choices:
                    self.unknown_name(node, block)
                elif block.in_word() is not None:
                    self.not_of_work(node, block)
            case tree.Paren() | tree.Minus() | tree.Negate():
                self.value(node.inner, block)
            case tree.Of():
                self.value(node.thing, block)
            case tree.Sized() | tree.Spot():
                for part in node.parts:
                    self.value(part, block)
            case tree.Arithmetic() | tree.Logic() | tree.Run():
                for member in node.members:
                    self.value(member, block)
            case tree.Compare():
                self.value(node.left, block)
                self.value(node.right, block)
            case tree.Invoke():
                self.invoke(node, block)

    def not_of_work(self, node: tree.Name, block: Block) -> None:
        """A word that is taken elsewhere cannot rest on the work of its own file."""
        for around in block.around():
            if node.name in around.names:
                if node.name in around.work:
                    self.fault(
                        "word-needs-work", f"this word rests on `{node.name}`, made in the work "
                        "of its own file", node.span,
                        "let the word take it as a key: takes body: feature",
                    )
                return

    def invoke(self, node: tree.Invoke, block: Block) -> None:
        """A function: known, with as many arguments as it takes."""
        name = node.function.name
        function = FUNCTIONS.get(name)
        if function is None:
            self.fault("unknown-function", f"there is no function `{name}`", node.function.span,
                       did_you_mean(name, FUNCTIONS) or "there are " + ", ".join(FUNCTIONS))
        elif name == "given":
            self.given(node, block)
            return
        else:
            count = len(node.arguments)
            if count < function.least or (function.most is not None and count > function.most):
                wanted = f"{function.least}" if function.most == function.least else (
                    f"{function.least} or more" if function.most is None
                    else f"{function.least} to {function.most}"
                )
                self.fault("argument-count", f"{name} works on {wanted}, here on {count}",
                           node.span, f"as in: {function.example}", seen=str(count), limit=wanted)
        for argument in node.arguments:
            self.value(argument, block)

    def given(self, node: tree.Invoke, block: Block) -> None:
        """given(key) asks for a key of the word it stands in."""
        body = block.in_word()
        if body is None or body.keys is None:
            self.fault("given-misplaced", "given asks inside a word what its line said",
                       node.span, "it means nothing outside a word")
            return
        key = node.arguments[0] if len(node.arguments) == 1 else None
        if not isinstance(key, tree.Name) or key.name not in body.keys:
            seen = key.name if isinstance(key, tree.Name) else ""
            self.fault("given-misplaced", "given asks for one key of this word", node.span,
                       did_you_mean(seen, body.keys and sorted(body.keys))
                       or "its keys: " + ", ".join(sorted(body.keys)))

    def unknown_name(self, node: tree.Name, block: Block, what: str = "name") -> None:
        """No such name: is it below, is a minus without spaces meant, is it misspelt?"""
        for around in block.around():
            if node.name in around.later:
                self.fault("used-above", f"`{node.name}` is named further down", node.span,
                           "move its line above this one",
                           also=((around.later[node.name], "named here"),))
                return
        parts = node.name.split("-")
        for cut in range(1, len(parts)):
            left, right = "-".join(parts[:cut]), "-".join(parts[cut:])
            if block.finds(left) and (block.finds(right) or right.replace(".", "").isdigit()):
                self.fault("unknown-name", f"there is no {what} `{node.name}`", node.span,
                           f"a minus needs spaces: {left} - {right}")
                return
        among = (*_in_sight(block), *sorted(self.choices))
        self.fault("unknown-name", f"there is no {what} `{node.name}` above", node.span,
                   did_you_mean(node.name, among))


def _in_sight(block: Block) -> list[str]:
    """Names in sight, at most a thousand: suggestions must not cost more than the file."""
    names: list[str] = []
    for around in block.around():
        names.extend(around.names)
        if len(names) > 1000:
            break
    return names[:1000]


def _defined(line: tree.Line) -> tree.Name | None:
    """The name a line makes known to the lines after it."""
    match line:
        case tree.Feature() | tree.Group():
            return line.name
        case tree.Measure() | tree.WordBlock():
            return line.name
    return None
