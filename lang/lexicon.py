"""The words one can use by name, and the bare names that stand for themselves in their clauses.

A piece uses a few words of many. Those written in posy are read when they are first asked for,
so that a short check never parses the rest."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence, Set
from functools import cached_property
from types import MappingProxyType
from typing import NamedTuple

from .suggest import nearest
from .words import Word


class Trade(NamedTuple):
    """What people call things: by what they say, the ``words`` and the ``clauses`` that may be
    meant, the likeliest first."""

    words: Mapping[str, Sequence[str]] = MappingProxyType({})
    clauses: Mapping[str, Sequence[str]] = MappingProxyType({})

    def meant(self, name: str, words: Iterable[str]) -> str | None:
        """The word that ``name``, which is none of ``words``, likely stands for."""
        return next(iter(self.words.get(name.casefold(), ())), None) or nearest(name, words)

    def not_taught(self, name: str, words: Iterable[str], part: bool) -> tuple[str, str]:
        """What to say of ``name``, which is none of ``words`` nor of these (``part``: a part or a measure
        has that name), and what to write."""
        near, said = nearest(name, words), name.casefold()
        if near is None and said not in self.words:
            said = nearest(said, self.words) or said
        message, here = f"there is no word '{name}'", " or ".join(self.words.get(said, ()))
        if here:
            first = self.words[said][0]
            return f"{message}; here it is {here}", f"write {here}; posy words {first} tells its clauses"
        if near is not None:
            return message, f"did you mean '{near}'?"
        if part:
            return message, f"'{name}' is a part or a measure; a line starts with a word"
        return message, "posy words lists all words"


class Lexicon(Mapping[str, Word]):
    """Words by name: core words, over them the standard words, over them further ones.

    ``standard`` may read a word when it is asked for it; its names must be known at once.
    ``trade`` tells what people may mean by a name that is none."""

    def __init__(
        self, core: Mapping[str, Word] | None = None, standard: Mapping[str, Word] | None = None,
        further: Mapping[str, Word] | None = None, trade: Trade | None = None,
    ) -> None:
        self.trade = trade or Trade()
        self._layers = further or {}, standard or {}, core or {}
        self._met: dict[str, Word] = dict(further or {})

    def __getitem__(self, name: str) -> Word:
        word = self._met.get(name)
        if word is None:
            layer = next((layer for layer in self._layers if name in layer), None)
            if layer is None:
                raise KeyError(name)
            word = self._met[name] = layer[name]
        return word

    def __contains__(self, name: object) -> bool:
        return any(name in layer for layer in self._layers)

    def __iter__(self) -> Iterator[str]:
        further, standard, core = self._layers
        return iter(dict.fromkeys([*core, *standard, *further]))

    def __len__(self) -> int:
        return len(dict.fromkeys(self))

    def met(self) -> Iterator[Word]:
        """The words asked for so far: whatever a piece uses is among them."""
        return iter(self._met.values())

    def with_further(self, further: Mapping[str, Word]) -> Lexicon:
        """This and ``further`` words; those met here count as met there."""
        _, standard, core = self._layers
        made = Lexicon(core, standard, {**self._layers[0], **further}, self.trade)
        made._met = {**self._met, **made._met}
        return made


class Choices(Set[str]):
    """Bare names that stand for themselves in some clause: those at hand, then those of the words met,
    then those of all ``words``, which are looked through only when a name is none of the others."""

    def __init__(self, near: Iterable[str], words: Lexicon) -> None:
        self._near = frozenset(near)
        self._words = words

    @cached_property
    def _all(self) -> frozenset[str]:
        return self._near | choices_of(self._words.values())

    def __contains__(self, name: object) -> bool:
        return name in self._near or name in choices_of(self._words.met()) or name in self._all

    def __iter__(self) -> Iterator[str]:
        return iter(self._all)

    def __len__(self) -> int:
        return len(self._all)

    def with_further(self, names: Iterable[str]) -> Choices:
        """These and ``names``."""
        return Choices(self._near.union(names), self._words)


def choices_of(words: Iterable[Word]) -> frozenset[str]:
    """The bare names that stand for themselves in some clause of ``words``."""
    found: set[str] = set()
    for word in words:
        for take in word.takes:
            found.update(take.choices)
    return frozenset(found)
