"""Clauses looked at without running anything: keys known, once each, none needed left out."""

from __future__ import annotations

from collections.abc import Mapping, Set

from . import tree
from .companions import clashes, idle, idle_message, idle_remedy
from .faults import Span
from .meant import Meant, chooses
from .names import Block, in_sight
from .placing import KEEP_BOTH, LAID_OUT, PLACING_BY_NAME
from .samples import choice_hint, sample
from .suggest import did_you_mean
from .words import ADDED, CHOOSING, Kind, Take, Word


def _listed(
    clauses: tuple[tree.Clause, ...], known: Mapping[str, Take], block: Block
) -> list[tree.Clause]:
    """The names right behind a clause that takes a part, which stand there as clauses of their own."""
    found: list[tree.Clause] = []
    named = False
    for clause in clauses:
        key, take = clause.key.name, known.get(clause.key.name)
        if clause.value is None and take is None and block.finds(key) and (named or found):
            found.append(clause)
        elif found:
            break
        named = take is not None and take.kind in ADDED and isinstance(clause.value, tree.Name | tree.Of)
    return found


class ClauseCheck(Meant):
    """Checks the clauses of a line against what its word takes; ``names`` checks the names in
    their values; ``trade`` tells what people may mean by one there is not; ``words`` are all there are."""

    def known_clauses(
        self, clauses: tuple[tree.Clause, ...], keys: tuple[str, ...], what: str,
        many: frozenset[str] = frozenset(), flags: frozenset[str] = frozenset(),
    ) -> None:
        """Clauses of lines that are no work: keys known, once each, with a value."""
        seen: dict[str, Span] = {}
        for clause in clauses:
            key = clause.key.name
            if key not in keys:
                meant = next((f"write {one}" for one in self.said.get(key, ()) if one in keys), None)
                self.fault(
                    "unknown-clause", f"{what} takes no '{key}'", clause.key.span,
                    meant or did_you_mean(key, keys) or "it takes " + ", ".join(keys),
                )
                continue
            if key not in many:
                self.once(clause, seen)
            example = f'as in: {key} "…"' if key in ("help", "note", "else", "try") else None
            if clause.value is None and key not in flags:
                self.no_value(clause, "a text in quotes" if example else "a value", example)
            elif example and clause.value is not None and not isinstance(clause.value, tree.Quoted):
                self.fault("wrong-kind", f"{key} is a text in quotes", clause.value.span, example)

    def once(self, clause: tree.Clause, seen: dict[str, Span]) -> None:
        """A key stands once on a line."""
        key = clause.key.name
        if key in seen:
            self.fault(
                "clause-twice", f"{key} is said twice", clause.key.span, "keep one of them",
                also=((seen[key], "first said here"),),
            )
        seen.setdefault(key, clause.key.span)

    def no_value(self, clause: tree.Clause, due: str, remedy: str | None = None) -> None:
        """A key without its value."""
        key = clause.key
        self.fault("value-missing", f"{key.name} needs {due} after it", key.span, remedy)

    def clauses(
        self, clauses: tuple[tree.Clause, ...], takes: Mapping[str, Take], places: bool, word: str,
        block: Block,
    ) -> None:
        """The clauses of a line of work."""
        seen: dict[str, Span] = {}
        known = {**PLACING_BY_NAME, **takes} if places else takes
        guessed: set[str | None] = set()
        listed = _listed(clauses, known, block)
        parted = self.parted(clauses, takes, word)
        guessed.update(parted.values())
        for clause in clauses:
            key = clause.key.name
            take = known.get(key)
            if key in parted:
                continue
            if clause in listed:
                if clause is listed[0]:
                    self.listed(clauses, listed)
                continue
            if take is None:
                fitting = _fitting(takes, clauses)
                guessed.add(self.guessed(key, fitting, places))
                self.unknown_clause(clause, clauses, fitting, places, word, block)
                if clause.value is not None and not isinstance(clause.value, tree.Name):
                    self.names.value(clause.value, block)
                continue
            self.once(clause, seen)
            if clause.value is None:
                if take.kind is not Kind.FLAG:
                    shown = sample(take)
                    self.no_value(clause, take.kind.due, shown and f"as in: {shown}")
            else:
                self.clause_value(clause.value, take, block)

        self.companions(seen, known, guessed)

    def parted(
        self, clauses: tuple[tree.Clause, ...], takes: Mapping[str, Take], word: str
    ) -> dict[str, str]:
        """The keys of clauses that say the members of one size apart, each with that of the size, told."""
        apart = [one for one in clauses if one.key.name not in takes and isinstance(one.value, tree.Number)]
        sizes = {one.key.name: self.meant(one.key.name, takes, False) or "" for one in apart}
        found = {key: size for key, size in sizes.items() if size and takes[size].kind is Kind.SIZE}
        ones = [one for one in apart if one.key.name in found]
        if len(ones) < 2 or len(set(found.values())) > 1:
            return {}
        size = found[ones[0].key.name]
        figures = " x ".join(f"{one.value.text} {one.value.unit or 'mm'}" for one in ones)  # type: ignore[union-attr]
        self.fault(
            "unknown-clause", f"{word} takes no {' nor '.join(map(repr, found))}: here all are one '{size}'",
            ones[0].span.to(ones[-1].span), f"write {size} {figures}",
        )
        return found

    def listed(self, clauses: tuple[tree.Clause, ...], listed: list[tree.Clause]) -> None:
        """Names written one after the other with commas, where they belong together with +."""
        before = clauses[clauses.index(listed[0]) - 1]
        assert before.value is not None
        names = [" of ".join(tree.words_in(before.value)), *(clause.key.name for clause in listed)]
        self.fault(
            "unknown-clause", f"a comma ends '{before.key.name}': what belongs together is joined by +",
            before.value.span.to(listed[-1].span), f"write {' + '.join(names)}",
        )

    def companions(
        self, given: Mapping[str, Span], takes: Mapping[str, Take], guessed: Set[str | None]
    ) -> None:
        """Clauses that do nothing where they stand, and those that exclude each other; what comes
        right when a misspelt clause does is not told."""
        for take in idle(given, takes):
            if not guessed.isdisjoint(take.goes_with):
                continue
            span = given[take.name]
            self.fault("clause-idle", idle_message(take, takes), span, idle_remedy(take, given, takes))
        for first, second in clashes(given, takes):
            self.disagree(first, given[first], second, given[second])

    def disagree(self, first: str, first_at: Span, second: str, second_at: Span) -> None:
        """Two clauses that exclude each other."""
        remedy = KEEP_BOTH.get(frozenset((first, second)), "keep one of them")
        self.fault(
            "clauses-disagree", f"{first} and {second} are said together", second_at, remedy,
            also=((first_at, "the other one"),),
        )

    def clause_value(self, value: tree.Expression, take: Take, block: Block) -> None:
        """A clause's value; a choice may be a bare name."""
        if take.kind is Kind.CHOICES and isinstance(value, tree.Logic) and value.operator == "and":
            for member in value.members:
                self.clause_value(member, take, block)
            return
        if take.kind in CHOOSING and isinstance(value, tree.Name):
            if take.choice(value.name) is not None or block.finds(value.name):
                return
            self.fault(
                "unknown-choice", f"{take.name} cannot be '{value.name}'", value.span,
                choice_hint(value.name, take, in_sight(block)), seen=value.name,
            )
            return
        bare = value.name if isinstance(value, tree.Name) and not block.finds(value.name) else None
        if take.unquoted is not None and bare is not None and take.unquoted(bare) is not None:
            return
        self.names.value(value, block)

    def needed(self, line: tree.Feature, word: Word, within: Block | None) -> None:
        """What the word needs and the line does not say; ``within`` is the body of the word it is in, whose
        keys may be passed on: what was not given then leaves its clause out."""
        keys = within.keys or frozenset() if within is not None else frozenset()
        given = [clause.key for clause in line.clauses]
        names = {key.name for key in given}
        takes = {take.name: take for take in word.takes}
        known = {*takes, *(PLACING_BY_NAME if word.places else ())}
        fitting = _fitting(takes, line.clauses) if names - known else takes
        laid = word.places and any(key in names and key not in takes for key in LAID_OUT)
        meant = {self.guessed(n, fitting, word.places) for n in names - known}
        # A name without its clause is told by itself.
        bare = any(clause.value is None and clause.key.name not in known for clause in line.clauses)
        for take in word.takes:
            if take.needed and take.default is None and take.name not in names:
                if take.name in meant or (bare and take.kind in ADDED) or (laid and take.name == "at"):
                    continue
                if any(chooses(take, name) for name in names - known):
                    continue
                shown = sample(take, word.example)
                add = f"add {shown}, or the like" if shown else f"add {take.name} and its name"
                self.fault(
                    "clause-missing", f"{word.name} needs {take.name}, {take.kind.due}", line.head,
                    add + (f": {take.help}" if take.help else ""),
                )
        lost = None in meant  # a clause nobody knows may be the one that is missing
        for group in word.one_of:
            said = [key for key in given if key.name in group]
            if not said and not lost and not meant.intersection(group):
                some = list(filter(None, (sample(takes[name], word.example) for name in group)))[:2]
                self.fault(
                    "clause-missing", f"{word.name} needs one of {', '.join(group)}", line.head,
                    "say one of them" + (f", as in: {' or '.join(some)}" if some else ""),
                )
            passed = {clause.key.name for clause in line.clauses if passes_on(clause.value, keys)}
            for key in said[1:] if word.just_one(key.name for key in given) else ():
                if key.name != said[0].name and passed.isdisjoint((key.name, said[0].name)):
                    self.disagree(said[0].name, said[0].span, key.name, key.span)


def _fitting(takes: Mapping[str, Take], clauses: tuple[tree.Clause, ...]) -> dict[str, Take]:
    """The clauses of a word that may be meant on a line: not those that go with another it does not say."""
    said = {clause.key.name for clause in clauses}
    return {one.name: one for one in takes.values() if not one.goes_with or said.intersection(one.goes_with)}


def passes_on(value: tree.Expression | None, keys: Set[str]) -> bool:
    """Whether a clause hands on one of the ``keys`` of the word around it, alone or as what is chosen."""
    if isinstance(value, tree.Invoke) and value.function.name == "choose":
        return any(passes_on(one, keys) for one in value.arguments[1:])
    return isinstance(value, tree.Name) and value.name in keys
