"""What there is to tell of a piece though some of its lines have faults: they and what rests on them are left
out, the rest is judged, and of that is told what no line left out could answer (``Rule.answer``). Hints wait."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from functools import cached_property

import numpy as np

from ...lang import tree
from ...lang.faults import Fault, Level, Span, in_order
from ...lang.settable import SETTINGS_PATH
from ...lang.values import LENGTH, UNITS
from ...lang.words import ADDED
from ..judging.causes import one_each
from ..judging.judge import before_metal, on_metal
from ..judging.piece import Piece
from ..judging.remark import LeftOut, Remark
from ..judging.source_lines import Head
from ..metal.part import Part
from ..rules import all_rules
from .result import Built

MOST_TOLD = 6  # lines that are named one by one
_WORK = tree.Feature | tree.Group | tree.Each | tree.When | tree.Unread


def with_the_rest(built: Built, piece: Piece, metal: Callable[[], tuple[Part, ...]] | None = None) -> Built:
    """``built``, of which faults forbid the making, with the remarks on what is left without their lines.
    ``metal`` makes that, where it is wanted."""
    faulty = _faulty(piece, built)
    if faulty is None:
        return built
    rest = Rest(piece, built, faulty)
    if not piece.parts:
        piece.bench.leave_out(rest.gone)
        if metal is not None and rest.reached is not None:
            piece.parts = metal()
    found = before_metal(piece, all_rules("plan"))
    if piece.parts:
        found += on_metal(piece, all_rules("metal"))
    told = [one for one in one_each(list(filter(rest.tells, found))) if one.level is not Level.HINT or not faulty]
    piece.parts = ()
    if told and faulty:
        return replace(built, parts=(), faults=(*built.faults, _told_without(faulty), *in_order(told)))
    return replace(built, parts=(), faults=tuple(in_order([*built.faults, *told])))


def _told_without(faulty: Iterable[tree.Line]) -> LeftOut:
    spans = [line.span for line in faulty]
    numbers = list(dict.fromkeys(str(span.line) for span in spans))
    more = len(numbers) - MOST_TOLD
    shown = [*numbers[:MOST_TOLD], f"{more} more"] if more > 1 else numbers
    which = f"lines {', '.join(shown[:-1])} and {shown[-1]}" if len(shown) > 1 else f"line {shown[0]}"
    were = "were" if len(shown) > 1 else "was"
    return LeftOut(
        "lines-left-out", f"the rest is told without {which}, which {were} left out", spans[0], Level.HINT,
        remedy="mend the faults; then all of it is looked at",
    )


def _faulty(piece: Piece, built: Built) -> list[tree.Line] | None:
    """The lines of work that came to nothing or have a fault, in order; None where what is wrong decides how
    all the rest is judged (its metal, what is set aside), or is no part of a line."""
    file = piece.trees.get(built.path)
    if piece.left_out is None or file is None:
        return None
    lines = sorted(tree.work_in(file.lines), key=lambda line: line.span.start)
    starts = [line.span.start for line in lines]
    left = set(piece.left_out)
    found = {k for k, line in enumerate(lines) if line.span in left}
    for fault in built.faults:
        span = fault.trail[0] if fault.trail else fault.span
        if fault.level is not Level.FAULT or (span is not None and span.path == built.house.path):
            continue
        if span is None or span.path == SETTINGS_PATH:
            return None
        if span.path == built.path:
            found.add(max(0, bisect_right(starts, span.start) - 1))
    faulty = [lines[k] for k in sorted(found)] if lines else []
    begun = any(isinstance(line, tree.Piece) for line in lines)
    if any(map(_decides, faulty)) or (not begun and found & {0, 1}):
        return None
    return [line for line in faulty if isinstance(line, _WORK)]


def _decides(line: tree.Line) -> bool:
    """Whether a line says how all others are judged."""
    unread = isinstance(line, tree.Unread) and line.names[:1] in (("piece",), ("waive",))
    return unread or isinstance(line, tree.Piece | tree.Waive)


class Rest:
    """A ``piece`` without its ``faulty`` lines.

    ``gone`` are the features of these and of their blocks; ``reached`` the lines of work, by the spans of
    their heads, at which faulty lines stand or work, with how far from there they reach (mm); None where
    one of them may stand anywhere."""

    def __init__(self, piece: Piece, built: Built, faulty: list[tree.Line]) -> None:
        self._piece, self._measures = piece, built.measures
        self._faulty = faulty
        inner = [one for line in faulty for one in (line, *tree.work_in(tree.lines_below(line)))]
        self._lines = [line for line in inner if isinstance(line, tree.Feature | tree.Group)]
        self._known = len(self._lines) and not any(isinstance(line, tree.Unread) for line in inner)
        heads = {line.head for line in self._lines}
        own = {line.head for line in faulty if isinstance(line, tree.Feature | tree.Group)}
        self.gone = {k for k, head in enumerate(self._heads) if head in heads}
        self._names = {piece.name_of(k) for k, head in enumerate(self._heads) if head in own}
        text = piece.trees[built.path].text
        self._said = " ".join(text[line.span.start : line.span.end] for line in faulty)

    @cached_property
    def _heads(self) -> list[Span]:
        """The user's own line that made each feature."""
        return [call.trail[0] if call.trail else call.span for call in self._piece.bench.lines]

    def tells(self, found: Fault) -> bool:
        """Whether what was found would be found with the faulty lines, too."""
        if not self._faulty:
            return True
        if not isinstance(found, Remark) or found.parts & self._names or found.code in self._said:
            return False
        answer = all_rules()[found.code].answer
        return answer == "own" or (answer == "near" and self._is_clear(found))

    def _is_clear(self, found: Remark) -> bool:
        """Whether no faulty line stands or works at what a remark names, or reaches its place."""
        if self.reached is None or found.place is None:
            return False
        for k, head in enumerate(self._heads):
            far = self.reached.get(head)
            if far is None:
                continue
            spots = self._piece.features[k].frames[:, :, 3]
            if self._piece.name_of(k) in found.parts:
                return False
            if len(spots) and np.linalg.norm(spots - np.array(found.place), axis=1).min() <= far:
                return False
        return True

    @cached_property
    def reached(self) -> Mapping[Span, float] | None:
        """See the class."""
        if not self._faulty:
            return {}
        far: dict[Span, float] = {}
        for line in self._lines:
            homes = list(self._homes(line, ()))
            size = self._size(line) + sum(self._size(home) for home in homes if home is not None)
            if None in homes or not homes or not self._known or math.isinf(size):
                return None
            far |= {home.head: max(size, far.get(home.head, 0.0)) for home in homes if home is not None}
        return far

    def _homes(self, line: Head, above: tuple[Head, ...]) -> Iterator[Head | None]:
        """The lines of metal and stones at which a line stands or works, through paths and lines left out;
        None where one cannot tell."""
        source, takes = self._piece.source_lines, self._piece.source_lines.takes_of(line)
        known = [(takes[clause.key.name], clause) for clause in line.clauses if clause.key.name in takes]
        named = [clause for take, clause in known if take.kind in ADDED]
        if len(known) < len(line.clauses) or not named:
            yield None
        for clause in named:
            names = [] if clause.value is None else tree.names_in(clause.value)
            found = {home.name.name: home for home in source.named_in(line, names) if home.name}
            if not found or found.keys() != set(names):
                yield None
            for home in found.values():
                if home in above or len(above) > len(self._heads):
                    yield None
                elif home in self._lines or not self._is_metal(home):
                    yield from self._homes(home, (*above, line))
                else:
                    yield home

    def _is_metal(self, line: Head) -> bool:
        word = self._piece.words.get(line.word.name) if isinstance(line, tree.Feature) else None
        return word is None or word.group != "paths"

    def _size(self, line: Head) -> float:
        """How far a line may reach from where it stands: all its lengths in a row, as often as its largest
        count says; inf where a figure is not at hand."""
        takes = self._piece.source_lines.takes_of(line)
        lengths, counts = [0.0], [1.0]
        for clause in line.clauses:
            take = takes.get(clause.key.name)
            if clause.value is None or take is None or take.kind in ADDED or take.choices:
                continue
            for node in tree.within(clause.value):
                figure = self._figure(node)
                if figure is not None:
                    (lengths if figure[1] else counts).append(abs(figure[0]))
        return sum(lengths) * max(counts)

    def _figure(self, node: tree.Expression) -> tuple[float, bool] | None:
        """The figure that a part of an expression stands for, and whether it is a length (mm)."""
        match node:
            case tree.Number():
                kind, factor = UNITS.get(node.unit or "", (None, 1.0))
                bare = node.unit is None or kind == LENGTH
                return (node.value * factor, kind == LENGTH) if bare else None
            case tree.Name():
                value, unit = self._measures.get(node.name, (math.inf, "mm"))
                return (math.inf, True) if isinstance(value, str) else (value, unit == "mm")
            case tree.Of() | tree.Invoke():
                return math.inf, True
        return None
