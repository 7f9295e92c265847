"""Rules that hold one figure of a piece against limits: it is too small, or too large."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from typing import TYPE_CHECKING, Any

from ...lang.lean import dataclass
from ...stdlib.gems import GEMS
from .bound import Bound
from .digits import NEAR, least, mm, most, place, rounded_down, rounded_past, rounded_up
from .rule import Check, Level, Mend, Verdict

if TYPE_CHECKING:
    from .piece import Piece


@dataclass(frozen=True)
class Reading:
    """A figure read at one place (``at``, mm, if it has one): whose it is, and what it is read
    ``of`` (a row of beads, a grip, a bezel)."""

    feature: int
    figure: float
    at: Any = None
    of: Any = None


@dataclass(frozen=True)
class Aspect:
    """A figure rules set limits to: how it is read and shown, and in which clause it is said
    (``key``, ``keys`` as of a Verdict). ``limit`` shows a limit of it. ``value`` is the value of
    a clause that would answer a limit; without it, the limit itself."""

    read: Callable[[Piece], Iterable[Reading]]
    key: str
    keys: tuple[str, ...]
    seen: Callable[[Reading], str] = lambda reading: mm(reading.figure)
    limit: Callable[[float, Reading], str] = lambda bound, _: mm(bound)
    value: Callable[[float, Reading], str] | None = None


@dataclass(frozen=True)
class Tier:
    """One limit: its name in the table, what is said when it is not kept, how much it matters.

    ``bound`` reckons the figure that counts from the limit's own; None where the limit does not
    hold. ``more`` is said after the limit.
    """

    what: str
    message: str
    level: Level | None = None
    bound: Callable[[Piece, Bound, Reading], Bound | None] = lambda _, limit, reading: limit
    more: Callable[[Reading], str] = lambda reading: ""


def of_gems(_: Piece, limit: Bound, reading: Reading) -> Bound | None:
    """A limit that counts for gems: a coin is mounted open behind, in a rim as broad as one likes."""
    return None if GEMS[reading.of.gem].is_metal else limit


@dataclass(frozen=True)
class Side:
    """Which way a figure may not leave its limits: below them, or above."""

    name: str
    sign: float
    shown: Callable[[str], str]
    rounded: Callable[[float], str]

    def off(self, figure: float, bound: float, play: float) -> bool:
        """Whether a figure is past the limit by truly more than some ``play``."""
        return self.sign * (figure - bound) > NEAR + play

    def strictest(self, bounds: Iterable[Bound]) -> Bound:
        """The limit that answers all."""
        return max(bounds, key=lambda bound: -self.sign * bound)


LEAST = Side("least", -1.0, least, rounded_up)
MOST = Side("most", 1.0, most, rounded_down)


@dataclass(frozen=True)
class Test:
    """An aspect and its limits, the severest first. ``advice`` is what to do: ``{value}`` in it
    stands for the value that answers all limits, ``{more}`` for what the figure lacks to it.
    ``mend`` is the clause that takes that value, if a change of text surely helps. ``play`` is
    how far a figure may be past a limit for how it was read."""

    aspect: Aspect
    tiers: tuple[Tier, ...]
    advice: str
    mend: str | None = None
    play: float = 0.0

    def verdicts(self, rule: str, side: Side, piece: Piece) -> Iterator[Verdict]:
        """One verdict for each reading that leaves a limit."""
        for reading in self.aspect.read(piece):
            bounds = [self._bound(rule, tier, piece, reading) for tier in self.tiers]
            for tier, bound in zip(self.tiers, bounds, strict=True):
                if bound is not None and side.off(reading.figure, bound, self.play):
                    strictest = side.strictest(bound for bound in bounds if bound is not None)
                    yield self._found(tier, bound, strictest, side, reading)
                    break

    def _bound(self, rule: str, tier: Tier, piece: Piece, reading: Reading) -> Bound | None:
        return tier.bound(piece, piece.bound(rule, tier.what, reading.feature), reading)

    def _found(
        self, tier: Tier, bound: Bound, wanted: Bound, side: Side, reading: Reading
    ) -> Verdict:
        aspect = self.aspect
        value = aspect.value(wanted, reading) if aspect.value else side.rounded(wanted)
        return Verdict(
            tier.message,
            reading.feature,
            aspect.seen(reading),
            side.shown(aspect.limit(bound, reading)) + tier.more(reading),
            self.advice.format(value=value, more=rounded_past(abs(wanted - reading.figure))),
            reading.figure,
            bound,
            key=aspect.key,
            keys=aspect.keys,
            place=None if reading.at is None else place(reading.at),
            level=tier.level,
            mend=Mend(self.mend, value, side.name) if self.mend else None,
        )


def figure_check(rule: str, side: Side, *tests: Test) -> Check:
    """The check of a rule of the plan that makes these tests."""

    def check(piece: Piece) -> Iterator[Verdict]:
        for test in tests:
            yield from test.verdicts(rule, side, piece)

    return check
