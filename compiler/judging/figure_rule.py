"""What rules find, and in which words it is told: a rule reads figures of a piece, and rows of
figure-rules.tsv hold them against limits and tell of those that leave one."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache, partial
from importlib import import_module
from itertools import groupby
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, NamedTuple

from ...stdlib.gems import GEMS
from ...stdlib.rows import Row, number, read_rows, words
from .bound import Bound
from .digits import least, mm, most, place, rounded_down, rounded_past, rounded_up, share, slack, times
from .rule import Check, Level, Mend, Verdict

if TYPE_CHECKING:
    from .piece import Piece

Words = Mapping[str, str | Callable[..., str]]  # worked out of the bound
NONE: Words = MappingProxyType({})
Cure = str | tuple[str, Mend | None]


class Reading(NamedTuple):
    """A figure read of a ``feature``, at one place if it has one: mm, the number of a stone, or what stands
    ``at`` it.

    ``find`` names the rows of its rule that it is held against, where there are several; ``of`` is what it is
    read of (a bead, a grip, a stone), for what those rows reckon, or a second figure told with it. ``words``
    stand for what the row's texts leave open, shown as they are or worked out of the bound. The limit counts
    ``scale`` times; ``bound`` is that of a row without one. ``play`` is how far the figure may be past it for
    how it was read. ``level`` goes before the row's, and so does ``cure`` before its advice: said, or worked
    out of the bound, with the change of text it is; ``remedy`` is worked out for what is told alone.
    ``value`` shows the value of a clause that would answer a limit; else the limit itself is shown. ``key``
    and ``keys`` are the clauses to point at where the row says none. Of those alike in ``once`` the first
    that leaves its limit is told."""

    feature: int
    figure: float
    at: Any = None
    of: Any = None
    find: str = ""
    words: Words = NONE
    others: tuple[int, ...] = ()
    scale: float = 1.0
    bound: float = 0.0
    play: float = 0.0
    level: Level | None = None
    cure: Cure | Callable[..., Cure] | None = None
    remedy: Callable[[], str] | None = None
    mend: Mend | None = None
    value: Callable[..., str] | None = None
    key: str | None = None
    keys: tuple[str, ...] = ()
    once: object = None


Finds = Callable[["Piece"], Iterator[Reading]]


def of_gems(_: Piece, limit: Bound, reading: Reading) -> Bound | None:
    """A limit that counts for gems: a coin is mounted open behind, in a rim as broad as one likes."""
    return None if GEMS[reading.of.gem].is_metal else limit


@dataclass(frozen=True)
class Side:
    """Which way a figure may not leave its limits: below them, or above; by ``sign`` 0 whatever is read is
    told."""

    name: str
    sign: float
    shown: Callable[[str], str]
    rounded: Callable[[float], str]

    def off(self, figure: float, bound: float, play: float) -> bool:
        """Whether a figure is past the limit by truly more than some ``play``."""
        return not self.sign or self.sign * (figure - bound) > slack(bound) + play

    def strictest(self, bounds: Iterable[Bound]) -> Bound:
        """The limit that answers all."""
        return max(bounds, key=lambda bound: -self.sign * bound)


SIDES = {
    "least": Side("least", -1.0, least, rounded_up),
    "most": Side("most", 1.0, most, rounded_down),
    "": Side("exact", 0.0, str, mm),
}
# How figures of a unit are shown, and limits.
UNITS: Mapping[str, tuple[Callable[[float], str], Callable[[float], str]]] = {
    "mm": (mm, mm),
    "share": (share, share),
    "ratio": (times, times),
    "deg": ("{:.0f} degrees".format, "{:g} degrees".format),
    "tenths": ("{:.1f} degrees".format, "{:g} degrees".format),
    "g": ("{:.1f} g".format, "{:g} g".format),
    "mm2": ("{:.2f} mm2".format, "{:g} mm2".format),
    "mm3": ("{:.3g} mm3".format, "{:g} mm3".format),
    **dict.fromkeys(("count", "mohs"), ("{:g}".format, "{:g}".format)),
}


@dataclass(frozen=True)
class Test:
    """The rows of one rule that hold the same figure against limits on one side, the severest first."""

    rule: str
    rows: tuple[Row, ...]

    def read(self, piece: Piece) -> Iterator[Verdict]:
        """One verdict for each reading, as the rows say it is read, that leaves a limit."""
        for reading in _at(self.rows[0]["reads"])(piece):
            yield from self.verdicts(piece, reading)

    def verdicts(self, piece: Piece, reading: Reading) -> Iterator[Verdict]:
        """The verdict on a reading, if it leaves a limit: the severest."""
        side = SIDES[self.rows[0]["side"]]
        bounds = [self._bound(row, piece, reading) for row in self.rows]
        for row, bound in zip(self.rows, bounds, strict=True):
            play = reading.play + (number(row, "play") if row["play"] else 0.0)
            if bound is not None and side.off(reading.figure, bound, play):
                strictest = side.strictest(one for one in bounds if one is not None)
                yield _told(row, piece, reading, bound, strictest)
                break

    def _bound(self, row: Row, piece: Piece, reading: Reading) -> Bound | None:
        if not row["limit"]:
            return reading.bound  # type: ignore[return-value]
        what = row["limit"].format_map(reading.words) if "{" in row["limit"] else row["limit"]
        limit = piece.bound(self.rule, what, reading.feature)
        limit = limit if reading.scale == 1.0 else limit * reading.scale
        return _at(row["bound"])(piece, limit, reading) if row["bound"] else limit


def _told(row: Row, piece: Piece, reading: Reading, bound: Bound, wanted: Bound) -> Verdict:
    unit = row["unit"] or (bound.limit.unit if isinstance(bound, Bound) else "count")
    side, (figure, limit) = SIDES[row["side"]], UNITS[unit]
    value = reading.value(wanted) if reading.value else side.rounded(wanted)
    lack = abs(wanted - reading.figure)
    shown = {
        "part": piece.name_of(reading.feature), "other": piece.name_of((*reading.others, 0)[0]),
        "family": piece.family(reading.feature), "figure": figure(reading.figure), "limit": limit(bound),
        "value": value, "more": rounded_past(lack), "lack": rounded_up(lack), "raw": reading.figure,
        "of": reading.of,
        **{key: one(bound) if callable(one) else one for key, one in reading.words.items()},
    }  # fmt: skip
    cure = reading.cure(bound) if callable(reading.cure) else reading.cure
    said, mend = cure if isinstance(cure, tuple) else (cure, reading.mend)
    if cure is None and mend is None and row["mend"]:
        clause, _, way = row["mend"].partition(" ")
        mend = Mend(clause, value, way or side.name)
    level = reading.level or (Level(row["level"]) if row["level"] else None)
    says, seen, wants, advice = (row[one].format_map(shown) for one in ("says", "seen", "wanted", "advice"))
    return Verdict(
        says, reading.feature, seen or shown["figure"], wants or side.shown(shown["limit"]),
        reading.remedy or (advice if said is None else said), reading.figure, bound,
        reading.key or row["key"] or None, reading.keys or words(row, "keys"),
        _place(piece, reading.at), level, mend, reading.others,
    )  # fmt: skip


def _place(piece: Piece, at: Any) -> tuple[float, float, float] | None:
    spot = piece.stones.frames[at, :, 3] if isinstance(at, int) else at
    return None if at is None else place(at.frames[0, :, 3] if hasattr(at, "frames") else spot)


def figure_check(rule: str, own: Finds | None) -> Check | None:
    """The check of a rule: what rows of figure-rules.tsv say to read, and what its ``own`` check finds."""
    tests = _tests().get(rule, ())
    reads = [test.read for test in tests if test.rows[0]["reads"]]
    own_check: list[Check] = [] if own is None else [partial(told, rule, own)]
    checks = [*reads, *own_check]
    return (lambda piece: (one for check in checks for one in check(piece))) if checks else None


def told(rule: str, check: Finds, piece: Piece) -> Iterator[Verdict]:
    """What a check of a rule finds, as the rows tell it."""
    tests = {test.rows[0]["find"]: test for test in _tests().get(rule, ()) if not test.rows[0]["reads"]}
    known = set[object]()
    for found in check(piece):
        for verdict in tests[found.find].verdicts(piece, found) if found.once not in known else ():
            known |= {found.once} - {None}
            yield verdict


@cache
def _tests() -> Mapping[str, list[Test]]:
    """The tests of each rule; what a row leaves out but its level and how its limit counts is as in the first
    of its test."""
    found: dict[str, list[Test]] = {}
    for _, group in groupby(read_rows("figure-rules"), lambda row: (row["rule"], row["find"], row["reads"])):
        rows = list(group)
        own = {"level", "bound"}
        filled = (
            {key: said or ("" if key in own else rows[0][key]) for key, said in row.items()} for row in rows
        )
        found.setdefault(rows[0]["rule"], []).append(Test(rows[0]["rule"], tuple(filled)))
    return found


@cache
def _at(said: str) -> Any:
    """What stands in a module of the compiler: ``judging.grips:wires``."""
    module, _, name = said.partition(":")
    return getattr(import_module(f"..{module}", __package__), name)
