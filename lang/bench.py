"""The door between the language and the bench: what the evaluator asks of the compiler.

The evaluator walks a checked tree and, line by line, asks a Bench to make features and to look
things up on them. It never learns what metal is; tests pass a toy bench."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, NoReturn, Protocol

from .companions import clashes
from .faults import Fault, Level, Span
from .words import Word


@dataclass
class Argument:
    """A checked clause value: plain Python in base units, where it stands, how it was given."""

    value: Any
    span: Span
    given: bool = True  # False when it came from the word's default
    read: bool = False  # whether the work has asked for it


@dataclass(frozen=True, eq=False)
class Use:
    """A line that used a word written in posy: the word, the line's full name, its clauses, and what placed
    it: its `at` as it was found, and the clauses that moved it from there."""

    word: Word
    name: str
    arguments: Mapping[str, Argument]
    placing: Mapping[str, Argument] = field(default_factory=dict)

    def length_of(self, key: str) -> float:
        """What a clause comes to that the line has or could have beside its others; 0 where it could not."""
        said = [name for name, one in self.arguments.items() if one.given and name != key]
        value = self.arguments[key].value if key in self.arguments else None
        takes = {take.name: take for take in self.word.takes}
        clash = any(key in pair for pair in clashes((*said, key), takes))
        return 0.0 if clash or not isinstance(value, int | float) else float(value)


@dataclass(frozen=True)
class Call:
    """One line of work, checked: a core word with its clauses as plain values.

    ``name`` is the feature's full name ("claws", "left.post", "bar 2" when unnamed), unique in
    the piece. ``trail`` holds the heads of the user-word lines that led here, outermost first,
    ``within`` what those lines said."""

    word: Word
    name: str
    arguments: Mapping[str, Argument]
    span: Span
    trail: tuple[Span, ...] = ()
    within: tuple[Use, ...] = ()

    @property
    def own_line(self) -> Use | Call:
        """What the user's own line says: of the word that led here, else this line itself."""
        return self.within[0] if self.within else self

    @property
    def made_by(self) -> str:
        """The word the user's own line used."""
        return self.own_line.word.name

    @property
    def roles(self) -> frozenset[str]:
        """What the work is for: by its own word, and by every word it was made inside of."""
        return self.word.roles.union(*(use.word.roles for use in self.within))

    def get(self, key: str, otherwise: Any = None) -> Any:
        """The plain value of clause ``key``, or ``otherwise`` if it was left out."""
        argument = self.arguments.get(key)
        if argument is None:
            return otherwise
        argument.read = True
        return argument.value

    def figure(self, key: str) -> Any:
        """The value of clause ``key`` of this line or, where it has none, of the nearest line
        around it that used a word: what that word was told. None if no line says it."""
        for arguments in (self.arguments, *(use.arguments for use in reversed(self.within))):
            if key in arguments:
                return arguments[key].value
        return None

    def given(self, key: str) -> bool:
        """Whether the line itself says ``key`` (a default does not count)."""
        argument = self.arguments.get(key)
        if argument is None or not argument.given:
            return False
        argument.read = True
        return True

    def fault(
        self, code: str, message: str, key: str | None = None, *, seen: str | None = None,
        limit: str | None = None, remedy: str | None = None, level: Level = Level.FAULT,
    ) -> Fault:
        """A fault at clause ``key`` of this line (at its head if the clause was not given)."""
        argument = self.arguments.get(key) if key else None
        span = argument.span if argument is not None and argument.given else self.span
        return Fault(code, message, span, level, seen, limit, remedy, trail=self.trail, feature=self.name)

    def refuse(self, code: str, message: str, key: str | None = None, **more: Any) -> NoReturn:
        """Give up this line: raises Refused with the ``fault`` made of the arguments."""
        raise Refused(self.fault(code, message, key, **more))


class Refused(Exception):
    """A line of work cannot be done, for the reason that ``fault`` tells. The bench raises it and
    catches it where it makes the line; nobody else sees it."""

    def __init__(self, fault: Fault) -> None:
        super().__init__(fault.message)
        self.fault = fault


@dataclass(frozen=True)
class Missing:
    """Why there is no such part of a thing: ``thing`` offers only ``offers``.

    ``why`` takes the place of that where there is another reason, told as a sentence; ``remedy`` says then
    what to do."""

    thing: str = ""
    offers: tuple[str, ...] = ()
    why: str | None = None
    remedy: str | None = None


# How the name of a member begins that no text can ask for: it stood in an `each` or a `when`.
NAMELESS = "#"


class Bench(Protocol):
    """What the evaluator needs of the compiler. Every answer is (value, faults)."""

    def core_words(self) -> Mapping[str, Word]:
        """The words the compiler makes by itself, by name."""

    def make(self, call: Call) -> tuple[Any, list[Fault]]:
        """Do one line of work; the value is an opaque feature, or None when it failed."""

    def open_group(self, call: Call, apart: bool = False) -> list[Fault]:
        """Begin a part built by itself, a group or a casting; ``apart`` in a word. ``make`` adds to it."""

    def close_group(self, call: Call, done: bool = True) -> tuple[Any, list[Fault]]:
        """End the innermost group and solder it in; the value is the group as a feature."""

    def bundle(
        self, name: str, members: Mapping[str, Any], stand: Any = None,
        figures: Mapping[str, Any] | None = None,
    ) -> Any:
        """A feature that stands for all a word made (no solid of its own), for `of`, `in`;
        ``stand`` is the places or stones its line was given, if it takes such; ``figures`` what its clauses
        and measures came to, by name."""

    def look(self, thing: Any, attribute: str) -> tuple[Any, Missing | None]:
        """``attribute of thing``: a value for the language (a Quantity, or an opaque place,
        line or feature), or (None, why there is none)."""

    def as_kind(self, thing: Any, kind: str) -> Any:
        """``thing`` read as "places", "path", "part" or "stones"; None if it cannot be."""

    def parts(self, thing: Any, kind: str) -> list[str]:
        """The names of those of its parts that can be read as ``kind``, for messages."""

    def spots(self, thing: Any) -> list[Any] | None:
        """The single places of an opaque place list, for `each s in …` and pick(), or None."""

    def describe(self, thing: Any) -> str:
        """A few words on an opaque thing for messages: "a bar", "5 places", "a closed line"."""

    def between(self, first: Any, second: Any) -> Any:
        """The place half way between two single places (as ``as_kind`` gives them); None if
        either is not one place."""

    def combined(self, first: Any, operator: str, second: Any) -> Any:
        """Parts, stones or places together ("+"); what two closed lines in one plane hold together, or the
        first without the second ("-"), as lines; None where they cannot be put together."""

    def set_out(self, call: Call) -> tuple[Any, list[Fault]]:
        """The places that the placing clauses of a line come to (an opaque place list, the figures
        of its `at` kept), or the path of its `along` moved on its face, or None."""

    def metals(self) -> Iterable[str]:
        """The metals a piece can be made in, for "did you mean"."""

    def check_metal(self, name: str) -> str | None:
        """The metal's own name for ``name`` (which may be a trade synonym); None if there is no
        such metal."""

    def metal_hint(self, name: str) -> str:
        """What to write in the place of a metal there is not."""

    def length_meant(self, text: str) -> str | None:
        """What to write for a text that stands where a length is wanted; without this method, or with None,
        an example of the clause is told."""

    def rules(self) -> Iterable[str]:
        """The names of the bench rules, for `waive`."""

    def roles(self) -> Iterable[str]:
        """What a word may say it serves as; without this method it may say nothing."""
