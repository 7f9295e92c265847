"""Records that define words: what a word takes, its help, its example.

The compiler's core words, the standard words written in posy and a user's own words are all
described by the same records; the checker, the reference page and "did you mean" read them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from enum import Enum
from typing import Any


class Kind(Enum):
    """What a clause's value must be: a name, what is ``due``, how the tables of a word's page have it
    ``written``, and what it looks ``like`` where that does not depend on the piece. ``checked`` values are
    plain Python in base units."""

    due: str
    written: str
    like: str | None

    LENGTH = "length", "a length", "length, mm", "2.5 mm"  # float, mm
    ANGLE = "angle", "an angle", "angle, deg", "30 deg"  # float, degrees
    MASS = "mass", "a mass", "mass, g", "1.2 g"  # float, g
    COUNT = "count", "a count", "count", "7"  # int
    NUMBER = "number", "a plain number", "number", "1.5"  # float
    PERCENT = "percent", "a percentage", "per cent", "40 %"  # float, 1.0 = 100 %
    TEXT = "text", "a text in quotes", "text", '"A"'  # str
    FLAG = "flag", "nothing after it", "yes if written"  # bool; a bare clause is True
    CHOICE = "choice", "a choice", "choice"  # str, one of Take.choices
    # tuple of such str, joined by `and`
    CHOICES = "choices", "a choice, or several joined by and", "choice, or several joined by and"
    PLACES = "places", "places", "places"  # compiler's Places (a feature stands for its own places)
    PATH = "path", "a path", "path"  # compiler's Line (or a feature that has one)
    PART = "part", "a part", "part"  # compiler's Feature
    STONES = "stones", "stones", "stones"  # compiler's Feature that holds stones
    SIZE = "size", "a size", "{size}, mm"  # tuple of floats, mm; Take.parts says how many members are right
    COUNTS = "counts", "counts joined by x", "counts, 2 x 1", "3 x 4"  # tuple of ints (grid 3 x 4)
    # tuple of floats, a sequence joined by `to`
    LENGTHS = "lengths", "lengths joined by to", "lengths, 2 mm to 1 mm", "2 mm to 1 mm"
    # tuple of (x, y, z, joint): joint is "to" or "over"; mm
    POINTS = "points", "spots joined by to", "run of spots, (0, 0) to (4, 0 mm)", "(0, 0) to (4, 0 mm)"
    # tuple of floats mm, or a Mass in ct: see values.Carats
    STONE_SIZE = "stone size", "a size in mm or a weight in ct", "size in mm or weight in ct"
    ANY = "any", "a value", "any value"  # whatever value was given (takes of user words)

    def __new__(cls, value: str, due: str, written: str, like: str | None = None) -> Kind:
        """A kind by its name."""
        made = object.__new__(cls)
        made._value_, made.due, made.written, made.like = value, due, written, like
        return made


CHOOSING = Kind.CHOICE, Kind.CHOICES  # where a bare name stands for itself
ADDED = Kind.PART, Kind.STONES, Kind.PLACES, Kind.PATH  # what is named, and joined by +


@dataclass(frozen=True)
class Take:
    """One clause a word takes.

    ``default`` is source text ("0.5 mm", "wire / 2"), evaluated where the word is used with the other clauses
    in scope, or None. ``needed`` without default means: a fault when left out. ``like`` is an example of its
    value, where the usual one of its kind makes no sense; ``hint`` says what to write in the place of a
    choice there is not, where spelling alone would guess wrong; ``called`` gives the choice that the trade
    means by another name, or None. ``unquoted`` reads a text that somebody wrote without its quotes, as in M
    or 54, where it can mean only one thing; None where it cannot. ``least``/``most`` are inclusive bounds in
    base units; ``over`` an exclusive lower bound. ``goes_with`` are the clauses with one of which it means
    something: a fault without; ``not_with`` those that cannot stand beside it. ``figure_of`` is the bench's
    own mark of what the figure measures (a wall, a wire); the language gives it no meaning. ``by_angle``:
    a length may be told by an angle too, and is then a values.ByAngle."""

    name: str
    kind: Kind
    help: str = ""
    needed: bool = False
    default: str | None = None
    choices: Sequence[str] = ()
    parts: tuple[int, ...] = ()
    like: str = ""
    hint: Callable[[str], str] | None = None
    called: Callable[[str], str | None] | None = None
    unquoted: Callable[[str], str | None] | None = None
    least: float | None = None
    over: float | None = None
    most: float | None = None
    goes_with: tuple[str, ...] = ()
    not_with: tuple[str, ...] = ()
    figure_of: Any = None
    by_angle: bool = False

    @classmethod
    def of(cls, row: Mapping[str, Any]) -> Take:
        """A clause as a file of data tells it: its kind by name, lists for tuples."""
        told: dict[str, Any] = {
            key: tuple(value) if isinstance(value, list) else value for key, value in row.items()
        }
        told["kind"] = Kind(row["kind"])  # type: ignore[call-arg]
        return cls(**told)

    def choice(self, said: str) -> str | None:
        """The choice that is meant by ``said``, whatever it is called there; None for none."""
        if said in self.choices or not self.choices:
            return said
        return None if self.called is None else self.called(said)


@dataclass(frozen=True)
class Word:
    """A word of the language: core (``made_by`` the compiler) or written in posy (``body``).

    ``group`` files it in the reference: shapes, work, stones, settings, decoration, findings, paths, blocks.
    ``one_of`` are sets of clauses of which exactly one must be given (a stone's cut); beside one of
    ``by_turns`` several may, which take turns along a row. ``places`` says whether
    the common placing clauses apply, ``stands`` whether what it makes stands at places of its own, as all but
    paths and what follows them does. ``roles`` are the bench's names of what the work is for (it holds a
    stone, it is a finding); the language only hands them on."""

    name: str
    help: str
    group: str
    takes: tuple[Take, ...] = ()
    one_of: tuple[tuple[str, ...], ...] = ()
    by_turns: tuple[str, ...] = ()
    places: bool = True
    stands: bool = True
    example: str = ""
    offers: Mapping[str, str] = field(default_factory=dict)  # attribute -> help, for `x of f`
    made_by: Any = None
    roles: frozenset[str] = frozenset()
    body: Any = None  # tree.WordBlock when written in posy

    def just_one(self, given: Iterable[str]) -> bool:
        """Whether of each set just one may be said beside the clauses ``given``."""
        return set(self.by_turns).isdisjoint(given)

    def take(self, name: str) -> Take | None:
        """The clause called ``name``, if this word takes it."""
        return next((take for take in self.takes if take.name == name), None)
