"""The history of a piece in rows, and drawn: weight, stones and remarks, a step for each revision."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from ...lang.folding import in_table
from ..drawing.paper import BLACK, FIGURE, GREY
from ..drawing.svg import UNITS, document, element, through, words
from ..files.digits import plain

_LEFT, _WIDE, _TALL, _APART, _TOP = 30.0, 140.0, 32.0, 12.0, 18.0  # mm of paper
_TICKS = 1.0, 2.0, 2.5, 5.0, 10.0
_COLOURS = {"grams": "#1c6fb8", "carats": "#7a4fa3", "remarks": "#d9660a"}


@dataclass(frozen=True)
class Step:
    """One revision: its name, day and note, and what it came to; ``grams`` is None where it could not
    be made. ``levels`` counts remarks as faults, warnings, hints."""

    name: str
    when: str
    note: str
    grams: float | None
    metal: str
    stones: int
    carats: float
    levels: tuple[int, int, int]

    @property
    def remarks(self) -> int:
        """Faults and warnings: hints are no trouble."""
        return self.levels[0] + self.levels[1]


def step(name: str, when: str, note: str, record: Mapping[str, Any]) -> Step:
    """A revision by what was taken down of it."""
    weight, stones = record.get("metal_weight"), record.get("stones") or {}
    told = [row["level"] for row in record.get("remarks") or () if not row.get("because")]
    levels = tuple(told.count(level) for level in ("fault", "warning", "hint"))
    metals = dict.fromkeys(row["metal"] for row in (weight or {}).get("castings", ()))
    return Step(
        name, when[:10], note, weight["grams"] if weight else None,
        " and ".join(metals) or str(record.get("metal", "")),
        stones.get("count", 0), stones.get("carats", 0.0), levels,  # type: ignore[arg-type]
    )  # fmt: skip


def table(steps: Sequence[Step]) -> list[str]:
    """The steps in lines of text, the oldest first."""
    heads = "revision", "day", "g", "stones", "ct", "faults", "warnings", "hints", "metal", "note"
    rows = [
        (
            one.name, one.when, "-" if one.grams is None else f"{one.grams:.2f}", str(one.stones),
            plain(one.carats, 2), *map(str, one.levels), one.metal, one.note,
        )
        for one in steps
    ]  # fmt: skip
    return in_table([heads, *rows], range(2, 8))


def summed(step: Step) -> str:
    """A step in a sentence, for a screen too narrow for the table."""
    weight = "not weighed" if step.grams is None else f"{step.grams:.2f} g of {step.metal}"
    faults, warnings, hints = step.levels
    levels = f"{faults} faults, {warnings} warnings, {hints} hints"
    stones = f"{step.stones} stone{'s' * (step.stones != 1)} {plain(step.carats, 2)} ct"
    said = f"{weight}, {stones}, {levels}"
    return f"{said}; {step.note}" if step.note else said


def plot(steps: Sequence[Step], title: str) -> bytes:
    """An SVG with weight, carats and remarks over the revisions, the oldest at the left."""
    panels: tuple[tuple[str, str, Callable[[Step], float | None]], ...] = (
        ("grams", "metal, g", lambda one: one.grams),
        ("carats", "stones, ct", lambda one: one.carats),
        ("remarks", "faults and warnings", lambda one: float(one.remarks)),
    )
    inside = [_words(title, _LEFT, 8.0, BLACK, 1.2)]
    for number, (name, label, figure) in enumerate(panels):
        top = _TOP + number * (_TALL + _APART)
        inside += _panel([figure(one) for one in steps], top, label, _COLOURS[name], name == "remarks")
    low = _TOP + len(panels) * (_TALL + _APART)
    every = max(1, -(-len(steps) // 10))
    for number, one in enumerate(steps):
        if number % every == 0 or number == len(steps) - 1:
            below = low - _APART + 5.0
            inside.append(_words(one.name[:9], _x(number, len(steps)), below, GREY, 0.8, "middle"))
    inside.append(_words(f"{steps[0].when} to {steps[-1].when}" if steps else "", _LEFT, low, GREY))
    return document(inside, _LEFT + _WIDE + 12.0, low + 5.0, title)


def _x(number: int, count: int) -> float:
    """Where a revision stands across, mm."""
    return _LEFT + (number + 0.5) * _WIDE / max(count, 1)


def _panel(figures: Sequence[float | None], top: float, label: str, colour: str, whole: bool) -> list[str]:
    """One curve with its own scale, from nothing up, by ``whole`` numbers where it counts."""
    most = max((one for one in figures if one is not None), default=0.0) or 1.0
    tick = _tick(most, whole)
    full = tick * -(-most // tick)

    def y(value: float) -> float:
        return top + _TALL * (1.0 - value / full)

    said = [_words(label, _LEFT, top - 1.5, BLACK)]
    for number in range(round(full / tick) + 1):
        at = number * tick
        said += [_line([(_LEFT, y(at)), (_LEFT + _WIDE, y(at))], "#dddddd", 0.13)]
        said += [_words(plain(at, 3), _LEFT - 1.5, y(at) + 0.9, GREY, 0.8, "end")]
    for run in _runs(figures):
        spots = [(_x(k, len(figures)), y(value)) for k, value in run]
        said.append(_line(spots, colour, 0.5))
        dots = ((round(x * UNITS), round(high * UNITS)) for x, high in spots)
        said += [element("circle", fill=colour, cx=x, cy=y, r=round(0.8 * UNITS)) for x, y in dots]
    return said


def _runs(figures: Sequence[float | None]) -> list[list[tuple[int, float]]]:
    """The figures in runs, broken where there is none."""
    runs: list[list[tuple[int, float]]] = [[]]
    for number, value in enumerate(figures):
        if value is None:
            runs.append([])
        else:
            runs[-1].append((number, value))
    return [run for run in runs if run]


def _tick(most: float, whole: bool) -> float:
    """A round step of which three or four make the scale."""
    if whole and most <= 4:
        return 1.0
    power = 10.0 ** (len(f"{int(most / 4)}") - 1)
    while power > most / 4:
        power /= 10.0
    return next(one * power for one in _TICKS if one * power >= most / 4)


def _line(spots: Sequence[tuple[float, float]], colour: str, wide: float) -> str:
    return element("path", stroke=colour, stroke_width=round(wide * UNITS), d=through(spots))


def _words(text: str, x: float, y: float, colour: str, size: float = 1.0, anchor: str = "start") -> str:
    return words(text, x * UNITS, y * UNITS, FIGURE * size, fill=colour, text_anchor=anchor)
