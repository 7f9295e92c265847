"""What a bench rule is, and what it finds."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ...lang.faults import Level
from ...stdlib.limits import Limit
from .bound import Bound

if TYPE_CHECKING:
    from .piece import Piece

__all__ = ["Check", "Level", "Mend", "Rule", "Verdict"]


@dataclass(frozen=True)
class Mend:
    """A remedy that is a change of text: clause ``key`` of its line becomes ``value``.

    ``key`` is named as Verdict.key is. ``side`` says what kind of figure it is: "least" (a value that is an
    expression becomes ``max(expression, value)``), "most" (``min``) or "exact". ``feature`` is the line to
    change where it is another than the verdict's."""

    key: str
    value: str
    side: str = "exact"
    feature: int | None = None

    @property
    def said(self) -> str:
        """As it is told: write behind head."""
        return f"write {self.key} {self.value}"


@dataclass(frozen=True)
class Verdict:
    """What a rule found at one place.

    ``feature`` indexes the piece's features; its line is where the verdict is shown. ``key`` is the clause of
    the core line to point at; where the feature was made inside a word, the clause of the user's line that
    was handed on to it, or else the first of ``keys`` that the user's line has. ``seen`` and ``wanted`` are
    figures with units, honest digits; ``figure`` and ``bound`` the bare numbers behind them (mm, degrees, g,
    shares of one). Verdicts of one line and clause that rest on the same limit are merged into one with their
    count and the worst figure, so ``message`` speaks of one place and names no figure; ``others`` are further
    features it names. ``place`` is in mm in the piece. ``level`` overrides the rule's own. A ``remedy`` that
    takes work is a function: it is called for what is told alone."""

    message: str
    feature: int
    seen: str
    wanted: str
    remedy: str | Callable[[], str]
    figure: float
    bound: float
    key: str | None = None
    keys: tuple[str, ...] = ()
    place: tuple[float, float, float] | None = None
    level: Level | None = None
    mend: Mend | None = None
    others: tuple[int, ...] = ()

    @property
    def limit(self) -> Limit | None:
        """The limit that ``bound`` rests on; None where it is no limit of a table."""
        return self.bound.limit if isinstance(self.bound, Bound) else None


Check = Callable[["Piece"], Iterator[Verdict]]


@dataclass(frozen=True)
class Rule:
    """One bench rule.

    ``name`` is the fault it finds, in kebab-case, reading well after "waive". ``phase`` says when ``check``
    runs: "plan" (before metal, instant), "metal" (measured on the solid) or "cast" (worked out of how it
    freezes, where that is asked for). A rule of the plan that can tell more once there is metal has a second
    check in ``on_metal``; one of the metal that can tell something of the plan alone, where no metal was
    made, has it in ``ahead``, and stands in the folder of the plan. With ``advice`` it asks for a step at the
    bench or another stone: no figure of the text cures it. ``answer`` is what else in a text could answer it:
    nothing ("own" figures alone), work "near" it, or "all" work there may be. ``why`` is the reason a jeweler
    would give, ``remedy`` what usually helps, ``source`` where its figures come from. A check yields verdicts
    and must not raise on any piece that was made."""

    name: str
    title: str
    phase: str
    level: Level
    why: str
    remedy: str
    source: str
    check: Check | None
    on_metal: Check | None = None
    ahead: Check | None = None
    advice: bool = False
    answer: str = "all"

    def checks(self, phase: str) -> Check | None:
        """What runs in ``phase``, if anything."""
        if phase == self.phase:
            return self.check
        return {"metal": self.on_metal, "plan": self.ahead}.get(phase)
