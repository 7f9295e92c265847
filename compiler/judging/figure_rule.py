"""Rules that hold one figure of a piece against limits, as figure-rules.tsv tells them: it is too small, or
too large."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import cache
from importlib import import_module
from itertools import groupby
from typing import TYPE_CHECKING, Any

from ...lang.lean import dataclass
from ...stdlib.gems import GEMS
from ...stdlib.rows import Row, number, read_rows
from .bound import Bound
from .digits import least, mm, most, place, rounded_down, rounded_past, rounded_up, slack
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
    a clause that would answer a limit; without it, the limit itself. ``cure`` says what to do of a reading
    and how much it lacks, in place of the advice of its tests."""

    read: Callable[[Piece], Iterable[Reading]]
    key: str
    keys: tuple[str, ...]
    seen: Callable[[Reading], str] = lambda reading: mm(reading.figure)
    limit: Callable[[float, Reading], str] = lambda bound, _: mm(bound)
    value: Callable[[float, Reading], str] | None = None
    cure: Callable[[Piece, Reading, float], tuple[str, Mend | None]] | None = None


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
        return self.sign * (figure - bound) > slack(bound) + play

    def strictest(self, bounds: Iterable[Bound]) -> Bound:
        """The limit that answers all."""
        return max(bounds, key=lambda bound: -self.sign * bound)


LEAST = Side("least", -1.0, least, rounded_up)
MOST = Side("most", 1.0, most, rounded_down)


@dataclass(frozen=True)
class Test:
    """An aspect and its limits on one side, the severest first. ``advice`` is what to do: ``{value}`` in it
    stands for the value that answers all limits, ``{more}`` for what the figure lacks to it.
    ``mend`` is the clause that takes that value, if a change of text surely helps. ``play`` is
    how far a figure may be past a limit for how it was read."""

    aspect: Aspect
    side: Side
    tiers: tuple[Tier, ...]
    advice: str
    mend: str | None = None
    play: float = 0.0

    def verdicts(self, rule: str, piece: Piece) -> Iterator[Verdict]:
        """One verdict for each reading that leaves a limit."""
        for reading in self.aspect.read(piece):
            bounds = [self._bound(rule, tier, piece, reading) for tier in self.tiers]
            for tier, bound in zip(self.tiers, bounds, strict=True):
                if bound is not None and self.side.off(reading.figure, bound, self.play):
                    strictest = self.side.strictest(bound for bound in bounds if bound is not None)
                    yield self._found(piece, tier, bound, strictest, reading)
                    break

    def _bound(self, rule: str, tier: Tier, piece: Piece, reading: Reading) -> Bound | None:
        return tier.bound(piece, piece.bound(rule, tier.what, reading.feature), reading)

    def _found(self, piece: Piece, tier: Tier, bound: Bound, wanted: Bound, reading: Reading) -> Verdict:
        aspect, side = self.aspect, self.side
        value = aspect.value(wanted, reading) if aspect.value else side.rounded(wanted)
        lack = abs(wanted - reading.figure)
        said = self.advice.format(value=value, more=rounded_past(lack))
        mend = Mend(self.mend, value, side.name) if self.mend else None
        if aspect.cure:
            said, mend = aspect.cure(piece, reading, lack)
        return Verdict(
            tier.message,
            reading.feature,
            aspect.seen(reading),
            side.shown(aspect.limit(bound, reading)) + tier.more(reading),
            said,
            reading.figure,
            bound,
            key=aspect.key,
            keys=aspect.keys,
            place=None if reading.at is None else place(reading.at),
            level=tier.level,
            mend=mend,
        )


def figure_check(rule: str) -> Check | None:
    """The check of a rule that figure-rules.tsv tells; None for another."""
    tests = [_test(list(rows)) for _, rows in groupby(_rows().get(rule, ()), lambda row: row["aspect"])]

    def check(piece: Piece) -> Iterator[Verdict]:
        for test in tests:
            yield from test.verdicts(rule, piece)

    return check if tests else None


@cache
def _rows() -> Mapping[str, list[Row]]:
    found: dict[str, list[Row]] = {}
    for row in read_rows("figure-rules"):
        found.setdefault(row["rule"], []).append(row)
    return found


def _test(rows: list[Row]) -> Test:
    """The test that rows of one rule and aspect make."""
    first, tiers = rows[0], []
    for row in rows:
        reckoned = {name: _at(row[name]) for name in ("bound", "more") if row[name]}
        level = Level(row["level"]) if row["level"] else None
        tiers.append(Tier(row["limit"], row["says"], level, **reckoned))
    side = {side.name: side for side in (LEAST, MOST)}[first["side"]]
    play = number(first, "play") if first["play"] else 0.0
    return Test(_at(first["aspect"]), side, tuple(tiers), first["advice"], first["mend"] or None, play)


def _at(said: str) -> Any:
    """What stands in a module of the compiler: ``judging.grips:PRONG_WIRE``."""
    module, _, name = said.partition(":")
    return getattr(import_module(f"..{module}", __package__), name)
