"""From the grammar's rules to nodes of the tree: one method per rule of grammar.lark.

These are called while a line is read. They never raise: what is wrong with a part that could
be read (an unknown unit, a number too large) is noted and the line goes on."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from typing import Any

from lark import Token

from . import tree
from .faults import Fault, Span
from .source import Source
from .units import KNOWN_UNITS, unknown_unit
from .values import UNITS

MOST_NUMBER = 1e9
VERSION = 1  # of the language


class Build:
    """Makes nodes for the line set by ``begin``; ``faults`` gathers what it noted."""

    def __init__(self) -> None:
        self.source = Source("", "")
        self.base = 0
        self.faults: list[Fault] = []
        self.whole = self.source.span(0, 0)
        self.below = False

    def begin(self, source: Source, start: int, end: int, below: bool) -> None:
        """Make ready for the line at ``start`` to ``end`` of ``source``."""
        self.source = source
        self.base = start
        self.whole = source.span(start, end)
        self.below = below

    # --- small parts

    def _span(self, token: Token) -> Span:
        start = self.base + (token.start_pos or 0)
        return self.source.span(start, start + len(token))

    def _name(self, token: Token) -> tree.Name:
        name = str(token)
        if not name.isascii():
            name = unicodedata.normalize("NFC", name)
        return tree.Name(name, self._span(token))

    def _quoted(self, token: Token) -> tree.Quoted:
        return tree.Quoted(str(token)[1:-1].replace('""', '"'), self._span(token))

    def name(self, parts: Sequence[Any]) -> tree.Name:
        """A name as a value."""
        return self._name(parts[0])

    def text(self, parts: Sequence[Any]) -> tree.Quoted:
        """A text."""
        return self._quoted(parts[0])

    def phrase(self, parts: Sequence[Any]) -> tree.Quoted:
        """A text of two words that is clear without quotes."""
        return tree.Quoted(" ".join(str(parts[0]).split()), self._span(parts[0]))

    def number(self, parts: Sequence[Any]) -> tree.Number:
        """A number with or without a unit."""
        token = parts[0]
        span = self._span(token)
        unit: str | None = None
        if len(parts) > 1:
            unit = str(parts[1])
            place = self._span(parts[1])
            if unit not in KNOWN_UNITS:
                self.faults.append(unknown_unit(str(token), unit, span, place))
            span = span.to(place)
        whole, _, fraction = str(token).partition(" ")
        over, _, under = fraction.partition("/")
        value = float(whole) + (float(over) / float(under) if under else 0.0)
        if value > MOST_NUMBER:
            self.faults.append(
                Fault(
                    "number-too-large", "this number is too large", span, limit=f"at most {MOST_NUMBER:,.0f}",
                    remedy="see whether its digits or its unit are meant otherwise",
                )
            )
            unit = "?"
        return tree.Number(value, str(token), unit, span)

    # --- expressions

    def paren(self, parts: Sequence[Any]) -> tree.Paren:
        """( value )."""
        return tree.Paren(parts[1], self._span(parts[0]).to(self._span(parts[2])))

    def spot(self, parts: Sequence[Any]) -> tree.Spot:
        """( value, value … )."""
        return tree.Spot(tuple(parts[1:-1]), self._span(parts[0]).to(self._span(parts[-1])))

    def invoke(self, parts: Sequence[Any]) -> tree.Invoke:
        """Function ( value, … )."""
        function = self._name(parts[0])
        return tree.Invoke(function, tuple(parts[2:-1]), function.span.to(self._span(parts[-1])))

    def of(self, parts: Sequence[Any]) -> tree.Expression:
        """Name of name of thing; comes only with at least one ``of``."""
        if len(parts) == 1:
            return parts[0]  # type: ignore[no-any-return]
        names = tuple(self._name(token) for token in parts[:-1:2])
        return tree.Of(names, parts[-1], names[0].span.to(parts[-1].span))

    def signed(self, parts: Sequence[Any]) -> tree.Expression:
        """Minus signs before a value."""
        if len(parts) == 1:
            return parts[0]  # type: ignore[no-any-return]
        span = self._span(parts[0]).to(parts[-1].span)
        return tree.Minus(len(parts) - 1, parts[-1], span)

    def _chain(self, parts: Sequence[Any]) -> tree.Arithmetic:
        span = parts[0].span.to(parts[-1].span)
        return tree.Arithmetic(tuple(parts[::2]), tuple(map(str, parts[1::2])), span)

    def sum(self, parts: Sequence[Any]) -> tree.Arithmetic:
        """Members with + and - between."""
        return self._chain(parts)

    def product(self, parts: Sequence[Any]) -> tree.Expression:
        """Members with * and / between; 1/16 in is a figure, not one divided by 16 in."""
        members = list(parts)
        for at in range(len(members) - 3, -1, -2):
            made = self._fraction(members[at : at + 3])
            if made is not None and (at == 0 or str(members[at - 1]) == "*"):
                members[at : at + 3] = [made]
        return members[0] if len(members) == 1 else self._chain(members)

    def _fraction(self, parts: Sequence[Any]) -> tree.Number | None:
        """Two plain numbers with / between, the second with a unit, as one figure."""
        over, sign, under = parts
        if str(sign) != "/" or not (isinstance(over, tree.Number) and isinstance(under, tree.Number)):
            return None
        plain = over.unit is None and under.unit in UNITS and under.value
        if not plain or not (over.text + under.text).isdigit():
            return None
        text = f"{over.text}/{under.text}"
        return tree.Number(over.value / under.value, text, under.unit, over.span.to(under.span))

    def sized(self, parts: Sequence[Any]) -> tree.Sized:
        """Members with x between."""
        return tree.Sized(tuple(parts[::2]), parts[0].span.to(parts[-1].span))

    def comparison(self, parts: Sequence[Any]) -> tree.Compare:
        """Two sides of a test."""
        operator = " ".join(map(str, parts[1:-1]))
        return tree.Compare(parts[0], operator, parts[-1], parts[0].span.to(parts[-1].span))

    def negation(self, parts: Sequence[Any]) -> tree.Negate:
        """Not before a test."""
        span = self._span(parts[0]).to(parts[-1].span)
        return tree.Negate(len(parts) - 1, parts[-1], span)

    def both(self, parts: Sequence[Any]) -> tree.Logic:
        """Tests with ``and`` between."""
        return tree.Logic("and", tuple(parts[::2]), parts[0].span.to(parts[-1].span))

    def either(self, parts: Sequence[Any]) -> tree.Logic:
        """Tests with ``or`` between."""
        return tree.Logic("or", tuple(parts[::2]), parts[0].span.to(parts[-1].span))

    def run(self, parts: Sequence[Any]) -> tree.Expression:
        """Members with ``to`` and ``over`` between, or one member by itself."""
        if len(parts) == 1:
            return parts[0]  # type: ignore[no-any-return]
        span = parts[0].span.to(parts[-1].span)
        return tree.Run(tuple(parts[::2]), tuple(map(str, parts[1::2])), span)

    # --- clauses and lines (lines below are added by parse.py)

    def clause(self, parts: Sequence[Any]) -> tree.Clause:
        """Key and value."""
        key = self._name(parts[0])
        value = parts[1] if len(parts) > 1 else None
        if key.name == "metal" and isinstance(value, tree.Number) and value.unit not in (None, *KNOWN_UNITS):
            self.faults.pop()  # 14k reads as a number with a unit
            value = tree.Name(f"{value.text}{value.unit}", value.span)
        span = key.span if value is None else key.span.to(value.span)
        return tree.Clause(key, value, span, self.below)

    def clauses(self, parts: Sequence[Any]) -> tuple[tree.Clause, ...]:
        """A clause line."""
        return tuple(parts)

    def line(self, parts: Sequence[Any]) -> tree.Line:
        """Whatever line it is."""
        return parts[0]  # type: ignore[no-any-return]

    def version(self, parts: Sequence[Any]) -> tree.Version:
        """``posy 1``; a version this posy cannot know is a fault."""
        said = str(parts[1])
        if said != str(VERSION):
            later = said.isdigit() and int(said) > VERSION
            self.faults.append(
                Fault(
                    "language-version",
                    f"this file says it is written in posy {said}, which this posy does not know", self.whole,
                    seen=f"posy {said}", limit=f"posy {VERSION}",
                    remedy="read it with a newer posy" if later else f"write posy {VERSION}",
                )
            )
        return tree.Version(int(said) if said.isdigit() else 0, self.whole)

    def piece(self, parts: Sequence[Any]) -> tree.Piece:
        """``piece "Title"``."""
        title = None
        rest = parts[1:]
        if rest and isinstance(rest[0], Token):
            title, rest = self._quoted(rest[0]), rest[1:]
        return tree.Piece(title, tuple(rest), self.whole)

    def measure(self, parts: Sequence[Any]) -> tree.Measure:
        """``measure name = value``."""
        return tree.Measure(self._name(parts[1]), parts[2], tuple(parts[3:]), self.whole)

    def _head(self, parts: Sequence[Any]) -> tuple[tree.Name | None, tuple[tree.Clause, ...], Span]:
        word = self._span(parts[0])
        rest = parts[1:]
        if rest and isinstance(rest[0], Token):
            name = self._name(rest[0])
            return name, tuple(rest[1:]), word.to(name.span)
        return None, tuple(rest), word

    def feature(self, parts: Sequence[Any]) -> tree.Feature:
        """A line of work."""
        name, clauses, head = self._head(parts)
        return tree.Feature(self._name(parts[0]), name, clauses, self.whole, head)

    def group(self, parts: Sequence[Any]) -> tree.Group:
        """``workpiece name`` or ``casting name``."""
        name, clauses, head = self._head(parts)
        return tree.Group(name, clauses, (), self.whole, head, str(parts[0]))

    def series(self, parts: Sequence[Any]) -> tree.Series:
        """``series name``."""
        name, clauses, _ = self._head(parts)
        return tree.Series(name, clauses, self.whole)

    def each_count(self, parts: Sequence[Any]) -> tree.Each:
        """``each name from first to last by step``."""
        step = parts[7] if len(parts) > 7 else None
        return tree.Each(self._name(parts[1]), parts[3], parts[5], step, None, (), self.whole)

    def each_thing(self, parts: Sequence[Any]) -> tree.Each:
        """``each name in things``."""
        return tree.Each(self._name(parts[1]), None, None, None, parts[3], (), self.whole)

    def when(self, parts: Sequence[Any]) -> tree.When:
        """``when test``."""
        return tree.When((tree.Branch(parts[1], (), self.whole),), self.whole)

    def otherwise(self, parts: Sequence[Any]) -> tree.Branch:
        """``otherwise`` or ``otherwise when test``; parse.py puts it with its ``when``."""
        return tree.Branch(parts[2] if len(parts) > 1 else None, (), self.whole)

    def word(self, parts: Sequence[Any]) -> tree.WordBlock:
        """``word name``."""
        return tree.WordBlock(self._name(parts[1]), (), self.whole)

    def takes(self, parts: Sequence[Any]) -> tree.Takes:
        """``takes key: kind``."""
        return tree.Takes(self._name(parts[1]), self._name(parts[2]), tuple(parts[3:]), self.whole)

    def serves(self, parts: Sequence[Any]) -> tree.Serves:
        """``serves as role, role``."""
        return tree.Serves(tuple(self._name(token) for token in parts[2:]), self.whole)

    def help(self, parts: Sequence[Any]) -> tree.Help:
        """``help "…"`` or ``example "…"``."""
        return tree.Help(str(parts[0]), self._quoted(parts[1]), self.whole)

    def take_from(self, parts: Sequence[Any]) -> tree.TakeFrom:
        """``from "file.posy" take names``."""
        return tree.TakeFrom(
            self._quoted(parts[1]), tuple(self._name(token) for token in parts[3:]), self.whole
        )

    def expect(self, parts: Sequence[Any]) -> tree.Expect:
        """``expect test``."""
        return tree.Expect(parts[1], tuple(parts[2:]), self.whole)

    def waive(self, parts: Sequence[Any]) -> tree.Waive:
        """``waive rule on part because "reason"``."""
        feature = parts[3] if str(parts[2]) == "on" else None
        return tree.Waive(self._name(parts[1]), feature, self._quoted(parts[-1]), self.whole)
