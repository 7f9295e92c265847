"""The syntax tree: what a posy text says, with the exact place of every part.

Nodes are frozen. Lines hold their clauses and the lines below them; expressions (terms.py) hold
what was written. Comments stand apart, in ``File.comments``."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from .faults import Span
from .terms import *  # noqa: F403  (the tree is asked for them)
from .terms import Expression, Name, Quoted


@dataclass(frozen=True, slots=True)
class Comment:
    """A comment with its ``#``."""

    text: str
    span: Span


@dataclass(frozen=True, slots=True)
class Clause:
    """A key with at most one value; ``below`` when it stands on an indented line of its own."""

    key: Name
    value: Expression | None
    span: Span
    below: bool = False


@dataclass(frozen=True, slots=True)
class Version:
    """``posy 1``: the version of the language that a file is written in."""

    number: int
    span: Span


@dataclass(frozen=True, slots=True)
class Piece:
    """``piece "Title"`` with its clauses."""

    title: Quoted | None
    clauses: tuple[Clause, ...]
    span: Span


@dataclass(frozen=True, slots=True)
class Measure:
    """``measure name = value`` with its clauses (from, help)."""

    name: Name
    value: Expression
    clauses: tuple[Clause, ...]
    span: Span


@dataclass(frozen=True, slots=True)
class Feature:
    """A line of work: a word, an optional name, clauses. ``head`` covers word and name.

    ``whole`` is False when one of its clause lines could not be read; ``lines`` are the
    lines below it when those are lines of work and not its clauses: no word of work takes any."""

    word: Name
    name: Name | None
    clauses: tuple[Clause, ...]
    span: Span
    head: Span
    whole: bool = True
    lines: tuple[Line, ...] = ()


@dataclass(frozen=True, slots=True)
class Group:
    """``workpiece name: placing clauses`` and the lines of work in it; ``word`` is workpiece or casting."""

    name: Name | None
    clauses: tuple[Clause, ...]
    lines: tuple[Line, ...]
    span: Span
    head: Span
    word: str = "workpiece"


@dataclass(frozen=True, slots=True)
class Each:
    """``each name from first to last by step`` or ``each name in things``."""

    name: Name
    first: Expression | None
    last: Expression | None
    step: Expression | None
    things: Expression | None
    lines: tuple[Line, ...]
    span: Span


@dataclass(frozen=True, slots=True)
class Branch:
    """One branch of a ``when``; ``test`` is None for the last ``otherwise``."""

    test: Expression | None
    lines: tuple[Line, ...]
    span: Span


@dataclass(frozen=True, slots=True)
class When:
    """``when`` with its ``otherwise`` branches."""

    branches: tuple[Branch, ...]
    span: Span


@dataclass(frozen=True, slots=True)
class Takes:
    """``takes key: kind`` with its clauses (default, from, choices, needed, help)."""

    name: Name
    kind: Name
    clauses: tuple[Clause, ...]
    span: Span


@dataclass(frozen=True, slots=True)
class Help:
    """``help "…"`` or ``example "…"`` in a word."""

    word: str
    text: Quoted
    span: Span


@dataclass(frozen=True, slots=True)
class Serves:
    """``serves as role, role`` in a word: what the metal it makes is for."""

    roles: tuple[Name, ...]
    span: Span


@dataclass(frozen=True, slots=True)
class WordBlock:
    """``word name`` and its lines (help, example, takes, work)."""

    name: Name
    lines: tuple[Line, ...]
    span: Span

    @property
    def takes(self) -> tuple[Takes, ...]:
        """What the word takes, in order."""
        return tuple(line for line in self.lines if isinstance(line, Takes))

    @property
    def serves(self) -> tuple[Serves, ...]:
        """The lines that say what the word serves as, in order."""
        return tuple(line for line in self.lines if isinstance(line, Serves))


@dataclass(frozen=True, slots=True)
class TakeFrom:
    """``from "file.posy" take name, name``."""

    file: Quoted
    names: tuple[Name, ...]
    span: Span


@dataclass(frozen=True, slots=True)
class Expect:
    """``expect test`` with its clauses (else, try)."""

    test: Expression
    clauses: tuple[Clause, ...]
    span: Span


@dataclass(frozen=True, slots=True)
class Waive:
    """``waive rule on part because "reason"``."""

    rule: Name
    feature: Expression | None
    reason: Quoted
    span: Span


@dataclass(frozen=True, slots=True)
class Series:
    """``series name`` and its clauses: measures or metal, each with a run of values."""

    name: Name | None
    clauses: tuple[Clause, ...]
    span: Span


@dataclass(frozen=True, slots=True)
class Unread:
    """A line that could not be read; ``names`` are those it may have meant to define."""

    names: tuple[str, ...]
    lines: tuple[Line, ...]
    span: Span


Named = Feature | Group | Measure
Line = (
    Version
    | Piece
    | Measure
    | Feature
    | Group
    | Each
    | When
    | Takes
    | Help
    | WordBlock
    | TakeFrom
    | Expect
    | Waive
    | Series
    | Serves
    | Unread
)


@dataclass(frozen=True, slots=True)
class File:
    """A whole text: its lines in order, its comments in order, where it was read from."""

    path: str
    lines: tuple[Line, ...]
    comments: tuple[Comment, ...]
    text: str


def lines_below(line: Line) -> tuple[Line, ...]:
    """The lines right below one, whatever block it is; of a ``when`` those of all its branches."""
    if isinstance(line, When):
        return tuple(one for branch in line.branches for one in branch.lines)
    return line.lines if isinstance(line, Feature | Group | Each | WordBlock | Unread) else ()


def names_made(lines: Iterable[Line]) -> dict[str, Named | Unread]:
    """The names that lines leave to those after them, each with the line that gives it first; a ``when`` with
    an ``otherwise`` those that all its branches give, to measures all or to parts all."""
    made: dict[str, Named | Unread] = {}
    for line in lines:
        match line:
            case Feature() | Group() | Measure() if line.name is not None:
                made.setdefault(line.name.name, line)
            case Unread():
                made = dict.fromkeys(line.names, line) | made
            case When() if line.branches[-1].test is None:
                first, *others = (names_made(branch.lines) for branch in line.branches)
                made = {name: one for name, one in first.items() if _in_all(name, one, others)} | made
    return made


def _in_all(name: str, one: Named | Unread, others: Iterable[Mapping[str, Named | Unread]]) -> bool:
    alike = (type(one), Unread) if isinstance(one, Measure) else (Feature, Group, Unread)
    return all(isinstance(other.get(name), alike) for other in others)


def work_in(lines: Iterable[Line]) -> Iterator[Line]:
    """Lines, and those in their groups and in what is done many times or not at all, in order."""
    for line in lines:
        yield line
        if isinstance(line, Group | Each | When):
            yield from work_in(lines_below(line))
