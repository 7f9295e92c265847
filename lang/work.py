"""Does lines of work: checks their clauses, has the bench make core words, and does the lines of
words written in posy."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Any

from . import tree
from .arguments import Checker
from .bench import NAMELESS, Argument, Bench, Call, Use
from .blocks import DoBlock
from .calls import Clauses, Takes, group_word, placing_of
from .faults import Fault, Span
from .handed import Handed
from .placing import LAID_OUT, PLACING_BY_NAME
from .reckoner import Reckoner
from .report import Caller, Report
from .scope import Absent, Known, Scope
from .values import BROKEN, Broken, Quantity, Truth
from .words import Kind, Word

MOST_WORK = 20_000
MOST_WORDS_DEEP = 16


class Work:
    """Does lines of work and groups; ``do`` does the lines inside words and groups."""

    def __init__(self, bench: Bench, reckoner: Reckoner, report: Report, do: DoBlock) -> None:
        self._bench = bench
        self._reckoner = reckoner
        self._report = report
        self._do = do
        self._checker = Checker(reckoner.describe, bench)
        self._group = group_word(bench)
        self._takes = Takes(self._group)
        self._handed = Handed()
        self._lines = 0
        # What the words and groups the run is inside of have made so far, the innermost last.
        self._parts: list[list[Any]] = [[]]
        self._used: dict[str, int] = {}  # how often each name was given

    def _count_work(self, span: Span) -> None:
        """One more line of work."""
        self._lines += 1
        if self._lines > MOST_WORK:
            self._report.enough(
                "this piece takes too many lines of work", span, MOST_WORK,
                "lay copies out with line, grid, circle or along",
            )

    def _full_name(self, word: str, name: tree.Name | None, scope: Scope) -> str:
        """A name for a feature that no other of the piece has."""
        full = scope.prefix + (name.name if name is not None else word)
        count = self._used.get(full, 0) + 1
        self._used[full] = count
        if count == 1:
            return full
        numbered = f"{full} {count}"
        self._used[numbered] = 1
        return numbered

    def _clauses_for(self, head: Span) -> Clauses:
        """A new set of checked clauses."""
        return Clauses(self._reckoner, self._checker, head)

    def feature(self, line: tree.Feature, scope: Scope) -> Any:
        """A line of work; what it makes gets the line's name and is given back."""
        self._count_work(line.head)
        known = scope.find_word(line.word.name)
        made: Any
        if known is None:
            made = BROKEN  # told by resolve.py
        elif known.block is None:
            made = self._core(line, known.word, scope)
        else:
            made = self._expand(line, known, scope)
        if made is BROKEN:
            self._handed.unsure()
        if line.name is not None:
            scope.define(line.name.name, made)
        return made

    def _core(self, line: tree.Feature, word: Word, scope: Scope) -> Any:
        """A word the bench makes by itself."""
        clauses = self._clauses_for(line.head)
        takes = self._takes.core(word)
        clauses.read(line.clauses, takes, scope)
        if any(take.default is not None for take in word.takes):
            with self._report.within(Caller(line, scope, Use(word, word.name, clauses.arguments))):
                clauses.defaults(word, None, self._key_scope(word, clauses, Scope(), False))
        clauses.needs(word, line.clauses, takes, scope, self._report.fault)
        if not clauses.good or not line.whole or not self._complete(line, word, clauses):
            return BROKEN
        clauses.arguments.update(self._handed.heard(takes, clauses.arguments))
        name = self._full_name(word.name, line.name, scope)
        call = self._call(word, name, clauses, line)
        return self._made(*self._bench.make(call), name)

    def _made(self, feature: Any, faults: list[Fault], name: str) -> Any:
        """What the bench made, named; BROKEN if it could not."""
        for fault in faults:
            self._report.tell(fault)
        if feature is None:
            return BROKEN
        self._reckoner.name_thing(feature, name)
        self._parts[-1].append(feature)
        return feature

    def _complete(self, line: tree.Feature, word: Word, clauses: Clauses) -> bool:
        """Whether all keys are known, go together, and all needed ones are there (if not,
        resolve.py told)."""
        takes = self._takes.core(word)
        keys = [clause.key.name for clause in line.clauses]
        if any(key not in takes for key in keys) or not self._takes.together(word, tuple(keys)):
            return False
        if any(take.needed and take.name not in clauses.arguments for take in word.takes):
            return False
        given = set(keys) - clauses.dropped
        said = [len(given.intersection(group)) for group in word.one_of]
        return all(said) and (max(said, default=1) == 1 or not word.just_one(given))

    def _key_scope(self, word: Word, clauses: Clauses, scope: Scope, flags: bool) -> Scope:
        """``scope`` with the word's keys as names; those not given are Absent, flags false."""
        for take in word.takes:
            if take.name in clauses.values:
                scope.names[take.name] = clauses.values[take.name]
            elif flags and take.kind is Kind.FLAG:
                scope.names[take.name] = Truth(False)
            else:
                scope.names[take.name] = Absent(take.name)
        return scope

    def _expand(self, line: tree.Feature, known: Known, scope: Scope) -> Any:
        """A word written in posy: its lines, with its keys as names."""
        block, word = known.block, known.word
        assert block is not None
        if len(self._report.trail) >= MOST_WORDS_DEEP:
            self._report.fault(
                "too-deep", "words stand too deep in words here", line.head,
                "let the inner words be used by the line itself", limit=f"at most {MOST_WORDS_DEEP} deep",
            )
            return BROKEN
        own = self._takes.own(word)
        clauses = self._clauses_for(line.head)
        clauses.read(line.clauses, own, scope)
        inside = Scope(known.scope, frozenset(clauses.arguments))
        self._key_scope(word, clauses, inside, True)
        with self._report.within(Caller(line, scope, Use(word, word.name, clauses.arguments))):
            clauses.defaults(word, block, inside)
        placing = placing_of(line.clauses, own)
        placed = self._clauses_for(line.head)
        placed.read(placing, PLACING_BY_NAME, scope)
        placed.needs(self._group, placing, PLACING_BY_NAME, scope, self._report.fault)
        clauses.needs(word, line.clauses, own, scope, self._report.fault)
        handed = self._clauses_for(line.head)
        handed.read(line.clauses, self._takes.handed(word), scope)
        if not (clauses.good and placed.good and handed.good and line.whole):
            return BROKEN
        lacks = "at" in own and own["at"].needed and "at" not in clauses.arguments
        if lacks and any(key in placed.arguments for key in LAID_OUT):
            if not self._set_out(Use(word, word.name, clauses.arguments), clauses, placed, line, "at"):
                return BROKEN
            inside.names["at"], placing = clauses.values["at"], ()
            clauses.defaults(word, block, inside)  # those that rest on these places
        if not self._complete(line, word, clauses):
            return BROKEN
        name = self._full_name(word.name, line.name, scope)
        inside.prefix = f"{name}."
        found = {key: one for key, one in clauses.arguments.items() if key == "at"} | placed.arguments
        caller = Caller(line, scope, Use(word, name, clauses.arguments, found))
        for key in ("at", "along"):
            if placing and key in clauses.arguments and self._set_out(caller.use, clauses, placed, line, key):
                inside.names[key] = clauses.values[key]
                placing = ()
        with self._handing(handed.arguments, name, block.lines):
            if placing:
                if "for" in clauses.arguments:  # it moves about the stone it is for
                    placed.arguments["for"] = clauses.arguments["for"]
                return self._placed(block, inside, name, placed, caller)
            made = self._inside(block, inside, caller)
            return self._bundle(block, inside, name, made, _stand(word, clauses))

    @contextmanager
    def _handing(
        self, arguments: Mapping[str, Argument], name: str, lines: tuple[tree.Line, ...]
    ) -> Iterator[None]:
        """Hand ``arguments`` down to the work of ``lines`` done within; one that nothing heard is a fault."""
        before = len(self._report.faults)

        def deaf(key: str, said: Argument) -> None:
            if len(self._report.faults) == before:
                self._report.fault(
                    "clause-idle", f"{key} says nothing here: {name} makes no metal that could take it",
                    said.span, f"leave {key} out, or say it on the metal itself",
                )

        with self._handed.down(arguments, name, deaf):
            if any(isinstance(line, tree.Unread) for line in lines):
                self._handed.unsure()
            yield

    def _set_out(self, use: Use, clauses: Clauses, placed: Clauses, line: tree.Feature, key: str) -> bool:
        """Move the places that a word stands at, each about itself, as its placing clauses say, or the
        path it runs along; places laid out stand for its `at`; False where the bench cannot."""
        ask = getattr(self._bench, "set_out", None)
        if ask is None or "at" in placed.arguments:  # all that runs along its path is placed there
            return False
        said = clauses.arguments.get(key)
        if said is not None:
            placed.arguments[key] = said
        places, faults = ask(self._call(use.word, use.name, placed, line))
        placed.arguments.pop(key, None)
        for fault in faults:
            self._report.tell(fault)
        if places is not None:
            clauses.values[key] = places
            span, given = (said.span, said.given) if said is not None else (line.head, True)
            clauses.arguments[key] = Argument(places, span, given)
        return places is not None

    def _inside(self, block: tree.WordBlock, scope: Scope, caller: Caller) -> list[Any]:
        """The work of a word; all it made, what stands in `each` and `when` too."""
        self._parts.append([])
        with self._report.within(caller):
            self._do(block.lines, scope)
        return self._parts.pop()

    def _bundle(self, block: tree.WordBlock, scope: Scope, name: str, made: list[Any], stand: Any) -> Any:
        """A feature that stands for all a word made; BROKEN if a part of it is. What has no
        name outside its `each` or `when` is a member without one."""
        members = _members(block, scope)
        if any(isinstance(member, Broken) for member in members.values()):
            return BROKEN
        named = {id(member) for member in members.values()}
        nameless = [part for part in made if id(part) not in named]
        members |= {f"{NAMELESS}{k}": part for k, part in enumerate(nameless)}
        figures = {key: one for key, one in scope.names.items() if isinstance(one, Quantity)}
        return self._made(self._bench.bundle(name, members, stand, figures), [], name)

    def _placed(
        self, block: tree.WordBlock, inside: Scope, name: str, placed: Clauses, caller: Caller
    ) -> Any:
        """A word's work as a group of its own, placed as the user's line says."""
        call = self._call(self._group, name, placed, caller.line)
        self._open(call, True)
        self._inside(block, inside, caller)
        broken = any(isinstance(m, Broken) for m in _members(block, inside).values())
        made = self._made(*self._bench.close_group(call, not broken), name)
        return BROKEN if broken else made

    def _open(self, call: Call, apart: bool = False) -> None:
        for fault in self._bench.open_group(call, apart):
            self._report.tell(fault)

    def _call(self, word: Word, name: str, clauses: Clauses, line: tree.Feature | tree.Group) -> Call:
        """What the bench is asked to make."""
        report = self._report
        return Call(word, name, clauses.arguments, line.head, report.trail, report.uses)

    def group(self, line: tree.Group, scope: Scope) -> Any:
        """A group or casting: its lines by themselves, then soldered in or left apart."""
        self._count_work(line.head)
        word = group_word(self._bench, line.word)
        takes = self._takes.core(word)
        clauses = self._clauses_for(line.head)
        clauses.read(line.clauses, takes, scope)
        clauses.needs(word, line.clauses, takes, scope, self._report.fault)
        known = all(clause.key.name in takes for clause in line.clauses)
        name = self._full_name(line.word, line.name, scope)
        call = self._call(word, name, clauses, line)
        # Opened and closed in step whatever was wrong, so that the lines inside are looked at.
        self._open(call)
        self._parts.append([])
        # What it is of is handed down, not where it stands.
        said = {take.name for take in word.takes if take.kind is not Kind.PART} & set(clauses.arguments)
        with self._handing({key: clauses.arguments[key] for key in said}, name, line.lines):
            inside = Scope(scope, prefix=f"{name}.")
            self._do(line.lines, inside)
        self._parts.pop()
        done = not any(one is BROKEN for one in inside.names.values())
        made = self._made(*self._bench.close_group(call, done), name)
        whole = clauses.good and known and done
        if line.name is not None:
            scope.define(line.name.name, made if whole else BROKEN)
        return made if whole else BROKEN


def _members(block: tree.WordBlock, scope: Scope) -> dict[str, Any]:
    """The named parts of a word's work, in order."""
    made = tree.names_made(block.lines).items()
    names = (name for name, line in made if isinstance(line, tree.Feature | tree.Group))
    return {name: scope.names[name] for name in names if name in scope.names}


def _stand(word: Word, clauses: Clauses) -> Any:
    """Where what a word makes stands: the first clause that says places or stones, None without."""
    kinds = Kind.PLACES, Kind.STONES
    keys = (take.name for take in word.takes if take.kind in kinds)
    return next((clauses.arguments[key].value for key in keys if key in clauses.arguments), None)
