"""What a bench rule is, and what it finds."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ...lang.faults import Level

if TYPE_CHECKING:
    from ..piece import Piece


@dataclass(frozen=True)
class Mend:
    """A remedy that is a change of text: clause ``key`` of a feature's line becomes ``value``."""

    feature: int
    key: str
    value: str


@dataclass(frozen=True)
class Finding:
    """What a rule found at one place.

    ``feature`` indexes the piece's features (its line is where the finding is shown), ``key`` the
    clause to point at if the line gives it. ``seen`` and ``limit`` are figures with units, honest
    digits; ``figure`` and ``bound`` the bare numbers behind them (for tests, JSON and waivers).
    ``place`` is in mm in the piece. ``level`` overrides the rule's own.
    """

    message: str
    feature: int
    seen: str
    limit: str
    remedy: str
    figure: float
    bound: float
    key: str | None = None
    place: tuple[float, float, float] | None = None
    level: Level | None = None
    mend: Mend | None = None


@dataclass(frozen=True)
class Rule:
    """One bench rule.

    ``name`` is the fault it finds, in kebab-case, reading well after "waive". ``phase`` is "plan"
    (before metal, instant) or "metal" (measured on the solid). ``why`` is the reason a jeweler
    would give, ``remedy`` what usually helps, ``source`` where its figures come from.
    ``check`` yields findings and must not raise on any piece that was made.
    """

    name: str
    title: str
    phase: str
    level: Level
    why: str
    remedy: str
    source: str
    check: Callable[[Piece], Iterator[Finding]]
