"""What a command may be told, one record an option; and the reading of a command line by them.

The help pages, the table in README.md and the tests are made from the same records."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from types import SimpleNamespace
from typing import Any

from ...lang.folding import clean
from ...lang.suggest import did_you_mean

Arguments = SimpleNamespace
"""What was said: one attribute an option, named after it without its dashes."""


class Misuse(Exception):
    """The command was used in a way that makes no sense; exit code 2."""


@dataclass(frozen=True)
class Option:
    """One thing a command may be told. ``value`` names what stands after it (nothing for a plain yes),
    ``like`` is an example of that; ``says`` and ``without`` are sentences: what it does, and what holds when
    it is left out. ``read`` turns the value into what the command wants and raises Misuse; ``usual`` is what
    the command gets without it; ``named`` the attribute it is read into, where that is not its name."""

    name: str
    says: str
    value: str = ""
    like: str = ""
    without: str = ""
    read: Callable[[str], Any] = str
    usual: Any = None
    several: bool = False
    named: str = ""

    @property
    def key(self) -> str:
        """The attribute it is read into."""
        return self.named or self.name.lstrip("-").replace("-", "_")


@dataclass(frozen=True)
class Names:
    """What stands after the command: ``value`` as help writes it, ``like`` an example, how many, joined."""

    key: str
    value: str
    says: str
    like: str
    needed: bool = True
    several: bool = False
    joined: bool = False


@dataclass(frozen=True)
class Command:
    """One command: ``what`` it does in half a sentence, ``details``, what it ``gives`` back."""

    name: str
    what: str
    details: str
    names: Names
    gives: str
    examples: tuple[str, ...]
    options: tuple[Option, ...] = field(default_factory=tuple)

    @property
    def line(self) -> str:
        """How it is written, in short."""
        shown = self.names.value + (" …" if self.names.several else "")
        return f"posy {self.name} {shown if self.names.needed else f'[{shown}]'}"


# Options that had another name: what they are called now, and their values.
_RENAMED = {"--format": "--show", "--notes": "--hints", "--build": "--make", "-o": "--into"}
_SHOWN = {"human": "full", "short": "lines", "json": "data"}
HELP = "--help", "-h"
# What could steer a terminal or turn what is read about: control characters, marks of text direction.
_STEERS = re.compile("[\x00-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069]")


def all_show(words: Sequence[str]) -> None:
    """Raise Misuse for a word with what does not show but could steer a terminal: it is told back."""
    for word in words:
        if found := _STEERS.search(word):
            raise Misuse(
                f"'{clean(word)}' holds a character that does not show (U+{ord(found[0]):04X}): take it out, "
                "of the name of a file too"
            )


def read(command: Command, words: Sequence[str]) -> Arguments:
    """What ``words`` say to ``command``. Raises Misuse."""
    known = {option.name: option for option in command.options}
    said: dict[str, Any] = {option.key: [] if option.several else option.usual for option in command.options}
    names: list[str] = []
    rest = iter(words)
    for word in rest:
        if word == "--":
            names += rest
        elif not word.startswith("-") or word == "-":
            names.append(word)
        else:
            name, equals, value = word.partition("=")
            option = known.get(name)
            if option is None:
                raise Misuse(_unknown(command, known, name, value, rest))
            answer = _value(command, option, value if equals else None, rest)
            if option.several:
                said[option.key].append(answer)
            else:
                said[option.key] = answer
    return Arguments(**said, **{command.names.key: _named(command, names)})


def _value(command: Command, option: Option, given: str | None, rest: Iterator[str]) -> Any:
    if not option.value:
        if given is not None:
            raise Misuse(f"{option.name} stands alone: leave out ={given}")
        return True
    if given is None:
        given = next(rest, None)
    if given is None or given.partition("=")[0] in [one.name for one in command.options]:
        like = f"{option.name} {option.like}"
        raise Misuse(f"{option.name} needs {option.value} after it, as in {like}")
    try:
        return option.read(given)
    except Misuse as error:
        raise Misuse(f"{option.name}: {error}") from None


def _named(command: Command, names: list[str]) -> Any:
    """What stands by itself: a name, several, or None."""
    what = command.names
    if what.needed and not names:
        raise Misuse(f"posy {command.name} needs {what.value}, as in: {command.examples[0]}")
    if what.several:
        return names
    if len(names) > 1 and not what.joined:
        raise Misuse(f"posy {command.name} takes one {what.value}: leave out {' '.join(names[1:])}")
    return " ".join(names) if names else None


def _unknown(command: Command, known: dict[str, Option], name: str, value: str, rest: Iterator[str]) -> str:
    now = _RENAMED.get(name)
    if now in known:
        value = value or (next(rest, "") if known[now].value else "")
        shown = f" {_SHOWN.get(value, value)}" if value else ""
        return f"{name} is called {now} here: {now}{shown}"
    if name.endswith(".posy"):
        return f"a file with a dash in front is written ./{name}"
    hint = did_you_mean(name, known)
    return f"there is no option {name}; {hint or f'posy {command.name} --help lists them'}"


def one_of(*choices: str) -> Callable[[str], str]:
    """Reads a value that is one of ``choices``."""

    def read_choice(text: str) -> str:
        if text not in choices:
            said = _SHOWN.get(text)
            hint = f"write {said}" if said in choices else did_you_mean(text, choices)
            raise Misuse(f"there is no '{text}'; {hint or 'there are ' + ', '.join(choices)}")
        return text

    return read_choice


def listed(what: str, choices: Sequence[str]) -> Callable[[str], tuple[str, ...]]:
    """Reads names with commas between, each one of ``choices``, which are ``what``."""

    def read_list(text: str) -> tuple[str, ...]:
        names = [one.strip().lower() for one in text.split(",") if one.strip()]
        for name in names:
            if name not in choices:
                hint = did_you_mean(name, choices) or f"there are {', '.join(choices)}"
                raise Misuse(f"there is no {what} '{name}'; {hint}")
        if not names:
            raise Misuse(f"say which of {', '.join(choices)}")
        return tuple(dict.fromkeys(names))

    return read_list
