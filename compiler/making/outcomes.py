"""What came of a remedy tried: what is told yet, what is gone, and what is new."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ...lang.faults import Fault, Level
from ..judging.done import Way
from ..judging.remark import Remark
from .result import Built

WORSE = 1.2  # times what a remark lacks, from which it comes anew
NEAR = 0.3  # mm, a remark no farther off is at the same place
MOST = 3  # remarks named that go along with another, or come in its place


@dataclass
class Cure:
    """A change of text that makes a remark go, and what else goes by it."""

    of: Remark
    said: str
    texts: Mapping[str, str]
    after: Built
    along: list[Fault]
    idle: Sequence[Way] = ()  # ways its remark names that are none
    rest: Sequence[Way] = ()  # ways it names besides, not tried yet
    before: Built | None = None


@dataclass
class Outcome:
    """What came of a way gone: what is told yet, of its remark or else what came of it, of the piece
    ``after``; or the cure, where nothing is; and what is wrong with it."""

    left: Sequence[Fault] = ()
    cure: Cure | None = None
    trouble: str = ""
    after: Built | None = None  # where the remark is gone


def gist(one: Fault) -> tuple[str, object]:
    """What a remark is about, wherever its lines stand, however often and however badly it is met: of the
    wall and the roof of one hollow each by itself."""
    if not isinstance(one, Remark):
        return one.code, one.message
    return one.code, (one.parts, one.edit.key if one.edit is not None else "")


def is_nearer(now: Fault, one: Remark) -> bool:
    """Whether a remark lacks less than it did, as far as that is known."""
    return not (lack(now) and lack(one)) or lack(now) < lack(one)


def loud(faults: Sequence[Fault]) -> list[Fault]:
    """The faults and warnings."""
    return [one for one in faults if one.level is not Level.HINT]


def fresh_by(before: Sequence[Fault], after: Sequence[Fault], hints: bool) -> list[Fault]:
    """Faults and warnings, and ``hints`` too, of a rule on a part, not told before, or not so bad; what a
    line put in takes part in, where it was told without that, is none."""
    known: dict[object, float] = {}
    for one in before if hints else loud(before):
        known[gist(one)] = max(lack(one), known.get(gist(one), 0.0))
    told = after if hints else loud(after)
    fresh = [one for one in told if gist(one) not in known or lack(one) > WORSE * known[gist(one)]]
    return [one for one in fresh if not any(_is_there(one, other) for other in before)]


def _is_there(one: Fault, other: Fault) -> bool:
    """Whether a remark is another of the same rule and place, with more parts, and no worse."""
    if not (isinstance(one, Remark) and isinstance(other, Remark) and one.code == other.code):
        return False
    if one.place is None or other.place is None or not one.parts >= other.parts:
        return False
    return math.dist(one.place, other.place) < NEAR and lack(one) <= WORSE * lack(other)


def lack(one: Fault) -> float:
    """How far the figure of a remark is from its limit; 0 of what has none."""
    if not isinstance(one, Remark) or one.figure is None or one.bound is None:
        return 0.0
    return abs(one.figure - one.bound)


def gone_by(before: Sequence[Fault], after: Sequence[Fault], one: Fault) -> list[Fault]:
    """What is no longer told, of that rule on that part or in those words, besides ``one``."""
    left = {gist(other) for other in (*loud(after), one)}
    return [other for other in loud(before) if gist(other) not in left]


def listed(faults: Sequence[Fault]) -> str:
    """Remarks as they are named in what came of another, the first few."""
    named = [f"line {one.span.line}, {one.message}" if one.span else one.message for one in faults[:MOST]]
    more = len(faults) - MOST
    return "; ".join([*named, *([f"and {more} more"] if more > 0 else [])])
