"""What is being written at a place of a text, also where the text cannot be read yet."""

from __future__ import annotations

import re
from dataclasses import dataclass

BLOCKS = frozenset(("workpiece", "casting", "each", "when", "otherwise", "word"))
# Lines that are read by a grammar of their own, and what their clauses are.
OTHER_CLAUSES = {
    "piece": ("metal", "note"), "measure": ("from", "help"), "expect": ("else", "try"),
    "takes": ("default", "from", "choices", "needed", "with", "not-with", "help"),
}  # fmt: skip
LINE, CLAUSE, VALUE, ASKED, KIND, RULE, ROLE, FILE, TAKEN, NOTHING = (
    "line", "clause", "value", "asked", "kind", "rule", "role", "file", "taken", "nothing",
)  # fmt: skip
_NAME = re.compile(r"[^\W\d][\w-]*$|$")
_CARRIES_ON = re.compile(r"(?:,|(?<![\w-])(?:to|over))\s*$")


@dataclass(frozen=True)
class Place:
    """``kind`` of thing that may stand here; ``typed`` of it is there already, from ``start`` on.

    ``word`` is the word the line begins with ("" at the start of a line), ``key`` the clause whose
    value it is, ``given`` the clauses the line has, ``indent`` how far it is indented."""

    kind: str
    typed: str
    start: int
    indent: int = 0
    word: str = ""
    key: str = ""
    given: tuple[str, ...] = ()


@dataclass(frozen=True)
class _Line:
    """A logical line up to some place: its rows joined, texts and comments blanked out."""

    indent: int
    text: str
    row: int


def place_at(text: str, offset: int) -> Place:
    """What is being written at ``offset``."""
    before = text[:offset].split("\n")
    rows = [_blanked(row) for row in before]
    typed = _NAME.search(rows[-1]).group() if _NAME.search(rows[-1]) else ""  # type: ignore[union-attr]
    start = offset - len(typed)
    bare = re.sub(r'"[^"]*"', "", before[-1])
    if '"' in bare or "#" in bare:  # within a text or a comment
        return Place(FILE if re.match(r'\s*from\s*"[^"]*$', before[-1]) else NOTHING, "", offset)
    line = _line(rows, len(rows) - 1)
    head = _head(rows, line)
    whole = line.text if head is None else line.text.lstrip()
    if head is not None and _first(head.text) not in BLOCKS:
        word = _first(head.text)
        siblings = ", ".join(row.rstrip().rstrip(",") for row in rows[head.row + 1 : line.row] if row.strip())
        after = head.text.partition(":")[2] if ":" in head.text else ""
        segments = _segments(whole)
        given = tuple(_first(one) for one in (*_segments(after), *_segments(siblings), *segments[:-1]))
        return _in_clause(segments[-1], word, given, typed, start, line.indent)
    return _in_line(whole, typed, start, line.indent)


def _in_line(text: str, typed: str, start: int, indent: int) -> Place:
    """A line of a block, up to the place."""
    bare = text.lstrip()
    word = _first(bare)
    if bare == typed:
        return Place(LINE, typed, start, indent)
    special = {
        "waive": RULE if not re.search(r"\b(on|because)\b", bare) else VALUE,
        "serves": ROLE, "when": VALUE, "otherwise": VALUE, "each": VALUE,
        "from": TAKEN if re.search(r"\btake\b", bare) else NOTHING,
    }  # fmt: skip
    if word in special:
        return Place(special[word], typed, start, indent, word)
    if word == "takes" and ":" in bare and "," not in bare:
        return Place(KIND, typed, start, indent, word)
    opening = {"measure": "=", "expect": " "}.get(word, ":")
    if opening not in bare:
        return Place(NOTHING, typed, start, indent, word)
    segments = _segments(bare.partition(opening)[2])
    if word in ("measure", "expect") and len(segments) == 1:
        return Place(VALUE, typed, start, indent, word)
    given = tuple(_first(one) for one in segments[:-1])
    return _in_clause(segments[-1], word, given, typed, start, indent)


def _in_clause(segment: str, word: str, given: tuple[str, ...], typed: str, start: int, indent: int) -> Place:
    bare = segment.lstrip()
    if bare == typed:
        return Place(CLAUSE, typed, start, indent, word, "", given)
    key = _first(bare)
    before = bare[: len(bare) - len(typed)].rstrip()
    kind = ASKED if re.search(r"(?<![\w-])of$", before) and before != "of" else VALUE
    if re.search(r"\d\s*$", before) and not before.endswith((",", "(")):
        kind = NOTHING  # a unit, or a joint
    return Place(kind, typed, start, indent, word, key, given)


def _line(rows: list[str], last: int) -> _Line:
    """The logical line that ends with row ``last``."""
    first = last
    while first > 0 and (above := rows[first - 1]).strip():
        if not _CARRIES_ON.search(above) and above.count("(") <= above.count(")"):
            break  # it is not carried on
        first -= 1
    own = rows[first]
    return _Line(len(own) - len(own.lstrip()), " ".join(rows[first : last + 1]), first)


def _head(rows: list[str], line: _Line) -> _Line | None:
    """The line that ``line`` stands below."""
    row = line.row - 1
    while row >= 0:
        if rows[row].strip():
            above = _line(rows, row)
            if above.indent < line.indent:
                return above
            row = above.row
        row -= 1
    return None


def _first(text: str) -> str:
    found = re.match(r"\s*([^\W\d][\w-]*)", text)
    return found[1] if found else ""


def _segments(text: str) -> list[str]:
    """The parts between commas that stand in no parenthesis."""
    parts, depth, last = [], 0, 0
    for at, letter in enumerate(text):
        depth += (letter == "(") - (letter == ")")
        if letter == "," and depth <= 0:
            parts.append(text[last:at])
            last = at + 1
    return [*parts, text[last:]]


def _blanked(row: str) -> str:
    """A row without what its texts say and without its comment, as long as before."""
    row = re.sub(r'"[^"]*"?', lambda found: '"' + " " * (len(found[0]) - 2) + '"' * (len(found[0]) > 1), row)
    return row.partition("#")[0].ljust(len(row)) if "#" in row else row
