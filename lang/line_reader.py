"""Reads a line by the parse tables that lark worked out from grammar.lark.

The same shifts and reductions as lark's own reader makes (LALR, terminals told by what may come
next), with nothing else to load: a piece is checked a third sooner. A line it refuses is read by lark
again, which tells what is wrong with it.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from functools import cached_property
from typing import Any

from .lean import dataclass

END = "$END"
Match = Callable[[str, int], "re.Match[str] | None"]


class Token(str):
    """A piece of the text, with where it starts in its line."""

    __slots__ = ("start_pos",)
    start_pos: int


class Refused(Exception):
    """The line is none of the grammar's."""


@dataclass(frozen=True, eq=False)
class Reduction:
    """A rule of the grammar: the name of what it makes, how many parts it takes; which of them are
    handed on, and whether each is a run of parts; what makes one of them (None: they are the run).
    ``passes``: a single part stays as it is; ``stays``: there is never but one."""

    made: str
    size: int
    kept: tuple[tuple[int, bool], ...]
    passes: bool
    make: Callable[[list[Any]], Any] | None
    stays: bool

    def of(self, parts: Sequence[Any]) -> Any:
        """What comes of the parts."""
        found: list[Any] = []
        for place, run in self.kept:
            found += parts[place] if run else parts[place : place + 1]
        if self.passes and len(found) == 1:
            return found[0]
        return found if self.make is None else self.make(found)


class LineReader:
    """Reads lines by ``kept``, the content of tables.json; the methods of ``build`` make the nodes."""

    def __init__(self, kept: Mapping[str, Any], build: object) -> None:
        self._memo, self._build, self._data = kept["memo"], build, kept["data"]["parser"]
        table = self._data["parser"]
        self._names, self._states = table["tokens"], table["states"]
        self._starts, self._ends = table["start_states"], table["end_states"]
        self._actions: dict[int, dict[str, tuple[int, int]]] = {}
        self._tries: dict[tuple[int, str], list[tuple[str, Match]]] = {}
        self._reductions: dict[int, Reduction] = {}

    def read(self, text: str, start: str) -> Any:
        """The node of a line; raises Refused."""
        states, values, last = [self._starts[start]], [], self._ends[start]
        place, end = 0, len(text)
        while True:
            place = self._ignored(text, place).end()  # type: ignore[union-attr]
            if place < end:
                name, token = self._token(text, place, states[-1])
                place += len(token)
            else:
                name, token = END, Token()
            while True:
                action = self.actions(states[-1]).get(name)
                if action is None:
                    raise Refused
                reduces, to = action
                if not reduces:
                    states.append(to)
                    values.append(token)
                    break
                rule = self._reductions.get(to) or self._reduction(to)
                first = len(values) - rule.size
                if not rule.stays:
                    values[first:] = [rule.of(values[first:])]
                del states[first + 1 :]
                states.append(self.actions(states[-1])[rule.made][1])
                if name == END and states[-1] == last:
                    return values[-1]

    def _token(self, text: str, place: int, state: int) -> tuple[str, Token]:
        begins = state, text[place]
        tries = self._tries.get(begins)
        if tries is None:
            actions = self.actions(state)
            tries = self._tries[begins] = [
                (name, match) for name, first, match in self._terminals
                if name in actions and first in (None, text[place])
            ]  # fmt: skip
        for name, match in tries:
            found = match(text, place)
            if found is not None:
                token = Token(found.group())
                token.start_pos = place
                return name, token
        raise Refused

    def actions(self, state: int) -> dict[str, tuple[int, int]]:
        """What may come next in a state: reduce (1) by which rule, or go on (0) to which state."""
        found = self._actions.get(state)
        if found is None:
            names = self._names
            found = self._actions[state] = {
                names[token]: (reduces, to["@"] if reduces else to)
                for token, (reduces, to) in self._states[str(state)].items()
            }
        return found

    @cached_property
    def _terminals(self) -> list[tuple[str, str | None, Match]]:
        """Every terminal in the order in which lark tries them: the letter it begins with, where there
        is but one, and how it is met."""
        ignored = self._data["lexer_conf"]["ignore"]
        found = [one for one in self._memo.values() if one["__type__"] == "TerminalDef"]
        found.sort(key=_rank)
        return [
            (one["name"], _first(one["pattern"]), _met(_pattern(one)))
            for one in found if one["name"] not in ignored
        ]  # fmt: skip

    @cached_property
    def _ignored(self) -> Match:
        """Meets all that says nothing."""
        ignored = self._data["lexer_conf"]["ignore"]
        patterns = (_pattern(one) for one in self._memo.values() if one.get("name") in ignored)
        return re.compile(f"(?:{'|'.join(patterns)})*").match

    def _reduction(self, number: int) -> Reduction:
        rule = self._memo[str(number)]
        made, options = rule["origin"]["name"], rule["options"]
        kept = tuple(
            (place, part["__type__"] == "NonTerminal" and part["name"].startswith("_"))
            for place, part in enumerate(rule["expansion"])
            if not part.get("filter_out")
        )
        make = None if made.startswith("_") else getattr(self._build, rule["alias"] or made)
        passes, size = options["expand1"] and not rule["alias"], len(rule["expansion"])
        stays = passes and size == 1 and kept == ((0, False),)
        found = self._reductions[number] = Reduction(made, size, kept, passes, make, stays)
        return found


def _rank(terminal: Mapping[str, Any]) -> tuple[int, int, int, str]:
    """What comes first is tried first: what is put first, then the widest and the longest."""
    pattern = terminal["pattern"]
    long = len(pattern["value"])
    return -terminal["priority"], -pattern.get("_width", (long, long))[1], -long, terminal["name"]


def _pattern(terminal: Mapping[str, Any]) -> str:
    """The regular expression of a terminal."""
    pattern = terminal["pattern"]
    return str(re.escape(pattern["value"]) if pattern["__type__"] == "PatternStr" else pattern["value"])


def _first(pattern: Mapping[str, Any]) -> str | None:
    """The one letter a terminal begins with, None where it may be several."""
    plain = pattern["__type__"] == "PatternStr" or re.match(r"[a-z](?![*?{|])[^|]*$", pattern["value"])
    return str(pattern["value"][0]) if plain else None


def _met(pattern: str) -> Match:
    """Matches a pattern, compiled when first wanted."""
    met: list[Match] = []

    def match(text: str, place: int) -> re.Match[str] | None:
        if not met:
            met.append(re.compile(pattern).match)
        return met[0](text, place)

    return match
