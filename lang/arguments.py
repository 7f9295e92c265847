"""Checks a clause's value against what the word takes; gives plain Python or a refusal."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from typing import Any, NamedTuple

from .bench import Bench
from .bounds import Refusal, out_of_bounds
from .measures import order
from .reckoner import PLAIN_VALUES
from .samples import choices_shown, sample, unknown_choice
from .shown import quantity
from .values import (
    ANGLE,
    LENGTH,
    MASS,
    NUMBER,
    Bare,
    ByAngle,
    ByWeight,
    Dimension,
    Graded,
    Point,
    Quantity,
    Sequence,
    Size,
    Text,
    Truth,
    joined_by_and,
)
from .words import Kind, Take

MOST_COUNT = 1_000_000

_FIGURES: dict[Kind, tuple[Dimension, str]] = {
    Kind.LENGTH: (LENGTH, "mm"),
    Kind.ANGLE: (ANGLE, "deg"),
    Kind.MASS: (MASS, "g"),
}


class Checked(NamedTuple):
    """A clause's value that fits: ``plain`` Python in base units for the bench, and the
    ``value`` of the language for names that stand for it."""

    plain: Any
    value: Any


Answer = Checked | Refusal


class Checker:
    """Checks values against Takes; ``describe`` gives a few words on any value."""

    def __init__(self, describe: Callable[[Any], str], bench: Bench) -> None:
        self.describe = describe
        self.bench = bench
        self._ways: dict[Kind, Callable[[Any, Take], Answer]] = {
            Kind.LENGTH: self._dimensioned,
            Kind.ANGLE: self._dimensioned,
            Kind.MASS: self._dimensioned,
            Kind.NUMBER: self._number,
            Kind.COUNT: self._count,
            Kind.PERCENT: self._share,
            Kind.TEXT: self._text,
            Kind.FLAG: self._flag,
            Kind.CHOICE: self._choice,
            Kind.CHOICES: self._choices,
            Kind.SIZE: self._size,
            Kind.COUNTS: self._counts,
            Kind.STONE_SIZE: self._stone_size,
            Kind.LENGTHS: self._lengths,
            Kind.POINTS: self._points,
            Kind.PLACES: self._opaque,
            Kind.PATH: self._opaque,
            Kind.PART: self._opaque,
            Kind.STONES: self._opaque,
            Kind.ANY: self._any,
        }

    def check(self, value: Any, take: Take) -> Answer:
        """``value`` as ``take`` wants it."""
        answer = self._ways[take.kind](value, take)
        if isinstance(answer, Refusal):
            return answer
        return out_of_bounds(answer.plain, take) or answer

    def _wrong(self, value: Any, take: Take, remedy: str | None = None) -> Refusal:
        message = f"{take.name} is {take.kind.due}, not {self.describe(value)}"
        if take.kind is Kind.FLAG:
            message = f"{take.name} takes no value"
            remedy = f"write {take.name} by itself, or leave it out"
        elif remedy is None and sample(take) is not None:
            remedy = f"as in: {sample(take)}"
        return Refusal("wrong-kind", message, remedy)

    # --- figures

    def _dimensioned(self, value: Any, take: Take) -> Answer:
        dimension, unit = _FIGURES[take.kind]
        if not isinstance(value, Quantity):
            meant = getattr(self.bench, "length_meant", None)
            asked = isinstance(value, Text) and dimension == LENGTH
            return self._wrong(value, take, meant(value.text) if meant and asked else None)
        if value.share:
            return self._wrong(value, take, f"say of what: {quantity(value)} * …")
        if value.dimension == dimension:
            return Checked(value.value, value)
        if take.by_angle and value.dimension == ANGLE:
            return Checked(ByAngle(value.value), value)
        if value.dimension == NUMBER:
            if value.value == 0:
                return Checked(0.0, Quantity(0.0, dimension))
            return self._no_unit(take, quantity(value), unit)
        return self._wrong(value, take)

    def _no_unit(self, take: Take, shown: str, unit: str) -> Refusal:
        return Refusal(
            "unit-missing", f"{take.name} is {take.kind.due}, and {shown} has no unit",
            f"add {unit}: {shown} {unit}",
        )

    def _number(self, value: Any, take: Take) -> Answer:
        if isinstance(value, Quantity) and value.dimension == NUMBER and not value.share:
            return Checked(value.value, value)
        return self._wrong(value, take)

    def _share(self, value: Any, take: Take) -> Answer:
        if isinstance(value, Quantity) and value.dimension == NUMBER:
            if value.share or value.value == 0:
                return Checked(value.value, Quantity(value.value, NUMBER, True))
            shown = quantity(value)
            percent = quantity(Quantity(value.value * 100)) if abs(value.value) <= 1 else shown
            return Refusal(
                "percent-missing", f"{take.name} is a percentage, and {shown} has no %",
                f"add %: {percent} %",
            )
        return self._wrong(value, take)

    def _count(self, value: Any, take: Take) -> Answer:
        if not isinstance(value, Quantity) or value.dimension != NUMBER or value.share:
            counted = isinstance(value, Quantity) and value.dimension == LENGTH
            plain = whole_number(value.value) if counted else None
            remedy = f"write {plain}; a count has no unit" if plain else None
            return self._wrong(value, take, remedy)
        whole = whole_number(value.value)
        if whole is None:
            return Refusal(
                "not-whole", f"{take.name} is a count, and {quantity(value)} is not whole",
                f"write {math.floor(value.value)} or {math.ceil(value.value)}, or use round, floor or ceil",
                quantity(value), "a whole number",
            )
        if (take.least is None and whole < 0) or abs(whole) > MOST_COUNT:
            return Refusal(
                "out-of-range", f"{take.name} cannot be {whole:,}", f"as in: {sample(take)}", f"{whole:,}",
                f"0 to {MOST_COUNT:,}",
            )
        return Checked(whole, Quantity(float(whole)))

    # --- words and texts

    def _text(self, value: Any, take: Take) -> Answer:
        if isinstance(value, Text):
            return Checked(value.text, value)
        plain = value.name if isinstance(value, Bare) else None
        if isinstance(value, Quantity) and value.dimension == NUMBER and not value.share:
            plain = quantity(value)
        if plain is None:
            length = isinstance(value, Quantity) and value.dimension == LENGTH
            return self._wrong(value, take, take.hint(quantity(value)) if length and take.hint else None)
        clear = take.unquoted(plain) if take.unquoted else None
        if clear is not None:
            return Checked(clear, Text(clear))
        if take.hint is not None:
            return self._wrong(value, take, take.hint(plain))
        return self._wrong(value, take, f'write "{plain}"')

    def _flag(self, value: Any, take: Take) -> Answer:
        if isinstance(value, Truth):
            return Checked(value.yes, value)
        return self._wrong(value, take)

    def _choice(self, value: Any, take: Take) -> Answer:
        if isinstance(value, Text):
            name = value.text
        elif isinstance(value, Bare):
            name = value.name
        else:
            return self._wrong(value, take, choices_shown(take.choices))
        meant = take.choice(name)
        return unknown_choice(name, take) if meant is None else Checked(meant, Bare(meant))

    def _choices(self, value: Any, take: Take) -> Answer:
        members = value.members if isinstance(value, Sequence) and "and" in value.joints else (value,)
        found = self._each(members, take, self._choice)
        if isinstance(found, Refusal):
            return found
        values = [one.value for one in found]
        plain = tuple(one.plain for one in found)
        return Checked(plain, values[0] if len(values) == 1 else joined_by_and(values))

    def _each(
        self, members: Iterable[Any], take: Take, way: Callable[[Any, Take], Answer]
    ) -> list[Checked] | Refusal:
        """The members of a value, each by itself; the refusal of the first that does not fit."""
        found: list[Checked] = []
        for member in members:
            answer = way(member, take)
            if isinstance(answer, Refusal):
                return answer
            found.append(answer)
        return found

    # --- sizes

    def _lengths_of(self, parts: tuple[Any, ...], take: Take, joint: str) -> tuple[float, ...] | Refusal:
        plain = []
        for part in parts:
            if not isinstance(part, Quantity) or part.share:
                return self._wrong(part, take)
            if part.dimension == NUMBER and part.value != 0:
                return self._no_unit(take, f" {joint} ".join(map(quantity, parts)), "mm")
            if part.dimension not in (LENGTH, NUMBER):
                return self._wrong(part, take)
            plain.append(part.value)
        return tuple(plain)

    def _members(self, value: Any, take: Take) -> tuple[Any, ...] | Refusal:
        """The members of a size; one figure is a size of one."""
        if isinstance(value, Size):
            parts: tuple[Any, ...] = value.parts
        elif isinstance(value, Quantity):
            parts = (value,)
        else:
            return self._wrong(value, take)
        if take.parts and len(parts) not in take.parts:
            wanted = " or ".join(map(str, take.parts))
            return Refusal(
                "size-members",
                f"{take.name} takes {wanted} figure{'s' if wanted != '1' else ''}, here {len(parts)}",
                f"{take.help}, as in: {sample(take)}" if take.help else f"as in: {sample(take)}",
                str(len(parts)), wanted,
            )
        return parts

    def _size(self, value: Any, take: Take) -> Answer:
        parts = self._members(value, take)
        if isinstance(parts, Refusal):
            return parts
        plain = self._lengths_of(parts, take, "x")
        return plain if isinstance(plain, Refusal) else Checked(plain, value)

    def _counts(self, value: Any, take: Take) -> Answer:
        parts = self._members(value, take)
        if isinstance(parts, Refusal):
            return parts
        found = self._each(parts, take, self._count)
        return found if isinstance(found, Refusal) else Checked(tuple(one.plain for one in found), value)

    def _stone_size(self, value: Any, take: Take) -> Answer:
        if isinstance(value, Sequence) and "over" not in value.joints:
            found = self._each(value.members, take, self._stone_size)
            if isinstance(found, Refusal):
                return found
            return Checked(Graded(tuple(one.plain for one in found)), value)
        if isinstance(value, Quantity) and value.dimension == MASS:
            return Checked(ByWeight(value.value), value)
        return self._size(value, take)

    def _lengths(self, value: Any, take: Take) -> Answer:
        members = value.members if isinstance(value, Sequence) else (value,)
        if isinstance(value, Sequence) and "over" in value.joints:
            return self._wrong(value, take, "join them by to")
        plain = self._lengths_of(members, take, "to")
        return plain if isinstance(plain, Refusal) else Checked(plain, value)

    def _points(self, value: Any, take: Take) -> Answer:
        members = value.members if isinstance(value, Sequence) else (value,)
        joints = ("to", *value.joints) if isinstance(value, Sequence) else ("to",)
        plain = []
        for member, joint in zip(members, joints, strict=True):
            spot = self._spot(member)
            if spot is None:
                return self._wrong(member, take, "as in (0, 0) to (4, 0 mm)")
            plain.append((*spot, joint))
        return Checked(tuple(plain), value)

    def _spot(self, member: Any) -> tuple[float, float, float] | None:
        """The three figures of a spot, or of one place; None for anything else."""
        if isinstance(member, Point):
            told = [part.value for part in member.parts]
            return told[0], told[1], told[2] if len(told) > 2 else 0.0
        if isinstance(member, PLAIN_VALUES):
            return None
        places = self.bench.spots(member) or []
        if len(places) != 1:
            return None
        figures = [self.bench.look(places[0], way)[0] for way in ("right", "up", "out")]
        right, up, out = (one.value if isinstance(one, Quantity) else None for one in figures)
        return None if right is None or up is None or out is None else (right, up, out)

    # --- what only the bench knows

    def _opaque(self, value: Any, take: Take) -> Answer:
        spotted = isinstance(value, Point) or (
            isinstance(value, Sequence)
            and not any(isinstance(m, Quantity) for m in value.members)
        )
        may_be = take.kind in (Kind.PLACES, Kind.PATH) and spotted
        if not isinstance(value, PLAIN_VALUES) or may_be:
            read = self.bench.as_kind(value, take.kind.value)
            if read is not None:  # a word asked for stones works on those alone, and asks things of spots
                alone = take.kind is Kind.STONES or (take.kind is Kind.PLACES and spotted)
                return Checked(read, read if alone else value)
        parts = self.bench.parts(value, take.kind.value)
        if parts:
            listed = ", ".join(f"{name} of …" for name in parts[:8])
            return self._wrong(value, take, f"ask for a part of it: {listed}")
        if take.name == "on" and not isinstance(value, PLAIN_VALUES) and self.bench.spots(value):
            return self._wrong(value, take, "write at in place of on")
        remedy = {
            Kind.PLACES: "as in: ends of frame",
            Kind.PATH: "as in: rim of frame; of wire, outer of hoop",
            Kind.PART: "name a part made above",
            Kind.STONES: "name a row of stones",
        }[take.kind]
        return self._wrong(value, take, remedy)

    def _any(self, value: Any, take: Take) -> Answer:
        return Checked(value, value)


def whole_number(value: float) -> int | None:
    """``value`` as an int if it is whole within one part in 10⁹."""
    near = round(value)
    return near if value == near or order(value, near) == 0 else None
