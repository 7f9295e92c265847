"""Which rows of a table people may mean by a name: every word they say must be one of the row's."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cached_property

from ..lang.suggest import nearest

Words = frozenset[str]
_FEW = 8  # names listed at most


class TradeNames:
    """The rows of a table of ``kind`` ("metal") by name, each with all words it is called by, which
    ``named`` gives; ``split`` makes the words of what somebody says."""

    def __init__(
        self, kind: str, named: Callable[[], Mapping[str, Words]], split: Callable[[str], Words]
    ) -> None:
        self._kind, self._named, self._split = kind, named, split

    @cached_property
    def _words(self) -> Mapping[str, Words]:
        return self._named()

    def meant(self, said: str) -> list[str]:
        """The rows that have every word of ``said``, in table order."""
        parts = self._split(said)
        return [name for name, words in self._words.items() if parts and parts <= words]

    def hint(self, said: str, found: list[str] | None = None) -> str:
        """What to say of a name that is not one row: which it may be, or what is like it. Figures
        are never guessed, so no other fineness is offered in the place of one there is not."""
        found = self.meant(said) if found is None else found
        if found:
            return f"write {_either(found)}"
        parts = self._split(said)
        known = sorted(set().union(*self._words.values()))
        odd = {part: nearest(part, filter(str.isalpha, known)) for part in parts - set(known)}
        if odd and all(part.isalpha() and near for part, near in odd.items()):
            found = self.meant(" ".join(odd.get(part) or part for part in sorted(parts)))
            if found:
                return f"did you mean {_either(found)}?"
        alike = self.meant(" ".join(part for part in parts if part.isalpha() and part not in odd))
        return f"like it are {', '.join(_few(alike))}" if alike else self.listed()

    def listed(self) -> str:
        """The first of all names, and where the others stand."""
        return (
            f"there are {', '.join(_few(list(self._words)))}: posy words {self._kind} lists all. One of "
            "your own has its row in bench.toml: posy why bench.toml"
        )


def _either(names: list[str]) -> str:
    """One of some names."""
    few = _few(names)
    return " or ".join(filter(None, (", ".join(few[:-1]), few[-1])))


def _few(names: list[str]) -> list[str]:
    return names if len(names) <= _FEW else [*names[:_FEW], f"{len(names) - _FEW} more"]
