"""Lines of work: clauses checked, core words made by the bench, words in posy expanded."""

from __future__ import annotations

from collections.abc import Mapping, Set
from dataclasses import replace
from typing import Any

from . import tree
from .arguments import Checker
from .bench import NAMELESS, Argument, Bench, Call
from .calls import Clauses, Takes, group_word, placing_of
from .expressions import Enough
from .faults import Fault, Span
from .outcome import Outcome
from .placing import PLACING_BY_NAME
from .questions import Reckoner
from .scope import Absent, Known, Scope
from .values import BROKEN, Broken, Truth
from .words import Kind, Word

MOST_WORK = 20_000
MOST_WORDS_DEEP = 16
MOST_FAULTS = 100


class Work:
    """Does the lines of work of one piece. Make a new one for each run.

    ``choices`` are the bare names that stand for themselves, ``records`` the records of word
    blocks by span.
    """

    def __init__(
        self,
        bench: Bench,
        choices: Set[str],
        records: Mapping[Span, Word],
    ) -> None:
        self.bench = bench
        self.records = records
        self.outcome = Outcome()
        self.trail: tuple[Span, ...] = ()
        self.callers: list[tuple[tree.Feature, Scope]] = []
        self.reckoner = Reckoner(bench, choices, self.tell)
        self.checker = Checker(self.reckoner.describe, bench.as_kind)
        self.takes = Takes()
        self.group = group_word(bench)
        self.work = 0
        # What the words and groups one is inside of have made so far, the innermost last.
        self.parts: list[list[Any]] = [[]]
        self._told: set[tuple[object, ...]] = set()
        self._used: dict[str, int] = {}

    # --- telling

    def tell(self, fault: Fault) -> None:
        """Keep a fault with the trail that led to it; one of a kind for each place."""
        if self.trail and not fault.trail:
            fault = replace(fault, trail=self.trail)
        span = fault.span
        # A line done many times tells a thing once, though its figures may differ.
        key = (fault.code, span, fault.trail[:1], None if span else fault.message)
        if key in self._told:
            return
        self._told.add(key)
        self.outcome.faults.append(fault)
        if len(self.outcome.faults) >= MOST_FAULTS:
            raise Enough

    def fault(
        self, code: str, message: str, span: Span, remedy: str | None = None, **more: Any
    ) -> None:
        """Tell a fault."""
        self.tell(Fault(code, message, span, remedy=remedy, **more))

    def enough(self, message: str, span: Span, limit: int, remedy: str) -> None:
        """Tell that a cap was met, and stop."""
        self.fault("too-much-work", message, span, remedy, limit=f"at most {limit:,}")
        raise Enough

    def block(self, lines: tuple[tree.Line, ...], scope: Scope, prefix: str) -> None:
        """The lines of a block, in order."""
        raise NotImplementedError

    def define(self, name: tree.Name, value: Any, scope: Scope) -> None:
        """Give ``name`` its value, unless it is taken (told by resolve.py)."""
        scope.names.setdefault(name.name, value)

    # --- work

    def count_work(self, span: Span) -> None:
        """One more line of work."""
        self.work += 1
        if self.work > MOST_WORK:
            self.enough(
                "this piece takes too many lines of work",
                span,
                MOST_WORK,
                "lay copies out with line, grid, circle or along",
            )

    def full_name(self, word: str, name: tree.Name | None, prefix: str) -> str:
        """A name for a feature that no other of the piece has."""
        full = prefix + (name.name if name is not None else word)
        count = self._used.get(full, 0) + 1
        self._used[full] = count
        if count == 1:
            return full
        numbered = f"{full} {count}"
        self._used[numbered] = 1
        return numbered

    def clauses_for(self, head: Span) -> Clauses:
        """A new set of checked clauses."""
        return Clauses(self.reckoner, self.checker, head)

    def feature(self, line: tree.Feature, scope: Scope, prefix: str) -> None:
        """A line of work; what it makes gets the line's name."""
        self.count_work(line.head)
        known = scope.find_word(line.word.name)
        made: Any = BROKEN
        if known is None:
            made = BROKEN  # told by resolve.py
        elif known.block is None:
            made = self.core(line, known.word, scope, prefix)
        else:
            made = self.expand(line, known, scope, prefix)
        if line.name is not None:
            self.define(line.name, made, scope)

    def core(self, line: tree.Feature, word: Word, scope: Scope, prefix: str) -> Any:
        """A word the bench makes by itself."""
        clauses = self.clauses_for(line.head)
        takes = self.takes.core(word)
        clauses.read(line.clauses, takes, scope)
        if any(take.default is not None for take in word.takes):
            clauses.defaults(word, None, self.key_scope(word, clauses, Scope(), False))
        clauses.needs(word, self.fault)
        if not clauses.good or not line.whole or not self.complete(line, word, clauses):
            return BROKEN
        name = self.full_name(word.name, line.name, prefix)
        call = Call(word, name, clauses.arguments, line.head, self.trail, self.words())
        made, faults = self.bench.make(call)
        return self.made(made, faults, name)

    def made(self, feature: Any, faults: list[Fault], name: str) -> Any:
        """What the bench made, named; BROKEN if it could not."""
        for fault in faults:
            self.tell(fault)
        if feature is None:
            return BROKEN
        self.reckoner.name_thing(feature, name)
        self.parts[-1].append(feature)
        return feature

    def complete(self, line: tree.Feature, word: Word, clauses: Clauses) -> bool:
        """Whether all keys are known and all needed ones there (if not, resolve.py told)."""
        takes = self.takes.core(word)
        if any(clause.key.name not in takes for clause in line.clauses):
            return False
        if any(take.needed and take.name not in clauses.arguments for take in word.takes):
            return False
        given = {clause.key.name for clause in line.clauses} - clauses.dropped
        return all(len(given.intersection(group)) == 1 for group in word.one_of)

    def key_scope(self, word: Word, clauses: Clauses, scope: Scope, flags: bool) -> Scope:
        """``scope`` with the word's keys as names; those not given are Absent, flags false."""
        for take in word.takes:
            if take.name in clauses.values:
                scope.names[take.name] = clauses.values[take.name]
            elif flags and take.kind is Kind.FLAG:
                scope.names[take.name] = Truth(False)
            else:
                scope.names[take.name] = Absent(take.name)
        return scope

    def expand(self, line: tree.Feature, known: Known, scope: Scope, prefix: str) -> Any:
        """A word written in posy: its lines, with its keys as names."""
        block, word = known.block, known.word
        assert block is not None
        if len(self.trail) >= MOST_WORDS_DEEP:
            self.fault(
                "too-deep",
                "words stand too deep in words here",
                line.head,
                "let the inner words be used by the line itself",
                limit=f"at most {MOST_WORDS_DEEP} deep",
            )
            return BROKEN
        own = self.takes.own(word)
        clauses = self.clauses_for(line.head)
        clauses.read(line.clauses, own, scope)
        inside = Scope(known.scope, frozenset(clauses.arguments))
        self.key_scope(word, clauses, inside, True)
        self.fill_defaults(word, block, clauses, inside)
        clauses.needs(word, self.fault)
        placing = placing_of(line.clauses, own)
        placed = self.clauses_for(line.head)
        placed.read(placing, PLACING_BY_NAME, scope)
        if not (clauses.good and placed.good and line.whole):
            return BROKEN
        if not self.complete(line, word, clauses):
            return BROKEN
        name = self.full_name(word.name, line.name, prefix)
        caller = (line, scope)
        if placing and "at" in clauses.arguments and self.set_out(clauses, placed, name, line):
            inside.names["at"] = clauses.values["at"]
            placing = ()
        if not placing:
            made = self.inside(block, inside, name, caller)
            return self.bundle(block, inside, name, made)
        return self.placed(block, inside, name, placed, clauses.arguments, line.head, caller)

    def set_out(self, clauses: Clauses, placed: Clauses, name: str, line: tree.Feature) -> bool:
        """Move the places that a word stands at, each about itself, as its placing clauses say;
        False where the bench cannot."""
        ask = getattr(self.bench, "set_out", None)
        if ask is None:
            return False
        arguments = {**placed.arguments, "at": clauses.arguments["at"]}
        call = Call(self.group, name, arguments, line.head, self.trail, self.words())
        places, faults = ask(call)
        for fault in faults:
            self.tell(fault)
        if places is not None:
            clauses.values["at"] = places
        return places is not None

    def fill_defaults(
        self, word: Word, block: tree.WordBlock, clauses: Clauses, inside: Scope
    ) -> None:
        """Defaults in the order of the takes lines; each sees those before it."""
        for take in word.takes:
            if take.name in clauses.arguments:
                continue
            node = clauses.default(take, block)
            if node is None:
                continue
            clauses.one_default(node, take, inside)
            if take.name in clauses.values:
                inside.names[take.name] = clauses.values[take.name]

    def inside(
        self, block: tree.WordBlock, scope: Scope, name: str, caller: tuple[tree.Feature, Scope]
    ) -> list[Any]:
        """The work of a word; all it made, what stands in `each` and `when` too."""
        before = self.trail
        self.trail = (*before, caller[0].head)
        self.callers.append(caller)
        self.parts.append([])
        self.block(block.lines, scope, f"{name}.")
        self.callers.pop()
        self.trail = before
        return self.parts.pop()

    def words(self) -> tuple[str, ...]:
        """Names of the words one is inside of, the outermost first."""
        return tuple(line.word.name for line, _ in self.callers)

    def bundle(
        self, block: tree.WordBlock, scope: Scope, name: str, made: list[Any]
    ) -> Any:
        """A feature that stands for all a word made; BROKEN if a part of it is. What has no
        name outside its `each` or `when` is a member without one."""
        members = self.members(block, scope)
        if any(isinstance(member, Broken) for member in members.values()):
            return BROKEN
        named = {id(member) for member in members.values()}
        nameless = [part for part in made if id(part) not in named]
        members |= {f"{NAMELESS}{k}": part for k, part in enumerate(nameless)}
        feature = self.bench.bundle(name, members)
        if feature is None:
            return BROKEN
        self.reckoner.name_thing(feature, name)
        self.parts[-1].append(feature)
        return feature

    def members(self, block: tree.WordBlock, scope: Scope) -> dict[str, Any]:
        """The named parts of a word's work, in order."""
        names = (
            line.name.name
            for line in block.lines
            if isinstance(line, tree.Feature | tree.Group) and line.name is not None
        )
        return {name: scope.names[name] for name in names if name in scope.names}

    def placed(
        self,
        block: tree.WordBlock,
        inside: Scope,
        name: str,
        placed: Clauses,
        served: Mapping[str, Argument],
        head: Span,
        caller: tuple[tree.Feature, Scope],
    ) -> Any:
        """A word's work as a group of its own, placed as the user's line says."""
        arguments = dict(placed.arguments)
        if "for" in served:  # it turns about the stone it is for, not about the piece's middle
            arguments["for"] = served["for"]
        call = Call(self.group, name, arguments, head, self.trail, self.words())
        for fault in self.bench.open_group(call):
            self.tell(fault)
        self.inside(block, inside, name, caller)
        broken = any(isinstance(m, Broken) for m in self.members(block, inside).values())
        made = self.made(*self.bench.close_group(call), name)
        return BROKEN if broken else made

    def group_block(self, line: tree.Group, scope: Scope, prefix: str) -> None:
        """A group: its lines by themselves, then soldered in."""
        self.count_work(line.head)
        clauses = self.clauses_for(line.head)
        clauses.read(line.clauses, self.takes.core(self.group), scope)
        known = all(clause.key.name in self.takes.core(self.group) for clause in line.clauses)
        name = self.full_name("group", line.name, prefix)
        call = Call(self.group, name, clauses.arguments, line.head, self.trail, self.words())
        # Opened and closed in step whatever was wrong, so that the lines inside are looked at.
        for fault in self.bench.open_group(call):
            self.tell(fault)
        self.parts.append([])
        self.block(line.lines, Scope(scope), f"{name}.")
        self.parts.pop()
        made = self.made(*self.bench.close_group(call), name)
        if line.name is not None:
            self.define(line.name, made if clauses.good and known else BROKEN, scope)
