"""The walk through a checked tree, line by line, with the bench doing the work."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from . import tree
from .arguments import Checker
from .bench import Bench, Call
from .calls import Clauses, Takes, group_word, placing_of
from .expressions import Enough, Reckoner
from .faults import Fault, Span
from .measures import comparable, mismatch, order
from .outcome import Outcome
from .placing import PLACING_BY_NAME
from .scope import Absent, Known, Scope
from .shown import quantity
from .values import BROKEN, NUMBER, Broken, Quantity, Truth
from .words import Kind, Word

MOST_TURNS = 20_000
MOST_WORK = 20_000
MOST_WORDS_DEEP = 16
MOST_FAULTS = 100


class Evaluator:
    """Runs the lines of one piece. Make a new one for each run.

    ``choices`` are the bare names that stand for themselves, ``records`` the records of word
    blocks by span.
    """

    def __init__(
        self,
        bench: Bench,
        choices: frozenset[str],
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
        self.turns = 0
        self.work = 0
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

    # --- blocks

    def block(self, lines: tuple[tree.Line, ...], scope: Scope, prefix: str) -> None:
        """The lines of a block, in order."""
        for line in lines:
            match line:
                case tree.Feature():
                    self.feature(line, scope, prefix)
                case tree.Measure():
                    self.measure(line, scope)
                case tree.Group():
                    self.group_block(line, scope, prefix)
                case tree.Each():
                    self.each(line, scope, prefix)
                case tree.When():
                    self.when(line, scope, prefix)
                case tree.Expect():
                    self.expect(line, scope)
                case tree.WordBlock():
                    record = self.records.get(line.span)
                    if record is not None:
                        scope.words[line.name.name] = Known(record, line, scope)
                case tree.TakeFrom():
                    scope.words.update(self.take(line))
                case tree.Unread():
                    for name in line.names:
                        scope.names.setdefault(name, BROKEN)
                        if line.names[0] in ("word", "from"):
                            scope.words.setdefault(name, None)
                case _:
                    self.other_line(line, scope)

    def other_line(self, line: tree.Line, scope: Scope) -> None:
        """Lines of the outer block, which piece.py reads."""

    def take(self, line: tree.TakeFrom) -> dict[str, Known | None]:
        """The words a ``from`` line brings; piece.py knows the files."""
        return {name.name: None for name in line.names}

    def define(self, name: tree.Name, value: Any, scope: Scope) -> None:
        """Give ``name`` its value, unless it is taken (told by resolve.py)."""
        scope.names.setdefault(name.name, value)

    def measure(self, line: tree.Measure, scope: Scope) -> None:
        """A measure of an inner block; piece.py reads those that can be set."""
        self.define(line.name, self.reckoner.value(line.value, scope), scope)

    def when(self, line: tree.When, scope: Scope, prefix: str) -> None:
        """The first branch whose test holds; none if one before it cannot be told."""
        for branch in line.branches:
            outcome: bool | Broken = True
            if branch.test is not None:
                outcome = self.reckoner.test(branch.test, scope)
            if isinstance(outcome, Broken):
                return
            if outcome:
                self.block(branch.lines, Scope(scope), prefix)
                return

    def each(self, line: tree.Each, scope: Scope, prefix: str) -> None:
        """The lines once per turn."""
        values = self.turns_of(line, scope)
        if isinstance(values, Broken):
            return
        for value in values:
            self.turns += 1
            if self.turns > MOST_TURNS:
                self.enough("all each lines together take too many turns", line.span, MOST_TURNS,
                            "lay copies out with line, grid, circle or along")
            inner = Scope(scope)
            inner.names[line.name.name] = value
            self.block(line.lines, inner, prefix)

    def turns_of(self, line: tree.Each, scope: Scope) -> Any:
        """What the name of an each stands for, turn by turn."""
        if line.things is not None:
            return self.reckoner.spots(line.things, scope)
        assert line.first is not None and line.last is not None
        first = self.reckoner.figure(line.first, scope)
        last = self.reckoner.figure(line.last, scope)
        step: Quantity | Broken = Quantity(1.0)
        if line.step is not None:
            step = self.reckoner.figure(line.step, scope)
        if isinstance(first, Broken) or isinstance(last, Broken) or isinstance(step, Broken):
            return BROKEN
        for other, node in ((last, line.last), (step, line.step or line.last)):
            if not comparable(first, other):
                return self.reckoner.trouble(mismatch("to", first, other), node.span)
        return self.counted(line, first, last, step)

    def counted(self, line: tree.Each, first: Quantity, last: Quantity, step: Quantity) -> Any:
        """The figures from ``first`` to ``last``."""
        if step.value == 0:
            assert line.step is not None
            self.fault("out-of-range", "a step of zero never gets there", line.step.span,
                       "make it larger than 0")
            return BROKEN
        turns = (last.value - first.value) / step.value
        near = round(turns)
        count = (near if order(turns, near) == 0 else math.floor(turns)) + 1
        if count + self.turns > MOST_TURNS:
            self.enough(f"this would take {count:,} turns", line.span, MOST_TURNS,
                        "lay copies out with line, grid, circle or along")
        dimension = next((q.dimension for q in (first, last, step) if q.dimension != NUMBER), NUMBER)
        share = first.share or last.share
        return [
            Quantity(first.value + turn * step.value, dimension, share)
            for turn in range(max(0, count))
        ]

    def expect(self, line: tree.Expect, scope: Scope) -> None:
        """A fault at the user's line when the test fails."""
        outcome = self.reckoner.test(line.test, scope)
        if outcome is not False:
            return
        said = {clause.key.name: clause.value for clause in line.clauses}
        message = said.get("else")
        remedy = said.get("try")
        seen, limit = self.sides(line.test, scope)
        span, also = line.span, tuple[tuple[Span, str], ...]()
        if self.trail:
            span = self.said_at(line.test) or self.trail[0]
            also = ((line.span, "expected here"),)
        self.tell(Fault(
            "expectation", message.text if isinstance(message, tree.Quoted) else "not as expected",
            span, seen=seen, limit=limit, also=also, trail=self.trail,
            remedy=remedy.text if isinstance(remedy, tree.Quoted) else None,
        ))

    def sides(self, test: tree.Expression, scope: Scope) -> tuple[str | None, str | None]:
        """The figure seen and the limit, where the test is one comparison."""
        if not isinstance(test, tree.Compare):
            return None, None
        left = self.reckoner.value(test.left, scope)
        right = self.reckoner.value(test.right, scope)
        if not isinstance(left, Quantity) or not isinstance(right, Quantity):
            return None, None
        words = {"<": "less than", ">": "more than", "<=": "at most", ">=": "at least"}
        return quantity(left), f"{words.get(test.operator, test.operator)} {quantity(right)}"

    def said_at(self, test: tree.Expression) -> Span | None:
        """The clause of the user's own line that the failed test speaks of, if it is plain."""
        if len(self.callers) != 1:
            return None
        line, _ = self.callers[0]
        names = tree.names_in(test)
        said = [clause for clause in line.clauses if clause.key.name in names]
        return said[0].span if len(said) == 1 else None

    # --- work

    def count_work(self, span: Span) -> None:
        """One more line of work."""
        self.work += 1
        if self.work > MOST_WORK:
            self.enough("this piece takes too many lines of work", span, MOST_WORK,
                        "lay copies out with line, grid, circle or along")

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
        """``scope`` with the word's keys as names; those not given are Absent (a flag: false)."""
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
            self.fault("too-deep", "words stand too deep in words here", line.head,
                       "let the inner words be used by the line itself",
                       limit=f"at most {MOST_WORDS_DEEP} deep")
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
        if not placing:
            self.inside(block, inside, name, caller)
            return self.bundle(block, inside, name)
        return self.placed(block, inside, name, placed, line.head, caller)

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
    ) -> None:
        """The work of a word."""
        before = self.trail
        self.trail = (*before, caller[0].head)
        self.callers.append(caller)
        self.block(block.lines, scope, f"{name}.")
        self.callers.pop()
        self.trail = before

    def words(self) -> tuple[str, ...]:
        """Names of the words one is inside of, the outermost first."""
        return tuple(line.word.name for line, _ in self.callers)

    def bundle(self, block: tree.WordBlock, scope: Scope, name: str) -> Any:
        """A feature that stands for all a word made; BROKEN if a part of it is."""
        members = self.members(block, scope)
        if any(isinstance(member, Broken) for member in members.values()):
            return BROKEN
        feature = self.bench.bundle(name, members)
        if feature is None:
            return BROKEN
        self.reckoner.name_thing(feature, name)
        return feature

    def members(self, block: tree.WordBlock, scope: Scope) -> dict[str, Any]:
        """The named parts of a word's work, in order."""
        names = (
            line.name.name for line in block.lines
            if isinstance(line, tree.Feature | tree.Group) and line.name is not None
        )
        return {name: scope.names[name] for name in names if name in scope.names}

    def placed(
        self, block: tree.WordBlock, inside: Scope, name: str, placed: Clauses, head: Span,
        caller: tuple[tree.Feature, Scope],
    ) -> Any:
        """A word's work as a group of its own, placed as the user's line says."""
        call = Call(self.group, name, placed.arguments, head, self.trail, self.words())
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
        self.block(line.lines, Scope(scope), f"{name}.")
        made = self.made(*self.bench.close_group(call), name)
        if line.name is not None:
            self.define(line.name, made if clauses.good and known else BROKEN, scope)
