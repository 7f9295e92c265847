"""What can be wrong with a text, as values: one type from the layout to the bench rules."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum

MOST_FAULTS = 100  # told of one text by each step


class Level(Enum):
    """How much a remark matters: a fault will not make, a warning may fail, a hint informs."""

    FAULT = "fault"
    WARNING = "warning"
    HINT = "hint"


@dataclass(frozen=True, slots=True, order=True)
class Span:
    """A stretch of a source text.

    ``path`` is the file as the user named it (or ``<standard words>/prong.posy``); ``start`` and ``end`` are
    character offsets, end exclusive; lines and columns count from 1, in characters."""

    path: str
    line: int
    column: int
    end_line: int
    end_column: int
    start: int = 0
    end: int = 0

    def to(self, other: Span) -> Span:
        """The stretch from the start of this one to the end of ``other`` (same file)."""
        ends = other.end_line, other.end_column
        return Span(self.path, self.line, self.column, *ends, self.start, other.end)

    def encloses(self, other: Span) -> bool:
        """Whether ``other`` lies in this stretch (same file)."""
        return self.start <= other.start and other.end <= self.end


@dataclass(frozen=True, slots=True)
class Fault:
    """One remark about a text.

    ``code`` is its kebab-case name (also what ``posy why`` takes), ``message`` stands alone
    in one line, ``seen`` and ``limit`` are the figures compared (with units, already shown with
    honest digits), ``remedy`` says what to try. ``also`` points at other places that matter,
    ``trail`` lists the calls that led into a word's own text, the user's own line first.
    ``place`` is a point of the piece in mm, where the remark has one. ``then`` says what came of
    the remedy when it was tried."""

    code: str
    message: str
    span: Span | None = None
    level: Level = Level.FAULT
    seen: str | None = None
    limit: str | None = None
    remedy: str | None = None
    also: tuple[tuple[Span, str], ...] = ()
    trail: tuple[Span, ...] = ()
    feature: str | None = None
    place: tuple[float, float, float] | None = None
    reason: str | None = None
    then: str | None = None


def is_fatal(faults: Iterable[Fault]) -> bool:
    """Whether any of ``faults`` forbids making the piece."""
    return any(fault.level is Level.FAULT for fault in faults)


def in_order(faults: Iterable[Fault]) -> list[Fault]:
    """``faults``, the gravest first, of one level by place in the text, repeats dropped; those without a
    place come last."""
    grave = {level: k for k, level in enumerate(Level)}

    def key(fault: Fault) -> tuple[int, bool, str, int, int, str, str]:
        span, level = fault.span, grave[fault.level]
        if span is None:
            return level, True, "", 0, 0, fault.code, fault.message
        return level, False, span.path, span.line, span.column, fault.code, fault.message

    return sorted(dict.fromkeys(faults), key=key)
