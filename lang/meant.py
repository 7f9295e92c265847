"""What a clause that a word does not take was meant as."""

from __future__ import annotations

from collections.abc import Mapping

from . import tree
from .lexicon import Trade
from .names import Block, Names
from .placing import PLACING_BY_NAME
from .samples import sample
from .suggest import did_you_mean, nearest
from .words import ADDED, CHOOSING, Kind, Take, Word

_MOST_TAKERS = 6  # words told that take a clause said on another
METAL_HINT = "metal is said below the piece line, and on what makes metal, a workpiece or a casting"


class Meant:
    """Tells what is meant by a key; ``names`` checks the names in values; ``trade`` tells what people may
    mean by one there is not; ``words`` are all there are."""

    def __init__(self, names: Names, trade: Trade, words: Mapping[str, Word]) -> None:
        self.names, self.words, self.trade = names, words, trade
        self.said = trade.clauses
        self.fault = names.notes.fault

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
        if self.is_so_already(clause, clauses):
            return
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

    def is_so_already(self, clause: tree.Clause, clauses: tuple[tree.Clause, ...]) -> bool:
        """Whether a key without a figure, alone or in two words, says what another clause of its line does,
        as 'evenly spaced' beside number: then it is told."""
        key, value = clause.key.name, clause.value
        phrase = f"{key}-{value.name}" if isinstance(value, tree.Name) else key if value is None else ""
        said = {one.key.name for one in clauses if one.value is not None}
        does = next((name for name in self.said.get(phrase, ()) if name in said), None)
        if does is not None:
            told = f"'{phrase.replace('-', ' ')}' says nothing more here: {does} sees to it"
            self.fault("unknown-clause", told, clause.span, "leave it out")
        return does is not None

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


def _lengths(node: tree.Expression | None) -> list[float]:
    """The figures written in a value, where all are mm."""
    found = [one for one in (tree.within(node) if node else ()) if isinstance(one, tree.Number)]
    return [one.value for one in found] if all(one.unit in (None, "mm") for one in found) else []


def _as_choice(said: str, takes: Mapping[str, Take]) -> str | None:
    """What to write where one of a clause's choices stands as a clause of its own: garnet, for gem garnet."""
    found = [f"{one.name} {said}" for one in takes.values() if chooses(one, said)]
    return f"write {' or '.join(found)}" if 0 < len(found) < 3 else None


def chooses(take: Take, said: str) -> bool:
    """Whether a name is one of the choices of a clause."""
    return take.kind in CHOOSING and bool(take.choices) and take.choice(said) is not None
