"""The static pass: checks names, words and clause keys over the whole text.

It goes into every branch and every word, used or not, and so finds what a run would not meet.
The run says nothing of what this pass has reported."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Set
from dataclasses import replace
from typing import NamedTuple

from . import tree
from .astray import Host, host
from .clauses import ClauseCheck
from .expectations import figures_in
from .faults import Fault, Level, Span
from .handed import handed_by
from .lexicon import Trade
from .names import Block, Names, Notes
from .parse import BLOCK_WORDS
from .placing import PLACING_BY_NAME
from .word_lines import WordLines
from .words import Word

PIECE_CLAUSES = "metal", "note"
_LEFT = ("outer", "library")  # the blocks at the left edge of a file


class Stands(NamedTuple):
    """Where a line may stand: in which blocks, whether only as the first line; and how that is said."""

    word: str
    blocks: tuple[str, ...]
    where: str
    first: bool = False


_STANDS: dict[type[tree.Line], Stands] = {
    tree.Version: Stands("posy", _LEFT, "it is the first line of the file", True),
    tree.Piece: Stands("piece", _LEFT, "it is the first line of the file", True),
    tree.WordBlock: Stands("word", _LEFT, "teach words at the left edge of the file"),
    tree.TakeFrom: Stands("from", _LEFT, "take words at the left edge of the file"),
    tree.Series: Stands("series", _LEFT, "it belongs at the left edge of the file"),
    tree.Takes: Stands("takes", ("word",), "it belongs right below a word line"),
    tree.Help: Stands("help", ("word",), "it belongs right below a word line"),
    tree.Serves: Stands("serves", ("word",), "it belongs right below a word line"),
    tree.Waive: Stands("waive", (), "waive in the piece, not in a word"),
}


class Resolver:
    """Walks a tree, line by line.

    ``words`` are the core and standard words; ``choices`` the bare names that stand for
    themselves somewhere; ``taken`` what each ``from`` line of this text brings (by its span),
    or None where it failed; ``records`` the records of the word blocks (by span); ``roles``
    what a word may serve as, ``trade`` what people may mean by a name that is none."""

    def __init__(
        self, words: Mapping[str, Word], choices: Set[str], taken: Mapping[Span, Mapping[str, Word | None]],
        records: Mapping[Span, Word], roles: Iterable[str] = (), trade: Trade | None = None,
    ) -> None:
        self.standard = words
        self.taken = taken
        self.records = records
        self.trade = trade or Trade()
        self.notes = Notes()
        self.fault = self.notes.fault
        self.names = Names(choices, self.notes)
        self.check = ClauseCheck(self.names, self.trade, words)
        self.word_lines = WordLines(self.names, self.check, tuple(roles))
        self.text = ""
        self.open_words: list[str] = []  # the words whose bodies we are in
        # The line above, and the last that was no line but a clause of it.
        self.above: tree.Line | None = None
        self.alone: tree.Line | None = None

    def file(self, file: tree.File, library: bool = False) -> list[Fault]:
        """Everything found in ``file``; of a ``library`` only words and measures are read."""
        self.text = file.text
        outer = Block("library" if library else "outer", lexicon=self.standard)
        self.block(file.lines, outer)
        return self.notes.faults

    # --- blocks and names

    def block(self, lines: tuple[tree.Line, ...], block: Block) -> None:
        """Checks the lines of a block; names defined further down are known as such."""
        for line in lines:
            name = _defined(line)
            if name is not None:
                block.later.setdefault(name.name, name.span)
                if isinstance(line, tree.WordBlock):
                    block.later_words.add(name.name)
        first = True
        for line in lines:
            self.line(line, block, first)
            first = first and isinstance(line, tree.Version)
            if not (isinstance(line, tree.Unread) or line is self.alone):
                self.above = line

    def define(self, name: tree.Name, block: Block) -> None:
        """Make ``name`` known from here on."""
        if block.names.get(name.name) is not None:
            earlier = block.names[name.name]
            assert earlier is not None
            self.fault(
                "name-taken", f"'{name.name}' already names something in this block", name.span,
                f"write {self.free(name.name, block)}, or another name of your own",
                also=((earlier, "first used here"),),
            )
            return
        block.names[name.name] = name.span
        block.later.pop(name.name, None)
        block.gone.pop(name.name, None)

    def left(self, line: tree.When | tree.Each, block: Block) -> None:
        """What all branches of a `when` name is known after it; what else was named there is gone."""
        known = tree.names_made((line,))
        blocks = line.branches if isinstance(line, tree.When) else (line,)
        for one in (made for inner in blocks for made in tree.names_made(inner.lines).values()):
            if not isinstance(one, tree.Unread) and one.name is not None:
                block.gone[one.name.name] = one, type(line)
        for name, one in known.items():
            if isinstance(one, tree.Unread) or one.name is None:
                block.names.setdefault(name, None)
            else:
                self.define(one.name, block)

    def free(self, name: str, block: Block) -> str:
        """A name like ``name`` that nothing has yet."""
        numbers = range(2, len(block.names) + len(block.later) + 3)
        likes = (f"{name}-{number}" for number in numbers)
        return next(like for like in likes if not block.finds(like) and like not in block.later)

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
                    self.values((branch.test,), block)
                    self.block(branch.lines, Block("inner", block))
                self.left(line, block)
            case tree.Expect() if block.where != "library":
                self.expect(line, block)
            case tree.Unread():
                self.unread_word(line, block)
                for name in line.names:
                    block.names.setdefault(name, None)
                    if line.names[0] in ("word", "from"):
                        block.words.setdefault(name, None)
                self.block(line.lines, Block("inner", block))
            case _:
                self.placed_line(line, block, first)

    def placed_line(self, line: tree.Line, block: Block, first: bool) -> None:
        """Lines that may stand only in certain blocks."""
        if not self.stands(line, block, first):
            self.fault(
                "block-misplaced",
                f"a {line.word if isinstance(line, tree.Help) else _STANDS[type(line)].word} line "
                "cannot stand here",
                line.span,
                _STANDS[type(line)].where,
            )
        match line:
            case tree.Piece():
                self.check.known_clauses(line.clauses, PIECE_CLAUSES, "piece", frozenset(("note",)))
            case tree.WordBlock():
                self.word_block(line, block)
            case tree.TakeFrom() if block.where in _LEFT:
                self.take_from(line, block)
            case tree.Serves() if block.where == "word":
                self.word_lines.serves(line)
            case tree.Series() if block.where == "outer":
                self.series(line, block)
            case tree.Waive() if block.in_word() is None and block.where != "library":
                if line.feature is not None:
                    self.names.value(line.feature, block)

    def stands(self, line: tree.Line, block: Block, first: bool) -> bool:
        """Whether a line stands in a block where it may."""
        stands = _STANDS.get(type(line))
        if stands is None:
            return True
        if isinstance(line, tree.Waive):
            return block.in_word() is None
        return block.where in stands.blocks and (first or not stands.first)

    def values(self, nodes: Iterable[tree.Expression | None], block: Block) -> None:
        """The names in several expressions."""
        for node in nodes:
            if node is not None:
                self.names.value(node, block)

    def measure(self, line: tree.Measure, block: Block) -> None:
        """A measure: its value sees the names above it."""
        self.names.value(line.value, block)
        self.check.known_clauses(line.clauses, ("from", "help"), "measure")
        self.values((clause.value for clause in line.clauses), block)
        if block.work and any(name in block.work for name in tree.names_in(line.value)):
            block.work.add(line.name.name)
        self.define(line.name, block)

    def feature(self, line: tree.Feature, block: Block) -> None:
        """A line of work: the word must be known and take the clauses; its name is known from here on."""
        known, word = block.word(line.word.name)
        if not known:
            self.unknown_word(line, block)
        if word is not None:
            takes = {take.name: take for take in word.takes}
            if word.body is not None:
                takes |= handed_by(word, self.standard.get("workpiece"))
            self.check.clauses(line.clauses, takes, word.places, word.name, block)
            if line.whole:
                self.check.needed(line, word, block.in_word())
            elif line.lines:
                self.fault(
                    "block-misplaced", f"{word.name} takes no lines of work below it", line.lines[0].span,
                    "move it to the left edge of its block", also=((line.span, "the line above"),),
                )
        else:  # nothing is known of its keys, but the names in its values can be looked at
            said = (clause.value for clause in line.clauses)
            self.values((value for value in said if not isinstance(value, tree.Name)), block)
        if line.name is not None:
            self.define(line.name, block)
            if word is not None:
                block.within[line.name.name] = word

    def unread_word(self, line: tree.Unread, block: Block) -> None:
        """The word of a line that cannot be read, where it is none and one is likely meant."""
        span = line.span
        head = re.match(r"([^\W\d_][\w-]*)(?:\s+[^\W\d_][\w-]*)?\s*:", self.said(span))
        name = head[1] if head else ""
        if not name or name in BLOCK_WORDS or block.word(name)[0] or self.notes.full():
            return
        if self.trade.meant(name, self.standard):
            end, column = span.start + len(name), span.column + len(name)
            at = replace(span, end_line=span.line, end=end, end_column=column)
            message, remedy = self.trade.not_taught(name, self.standard, False)
            self.fault("unknown-word", message, at, remedy)

    def unknown_word(self, line: tree.Feature, block: Block) -> None:
        """No such word: is it a clause of the line above, below, this very word, misspelt?"""
        if self.notes.full():
            return
        name, span = line.word.name, line.word.span
        below = next((at for at in block.around() if name in at.later and name in at.later_words), None)
        if name in self.open_words:
            self.fault(
                "word-in-itself", f"the word {name} uses itself", span,
                "repeat with each, or teach the inner part as a word of its own",
            )
        elif below is not None:
            self.fault(
                "used-above", f"the word {name} is taught further down", span,
                "move the word above its use", also=((below.later[name], "taught here"),),
            )
        elif not line.clauses and name in self.clauses_above(block):
            from .slips import clause_alone

            self.alone = line
            of = self.above if isinstance(self.above, tree.Group) else None
            head = f"{of.word} {of.name.name}" if of is not None and of.name is not None else ""
            whole = f"{name} {line.name.name}" if line.name is not None else name
            told = clause_alone(name, line.span, head, whole)
            self.fault(told.code, told.message, line.span, told.remedy)
        elif (found := self.host(line, block)) is not None:
            key = found.take.name
            here = f"'{name}' is" if key == name else f"here '{name}' is {key},"
            message = f"{here} a clause of {found.name}, not a word of its own"
            self.fault("clause-alone", message, line.span, found.remedy(self.said(line.span)))
        else:
            words = [word for around in block.around() for word in (*around.words, *around.lexicon)]
            message, remedy = self.trade.not_taught(name, words, bool(block.finds(name)))
            self.fault("unknown-word", message, span, remedy)

    def said(self, span: Span) -> str:
        """The text of ``span``."""
        return self.text[span.start : span.end]

    def host(self, line: tree.Feature, block: Block) -> Host | None:
        """What takes the word of ``line`` as a clause, where the trade has no word of that name."""
        name = line.word.name.casefold()
        keys = () if name in self.trade.words else (name, *self.trade.clauses.get(name, ()))
        return host(keys, self.said(line.span), block)

    def clauses_above(self, block: Block) -> Iterable[str]:
        """The clauses that the line above takes."""
        match self.above:
            case tree.Piece():
                return PIECE_CLAUSES
            case tree.Feature():
                _, word = block.word(self.above.word.name)
                if word is None:
                    return ()
                common = PLACING_BY_NAME if word.places else ()
                return {*(take.name for take in word.takes), *common}
            case tree.Group() if (group := self.standard.get(self.above.word)) is not None:
                return {*(take.name for take in group.takes), *PLACING_BY_NAME}
        return ()

    def group(self, line: tree.Group, block: Block) -> None:
        """A group or casting takes placing clauses, and what it hands down."""
        word = self.standard.get(line.word)
        takes = {take.name: take for take in word.takes} if word else {}
        self.check.clauses(line.clauses, takes, True, line.word, block)
        inner, self.above = Block("inner", block), line
        self.block(line.lines, inner)
        if line.name is not None:
            self.define(line.name, block)
            block.within[line.name.name] = inner

    def each(self, line: tree.Each, block: Block) -> None:
        """An each: its name is known inside only."""
        self.values((line.first, line.last, line.step, line.things), block)
        inner = Block("inner", block)
        inner.names[line.name.name] = line.name.span
        self.block(line.lines, inner)
        self.left(line, block)

    def expect(self, line: tree.Expect, block: Block) -> None:
        """An expect needs a message."""
        self.names.value(line.test, block)
        self.check.known_clauses(line.clauses, ("else", "try"), "expect")
        if not any(clause.key.name == "else" for clause in line.clauses):
            self.fault(
                "clause-missing", "an expect line says what is wrong when it fails", line.span,
                'add: else "message"',
            )
        self.values((clause.value for clause in line.clauses), block)
        texts = [clause.value for clause in line.clauses if isinstance(clause.value, tree.Quoted)]
        self.values((name for text in texts for name in figures_in(text)), block)

    def series(self, line: tree.Series, block: Block) -> None:
        """A series names measures above it, and metal."""
        if not line.clauses:
            self.fault(
                "clause-missing", "a series says what it varies", line.span,
                "as in: series sizes: across 2 mm to 3 mm",
            )
        seen: dict[str, Span] = {}
        for clause in line.clauses:
            self.check.once(clause, seen)
            if clause.value is None:
                key = clause.key.name
                self.check.no_value(clause, "values joined by to", f"as in: {key} 2 mm to 3 mm")
            elif clause.key.name != "metal":
                if not block.finds(clause.key.name):
                    self.names.unknown_name(clause.key, block, "measure")
                self.names.value(clause.value, block)

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
            self.fault(
                "name-taken", f"a word '{name.name}' is already taught", name.span,
                "give one of them another name",
            )
        elif known and before is not None:
            self.fault(
                "word-hidden", f"this word stands in for the standard word {name.name}", name.span,
                "give it another name if that is not meant", level=Level.HINT,
            )
        block.words[name.name] = word

    def word_block(self, line: tree.WordBlock, block: Block) -> None:
        """A word: its keys are names in its body."""
        body = Block("word", block, keys=frozenset(take.name.name for take in line.takes))
        self.open_words.append(line.name.name)
        working = False
        for take in line.lines:
            if isinstance(take, tree.Takes):
                self.word_lines.takes(take, body)
                self.define(take.name, body)
                if working:
                    self.fault("block-misplaced", "takes lines stand above the work", take.span, "move it up")
            elif not isinstance(take, tree.Help | tree.Serves | tree.Measure | tree.Expect):
                working = True
        self.block(tuple(li for li in line.lines if not isinstance(li, tree.Takes)), body)
        self.open_words.pop()
        self.teach(line.name, self.records.get(line.span), block)


def _defined(line: tree.Line) -> tree.Name | None:
    """The name a line makes known to the lines after it."""
    match line:
        case tree.Feature() | tree.Group() | tree.Measure() | tree.WordBlock():
            return line.name
    return None
