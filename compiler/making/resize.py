"""A piece larger or smaller, as a change of its text.

Lengths grow; stones go to the nearest size that is sold; what the bench gives stays: walls, wires, the chain,
the finger, and findings as a whole. A measure goes by what it is used for."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction

from ...lang import tree
from ...lang.figures import is_bare, trailing_unit
from ...lang.placing import PLACING_BY_NAME
from ...lang.shown import digits
from ...lang.values import LENGTH, MASS, UNITS
from ...lang.words import Kind, Take, Word
from ...stdlib.stock_sizes import next_size
from ..bench.roles import FigureOf, Role

# What stays, by what a figure measures and by the name of its clause.
_FIGURES = frozenset((FigureOf.WALL, FigureOf.ROOF, FigureOf.SHELL, FigureOf.SECTION, FigureOf.WIRE))
_STAYS = frozenset(
    ("wall", "roof", "wire", "rail", "chain", "clearance", "finger", "inside", "outside", "bearing", "prong")
)
_GROWS, _STONE, _KEPT = "grows", "next size sold", "kept"


@dataclass(frozen=True)
class Use:
    """What a value is for: it grows, is a stone of ``cut``, or is kept."""

    way: str
    cut: str = ""


def resized(file: tree.File, words: Mapping[str, Word], factor: float) -> str:
    """The text of ``file`` with its figures ``factor`` times as large. ``words`` are all there are."""
    lines = list(_lines(file.lines))
    uses = _uses_of_measures(lines, words)
    edits: list[tuple[int, int, str]] = []
    for line in lines:
        if isinstance(line, tree.Measure):
            use = uses.get(line.name.name, Use(_GROWS))
            edits += _changed(line.value, use, factor)
            for clause in line.clauses:
                if clause.key.name == "from" and clause.value is not None and use.way != _KEPT:
                    edits += _changed(clause.value, Use(_GROWS), factor)
        elif isinstance(line, tree.Feature | tree.Group):
            word = words.get(line.word.name if isinstance(line, tree.Feature) else line.word)
            for clause in line.clauses:
                if clause.value is not None:
                    edits += _changed(clause.value, _use(clause.key.name, word), factor)
    held = list(_by_scale(lines, uses))
    text = file.text
    for start, end, new in sorted(set(edits), reverse=True):
        if any(first <= start and end <= last for first, last in held):
            continue
        text = text[:start] + new + text[end:]
    return text


def _by_scale(lines: list[tree.Line], uses: Mapping[str, Use]) -> Iterator[tuple[int, int]]:
    """Where figures stand that grow by a measure that does: `k` is a scale in `measure k = across / 20 mm`,
    so that 20 mm stays, and so does the figure of every product with k."""
    scales = set[str]()
    for line in lines:
        if isinstance(line, tree.Measure) and isinstance(line.value, tree.Arithmetic):
            over = [k + 1 for k, sign in enumerate(line.value.operators) if sign == "/"]
            names = tree.names_in(line.value)
            whole, below = line.value.members[0], [line.value.members[k] for k in over]
            if isinstance(whole, tree.Name) and len(names) == 1 == len(over) == len(line.value.operators):
                known = uses.get(names[0])
                if _is_length(below[0]) and known is not None and known.way != _KEPT:
                    scales.add(line.name.name)
                    yield below[0].span.start, below[0].span.end
    for line in lines:
        values = [clause.value for clause in getattr(line, "clauses", ())]
        for node in _inside([*values, line.value] if isinstance(line, tree.Measure) else values):
            members = node.members if isinstance(node, tree.Arithmetic) and "*" in node.operators else ()
            if any(isinstance(one, tree.Name) and one.name in scales for one in members):
                yield node.span.start, node.span.end


def _is_length(node: tree.Expression) -> bool:
    return isinstance(node, tree.Number) and node.unit in UNITS and UNITS[node.unit][0] == LENGTH


def _inside(nodes: Iterable[tree.Expression | None]) -> Iterator[tree.Expression]:
    """All expressions of some, those in others too."""
    for node in nodes:
        if node is not None:
            yield node
            inner = (getattr(node, name, ()) for name in ("members", "parts", "arguments"))
            yield from _inside([*(one for some in inner for one in some), getattr(node, "inner", None)])


@dataclass(frozen=True)
class Finger:
    """A finger size of a text: where it stands, and the names it goes by: the measure that holds it, its
    line, the castings around that."""

    said: tree.Quoted
    names: tuple[str, ...]


def fingers_of(file: tree.File) -> list[Finger]:
    """Every finger size a text says, in its order; one that several lines share counts once."""
    measures = {one.name.name: one.value for one in _lines(file.lines) if isinstance(one, tree.Measure)}
    found: dict[int, Finger] = {}
    for line, within in _named(file.lines, ()):
        for clause in line.clauses:
            value: object = clause.value
            names = within + ((line.name.name,) if line.name else ())
            if clause.key.name != "finger":
                continue
            if isinstance(value, tree.Name):
                names = (*names, value.name)
                value = measures.get(value.name)
            if isinstance(value, tree.Quoted):
                known = found.get(value.span.start)
                found[value.span.start] = Finger(value, (*(known.names if known else ()), *names))
    return [found[start] for start in sorted(found)]


def _named(
    lines: tuple[tree.Line, ...], within: tuple[str, ...]
) -> Iterator[tuple[tree.Feature, tuple[str, ...]]]:
    """All lines of work with the names of the groups around them."""
    for line in lines:
        if isinstance(line, tree.Feature):
            yield line, within
        elif isinstance(line, tree.Group):
            yield from _named(line.lines, (*within, line.name.name) if line.name else within)
        else:
            for inner in _lines((line,)):
                if isinstance(inner, tree.Feature):
                    yield inner, within


def refitted(file: tree.File, fingers: list[Finger], size: str) -> str:
    """The text of ``file`` with another finger size, as 'uk K', in the place of these."""
    text = file.text
    for finger in reversed(fingers):
        start, end = finger.said.span.start, finger.said.span.end
        mark = '"' if text[start] == '"' else ""
        text = f"{text[:start]}{mark}{size}{mark}{text[end:]}"
    return text


def _lines(lines: tuple[tree.Line, ...]) -> Iterator[tree.Line]:
    """All lines of work and measures, those inside blocks too; not the words it teaches, which go
    by what they are given."""
    return (one for one in tree.work_in(lines) if isinstance(one, tree.Feature | tree.Measure | tree.Group))


def _use(key: str, word: Word | None) -> Use:
    """What a clause of a word is for."""
    take = PLACING_BY_NAME.get(key) if word is None else word.take(key) or PLACING_BY_NAME.get(key)
    if take is None:
        return Use(_GROWS)
    if take.kind is Kind.STONE_SIZE:
        return Use(_STONE, key)
    if take.kind in (Kind.PLACES, Kind.PATH, Kind.PART):  # where it stands
        return Use(_GROWS)
    finding = word is not None and Role.FINDING in word.roles and take is word.take(key)
    return Use(_KEPT if finding or _stays(take) else _GROWS)


def _stays(take: Take) -> bool:
    return take.name in _STAYS or take.figure_of in _FIGURES


def _uses_of_measures(lines: list[tree.Line], words: Mapping[str, Word]) -> dict[str, Use]:
    """What each measure is for: a stone where a stone goes by it; kept where all that goes by it
    is; and so on through the measures that rest on it."""
    found: dict[str, list[Use]] = {}
    for line in lines:
        if isinstance(line, tree.Feature):
            for clause in line.clauses:
                if clause.value is not None:
                    for name in tree.names_in(clause.value):
                        found.setdefault(name, []).append(_use(clause.key.name, words.get(line.word.name)))
    for line in reversed(lines):
        if isinstance(line, tree.Measure):
            own = _joined(found.get(line.name.name, []))
            for name in tree.names_in(line.value):
                found.setdefault(name, []).append(Use(_KEPT) if own.way == _KEPT else Use(_GROWS))
    return {name: _joined(uses) for name, uses in found.items()}


def _joined(uses: list[Use]) -> Use:
    stone = next((use for use in uses if use.way == _STONE), None)
    if stone is not None:
        return stone
    return Use(_KEPT if uses and all(use.way == _KEPT for use in uses) else _GROWS)


def _changed(node: tree.Expression, use: Use, factor: float) -> Iterator[tuple[int, int, str]]:
    """The changes of the figures of a value: (start, end, new text)."""
    if use.way == _KEPT:
        return
    grown: Callable[[float], float] = lambda value: _tidy(value * factor)  # noqa: E731
    if use.way == _STONE:
        yield from _stone(node, use.cut, factor)
        return
    for number, unit in _figures(node, None):
        if unit in UNITS and UNITS[unit][0] == LENGTH and number.value:
            scale = UNITS[unit][1]
            value = grown(number.value * scale) / scale
            yield _written(number, value, unit)


def _stone(node: tree.Expression, cut: str, factor: float) -> Iterator[tuple[int, int, str]]:
    """The changes of a stone's size: a run member by member, a size as a whole."""
    if isinstance(node, tree.Run):
        for member in node.members:
            yield from _stone(member, cut, factor)
        return
    figures = [(number, unit) for number, unit in _figures(node, None) if unit in UNITS]
    if figures and all(UNITS[unit][0] == MASS for _, unit in figures):
        for number, unit in figures:
            yield _written(number, round(number.value * factor**3, 2), unit)
        return
    lengths = [(number, unit) for number, unit in figures if UNITS[unit][0] == LENGTH]
    plain = isinstance(node, tree.Number | tree.Sized)
    wanted = [number.value * UNITS[unit][1] * factor for number, unit in lengths]
    whole = next_size(cut, wanted) if plain and wanted else tuple(_tidy(one) for one in wanted)
    for (number, unit), size in zip(lengths, whole, strict=True):
        yield _written(number, size / UNITS[unit][1], unit)


def _figures(node: tree.Expression, unit: str | None) -> Iterator[tuple[tree.Number, str]]:
    """The numbers of a value with their units; a unit at the end of a size, a spot or a run of them serves
    the bare numbers before it, and a number that is multiplied by a length is a count."""
    match node:
        case tree.Number():
            if node.unit or unit:
                yield node, node.unit or unit or ""
        case tree.Paren() | tree.Minus():
            yield from _figures(node.inner, unit)
        case tree.Sized() | tree.Spot():
            yield from _together(node.parts, unit)
        case tree.Run():
            last = node.members[-1]
            end = trailing_unit(last.parts[-1]) if isinstance(last, tree.Spot) else None
            yield from _together(node.members, end)
        case tree.Arithmetic():
            for member in node.members:
                yield from _figures(member, None)
        case tree.Invoke():
            for argument in node.arguments:
                yield from _figures(argument, None)


def _together(parts: tuple[tree.Expression, ...], after: str | None) -> Iterator[tuple[tree.Number, str]]:
    """The numbers of parts with the unit at their end, or that ``after`` them, for bare ones."""
    unit = trailing_unit(parts[-1]) or after
    for part in parts:
        yield from _figures(part, unit if is_bare(part) or isinstance(part, tree.Spot) else None)


def _tidy(value: float) -> float:
    """To the twentieth of a mm, below a mm to the hundredth."""
    return round(value * 20) / 20 if abs(value) >= 1 else round(value, 2)


def _written(number: tree.Number, value: float, unit: str) -> tuple[int, int, str]:
    """The place of a number (without its unit, where that serves others) and what stands there then."""
    shown = digits(value, 2 if unit in ("mm", "ct") else 4)
    new = f"{shown} {unit}" if number.unit else shown
    return number.span.start, number.span.end, new


def factor_of(said: str) -> float | None:
    """The factor that 120 %, 120% or 1.2 says; None for what is none."""
    plain = said.strip()
    try:
        value = float(Fraction(plain.removesuffix("%").strip()))
    except (ValueError, ZeroDivisionError):
        return None
    return value / 100 if plain.endswith("%") else value
