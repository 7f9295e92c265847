"""The expressions of the syntax tree: what was written, with the exact place of every part.

They hold what a formatter or a hover needs. Chains of operators are flat, so that only parentheses nest."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from .faults import Span


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
    Name
    | Number
    | Quoted
    | Paren
    | Spot
    | Invoke
    | Of
    | Minus
    | Arithmetic
    | Sized
    | Compare
    | Negate
    | Logic
    | Run
)


def parts_of(node: Expression) -> tuple[Expression, ...]:
    """The expressions that one is made of, in order."""
    match node:
        case Paren() | Minus() | Negate():
            return node.inner,
        case Of():
            return node.thing,
        case Sized() | Spot():
            return node.parts
        case Arithmetic() | Logic() | Run():
            return node.members
        case Compare():
            return node.left, node.right
        case Invoke():
            return node.arguments
    return ()


def within(node: Expression) -> Iterator[Expression]:
    """An expression and all that stand in it, in order."""
    yield node
    for part in parts_of(node):
        yield from within(part)


def names_in(node: Expression) -> list[str]:
    """The names an expression looks up."""
    if isinstance(node, Name):
        return [node.name]
    if isinstance(node, Invoke) and node.function.name == "given":
        return []
    return [name for part in parts_of(node) for name in names_in(part)]


def words_in(node: Expression) -> list[str]:
    """The names, numbers and texts an expression is written with, in order."""
    match node:
        case Name():
            return [node.name]
        case Number() | Quoted():
            return [node.text]
        case Of():
            first = [name.name for name in node.names]
        case Invoke():
            first = [node.function.name]
        case _:
            first = []
    return first + [word for part in parts_of(node) for word in words_in(part)]
