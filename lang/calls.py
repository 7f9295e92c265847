"""One line of work: its clauses checked against the word, then made or expanded."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import lru_cache
from typing import Any

from . import tree
from .arguments import Checker, Refusal
from .bench import Argument, Bench
from .clauses import passes_on
from .companions import go_together, idle, idle_message, idle_remedy
from .faults import Span
from .handed import handed_by
from .parse import parse_value
from .placing import PLACING, PLACING_BY_NAME
from .reckoner import Reckoner
from .records import default_of
from .scope import Absent, Scope
from .source import Source
from .values import BROKEN, Bare, Broken, Truth, joined_by_and
from .words import ADDED, CHOOSING, Kind, Take, Word

_GROUP = Word("workpiece", "lines built by themselves, then soldered in", "blocks", places=True)


@lru_cache(maxsize=1024)
def _expression(default: str, name: str) -> tree.Expression | None:
    """What a core word says a clause of that name holds usually; every use of the word asks for it."""
    return parse_value(Source(default, f"<default of {name}>"))[0]


class Clauses:
    """Checks the clauses of one line of work and fills in defaults.

    ``arguments`` are for the bench, ``values`` the same as the language holds them; ``good`` is
    False when something was wrong (and told, here or by resolve.py)."""

    def __init__(self, reckoner: Reckoner, checker: Checker, head: Span) -> None:
        self.reckoner = reckoner
        self.checker = checker
        self.head = head
        self.arguments: dict[str, Argument] = {}
        self.values: dict[str, Any] = {}
        self.good = True
        self.dropped: set[str] = set()  # keys left out because their value was not given

    def read(self, clauses: tuple[tree.Clause, ...], takes: Mapping[str, Take], scope: Scope) -> None:
        """Check the clauses whose keys are in ``takes``; the others are passed over."""
        for clause in clauses:
            take = takes.get(clause.key.name)
            if take is None or take.name in self.arguments:
                continue
            self.one(clause, take, scope)

    def one(self, clause: tree.Clause, take: Take, scope: Scope) -> None:
        """Check one clause."""
        node = clause.value
        if node is None:
            if take.kind is Kind.FLAG:
                self.keep(take, True, Truth(True), clause.span)
            else:
                self.good = False
            return
        value = self.clause_value(node, take, scope)
        if isinstance(value, Absent):
            self.dropped.add(take.name)
        elif isinstance(value, Broken):
            self.good = False
        else:
            self.check(value, take, node.span, node=node, scope=scope)

    def clause_value(self, node: tree.Expression, take: Take, scope: Scope) -> Any:
        """The value of a clause. A key of the word we are in that was not given, passed on as
        it is or as what is chosen, leaves the clause out."""
        node = self.chosen(node, scope)
        if isinstance(node, tree.Name):
            if take.kind in CHOOSING and node.name in take.choices:
                return Bare(node.name)
            value = scope.find(node.name)
            if isinstance(value, Absent):
                return value
            if value is None and take.kind in CHOOSING and take.choice(node.name) is not None:
                return Bare(node.name)
            if value is None and take.unquoted is not None:
                return Bare(node.name)
        if isinstance(node, tree.Logic) and node.operator == "and":
            if take.kind is Kind.CHOICES:
                members = [self.clause_value(member, take, scope) for member in node.members]
                return BROKEN if BROKEN in members else joined_by_and(members)
            if take.kind in ADDED:
                return self.reckoner.fault(*and_for_plus(node))
        self.reckoner.wanted = take.kind.value if isinstance(node, tree.Of) else None
        return self.reckoner.value(node, scope)

    def chosen(self, node: tree.Expression, scope: Scope) -> tree.Expression:
        """Of `choose`, at whatever depth, the branch that is taken."""
        while isinstance(node, tree.Invoke) and node.function.name == "choose" and len(node.arguments) == 3:
            test, *branches = node.arguments
            holds = BROKEN if self.absent(test, scope) else self.reckoner.test(test, scope)
            if isinstance(holds, Broken):
                return node
            node = branches[0 if holds else 1]
        return node

    def absent(self, node: tree.Expression, scope: Scope) -> bool:
        """Whether an expression rests on something that was not given."""
        return any(isinstance(scope.find(name), Absent) for name in tree.names_in(node))

    def check(
        self, value: Any, take: Take, span: Span, given: bool = True, node: tree.Expression | None = None,
        scope: Scope | None = None,
    ) -> None:
        """Check a value, written as ``node`` in ``scope``, against its take and keep it."""
        answer = to_for_minus(node, take) or self.checker.check(value, take)
        if isinstance(answer, Refusal):
            self.good = False
            if answer.code == "wrong-kind" and isinstance(node, tree.Of) and scope is not None:
                answer = answer._replace(remedy=self.others(node, take, scope) or answer.remedy)
            if answer.code == "size-members" and isinstance(node, tree.Arithmetic):
                answer = times_for_x(answer, node, take)
            self.reckoner.fault(
                answer.code, answer.message, span, answer.remedy, seen=answer.seen, limit=answer.limit,
            )
            return
        self.keep(take, answer.plain, answer.value, span, given)

    def others(self, node: tree.Of, take: Take, scope: Scope) -> str | None:
        """What the thing that ``node`` asks offers of the kind that ``take`` is."""
        thing = self.reckoner.value(node.thing, scope)
        parts = [] if self.reckoner.bench is None else self.reckoner.bench.parts(thing, take.kind.value)
        whole = self.reckoner.name_of(thing)
        return f"it offers {', '.join(f'{part} of {whole}' for part in parts)}" if parts and whole else None

    def keep(self, take: Take, plain: Any, value: Any, span: Span, given: bool = True) -> None:
        """Keep a checked value."""
        self.arguments[take.name] = Argument(plain, span, given)
        self.values[take.name] = value

    def defaults(self, word: Word, block: tree.WordBlock | None, scope: Scope) -> None:
        """Fill in the defaults of keys not given; they see the other clauses as names, those of a ``block``
        the defaults before them too."""
        for take in word.takes:
            if take.name in self.arguments:
                continue
            node = self.default(take, block)
            if node is not None:
                self.one_default(node, take, scope)
                if block is not None and take.name in self.values:
                    scope.names[take.name] = self.values[take.name]

    def default(self, take: Take, block: tree.WordBlock | None) -> tree.Expression | None:
        """The expression of a take's default."""
        if block is not None:
            return default_of(block, take.name)
        if take.default is None:
            return None
        return _expression(take.default, take.name)

    def one_default(self, node: tree.Expression, take: Take, scope: Scope) -> None:
        """One default; it is left out if it rests on something that was not given."""
        node = self.chosen(node, scope)
        if self.absent(node, scope):
            return
        value = self.clause_value(node, take, scope)
        if isinstance(value, Broken):
            self.good = False
        elif not isinstance(value, Absent):
            self.check(value, take, self.head, given=False)

    def needs(
        self, word: Word, line: tuple[tree.Clause, ...], takes: Mapping[str, Take], scope: Scope,
        tell: Callable[..., object],
    ) -> None:
        """Tell what is missing of a ``line`` because its value, passed on, was not given, and what is too
        much because it was: what the word needs, and the companions of other clauses."""
        for take in word.takes if self.dropped else ():
            if take.needed and take.name in self.dropped and take.name not in self.arguments:
                self.good = False
                tell(
                    "clause-missing", f"{word.name} needs {take.name}, which was not given", self.head,
                    f"give {take.name}, or a default for it",
                )
        said = list(dict.fromkeys(clause.key.name for clause in line))
        self._companions(takes, said, tell)
        for group in word.one_of:
            lost = self.dropped.intersection(group)
            kept = [name for name in said if name in group and name in self.arguments]
            # Of others clauses.py told.
            if len(kept) > 1 and word.just_one(said) and _passed(line, kept, scope):
                self.good = False
                tell(
                    "clauses-disagree", f"{kept[0]} and {kept[1]} are said together",
                    self.arguments[kept[1]].span, "give one of them",
                )
            if lost and not any(name in self.arguments for name in group):
                self.good = False
                tell(
                    "clause-missing", f"{word.name} needs one of {', '.join(group)}", self.head,
                    "say one of them",
                )

    def _companions(self, takes: Mapping[str, Take], said: list[str], tell: Callable[..., object]) -> None:
        """Clauses that do nothing because their companion, passed on, was not given."""
        given = [key for key in said if key not in self.dropped]
        told = {take.name for take in idle(said, takes)}  # by clauses.py
        for take in idle(given, takes):
            if take.name not in told and take.name in self.arguments:
                self.good = False
                span = self.arguments[take.name].span
                remedy = idle_remedy(take, given, takes)
                tell("clause-idle", idle_message(take, takes), span, remedy)


def _passed(line: tuple[tree.Clause, ...], keys: list[str], scope: Scope) -> bool:
    """Whether one of the clauses ``keys`` hands on what the word around was given."""
    given = scope.find_given() or frozenset()
    return any(clause.key.name in keys and passes_on(clause.value, given) for clause in line)


class Takes:
    """What each word takes, by name, placing clauses included; made once per word."""

    def __init__(self, group: Word | None = None) -> None:
        self._group = group
        self._core: dict[str, tuple[Word, dict[str, Take]]] = {}
        self._together: dict[tuple[str, tuple[str, ...]], tuple[Word, bool]] = {}
        self._own: dict[str, tuple[Word, dict[str, Take]]] = {}

    def core(self, word: Word) -> dict[str, Take]:
        """The word's own clauses, what it hands down and, where it has a place, the placing clauses."""
        kept = self._core.get(word.name)
        if kept is None or kept[0] is not word:
            takes = {take.name: take for take in PLACING} if word.places else {}
            takes.update(self.handed(word))
            takes.update((take.name, take) for take in word.takes)
            kept = self._core[word.name] = (word, takes)
        return kept[1]

    def together(self, word: Word, keys: tuple[str, ...]) -> bool:
        """Whether the clauses ``keys`` of the word go together; told by resolve.py if not."""
        takes = self.core(word)
        known = self._together.get((word.name, keys))
        if known is None or known[0] is not word:
            known = self._together[word.name, keys] = (word, go_together(keys, takes))
        return known[1]

    def handed(self, word: Word) -> dict[str, Take]:
        """The clauses that a line of the word hands down to all made below it."""
        return handed_by(word, self._group)

    def own(self, word: Word) -> dict[str, Take]:
        """The word's own clauses alone."""
        kept = self._own.get(word.name)
        if kept is None or kept[0] is not word:
            kept = self._own[word.name] = (word, {take.name: take for take in word.takes})
        return kept[1]


def times_for_x(refusal: Refusal, node: tree.Arithmetic, take: Take) -> Refusal:
    """The refusal of 17 * 5 * 2 mm where a size is wanted."""
    members = node.members
    plain = all(isinstance(member, tree.Number) for member in members)
    if not plain or set(node.operators) != {"*"} or len(members) not in take.parts:
        return refusal
    written = (f"{m.text} {m.unit}" if m.unit else m.text for m in members)  # type: ignore[union-attr]
    return refusal._replace(remedy=f"write {' x '.join(written)}; * multiplies")


RANGED = Kind.ANY, Kind.STONE_SIZE, Kind.LENGTHS  # what may run from one figure to another


def to_for_minus(node: tree.Expression | None, take: Take) -> Refusal | None:
    """The refusal of 6 % - 24 %, two figures whose difference is less than nothing, where they may be a
    range; None of anything else."""
    if take.kind not in RANGED or not isinstance(node, tree.Arithmetic) or node.operators != ("-",):
        return None
    first, last = node.members
    sign, inner = (-1, first.inner) if isinstance(first, tree.Minus) else (1, first)
    if not isinstance(inner, tree.Number) or not isinstance(last, tree.Number) or inner.unit != last.unit:
        return None
    if sign * inner.value >= last.value:
        return None
    low, high = (f"{one.text} {one.unit or ''}".rstrip() for one in (inner, last))
    told = f"a minus takes away: {take.name} from one figure to another is written with 'to'"
    return Refusal("wrong-kind", told, f"write {'-' * (sign < 0)}{low} to {high}")


def and_for_plus(node: tree.Logic) -> tuple[str, str, Span, str | None]:
    """The fault of parts or places joined by `and`."""
    plain = all(isinstance(member, tree.Name | tree.Of) for member in node.members)
    last = tree.words_in(node.members[-1])[1:]  # left and right of frame
    named = ((*tree.words_in(one), *(last if isinstance(one, tree.Name) else ())) for one in node.members)
    added = " + ".join(" of ".join(words) for words in named)
    remedy = f"write {added}" if plain else "write + between them"
    return "wrong-kind", "'and' joins tests; parts, stones and places are joined by +", node.span, remedy


def placing_of(clauses: tuple[tree.Clause, ...], own: Mapping[str, Take]) -> tuple[tree.Clause, ...]:
    """The clauses that place what a posy-written word makes: placing keys not its own."""
    return tuple(
        clause
        for clause in clauses
        if clause.key.name in PLACING_BY_NAME and clause.key.name not in own
    )


def group_word(bench: Bench, word: str = "workpiece") -> Word:
    """The bench's word for a group or a casting, or one of ours if it has none."""
    return bench.core_words().get(word, _GROUP)
