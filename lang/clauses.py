"""Clauses looked at without running anything: keys known, once each, none needed left out."""

from __future__ import annotations

from collections.abc import Mapping, Set

from . import tree
from .companions import clashes, idle, idle_message, idle_remedy
from .faults import Span
from .lexicon import Trade
from .names import Block, Names, in_sight
from .placing import KEEP_BOTH, LAID_OUT, PLACING_BY_NAME
from .samples import choice_hint, sample
from .suggest import did_you_mean, nearest
from .words import ADDED, CHOOSING, Kind, Take, Word

_MOST_TAKERS = 6  # words told that take a clause said on another
METAL_HINT = "metal is said below the piece line, and on what makes metal, a workpiece or a casting"


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


class ClauseCheck:
    """Checks the clauses of a line against what its word takes; ``names`` checks the names in
    their values; ``trade`` tells what people may mean by one there is not; ``words`` are all there are."""

    def __init__(self, names: Names, trade: Trade, words: Mapping[str, Word]) -> None:
        self.names, self.words, self.trade = names, words, trade
        self.said = trade.clauses
        self.fault = names.notes.fault

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

    def meant(
        self, key: str, takes: Mapping[str, Take], places: bool, value: tree.Expression | None = None
    ) -> str | None:
        """The clause that people may mean by ``key``, of those a word takes that may have such a value."""
        known = {**takes, **(PLACING_BY_NAME if places else {})}
        said, figure = key.casefold(), isinstance(value, tree.Number)
        if isinstance(value, tree.Number) and value.unit is None and said.endswith("s"):  # prongs 4
            counts = [one for one in self.said.get("count", ()) if one in known]
            if counts:
                return counts[0]
        if said not in self.said and nearest(key, known) is None:
            said = nearest(said, self.said) or said
        among = (name for name in self.said.get(said, ()) if name in known)
        return next((name for name in among if not (figure and known[name].kind in ADDED)), None)

    def guessed(self, key: str, takes: Mapping[str, Take], places: bool) -> str | None:
        """The clause that is meant by ``key``, by its sense or by its spelling."""
        known = (*takes, *(PLACING_BY_NAME if places else ()))
        return self.meant(key, takes, places) or nearest(key, known)

    def unknown_clause(
        self, clause: tree.Clause, clauses: tuple[tree.Clause, ...], takes: Mapping[str, Take], places: bool,
        word: str, block: Block,
    ) -> None:
        """A key the word does not take."""
        key = clause.key.name
        among = (*takes, *(PLACING_BY_NAME if places else ()))
        meant = self.meant(key, takes, places, clause.value)
        meant = meant or next((one for one in key.split("-") if one in takes), None)
        if meant == "every" and "gap" in takes and self.is_room(clause, clauses, takes):
            meant = "gap"
        if meant is not None:
            self.fault(
                "unknown-clause", f"{word} takes no '{key}': here it is '{meant}'", clause.key.span,
                f"write {meant}",
            )
            return
        joined = f"{key}-{clause.value.name}" if isinstance(clause.value, tree.Name) else ""
        if joined in among:
            told = f"{word} takes no '{key}': what is meant is one word"
            self.fault("unknown-clause", told, clause.span, f"write {joined}")
            return
        if clause.value is None and block.finds(key):
            asks = [take.name for take in takes.values() if take.kind in ADDED]
            if asks:
                self.fault(
                    "unknown-clause", f"'{key}' stands here without a clause before it", clause.key.span,
                    f"write {asks[0]} {key}",
                )
                return
        own = self.elsewhere(key, word) if self.takers(key) else None  # what it is, before its spelling
        near = self.or_a_word(key, among, word) or did_you_mean(key, among)
        hint = METAL_HINT if key == "metal" else self.by_its_value(clause, takes, block)
        remedy = _as_choice(key, takes) or hint or own or near or self.elsewhere(key, word)
        if remedy is None and takes:
            listed = ", ".join(list(takes)[:12])
            remedy = f"it takes {listed}" + (" and the placing clauses" if places else "")
        self.fault("unknown-clause", f"{word} takes no '{key}'", clause.key.span, remedy)

    @staticmethod
    def is_room(clause: tree.Clause, clauses: tuple[tree.Clause, ...], takes: Mapping[str, Take]) -> bool:
        """Whether a figure is less than those of the stones it sets out: the room between them."""
        sized = (one for one in clauses if one.key.name in takes)
        stones = [one for one in sized if takes[one.key.name].kind is Kind.STONE_SIZE]
        figures = [figure for one in stones for figure in _lengths(one.value)]
        own = _lengths(clause.value)
        return bool(own and figures) and max(own) < min(figures)

    def by_its_value(self, clause: tree.Clause, takes: Mapping[str, Take], block: Block) -> str | None:
        """What to write where the value of an unknown clause is itself the name of one: cut princess."""
        said = clause.value.name if isinstance(clause.value, tree.Name) else ""
        if not said or block.finds(said):
            return None
        if said in takes:
            return f"write {sample(takes[said]) or said} in place of {clause.key.name} {said}"
        return self.elsewhere(said, "") if self.takers(said) else None

    def or_a_word(self, key: str, among: tuple[str, ...], word: str) -> str | None:
        """What to write for a word that stands as a clause and is spelt like another one, if that is no form
        of the word, as 'lines' of line."""
        near = nearest(key, among)
        if near is None or key not in self.words or near.startswith(key) or key.startswith(near):
            return None
        own = self.elsewhere(key, word)
        return f"{own}; or is '{near}' meant?" if own else None

    def takers(self, key: str) -> list[str]:
        """The words that take a clause of that name."""
        return [word.name for word in self.words.values() if any(take.name == key for take in word.takes)]

    def elsewhere(self, key: str, word: str) -> str | None:
        """Where ``key``, which a line of ``word`` does not take, is said instead: by another word, or as a
        clause of other words."""
        named = {name: (name,) for name in self.words} | dict(self.trade.words)
        takers = self.takers(key)
        if takers and key not in named:
            return f"{key} is said on {', '.join(takers[:_MOST_TAKERS])}"
        near = key if key in named else nearest(key, named)
        if near is not None and word in named[near]:
            return None
        return f"it is a line of its own, of the word {' or '.join(named[near])}" if near else None

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
                if any(_chooses(take, name) for name in names - known):
                    continue
                shown = sample(take)
                add = f"add {shown}, or the like" if shown else f"add {take.name} and its name"
                self.fault(
                    "clause-missing", f"{word.name} needs {take.name}, {take.kind.due}", line.head,
                    add + (f": {take.help}" if take.help else ""),
                )
        lost = None in meant  # a clause nobody knows may be the one that is missing
        for group in word.one_of:
            said = [key for key in given if key.name in group]
            if not said and not lost and not meant.intersection(group):
                some = list(filter(None, (sample(takes[name]) for name in group)))[:2]
                self.fault(
                    "clause-missing", f"{word.name} needs one of {', '.join(group)}", line.head,
                    "say one of them" + (f", as in: {' or '.join(some)}" if some else ""),
                )
            passed = {clause.key.name for clause in line.clauses if passes_on(clause.value, keys)}
            for key in said[1:] if word.just_one(key.name for key in given) else ():
                if key.name != said[0].name and passed.isdisjoint((key.name, said[0].name)):
                    self.disagree(said[0].name, said[0].span, key.name, key.span)


def _lengths(node: tree.Expression | None) -> list[float]:
    """The figures written in a value, where all are mm."""
    found = [one for one in (tree.within(node) if node else ()) if isinstance(one, tree.Number)]
    return [one.value for one in found] if all(one.unit in (None, "mm") for one in found) else []


def _as_choice(said: str, takes: Mapping[str, Take]) -> str | None:
    """What to write where one of a clause's choices stands as a clause of its own: garnet, for gem garnet."""
    found = [f"{one.name} {said}" for one in takes.values() if _chooses(one, said)]
    return f"write {' or '.join(found)}" if 0 < len(found) < 3 else None


def _chooses(take: Take, said: str) -> bool:
    return take.kind in CHOOSING and bool(take.choices) and take.choice(said) is not None


def _fitting(takes: Mapping[str, Take], clauses: tuple[tree.Clause, ...]) -> dict[str, Take]:
    """The clauses of a word that may be meant on a line: not those that go with another it does not say."""
    said = {clause.key.name for clause in clauses}
    return {one.name: one for one in takes.values() if not one.goes_with or said.intersection(one.goes_with)}


def passes_on(value: tree.Expression | None, keys: Set[str]) -> bool:
    """Whether a clause hands on one of the ``keys`` of the word around it, alone or as what is chosen."""
    if isinstance(value, tree.Invoke) and value.function.name == "choose":
        return any(passes_on(one, keys) for one in value.arguments[1:])
    return isinstance(value, tree.Name) and value.name in keys
