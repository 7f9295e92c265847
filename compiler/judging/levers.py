"""The figures of a text that may answer a remark where its rule names none: those that the lines it is about
say, and where these stand."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...lang import tree
from ...lang.lean import dataclass
from ...stdlib import cuts
from ..bench.roles import Role
from .mend import with_edits
from .moves import WORDS
from .remark import Edit, Remark

if TYPE_CHECKING:
    from .piece import Piece

FIGURE = re.compile(r'(?<![\w."+-])(\d+(?:\.\d+)?) (mm|deg|%)(?!\w)')
STEP = 0.2  # of a figure, by which one of no length is changed first
LENGTHS = re.compile(r"-?[\d.]+ mm\b")
SPARE = 1.05, 0.02  # times what is lacking, and mm, that a length is changed or a part moved first
LEAST, MOST = 0.7, 1.4  # of a figure, as far as it is changed
FARTHEST = 2.0  # mm
PAST = 1.02  # of what would do, so that it does
Head = tree.Feature | tree.Group


@dataclass(frozen=True)
class Lever:
    """One figure of one line: ``now`` as it stands, ``most`` and ``least`` of what is tried."""

    line: Head
    name: str
    key: str
    unit: str
    now: float
    first: float
    least: float
    most: float
    start: int = -1  # of the figure in the text; of a move none

    def at(self, value: float, text: str, path: str) -> str:
        """The text with another figure there."""
        if self.start < 0:
            return with_edits(text, path, [Edit(self.line.head, self.key, f"{value:.2f} mm", "more")])
        stop = self.start + len(FIGURE.match(text, self.start)[1])  # type: ignore[index]
        return f"{text[: self.start]}{value:.2f}{text[stop:]}"

    def said(self, value: float, text: str) -> str:
        """What is written, in its line."""
        where = f"in the line of {self.name}"
        if self.start < 0:
            word = self.key if value > 0 else dict((*WORDS, *(two[::-1] for two in WORDS)))[self.key]
            return f"move {self.name} {abs(value):.2f} mm {word}"
        clause = next(one for one in self.line.clauses if one.span.start <= self.start < one.span.end)
        assert clause.value is not None
        span = clause.value.span
        written = self.at(value, text, "")[span.start : span.end + len(f"{value:.2f}") - len(f"{self.now:g}")]
        return f"write {self.key} {written.strip()} {where}"


def levers(piece: Piece, one: Remark, text: str) -> Iterator[Lever]:
    """The levers of the lines that a remark is about, its own line's first; then moves of these lines. The
    spots a path is drawn through are its shape, and none."""
    assert one.span is not None
    lines, first = _lines(piece, one), _lack(one)
    for name, line in lines:
        for clause in line.clauses:
            drawn = isinstance(clause.value, tree.Run) and "(" in text[clause.span.start : clause.span.end]
            if clause.value is not None and not drawn and not _is_given(piece, clause.key.name, name):
                yield from _figures(name, line, clause, text, first)
    for name, line in lines:
        for back, forth in WORDS[::-1]:
            if piece.source_lines.can_say(line, forth) or piece.source_lines.can_say(line, back):
                yield Lever(line, name, forth, "mm", 0.0, first or SPARE[1], -FARTHEST, FARTHEST)


def _lack(one: Remark) -> float:
    """What a remark lacks of its limit, and a little more, where that is a length, mm; else 0."""
    if one.bound is None or one.figure is None or not LENGTHS.match(one.seen or ""):
        return 0.0
    return round(SPARE[0] * abs(one.bound - one.figure) + SPARE[1], 2)


def _figures(name: str, line: Head, clause: tree.Clause, text: str, lack: float) -> Iterator[Lever]:
    assert clause.value is not None
    span = clause.value.span
    for found in FIGURE.finditer(text, span.start, min(span.end + 4, len(text))):
        now = float(found[1])
        if now > 0 and found.start() < span.end:
            first = now + lack if lack and found[2] == "mm" else now * (1 + STEP)
            yield Lever(
                line, name, clause.key.name, found[2], now, first, LEAST * now, MOST * now, found.start()
            )


def _lines(piece: Piece, one: Remark) -> list[tuple[str, Head]]:
    """The user's own lines, in the remark's file, of what it names, its own first; then those that these, and
    the blocks they stand in, name."""
    found: dict[int, tuple[str, Head]] = {}
    names = {piece.name_of(k): piece.call(k) for k in range(len(piece.bench.lines))}
    for name in sorted(one.parts, key=lambda part: (part != one.feature, part)):
        if name in names:
            line = piece.source_lines.of(names[name], None, ()).line
            if line is not None and one.span is not None and line.head.path == one.span.path:
                found.setdefault(line.head.start, (name, line))
    own = one.span.start if one.span is not None else 0
    lines = sorted(found.values(), key=lambda pair: not pair[1].span.start <= own < pair[1].span.end)
    for line in piece.source_lines.named_around(line for _, line in lines):
        if line.name is not None and line.head.start not in found:
            lines.append((line.name.name, line))
            found[line.head.start] = lines[-1]
    return lines


def _is_given(piece: Piece, key: str, name: str) -> bool:
    """Whether a figure is that of a stone in the tray, or of the hand that wears the piece."""
    worn = piece.with_role(Role.SHANK)
    of_hand = any(piece.name_of(feature.index) == name for feature, _ in worn) and key in ("inside", "finger")
    return cuts.find(key) is not None or of_hand
