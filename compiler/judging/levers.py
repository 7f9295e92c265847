"""The lengths of a text that may answer a remark where its rule names none: those that the lines it is about
say, and where these stand. Turns, arcs, shares, stones and the finger are what the piece is, and are left."""

from __future__ import annotations

import re
from collections.abc import Container, Iterable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ...lang import tree
from ...lang.faults import Span
from ...lang.placing import PLACING_BY_NAME
from ...lang.words import Kind
from ...stdlib import cuts
from ..bench.roles import Role
from .halves import halves_of, joined
from .lines_of import heads_of
from .mend import with_edits
from .moves import WORDS, axes_of
from .remark import Edit, Remark
from .services import indices_of

if TYPE_CHECKING:
    from .piece import Piece

FIGURE = re.compile(r'(?<![\w."+-])(\d+(?:\.\d+)?) mm(?!\w)')
LENGTHS = re.compile(r"-?[\d.]+ mm\b")
SPARE = 1.05, 0.02  # times what is lacking, and mm, that a length is changed or a part moved first
LEAST, MOST = 0.7, 1.4  # of a figure, as far as it is changed
SLIGHT = 0.3  # mm, that a figure may be changed by however small it is, as how wide a slit is
CENTRED = 1e-3  # mm, nearer to its middle plane a part stands in that
FARTHEST = 1.0  # mm, that a part is moved: farther off it serves something else
PAST = 1.02  # of what would do, so that it does
Head = tree.Feature | tree.Group


@dataclass(frozen=True)
class Lever:
    """One figure of one line: ``now`` as it stands, ``most`` and ``least`` of what is tried."""

    line: Head
    name: str
    key: str
    now: float
    first: float
    least: float
    most: float
    start: int = -1  # of the figure in the text; none of a move, or of what the line does not say

    def at(self, value: float, text: str, path: str) -> str:
        """The text with another figure there."""
        if self.start < 0:
            side = "exact" if self.now else "more"
            return with_edits(text, path, [Edit(self.line.head, self.key, f"{value:.2f} mm", side)])
        stop = self.start + len(FIGURE.match(text, self.start)[1])  # type: ignore[index]
        return f"{text[: self.start]}{value:.2f}{text[stop:]}"

    def said(self, value: float, text: str) -> str:
        """What is written, in its line."""
        where = f"in the line of {self.name}"
        if self.start < 0 and self.now:
            return f"write {self.key} {value:.2f} mm {where}"
        if self.start < 0:
            word = self.key if value > 0 else dict((*WORDS, *(two[::-1] for two in WORDS)))[self.key]
            return f"move {self.name} {abs(value):.2f} mm {word}"
        clause = next(one for one in self.line.clauses if one.span.start <= self.start < one.span.end)
        assert clause.value is not None
        span = clause.value.span
        new = self.at(value, text, "")
        written = new[span.start : span.end + len(new) - len(text)]
        return f"write {self.key} {written.strip()} {where}"


def levers(piece: Piece, one: Remark, text: str) -> Iterator[Lever]:
    """The levers of the lines that a remark is about, its own line's first; then moves of these lines,
    but not out of the middle of the piece. The spots a path is drawn through are its shape, and none."""
    assert one.span is not None
    first = _lack(one)
    lines = _lines(piece, one, text) if first else []
    fast = _joined(piece)
    for name, line in lines:
        for clause in line.clauses:
            key = clause.key.name
            put = key in fast.get(line.head, ())
            drawn = isinstance(clause.value, tree.Run) and "(" in text[clause.span.start : clause.span.end]
            if clause.value is not None and not put and not drawn and not _is_given(piece, key, name):
                yield from _figures(name, line, clause, text, first)
    for name, line in lines[:1]:
        yield from _unsaid(piece, name, line, first)
    for name, line in (pair for pair in lines if pair[1].head not in fast):
        stays = _centred(piece, name)
        for back, forth in (pair for pair in WORDS[::-1] if pair not in stays):
            if piece.source_lines.can_say(line, forth) or piece.source_lines.can_say(line, back):
                yield Lever(line, name, forth, 0.0, first, -FARTHEST, FARTHEST)


def _centred(piece: Piece, name: str) -> list[tuple[str, str]]:
    """The ways aside that what a line made is not moved: in their middle plane of the piece it stands in, as
    on the head of a ring."""
    made = next((one for one in piece.features if len(one.frames) and piece.name_of(one.index) == name), None)
    axes = axes_of(piece, made.index) if made is not None else None
    if made is None or axes is None:
        return []
    aslant = 1.0 - np.abs(axes).max(axis=0)
    off = np.abs(made.frames[:, :, 3].mean(axis=0) @ axes) + aslant
    return [pair for pair, far in zip(WORDS[:2], off[:2].tolist(), strict=True) if far < CENTRED]


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
            most = max(MOST * now, now + min(lack, SLIGHT))
            yield Lever(line, name, clause.key.name, now, now + lack, LEAST * now, most, found.start())


def _unsaid(piece: Piece, name: str, line: Head, lack: float) -> Iterator[Lever]:
    """The lengths that a line leaves to its word."""
    made = (call for call in piece.bench.lines if piece.source_lines.of(call, None, ()).line is line)
    uses = [call.own_line for call in made][:1]
    for key, one in uses[0].arguments.items() if uses else ():
        take = uses[0].word.take(key)
        if one.given or take is None or take.kind is not Kind.LENGTH or not isinstance(one.value, float):
            continue
        least, most = max(LEAST * one.value, take.least or 0.0), min(MOST * one.value, take.most or np.inf)
        if one.value > 0:
            yield Lever(line, name, key, one.value, one.value + lack, least, most)


def _lines(piece: Piece, one: Remark, text: str) -> list[tuple[str, Head]]:
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
    laid = {one.feature for one in piece.plan_solids} | {int(one) for one in piece.stones.feature}
    seen = _own_lines(piece, sorted(laid))
    called = {line.head: name for name, line in heads_of(text, one.span.path)} if one.span is not None else {}
    for line in piece.source_lines.named_around(line for _, line in lines):
        bare = isinstance(line, tree.Feature) and line not in seen  # a path that others follow
        if line.head in called and line.head.start not in found and not bare:
            lines.append((called[line.head], line))
            found[line.head.start] = lines[-1]
    return lines


def _joined(piece: Piece) -> dict[Span, Container[str]]:
    """What stays as it is in the lines of castings that halves of a finding join, that these meet, by
    the heads of these lines: where they stand, and all that a half is let into."""
    names = {name.rpartition(".")[2] for two in joined(piece) for name in two if name}
    halves = [half for half in halves_of(piece) if half.casting.rpartition(".")[2] in names]
    blocks: list[tree.Line] = [
        one for one in piece.source_lines.heads.values() if one.name is not None and one.name.name in names
    ]
    within = [one for block in blocks for one in tree.work_in(tree.lines_below(block))]
    lines = [one for one in (*blocks, *within) if isinstance(one, tree.Feature | tree.Group)]
    uses = [use for half in halves for use in piece.call(half.feature).within if Role.HALF in use.word.roles]
    into = [use.arguments["in"].value for use in uses if "in" in use.arguments]
    bodies = _own_lines(piece, (k for one in into for k in indices_of(one)))
    return {
        one.head: {clause.key.name for clause in one.clauses} if one in bodies else PLACING_BY_NAME
        for one in lines
    }


def _own_lines(piece: Piece, features: Iterable[int]) -> list[Head | None]:
    return [piece.source_lines.of(piece.call(k), None, ()).line for k in features]


def _is_given(piece: Piece, key: str, name: str) -> bool:
    """Whether a figure is that of a stone in the tray, or of the hand that wears the piece."""
    worn = piece.with_role(Role.SHANK)
    stone = any(piece.name_of(int(line)) == name for line in piece.stones.line)
    of_hand = any(piece.name_of(feature.index) == name for feature, _ in worn) and key in ("inside", "finger")
    return (stone and cuts.find(key) is not None) or of_hand
