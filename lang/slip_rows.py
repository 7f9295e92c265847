"""Slips that a pattern tells: each a row, what it looks like and what is told of it."""

from __future__ import annotations

import re
from dataclasses import dataclass

from .faults import Fault
from .slip import STARTS_VALUE, Slip
from .values import UNITS

KEYLESS = "key-missing"  # its remedy is found once the word is known, see keyless
_UNIT_NAMES = "|".join(sorted(UNITS, key=len, reverse=True)) + "|ga"
_FIGURE = r"[0-9]*\.?[0-9]+"


@dataclass(frozen=True)
class Written:
    """What is written otherwise here: a ``pattern`` of the line that reading stopped in, at its group
    ``until`` at the latest; its groups stand as {0}, {1} ... in what is told and in the remedy."""

    pattern: str
    code: str
    told: str
    remedy: str
    until: int = 0

    def __call__(self, slip: Slip) -> Fault | None:
        """The fault, where the line is so."""
        for found in re.finditer(self.pattern, slip.line):
            start, last = slip.start + found.start(), found.start(self.until) if self.until else found.end()
            if start <= slip.at <= slip.start + last:
                groups = found.group(), *(one or "" for one in found.groups())
                told, remedy = self.told.format(*groups), self.remedy.format(*groups)
                return slip.fault(self.code, told, remedy, start, slip.start + found.end())
        return None


@dataclass(frozen=True)
class Stopped:
    """What reading stopped at: ``rest`` of the line begins so, and what is ``before`` ends, or is, so;
    one of ``accepts`` may follow, and none of ``lacks``; the ``whole`` of ``rest`` is marked, or where it
    begins. In the remedy {0} is the line's first word."""

    rest: str
    before: str
    code: str
    told: str
    remedy: str
    accepts: frozenset[str] = frozenset()
    lacks: frozenset[str] = frozenset()
    whole: bool = False

    def __call__(self, slip: Slip) -> Fault | None:
        """The fault, where reading stopped so."""
        here = re.match(self.rest, slip.rest)
        follows = not self.accepts or self.accepts & slip.accepts
        if not here or not re.search(self.before, slip.before) or not follows or self.lacks & slip.accepts:
            return None
        end = slip.at + (len(here.group().rstrip()) if self.whole else 1)
        return slip.fault(self.code, self.told, self.remedy.format(slip.first), slip.at, end)


_NAME = frozenset({"NAME"})
UNIT_FIRST = Written(  # mm 0.95
    rf"(?<![\w-])(?<!\d )({_UNIT_NAMES})\s*({_FIGURE})", "unit-apart",
    "the unit {1} stands before its figure", "write {2} {1}",
)
UNQUOTED = Written(  # letters A.M.
    r"(?<=[:,]\s)(letters|text|note)\s+(?![\"“”„«‘’'])([^\",:#]*[^\",:#\s])", "unreadable",
    "what {1} is told stands in quotes", 'write {1} "{2}"',
)
ARTICLE = Written(  # on the leaf
    r"(?<=\s)(?:the|an|both)\s+(?=[^\W\d_]+\s+(?:of\b|[^\W\d_])|[^\W\d_][\w-]*\s*(?:,|$))", "unreadable",
    "neither articles nor 'both' stand in a line of work", "take it out",
)
BULLET = Written(r"^(?:[-*•]|\d+[.)])\s+", "unreadable", "a line begins with its word", "take it out")
COUNT_OF = Written(  # row of 5
    r"\b(row|circle|number|count|times)\s+of\s+([0-9]+)", "reserved-name",
    "a count stands behind its key alone", "write {1} {2}",
)
BY = Written(  # 14 by 20 mm
    rf"({_FIGURE}(?:\s*(?:{_UNIT_NAMES}))?)\s+by\s+({_FIGURE})", "unreadable",
    "the figures of a size are joined by x", "write {1} x {2}",
)
HALF_LETTER = Written(  # uk N½
    r"(?<![\w])([A-Z])\s*½", "stray-character", "'{0}' has a fraction that is one character", "write {1} 1/2",
)
TIGHT_MINUS = Written(  # across-1.85 mm: the minus was read as a hyphen of the name
    rf"([^\W\d_][\w-]*?)-({_FIGURE})(\s*(?:{_UNIT_NAMES})(?![\w-]))?", "unit-apart",
    "a minus without blanks is a hyphen, part of the name before it", "write {1} - {2}{3}",
)
DECIMAL_COMMA = Written(  # 2,5 mm: reading stops at the 5 after a comma
    r"(?<![\w.])([0-9]+),([0-9]+)", "decimal-comma", "'{1},{2}' has a comma where a decimal point belongs",
    "write {1}.{2}", until=2,
)
POWERS_OF_TEN = Written(  # 1e9 mm: reading stops past the letter
    r"(?<![\w.])[0-9][0-9.]*[eE][+-]?[0-9]*\b", "unreadable", "'{0}' is not how a number is written here",
    "write it out in plain digits, as in 1500 or 0.002",
)
DECIMAL_POINT = Stopped(  # 2. mm, or 2.5.1
    r"\.", r"\d$", "unreadable", "a point stands here without a digit after it",
    "write a digit after the point, or leave it out",
)
CHAINED = Stopped(  # a < b < c
    r"[<>]|is\b", r"[<>]|\bis\b", "chained-test", "one comparison cannot follow another",
    "write both: a < b and b < c",
)
EMPTY = Stopped(  # () with nothing in it
    r"\)", "", "value-missing", "a value is missing before this parenthesis", "add it in front", STARTS_VALUE,
)
PARENTHESIS = Stopped(r"\)", "", "parenthesis-not-open", "this parenthesis closes nothing", "take it out")
VALUE_FIRST = Written(  # band shank: 4 mm wide
    rf"(?:(?<=[:,])|(?<=[:,]\s))({_FIGURE}(?:\s*x\s*{_FIGURE})*\s*(?:{_UNIT_NAMES}))\s+([^\W\d_][\w-]*)(?=\s*(?:,|$))",
    "unreadable", "the value stands before its key", "write {2} {1}",
)
TWO_KEYS = Written(  # signet seal: top oval 14 x 12 mm
    rf"(?:(?<=[:,])|(?<=[:,]\s))([^\W\d_][\w-]*)\s+([^\W\d_][\w-]*)\s+({_FIGURE}[^,]*)", KEYLESS,
    "two names stand before this value, where a clause has one key", "write {2} {3}", until=3,
)
NO_KEY = Stopped(  # path way: (0, 0) to (4, 0 mm), or stone one: 5 mm: a value where a clause begins
    r'\([^()]*\)(?:\s*(?:to|over)\s*\([^()]*\))*|["(0-9][^,]*', r"[:,]\s*$", KEYLESS,
    "a clause begins with its key, and its value stands behind it",
    "put the key before it, as in: through (0, 0) to (4, 0 mm), or round 5 mm; posy words {0} tells its keys",
    _NAME, whole=True,
)
NUMBER_NAME = Stopped(  # a figure where a name is due
    r"\d", "", "name-missing", "a name is needed here, and a name begins with a letter",
    "put a letter first, and the number after it", _NAME, frozenset({"NUMBER"}),
)
TWO_FIGURES = Stopped(  # size 3 x 3 5 mm
    r"\d", rf"[0-9]\s*(?:{_UNIT_NAMES})?$", "unreadable", "two figures stand side by side",
    "put x between the figures of a size, a comma between clauses, + or * to work it out",
)
STRAY_COLON = Stopped(
    ":", "", "stray-colon", "a colon means nothing here",
    "take it out: one colon stands after word and name, none in the clauses",
)
STRAY_COMMA = Stopped(",", "", "stray-comma", "a comma means nothing here", "take it out")
