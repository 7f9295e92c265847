"""What there is to tell of a piece though some of its lines have faults: they and what rests on them are left
out, the rest is judged, and of that is told what no line left out could answer (``Rule.answer``). Hints wait
until all is looked at."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from functools import cached_property

import numpy as np

from ...lang import tree
from ...lang.faults import Fault, Level, Span, in_order
from ...lang.settable import SETTINGS_PATH
from ...lang.values import ANGLE, LENGTH, UNITS
from ...lang.words import ADDED, CHOOSING, Kind
from ..judging.causes import one_each
from ..judging.judge import before_metal, on_metal
from ..judging.piece import Piece
from ..judging.remark import LeftOut, Remark, with_remedies
from ..judging.rule import Rule
from ..judging.source_lines import Head
from ..metal.part import Part
from ..rules import all_rules
from .result import Built

MOST_TOLD = 6  # lines that are named one by one
SLACK = 1.5  # of what a line may reach, for what it has of itself
COUNTED = Kind.COUNT, Kind.COUNTS, Kind.NUMBER
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
    found = before_metal(piece, rest.rules("plan"))
    if piece.parts:
        found += on_metal(piece, rest.rules("metal"))
    told = one_each(list(filter(rest.tells, found)))
    told = with_remedies(one for one in told if one.level is not Level.HINT or not faulty)
    piece.parts = ()
    if told and faulty:
        return replace(built, parts=(), faults=(*built.faults, _told_without(faulty), *in_order(told)))
    return replace(built, parts=(), faults=tuple(in_order([*built.faults, *told])))


def left_out(built: Built) -> str:
    """Which lines of a piece that was not made were left out of what there is of it; "" where none was."""
    faulty = _faulty(built.piece, built) if built.piece is not None and not built.parts else None
    return _which(line.span for line in faulty) if faulty else ""


def _told_without(faulty: Iterable[tree.Line]) -> LeftOut:
    spans = [line.span for line in faulty]
    which = _which(spans)
    were = "were" if which.startswith("lines") else "was"
    return LeftOut(
        "lines-left-out", f"the rest is told without {which}, which {were} left out", spans[0], Level.HINT,
        remedy="mend the faults; then all of it is looked at",
    )


def _which(spans: Iterable[Span]) -> str:
    numbers = list(dict.fromkeys(str(span.line) for span in spans))
    more = len(numbers) - MOST_TOLD
    shown = [*numbers[:MOST_TOLD], f"{more} more"] if more > 1 else numbers
    return f"lines {', '.join(shown[:-1])} and {shown[-1]}" if len(shown) > 1 else f"line {shown[0]}"


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
    their heads (None: the middle of the piece), at which faulty lines stand or work, with how far from there
    they reach (mm); None where one of them may stand anywhere."""

    def __init__(self, piece: Piece, built: Built, faulty: list[tree.Line]) -> None:
        self._piece, self._measures = piece, built.measures
        self._faulty, self._outer = faulty, piece.trees[built.path].lines
        inner = [one for line in faulty for one in (line, *tree.work_in(tree.lines_below(line)))]
        self._lines = [line for line in inner if isinstance(line, tree.Feature | tree.Group)]
        self._unread = any(isinstance(line, tree.Unread) for line in inner)
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
        return all_rules()[found.code].answer == "own" or self._is_clear(found)

    def rules(self, phase: str) -> Mapping[str, Rule]:
        """The rules of a phase of which something may be told."""
        asked = {"own"} if self.reached is None else {"own", "near"}
        rules = all_rules(phase)
        return {name: rule for name, rule in rules.items() if rule.answer in asked} if self._faulty else rules

    def _is_clear(self, found: Remark) -> bool:
        """Whether no faulty line stands or works at what a remark names, or reaches its place."""
        if self.reached is None or found.place is None:
            return False
        place = np.array(found.place)
        if np.linalg.norm(place) <= self.reached.get(None, -1.0):
            return False
        for k, head in enumerate(self._heads):
            if head in self.reached:
                spots = self._piece.features[k].frames[:, :, 3]
                apart = np.linalg.norm(spots - place, axis=1).min(initial=math.inf)
                if apart <= self.reached[head] or self._piece.name_of(k) in found.parts:
                    return False
        return True

    @cached_property
    def reached(self) -> Mapping[Span | None, float] | None:
        """See the class."""
        far: dict[Span | None, float] = {}
        for line in self._lines:
            stands = None if self._unread else self._stands(line, ())
            if stands is None or not math.isfinite(stands[1]):
                return None
            far |= {head: max(SLACK * stands[1] + 1.0, far.get(head, 0.0)) for head in stands[0]}
        return None if self._unread else far

    def _stands(self, line: Head, above: tuple[Head, ...]) -> tuple[set[Span | None], float] | None:
        """The lines of metal and stones at which a line stands or works, through paths and lines left out, or
        None for the middle of the piece; and how far from there it may reach. None where one cannot tell."""
        source = self._piece.source_lines
        takes, size = source.takes_of(line), self._size(line)
        homes: set[Span | None] = set()
        if any(clause.key.name not in takes for clause in line.clauses) or line in above:
            return None
        for clause in line.clauses:
            if takes[clause.key.name].kind not in ADDED or clause.value is None:
                continue
            names = tree.names_in(clause.value)
            found = {home.name.name: home for home in source.named_in(line, names) if home.name}
            if found.keys() != set(names) or clause.key.name == "of":
                return None  # what is made of another may go anywhere
            for home in found.values():
                if home in self._lines or not self._is_metal(home):
                    through = self._stands(home, (*above, line))
                    if through is None:
                        return None
                    homes, size = homes | through[0], size + through[1]
                else:
                    homes, size = homes | {home.head}, size + self._size(home)
        if homes:
            return homes, size
        return ({None}, size) if self._in_the_middle(line) else None

    def _in_the_middle(self, line: Head) -> bool:
        """Whether a line that names nothing stands as far from the middle of the piece as its figures say,
        and works at no more than that place."""
        word = self._piece.words.get(line.word.name) if isinstance(line, tree.Feature) else None
        return line in self._outer and word is not None and word.body is None and word.take("in") is None

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
            if clause.value is None or take is None or take.kind in CHOOSING:
                continue
            nodes = list(tree.within(clause.value))
            numbers = [node for node in nodes if isinstance(node, tree.Number)]
            unit = max([1.0, *(_mm(one.unit or "mm") for one in numbers)])
            counted = [abs(one.value) for one in numbers if one.unit is None]
            lengths += [abs(one.value) * (_mm(one.unit) if one.unit else unit) for one in numbers]
            if take.kind in COUNTED or any(isinstance(node, tree.Arithmetic) for node in nodes):
                counts += counted
            if take.kind not in ADDED:
                lengths += map(self._named, nodes)
        return sum(lengths) * max(counts)

    def _named(self, node: tree.Expression) -> float:
        """The length that a name stands for, mm; inf where that is not at hand."""
        if isinstance(node, tree.Of | tree.Invoke | tree.Quoted):
            return math.inf
        if not isinstance(node, tree.Name):
            return 0.0
        value, unit = self._measures.get(node.name, ("", ""))
        return value if unit == "mm" and not isinstance(value, str) else math.inf


def _mm(unit: str) -> float:
    """How many mm a unit is of; 0 of an angle or a share, inf where that depends."""
    kind, factor = UNITS.get(unit, (ANGLE, 0.0))
    return {LENGTH: factor, ANGLE: 0.0}.get(kind, math.inf)
