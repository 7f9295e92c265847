"""What a line hands down to all that is made below it: the clauses a group takes of its own.

A group, a casting and a word written in posy take them; every core word below that takes such a
clause too, and does not say it itself, hears it. So an alloy said once holds for all its parts."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace

from .bench import Argument
from .words import Take, Word


def handed_by(word: Word, group: Word | None) -> dict[str, Take]:
    """The clauses that lines of ``word`` hand down, by name; those a word written in posy takes
    itself are in its own hands."""
    if word.body is None:
        return {} if word.made_by is not None else {take.name: take for take in word.takes}
    own = {take.name for take in word.takes}
    return {take.name: take for take in (group.takes if group else ()) if take.name not in own}


@dataclass
class _Said:
    argument: Argument
    heard: bool = False


class Handed:
    """What is handed down where the work is now, the innermost line's word for it."""

    def __init__(self) -> None:
        self._now: dict[str, _Said] = {}

    @contextmanager
    def down(
        self, arguments: Mapping[str, Argument], name: str, deaf: Callable[[str, Argument], object]
    ) -> Iterator[None]:
        """Hand ``arguments`` of the line called ``name`` down to the work done within; ``deaf`` is told each
        that nothing heard. A flag is handed down as the name of the line that said it."""
        before = self._now
        said = {
            key: _Said(replace(one, value=name if one.value is True else one.value, given=False))
            for key, one in arguments.items()
        }
        self._now = {**before, **said}
        try:
            yield
        finally:
            self._now = before
        for key, one in said.items():
            if not one.heard:
                deaf(key, arguments[key])

    def unsure(self) -> None:
        """Something below could not be done, so nobody can tell what would have been heard."""
        for one in self._now.values():
            one.heard = True

    def heard(self, takes: Mapping[str, Take], said: Mapping[str, Argument]) -> dict[str, Argument]:
        """What a core word hears that takes ``takes`` and has ``said`` some of them itself."""
        found = {}
        for key, one in self._now.items():
            if key in takes and key not in said:
                one.heard = True
                found[key] = one.argument
        return found

