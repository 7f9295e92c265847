"""The syntax tree: what a posy text says, with the exact place of every part.

Nodes are frozen. Expressions hold what was written (a formatter or a hover can work from them);
lines hold their clauses and the lines below them. Comments stand apart, in ``File.comments``.
"""

from __future__ import annotations

from dataclasses import dataclass

from .faults import Span


@dataclass(frozen=True, slots=True)
class Comment:
    """A comment with its ``#``; ``own_line`` when nothing else stands on its line."""

    text: str
    span: Span
    own_line: bool


# --- expressions ---------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Name:
    """A name, in Unicode normal form C."""

    name: str
    span: Span


@dataclass(frozen=True, slots=True)
class Number:
    """A number as written in ``text``, with its unit ("mm", "%", or None)."""

    value: float
    text: str
    unit: str | None
    span: Span


@dataclass(frozen=True, slots=True)
class Quoted:
    """A text; ``text`` is what it says, without the quote marks."""

    text: str
    span: Span


@dataclass(frozen=True, slots=True)
class Paren:
    """An expression in parentheses."""

    inner: Expression
    span: Span


@dataclass(frozen=True, slots=True)
class Spot:
    """(right, up) or (right, up, out)."""

    parts: tuple[Expression, ...]
    span: Span


@dataclass(frozen=True, slots=True)
class Invoke:
    """A function with its arguments."""

    function: Name
    arguments: tuple[Expression, ...]
    span: Span


@dataclass(frozen=True, slots=True)
class Of:
    """``a of b of thing``: names are (a, b), asked from the right."""

    names: tuple[Name, ...]
    thing: Expression
    span: Span


@dataclass(frozen=True, slots=True)
class Minus:
    """An expression with ``count`` minus signs before it."""

    count: int
    inner: Expression
    span: Span


@dataclass(frozen=True, slots=True)
class Arithmetic:
    """Members joined from left to right by ``operators``: all + and -, or all * and /."""

    members: tuple[Expression, ...]
    operators: tuple[str, ...]
    span: Span


@dataclass(frozen=True, slots=True)
class Sized:
    """Members joined by ``x``."""

    parts: tuple[Expression, ...]
    span: Span


@dataclass(frozen=True, slots=True)
class Compare:
    """Two sides and one of < > <= >= is, is not."""

    left: Expression
    operator: str
    right: Expression
    span: Span


@dataclass(frozen=True, slots=True)
class Negate:
    """``not`` (``count`` times) before a test."""

    count: int
    inner: Expression
    span: Span


@dataclass(frozen=True, slots=True)
class Logic:
    """Tests joined by ``and`` or by ``or``."""

    operator: str
    members: tuple[Expression, ...]
    span: Span


@dataclass(frozen=True, slots=True)
class Run:
    """Members joined by ``to`` and ``over``."""

    members: tuple[Expression, ...]
    joints: tuple[str, ...]
    span: Span


Expression = (
    Name | Number | Quoted | Paren | Spot | Invoke | Of | Minus | Arithmetic | Sized | Compare
    | Negate | Logic | Run
)


def names_in(node: Expression) -> list[str]:
    """The names an expression looks up."""
    match node:
        case Name():
            return [node.name]
        case Paren() | Minus() | Negate():
            return names_in(node.inner)
        case Of():
            return names_in(node.thing)
        case Sized() | Spot():
            parts = node.parts
        case Arithmetic() | Logic() | Run():
            parts = node.members
        case Compare():
            parts = (node.left, node.right)
        case Invoke():
            parts = node.arguments
        case _:
            return []
    return [name for part in parts for name in names_in(part)]


# --- lines ---------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Clause:
    """A key with at most one value; ``below`` when it stands on an indented line of its own."""

    key: Name
    value: Expression | None
    span: Span
    below: bool = False


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

    ``whole`` is False when one of its clause lines could not be read.
    """

    word: Name
    name: Name | None
    clauses: tuple[Clause, ...]
    span: Span
    head: Span
    whole: bool = True


@dataclass(frozen=True, slots=True)
class Group:
    """``group name: placing clauses`` and the lines of work in it."""

    name: Name | None
    clauses: tuple[Clause, ...]
    lines: tuple[Line, ...]
    span: Span
    head: Span


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
class WordBlock:
    """``word name`` and its lines (help, example, takes, work)."""

    name: Name
    lines: tuple[Line, ...]
    span: Span

    @property
    def takes(self) -> tuple[Takes, ...]:
        """What the word takes, in order."""
        return tuple(line for line in self.lines if isinstance(line, Takes))


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
    """``waive rule on feature because "reason"``."""

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


Line = (
    Piece | Measure | Feature | Group | Each | When | Takes | Help | WordBlock | TakeFrom
    | Expect | Waive | Series | Unread
)


@dataclass(frozen=True, slots=True)
class File:
    """A whole text: its lines in order, its comments in order, where it was read from."""

    path: str
    lines: tuple[Line, ...]
    comments: tuple[Comment, ...]
    text: str
