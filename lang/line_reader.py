"""Reads a line by the parse tables that lark worked out from grammar.lark.

The same shifts and reductions as lark's own reader makes (LALR, terminals told by what may come
next), with nothing else to load: a piece is checked a third sooner. A line it refuses is read by lark
again, which tells what is wrong with it."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any

from .lean import dataclass

END = "$END"
Match = Callable[[str, int], "re.Match[str] | None"]


class Token(str):
    """A piece of the text, with where it starts in its line."""

    __slots__ = "start_pos",
    start_pos: int


class Refused(Exception):
    """The line is none of the grammar's."""


@dataclass(frozen=True, eq=False)
class Reduction:
    """A rule of the grammar: the name of what it makes, how many parts it takes; which of them are handed on,
    and whether each is a run of parts (None: all as they are); what makes one of them (None: they are the
    run). ``passes``: a single part stays as it is; ``stays``: there is never but one."""

    made: str
    size: int
    kept: tuple[tuple[int, bool], ...] | None
    passes: bool
    make: Callable[[list[Any]], Any] | None
    stays: bool

    def of(self, parts: list[Any]) -> Any:
        """What comes of the parts."""
        if self.kept is not None:
            found: list[Any] = []
            for place, run in self.kept:
                found += parts[place] if run else parts[place : place + 1]
            parts = found
        if self.passes and len(parts) == 1:
            return parts[0]
        return parts if self.make is None else self.make(parts)


class LineReader:
    """Reads lines by ``kept``, the content of tables.json (see ``tables.reading``); the methods of
    ``build`` make the nodes."""

    def __init__(self, kept: Mapping[str, Any], build: object) -> None:
        self._build, self._rules = build, kept["rules"]
        # In each state, by what comes next: the state to go on to, or below zero ~(rule to reduce by).
        self._states: list[dict[str, int]] = kept["states"]
        self._starts, self._ends = kept["starts"], kept["ends"]
        self._ignored: Match = re.compile(kept["ignored"]).match
        self._terminals: list[tuple[str, str | None, str]] = kept["terminals"]
        self._patterns: dict[str, Match] = {}
        self._tries: dict[tuple[int, str], list[tuple[str, Match]]] = {}
        self._reductions: dict[int, Reduction] = {}
        self._risen: dict[tuple[int, int, str], int] = {}

    def read(self, text: str, start: str) -> Any:
        """The node of a line; raises Refused."""
        table, made_by = self._states, self._reductions
        states, values, last = [self._starts[start]], [], self._ends[start]
        place, end = 0, len(text)
        while True:
            if place < end and (text[place].isspace() or text[place] == "#"):
                place = self._ignored(text, place).end()  # type: ignore[union-attr]
            if place < end:
                name, token = self._token(text, place, states[-1])
                place += len(token)
            else:
                name, token = END, Token()
            while True:
                to = table[states[-1]].get(name)
                if to is None:
                    raise Refused
                if to >= 0:
                    states.append(to)
                    values.append(token)
                    break
                rule = made_by.get(to) or self._reduction(to)
                if rule.stays:
                    states[-1] = self._rise(states[-2], states[-1], name)
                else:
                    first = len(values) - rule.size
                    values[first:] = [rule.of(values[first:])]
                    del states[first + 1 :]
                    states.append(table[states[-1]][rule.made])
                if name == END and states[-1] == last:
                    return values[-1]

    def _rise(self, below: int, state: int, name: str) -> int:
        """The state that ``name`` leads to past all the rules that leave one part as it is."""
        key = below, state, name
        found = self._risen.get(key)
        if found is None:
            to = self._states[state].get(name, 0)
            while to < 0 and (rule := self._reduction(to)).stays:
                state = self._states[below][rule.made]
                to = 0 if state in self._ends.values() else self._states[state].get(name, 0)
            found = self._risen[key] = state
        return found

    def _token(self, text: str, place: int, state: int) -> tuple[str, Token]:
        begins = state, text[place]
        tries = self._tries.get(begins)
        if tries is None:
            actions = self._states[state]
            tries = self._tries[begins] = [
                (name, self._patterns.get(name) or self._pattern(name, pattern))
                for name, first, pattern in self._terminals
                if name in actions and first in (None, text[place])
            ]
        for name, match in tries:
            found = match(text, place)
            if found is not None:
                token = Token(found.group())
                token.start_pos = place
                return name, token
        raise Refused

    def _pattern(self, name: str, pattern: str) -> Match:
        """How a terminal is met; its pattern is compiled when it is first wanted."""
        found = self._patterns[name] = re.compile(pattern).match
        return found

    def _reduction(self, number: int) -> Reduction:
        found = self._reductions.get(number)
        if found is None:
            made, maker, size, kept, passes = self._rules[~number]
            make = None if maker is None else getattr(self._build, maker)
            whole = kept == [[place, False] for place in range(size)]
            stays = passes and size == 1 and whole
            kept = None if whole else tuple(map(tuple, kept))
            found = self._reductions[number] = Reduction(made, size, kept, passes, make, stays)
        return found
