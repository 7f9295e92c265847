"""What a line that cannot be read most likely meant: one fault, at the narrowest place.

The parser says where it stopped and which terminals could have followed; the rules below look
at that and at the text around it, the most telling first."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Set

from . import slip_rows as rows
from .faults import Fault, Span
from .placing import PLACING_BY_NAME
from .slip import EXPECTED, LOOKALIKES, QUOTES, RESERVED, SHAPES, STARTS_VALUE, Slip
from .source import Source
from .units import unit_written
from .values import UNITS

_MOST_SHOWN = 160  # characters of a line written out anew in a remedy
_BEFORE_A_NAME = frozenset(("for", "in", "to", "through"))
BLOCKS = "workpiece", "casting"  # whose lines stand below their own
_NAME = r"[^\W\d_][\w-]*"
_LOOK = "compare the line with the example that 'posy words' shows for its word"


def explain(source: Source, start: int, end: int, at: int | None, accepts: Set[str]) -> Fault:
    """The fault for a line at ``start`` to ``end`` that could not be read past offset ``at``
    (None: it ends too early), where one of the terminals ``accepts`` had to follow."""
    slip = Slip(source, start, end, at, accepts)
    for rule in (
        _comment, rows.HALF_LETTER, _fraction, _metal, rows.UNQUOTED, rows.ARTICLE, rows.BULLET,
        rows.COUNT_OF, rows.BY, rows.UNIT_FIRST, _each, _name_in_two, rows.TIGHT_MINUS, rows.DECIMAL_COMMA,
        rows.POWERS_OF_TEN, rows.DECIMAL_POINT, _lookalike, _equals, _reserved, rows.CHAINED, _block_line,
        _clause_alone, _unit_apart, _ends_early, rows.EMPTY, rows.PARENTHESIS, rows.VALUE_FIRST,
        rows.TWO_KEYS, rows.NO_KEY, rows.NUMBER_NAME, rows.TWO_FIGURES, rows.STRAY_COLON, _colon, _of,
        rows.STRAY_COMMA, _comma, _quoted,
    ):
        fault = rule(slip)
        if fault is not None:
            return fault
    return _plain(slip)


def clause_alone(key: str, span: Span, head: str = "", whole: str = "") -> Fault:
    """The fault for a line that is a clause of the line above it; ``whole`` of a block, below whose ``head``
    stand lines."""
    if head:
        return Fault(
            "clause-alone", f"'{key}' is a clause of {head}, whose clauses stand in its own line", span,
            remedy=f"take it up into that line, after a colon: {head}: {whole}",
        )
    return Fault(
        "clause-alone", f"'{key}' is a clause here, and a clause stands below its line, indented", span,
        remedy=f"indent it by {span.column + 1} spaces",
    )


def _comment(slip: Slip) -> Fault | None:
    """// five garnets, or -- five garnets."""
    for found in re.finditer(r"(//|--|/\*)\s*(.*)$", slip.line, re.DOTALL):
        start = slip.start + found.start()
        if start <= slip.at <= start + 2:
            said = found.group(2).removesuffix("*/").rstrip()
            return slip.fault(
                "unreadable", f"'{found.group(1)}' does not start a comment: # does",
                f"write # {said}" if said else "write #", start, slip.end,
            )
    return None


def _fraction(slip: Slip) -> Fault | None:
    """4½ mm, or ¼ ct."""
    for found in re.finditer(r"(?:([0-9]+)\s*)?([½⅓⅔¼¾⅕⅛⅜⅝⅞])\s*", slip.line):
        if slip.start + found.start() <= slip.at <= slip.start + found.end():
            value, said = float(found[1] or 0) + unicodedata.numeric(found[2]), found[0].rstrip()
            start = slip.start + found.start()
            return slip.fault(
                "stray-character", f"'{said}' has a fraction that is one character", f"write {value:.4g}",
                start, start + len(said),
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
    names = re.split(r"\s+and\s+", said) if found.group(1) == "gem" else [said]
    written = " and ".join(f'"{name}"' if " " in name else name for name in names)
    return slip.fault(
        "unreadable", f"a {found.group(1)} is one name, and blanks stand in this one", f"write {written}",
        start, start + len(said),
    )


def _each(slip: Slip) -> Fault | None:
    """bezel cups: for each pair, at back of each cup."""
    last = re.search(r"\beach\s+$", slip.source.text[slip.start : slip.at])
    if last is None or not slip.word or slip.before == slip.first:
        return None
    return slip.fault(
        "line-shape", "a clause holds for each one anyway; 'each' begins a line of its own",
        f"write {slip.word}", slip.start + last.start(), slip.at + len(slip.word),
    )


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
        "name-in-two", "a name is one word, and a blank stands in this one", f"write {joined}",
        slip.start + last.start(1), slip.at + len(slip.word),
    )


def _lookalike(slip: Slip) -> Fault | None:
    """A character the language has no use for."""
    mark = slip.rest[:1]
    plain = mark.isalnum() or mark.isspace() or mark in '"()+-*/<>=,.%:#'
    if mark == "*" and slip.before.endswith("*"):
        said, remedy, start = "** means nothing here", "write a * a for a square", slip.at - 1
    elif mark == ";" and not slip.rest[1:].strip():
        said, remedy, start = "a line ends without a mark here", "take it out", slip.at
    elif pair := re.match(rf"[{QUOTES}]([^{QUOTES}\"]*)[{QUOTES}]", slip.rest):
        said = f"the character {mark} means nothing here"
        return slip.fault("stray-character", said, f'write "{pair[1]}"', slip.at, slip.at + pair.end())
    elif mark and (mark in LOOKALIKES or not plain):
        said, remedy, start = f"the character {mark} means nothing here", LOOKALIKES.get(mark, ""), slip.at
    else:
        return None
    return slip.fault("stray-character", said, remedy or None, start, slip.at + 1)


def _equals(slip: Slip) -> Fault | None:
    """An = where a clause or a test has none."""
    if not slip.rest.startswith("="):
        return None
    length = len(slip.rest) - len(slip.rest.lstrip("="))
    if slip.first in ("when", "otherwise", "expect"):
        return slip.fault(
            "stray-equals", "a test is not written with =", "write is", slip.at, slip.at + length,
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
    return slip.fault("stray-equals", "a clause has no equals sign", remedy, slip.at, slip.at + length)


def _reserved(slip: Slip) -> Fault | None:
    """x, of, to … where a name or a value is due."""
    if slip.word not in RESERVED or "NAME" not in slip.accepts:
        return None
    if slip.word == "x" and slip.before.endswith(("x", "X")):
        return slip.fault("unreadable", "a figure is missing between the two x", "add it, or drop one x")
    place = re.search(rf"[:,]\s*({_NAME})\s+{slip.word}\s+({_NAME})\s*(?=,|$)", slip.line)
    here = place and slip.start + place.start(1) < slip.at < slip.start + place.end()
    if place and here and slip.word in ("of", "to"):
        said, joined = f"{place[1]} {slip.word} {place[2]}", f"{place[1]}-{slip.word} {place[2]}"
        return slip.fault(
            "key-missing", f"'{said}' stands here without a clause before it",
            f"write at {said}" if slip.word == "of" else f"write {joined}",
            slip.start + place.start(1), slip.start + place.end(),
        )
    return slip.fault(
        "reserved-name", f"'{slip.word}' is part of the language and cannot be a name here",
        f"write {slip.word}1, or another name, in all its lines; or add what belongs before it"
        if slip.word == "x" else "give it another name, or add what belongs before it",
    )


def _block_line(slip: Slip) -> Fault | None:
    """A line that starts with a block word but does not go on as such a line does."""
    if slip.first not in SHAPES or slip.start + len(slip.first) > slip.at:
        return None
    if not slip.accepts & {"EQUAL", "FROM", "IN", "TO", "TAKE", "BECAUSE", "NAME", "TEXT", "COLON"}:
        return None
    if slip.accepts & STARTS_VALUE - {"TEXT"}:
        return None
    if slip.word and "COMMA" in slip.accepts:
        return None
    headed = "COLON" in slip.accepts and slip.first in (*BLOCKS, "series", "piece")
    if headed and slip.word and not (slip.first == "piece" and "TEXT" in slip.accepts):
        return None
    wanted = [EXPECTED[name] for name in sorted(slip.accepts) if name in EXPECTED]
    seen = f"'{slip.word or slip.rest[:1]}'" if slip.rest else "the end of the line"
    if wanted == ["="] and slip.rest.startswith(":"):
        return slip.fault(
            "line-shape", "= belongs here, not ':'", _rewritten(slip, f"{slip.before} =", slip.rest[1:]),
            slip.at, slip.at + 1,
        )
    title = slip.first == "piece" and re.fullmatch(r"[\w -]+", slip.rest.strip())
    return slip.fault(
        "line-shape", f"{' or '.join(wanted[:3]) or 'something else'} belongs here, not {seen}",
        f'write: piece "{title[0]}"' if title else f"it is written: {SHAPES[slip.first]}",
    )


def _clause_alone(slip: Slip) -> Fault | None:
    """note "a keepsake" at the edge: a clause that is not indented below its line."""
    if slip.before != slip.first or slip.first in SHAPES or not slip.first:
        return None
    if not re.match(r'"[^"]*"\s*(,|$)|[(]|\.?\d', slip.rest) or re.match(r"\d[\w-]*\s*(:|$)", slip.rest):
        return None
    said = slip.fault("clause-alone", "", None, slip.start, slip.end)
    assert said.span is not None
    above = slip.source.text[: slip.start].rstrip().rpartition("\n")[2]
    head = above.partition(":")[0].strip()
    head = head if head.split(" ")[0] in BLOCKS else ""
    return clause_alone(slip.first, said.span, head, slip.line.strip())


def _unit_apart(slip: Slip) -> Fault | None:
    """(a + b) mm, or pitch mm."""
    unit = slip.word
    if (unit not in UNITS and unit != "ga") or "COMMA" not in slip.accepts:
        return None
    if unit == "in" and re.match(rf"in\s+{_NAME}", slip.rest):  # in frame
        return None
    if slip.first == slip.before or not re.search(r"[\w)]$", slip.before):
        return None
    spot = re.search(r"\([^()]*,[^()]*\)$", slip.before)
    if spot:
        remedy = f"write it inside: {spot.group()[:-1]} {unit})"
    else:
        remedy = f"give the numbers their unit: (2 {unit} + 3 {unit})"
    return slip.fault("unit-apart", f"the unit {unit} stands after something that is not a number", remedy)


def _ends_early(slip: Slip) -> Fault | None:
    """The line stops where a value is due."""
    if slip.rest or not slip.accepts & STARTS_VALUE:
        return None
    last = re.search(r"(\S+)$", slip.before)
    after = f" after '{last.group(1)}'" if last and len(last.group(1)) < 20 else ""
    return slip.fault("value-missing", f"a value is missing{after}", "add it, or drop what asks")


def _colon(slip: Slip) -> Fault | None:
    """bar frame size 21 mm: the colon after the head is missing."""
    if "COLON" not in slip.accepts or not slip.rest:
        return None
    told, word, name = "a colon is missing after the name", slip.first, slip.before.split()[-1]
    if name == word:  # engrave "Ella" inside shank
        return slip.fault("colon-missing", f"a colon is missing after '{word}'", f"write {word}: and clauses")
    if name in PLACING_BY_NAME or name in _BEFORE_A_NAME:  # bezel for main: no name is given
        told, rest = f"a colon is missing after '{word}'", f"{name} {slip.rest}"
        return slip.fault("colon-missing", told, _rewritten(slip, f"{word}: ", rest))
    return slip.fault("colon-missing", told, _rewritten(slip, f"{slip.before}: ", slip.rest))


def _comma(slip: Slip) -> Fault | None:
    """Two clauses with no comma between."""
    if not slip.word or "COMMA" not in slip.accepts:
        return None
    broken = re.search(r"\d *([^\W\d_]+) +$", slip.before + " ")
    if broken and (unit := unit_written(broken[1] + slip.word)):
        rest = slip.rest[len(slip.word) :]
        rewritten = _rewritten(slip, slip.before[: broken.start(1)] + unit, rest)
        return slip.fault("unknown-unit", f"a blank stands in the unit '{broken[1]} {slip.word}'", rewritten)
    rewritten = _rewritten(slip, f"{slip.before}, ", slip.rest)
    return slip.fault("comma-missing", f"a comma is missing before '{slip.word}'", rewritten)


def _of(slip: Slip) -> Fault | None:
    """at ends frame: two names, the second of which a line above makes."""
    last = re.search(r"([^\W\d_][\w-]*)$", slip.before)
    if last is None or not slip.word or "OF" not in slip.accepts:
        return None
    above = slip.source.text[: slip.start]
    if not re.search(rf"(?m)^[ ]*[^\W\d_][\w-]*[ ]+{slip.word}[ ]*(?:[:=\n#]|$)", above):
        return None
    return slip.fault(
        "of-missing", f"'of' is missing between {last.group(1)} and {slip.word}",
        f"write {last.group(1)} of {slip.word}", slip.start + last.start(1), slip.at + len(slip.word),
    )


def _quoted(slip: Slip) -> Fault | None:
    """Quotes round what is said plainly: uk "T"."""
    last, found = re.search(r"([^\W\d_][\w-]*)$", slip.before), re.match(r'"([^"]+)"', slip.rest)
    if last is None or found is None:
        return None
    told = f"what follows '{last[1]}' stands without quotes"
    start, end = slip.start + last.start(1), slip.at + found.end()
    return slip.fault("unreadable", told, f"write {last[1]} {found[1].strip()}", start, end)


def _rewritten(slip: Slip, before: str, after: str) -> str:
    """The line as it should be, or of a long one the part around the change."""
    whole = " ".join(f"{before}{after}".split())
    if len(whole) <= _MOST_SHOWN:
        return f"write: {whole}"
    return f"write: … {before[-40:]}{after[:40].rstrip()} …"


def _plain(slip: Slip) -> Fault:
    """Nothing better to say than where, and what could have followed."""
    wanted = [EXPECTED[name] for name in sorted(slip.accepts) if name in EXPECTED and name != "TO"]
    seen = slip.word or slip.rest[:1]
    message = f"'{seen}' was not expected here" if seen else "the line ends too early"
    return slip.fault("unreadable", message, f"{' or '.join(wanted)} may stand here" if wanted else _LOOK)
