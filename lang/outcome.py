"""What a run of a piece gives, besides what the bench holds."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import product
from typing import Any

from .faults import Fault, Span
from .ranges import Range


@dataclass(frozen=True, slots=True)
class Measured:
    """A measure of the outer block: its value, its range and help, whether set from outside."""

    name: str
    value: Any
    span: Span
    help: str = ""
    range: Range | None = None
    set: bool = False


@dataclass(frozen=True, slots=True)
class Waiver:
    """A rule waived, on the feature of this full name (None: anywhere), and why."""

    rule: str
    feature: str | None
    because: str
    span: Span

    def covers(self, feature: str | None) -> bool:
        """Whether it speaks of a feature: itself, what it is made of, its further copies."""
        if self.feature is None:
            return True
        named = feature or ""
        return named == self.feature or named.startswith((f"{self.feature}.", f"{self.feature} "))


@dataclass(frozen=True, slots=True)
class SeriesPlan:
    """A series: the values of each measure it varies (values of the language), and metals."""

    name: str
    span: Span
    measures: tuple[tuple[str, tuple[Any, ...]], ...]
    metals: tuple[str, ...] = ()

    def settings(self) -> Iterator[tuple[dict[str, Any], str | None]]:
        """Every making: settings for ``program.run``, and the metal (None: the piece's own)."""
        names = [name for name, _ in self.measures]
        for values in product(*(values for _, values in self.measures)):
            for metal in self.metals or (None,):
                yield dict(zip(names, values, strict=True)), metal


@dataclass(slots=True)
class Outcome:
    """What a run gave. ``features`` are the outer block's, by name, as the bench made them; ``left_out`` the
    spans of the user's lines that came to nothing, ``whole`` whether all lines were looked at."""

    title: str = ""
    notes: tuple[str, ...] = ()
    metal: str | None = None
    measures: dict[str, Measured] = field(default_factory=dict)
    waivers: list[Waiver] = field(default_factory=list)
    series: list[SeriesPlan] = field(default_factory=list)
    features: dict[str, Any] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)
    left_out: tuple[Span, ...] = ()
    whole: bool = True
