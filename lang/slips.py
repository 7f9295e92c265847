"""What a line that cannot be read most likely meant: one fault, at the narrowest place.

The parser says where it stopped and which terminals could have followed; the rules below look
at that and at the text around it, the most telling first.
"""

from __future__ import annotations

import re
from collections.abc import Set

from .faults import Fault, Span
from .slip import EXPECTED, LOOKALIKES, RESERVED, SHAPES, STARTS_VALUE, Slip
from .source import Source
from .values import UNITS

_UNIT_NAMES = "|".join(sorted(UNITS, key=len, reverse=True)) + "|ga"
_FIGURE = r"[0-9]*\.?[0-9]+"
_MOST_SHOWN = 160  # characters of a line written out anew in a remedy
_LOOK = "compare the line with the example that 'posy words' shows for its word"


def explain(source: Source, start: int, end: int, at: int | None, accepts: Set[str]) -> Fault:
    """The fault for a line at ``start`` to ``end`` that could not be read past offset ``at``
    (None: it ends too early), where one of the terminals ``accepts`` had to follow."""
    slip = Slip(source, start, end, at, accepts)
    for rule in (
        _comment,
        _metal,
        _unit_first,
        _name_in_two,
        _tight_minus,
        _decimal_comma,
        _powers_of_ten,
        _decimal_point,
        _lookalike,
        _equals,
        _reserved,
        _chained,
        _block_line,
        _clause_alone,
        _unit_apart,
        _ends_early,
        _parenthesis,
        _no_key,
        _number_name,
        _two_figures,
        _colon,
        _of,
        _comma,
    ):
        fault = rule(slip)
        if fault is not None:
            return fault
    return _plain(slip)


def clause_alone(key: str, span: Span) -> Fault:
    """The fault for a line that is a clause of the line above it."""
    return Fault(
        "clause-alone",
        f"'{key}' is a clause here, and a clause stands below its line, indented",
        span,
        remedy=f"indent it by {span.column + 1} spaces",
    )


def _comment(slip: Slip) -> Fault | None:
    """// five garnets, or -- five garnets."""
    for found in re.finditer(r"(//|--|/\*)\s*(.*)$", slip.line, re.DOTALL):
        start = slip.start + found.start()
        if start <= slip.at <= start + 2:
            said = found.group(2).removesuffix("*/").rstrip()
            return slip.fault(
                "unreadable",
                f"'{found.group(1)}' does not start a comment: # does",
                f"write # {said}" if said else "write #",
                start,
                slip.end,
            )
    return None


def _metal(slip: Slip) -> Fault | None:
    """metal 14k white gold, gem blue topaz: one name is wanted, and several words stand here."""
    for found in re.finditer(r"(?:^|[,:])\s*(metal|gem)\s+([^,:#]+)", slip.line):
        if slip.start + found.start(2) < slip.at <= slip.start + found.end(2):
            break
    else:
        return None
    said = found.group(2).rstrip()
    if not re.fullmatch(r"[\w][\w \-.%]*", said):
        return None
    start = slip.start + found.start(2)
    return slip.fault(
        "unreadable",
        f"a {found.group(1)} is one name, and blanks stand in this one",
        f'write "{said}"',
        start,
        start + len(said),
    )


def _unit_first(slip: Slip) -> Fault | None:
    """mm 0.95: the unit before its figure."""
    for found in re.finditer(rf"(?<![\w-])({_UNIT_NAMES})\s*({_FIGURE})", slip.line):
        start = slip.start + found.start()
        if start < slip.at <= start + len(found.group()):
            unit, figure = found.groups()
            return slip.fault(
                "unit-apart",
                f"the unit {unit} stands before its figure",
                f"write {figure} {unit}",
                start,
                start + len(found.group()),
            )
    return None


def _name_in_two(slip: Slip) -> Fault | None:
    """bar main frame: size …, and each later line that says main frame."""
    last = re.search(r"([^\W\d_][\w-]*)\s+$", slip.source.text[slip.start : slip.at])
    if last is None or not slip.word:
        return None
    pair = rf"{last.group(1)}[ -]+{slip.word}"
    if not re.search(rf"(?m)^[ ]*[^\W\d_][\w-]*[ ]+{pair}[ ]*:", slip.source.text):
        return None
    joined = f"{last.group(1)}-{slip.word}"
    return slip.fault(
        "name-in-two",
        "a name is one word, and a blank stands in this one",
        f"write {joined}",
        slip.start + last.start(1),
        slip.at + len(slip.word),
    )


def _tight_minus(slip: Slip) -> Fault | None:
    """across-1.85 mm: the minus was read as a hyphen of the name."""
    for found in re.finditer(
        rf"([^\W\d_][\w-]*?)-({_FIGURE})(\s*(?:{_UNIT_NAMES})(?![\w-]))?", slip.line
    ):
        start = slip.start + found.start()
        if start < slip.at <= start + len(found.group()):
            name, figure, unit = found.groups()
            return slip.fault(
                "unit-apart",
                "a minus without blanks is a hyphen, part of the name before it",
                f"write {name} - {figure}{unit or ''}",
                start,
                start + len(found.group()),
            )
    return None


def _decimal_comma(slip: Slip) -> Fault | None:
    """2,5 mm: reading stops at the 5 after a comma."""
    for found in re.finditer(r"(?<![\w.])([0-9]+),([0-9]+)", slip.line):
        if slip.start + found.start() < slip.at <= slip.start + found.start(2):
            whole, part = found.groups()
            return slip.fault(
                "decimal-comma",
                f"'{whole},{part}' has a comma where a decimal point belongs",
                f"write {whole}.{part}",
                slip.start + found.start(),
                slip.start + found.end(),
            )
    return None


def _powers_of_ten(slip: Slip) -> Fault | None:
    """1e9 mm: reading stops past the letter."""
    for found in re.finditer(r"(?<![\w.])[0-9][0-9.]*[eE][+-]?[0-9]*\b", slip.line):
        if slip.start + found.start() < slip.at <= slip.start + found.end():
            return slip.fault(
                "unreadable",
                f"'{found.group()}' is not how a number is written here",
                "write it out in plain digits, as in 1500 or 0.002",
                slip.start + found.start(),
                slip.start + found.end(),
            )
    return None


def _decimal_point(slip: Slip) -> Fault | None:
    """2. mm, or 2.5.1."""
    if slip.rest.startswith(".") and slip.before[-1:].isdigit():
        return slip.fault(
            "unreadable",
            "a point stands here without a digit after it",
            "write a digit after the point, or leave it out",
            slip.at,
            slip.at + 1,
        )
    return None


def _lookalike(slip: Slip) -> Fault | None:
    """A character the language has no use for."""
    mark = slip.rest[:1]
    if mark == "*" and slip.before.endswith("*"):
        return slip.fault(
            "stray-character",
            "** means nothing here",
            "write a * a for a square",
            slip.at - 1,
            slip.at + 1,
        )
    plain = mark.isalnum() or mark.isspace() or mark in '"()+-*/<>=,.%:#'
    if mark == ";" and not slip.rest[1:].strip():
        return slip.fault(
            "stray-character",
            "a line ends without a mark here",
            "take it out",
            slip.at,
            slip.at + 1,
        )
    if mark and (mark in LOOKALIKES or not plain):
        return slip.fault(
            "stray-character",
            f"the character {mark} means nothing here",
            LOOKALIKES.get(mark),
            slip.at,
            slip.at + 1,
        )
    return None


def _equals(slip: Slip) -> Fault | None:
    """An = where a clause or a test has none."""
    if not slip.rest.startswith("="):
        return None
    length = len(slip.rest) - len(slip.rest.lstrip("="))
    if slip.first in ("when", "otherwise", "expect"):
        return slip.fault(
            "stray-equals",
            "a test is not written with =",
            "write is",
            slip.at,
            slip.at + length,
        )
    name = slip.before.split()[-1] if slip.before else ""
    if slip.before == slip.first == "measure":
        return None
    if slip.before == slip.first and slip.first:
        remedy = f"a figure with a name is written: measure {slip.first} = …"
    elif slip.first == "measure":
        remedy = "only one = belongs in a measure line"
    else:
        remedy = f"leave it out: {name} and its value" if name else "leave it out"
    return slip.fault(
        "stray-equals", "a clause has no equals sign", remedy, slip.at, slip.at + length
    )


def _reserved(slip: Slip) -> Fault | None:
    """x, of, to … where a name or a value is due."""
    if slip.word not in RESERVED or "NAME" not in slip.accepts:
        return None
    if slip.word == "x" and slip.before.endswith(("x", "X")):
        return slip.fault(
            "unreadable", "a figure is missing between the two x", "add it, or drop one x"
        )
    return slip.fault(
        "reserved-name",
        f"'{slip.word}' is part of the language and cannot be a name here",
        "give it another name, or add what belongs before it",
    )


def _block_line(slip: Slip) -> Fault | None:
    """A line that starts with a block word but does not go on as such a line does."""
    if slip.first not in SHAPES or slip.start + len(slip.first) > slip.at:
        return None
    if not slip.accepts & {
        "EQUAL",
        "FROM",
        "IN",
        "TO",
        "TAKE",
        "BECAUSE",
        "NAME",
        "TEXT",
        "COLON",
    }:
        return None
    if slip.accepts & STARTS_VALUE - {"TEXT"}:
        return None
    if slip.word and "COMMA" in slip.accepts:
        return None
    headed = "COLON" in slip.accepts and slip.first in ("workpiece", "casting", "series", "piece")
    if headed and slip.word and not (slip.first == "piece" and "TEXT" in slip.accepts):
        return None
    wanted = [EXPECTED[name] for name in sorted(slip.accepts) if name in EXPECTED]
    seen = f"'{slip.word or slip.rest[:1]}'" if slip.rest else "the end of the line"
    if wanted == ["="] and slip.rest.startswith(":"):
        return slip.fault(
            "line-shape",
            "= belongs here, not ':'",
            _rewritten(slip, f"{slip.before} =", slip.rest[1:]),
            slip.at,
            slip.at + 1,
        )
    return slip.fault(
        "line-shape",
        f"{' or '.join(wanted[:3]) or 'something else'} belongs here, not {seen}",
        f"it is written: {SHAPES[slip.first]}",
    )


def _clause_alone(slip: Slip) -> Fault | None:
    """note "a keepsake" at the edge: a clause that is not indented below its line."""
    if slip.before != slip.first or slip.first in SHAPES or not slip.first:
        return None
    if not re.match(r'["(]|\.?\d', slip.rest) or re.match(r'\d[\w-]*\s*(:|$)|"[^"]*"\s*:', slip.rest):
        return None
    said = slip.fault("clause-alone", "", None, slip.start, slip.end)
    assert said.span is not None
    return clause_alone(slip.first, said.span)


def _chained(slip: Slip) -> Fault | None:
    """a < b < c."""
    if re.match(r"[<>]|is\b", slip.rest) and re.search(r"[<>]|\bis\b", slip.before):
        return slip.fault(
            "chained-test",
            "one comparison cannot follow another",
            "write both: a < b and b < c",
            slip.at,
            slip.at + 1,
        )
    return None


def _unit_apart(slip: Slip) -> Fault | None:
    """(a + b) mm, or pitch mm."""
    unit = slip.word
    if (unit not in UNITS and unit != "ga") or "COMMA" not in slip.accepts:
        return None
    if slip.first == slip.before or not re.search(r"[\w)]$", slip.before):
        return None
    spot = re.search(r"\([^()]*,[^()]*\)$", slip.before)
    if spot:
        remedy = f"write it inside: {spot.group()[:-1]} {unit})"
    else:
        remedy = f"give the numbers their unit: (2 {unit} + 3 {unit})"
    return slip.fault(
        "unit-apart", f"the unit {unit} stands after something that is not a number", remedy
    )


def _ends_early(slip: Slip) -> Fault | None:
    """The line stops where a value is due."""
    if slip.rest or not slip.accepts & STARTS_VALUE:
        return None
    last = re.search(r"(\S+)$", slip.before)
    after = f" after '{last.group(1)}'" if last and len(last.group(1)) < 20 else ""
    return slip.fault(
        "value-missing", f"a value is missing{after}", "add it, or drop what asks"
    )


def _parenthesis(slip: Slip) -> Fault | None:
    """A ) too many, or () with nothing in it."""
    if not slip.rest.startswith(")"):
        return None
    if slip.accepts & STARTS_VALUE:
        return slip.fault(
            "value-missing", "a value is missing before this parenthesis", "add it in front"
        )
    return slip.fault("parenthesis-not-open", "this parenthesis closes nothing", "take it out")


def _colon(slip: Slip) -> Fault | None:
    """bar frame size 21 mm: the colon after the head is missing; or there is one too many."""
    if slip.rest.startswith(":"):
        return slip.fault(
            "stray-colon",
            "a colon means nothing here",
            "take it out: one colon stands after word and name, none in the clauses",
            slip.at,
            slip.at + 1,
        )
    if "COLON" in slip.accepts and slip.rest:
        return slip.fault(
            "colon-missing",
            "a colon is missing after the name",
            _rewritten(slip, f"{slip.before}: ", slip.rest),
        )
    return None


def _comma(slip: Slip) -> Fault | None:
    """Two clauses with no comma between."""
    if slip.rest.startswith(","):
        return slip.fault(
            "stray-comma", "a comma means nothing here", "take it out", slip.at, slip.at + 1
        )
    if slip.word and "COMMA" in slip.accepts:
        return slip.fault(
            "comma-missing",
            f"a comma is missing before '{slip.word}'",
            _rewritten(slip, f"{slip.before}, ", slip.rest),
        )
    return None


def _of(slip: Slip) -> Fault | None:
    """at ends frame: two names, the second of which a line above makes."""
    last = re.search(r"([^\W\d_][\w-]*)$", slip.before)
    if last is None or not slip.word or "OF" not in slip.accepts:
        return None
    above = slip.source.text[: slip.start]
    if not re.search(rf"(?m)^[ ]*[^\W\d_][\w-]*[ ]+{slip.word}[ ]*(?:[:=\n#]|$)", above):
        return None
    return slip.fault(
        "of-missing",
        f"'of' is missing between {last.group(1)} and {slip.word}",
        f"write {last.group(1)} of {slip.word}",
        slip.start + last.start(1),
        slip.at + len(slip.word),
    )


def _rewritten(slip: Slip, before: str, after: str) -> str:
    """The line as it should be, or of a long one the part around the change."""
    whole = " ".join(f"{before}{after}".split())
    if len(whole) <= _MOST_SHOWN:
        return f"write: {whole}"
    return f"write: … {before[-40:]}{after[:40].rstrip()} …"


def _number_name(slip: Slip) -> Fault | None:
    """A figure where a name is due."""
    if slip.rest[:1].isdigit() and "NAME" in slip.accepts and "NUMBER" not in slip.accepts:
        return slip.fault(
            "name-missing",
            "a name is needed here, and a name begins with a letter",
            "put a letter first, and the number after it",
            slip.at,
            slip.at + 1,
        )
    return None


def _two_figures(slip: Slip) -> Fault | None:
    """size 3 x 3 5 mm: nothing between two figures."""
    if slip.rest[:1].isdigit() and re.search(r"[0-9]$", slip.before):
        return slip.fault(
            "unreadable",
            "two figures stand side by side",
            "put x between the figures of a size, a comma between clauses, + or * to work it out",
            slip.at,
            slip.at + 1,
        )
    return None


def _no_key(slip: Slip) -> Fault | None:
    """path way: (0, 0) to (4, 0 mm), or stone one: 5 mm: a value where a clause begins."""
    value = slip.rest[:1] in ("(", *"0123456789")
    if value and re.search(r"[:,]\s*$", slip.before) and "NAME" in slip.accepts:
        return slip.fault(
            "unreadable",
            "a clause begins with its key, and its value stands behind it",
            "put the key before it, as in: through (0, 0) to (4, 0 mm), or round 5 mm",
            slip.at,
            slip.at + 1,
        )
    return None


def _plain(slip: Slip) -> Fault:
    """Nothing better to say than where, and what could have followed."""
    wanted = [
        EXPECTED[name] for name in sorted(slip.accepts) if name in EXPECTED and name != "TO"
    ]
    seen = slip.word or slip.rest[:1]
    message = f"'{seen}' was not expected here" if seen else "the line ends too early"
    return slip.fault(
        "unreadable", message, f"{' or '.join(wanted)} may stand here" if wanted else _LOOK
    )
