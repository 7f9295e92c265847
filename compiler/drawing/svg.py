"""SVG text, the same bytes every time: whole numbers in units of 1/20 mm, relative steps."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from xml.sax.saxutils import escape, quoteattr

from .fit import Run

UNITS = 20  # to the millimetre of paper: 0.05 mm is finer than any line drawn
FONT = "Helvetica, Arial, sans-serif"


def path_data(runs: Iterable[Run], left: float, top: float, factor: float) -> str:
    """``d`` of a path: runs times ``factor``, moved by (left, top), in units; what is shorter vanishes."""
    said: list[str] = []
    for run in runs:
        steps, here = [], _whole(run.start, left, top, factor)
        said_here = here
        for stroke in run.strokes:
            there = _whole(stroke.end, left, top, factor)
            if there == here:
                continue
            step = (there[0] - here[0], there[1] - here[1])
            if stroke.radius:
                radius = max(round(stroke.radius * factor), 1)
                steps.append(f"a{radius} {radius} 0 0 {int(stroke.clockwise)} {numbers(step)}")
            else:
                steps.append(f"l{numbers(step)}")
            here = there
        if steps:
            start = f"M{numbers(said_here)}"
            said.append(start + _merged(steps) + ("z" if run.closed else ""))
    return "".join(said)


def _merged(steps: Sequence[str]) -> str:
    """A step like the one before needs no letter of its own."""
    text, letter = "", ""
    for step in steps:
        if step[0] == letter:
            text += step[1:] if step[1] == "-" else " " + step[1:]
        else:
            text, letter = text + step, step[0]
    return text


def _whole(spot: tuple[float, float], left: float, top: float, factor: float) -> tuple[int, int]:
    return round(left + spot[0] * factor), round(top + spot[1] * factor)


def numbers(values: Iterable[int]) -> str:
    """Whole numbers with no more between them than must be: "3-4 5"."""
    text = ""
    for value in values:
        text += f" {value}" if text and value >= 0 else f"{value}"
    return text


def through(spots: Iterable[Sequence[float]], closed: bool = False) -> str:
    """``d`` of straight lines through spots (mm of paper)."""
    steps = "L".join(numbers((round(x * UNITS), round(y * UNITS))) for x, y in spots)
    return f"M{steps}{'z' if closed else ''}"


def element(name: str, inside: str = "", **attributes: object) -> str:
    """One element; ``_`` in the name of an attribute stands for a hyphen."""
    listed = "".join(f" {key.replace('_', '-')}={quoteattr(str(value))}" for key, value in attributes.items())
    return f"<{name}{listed}>{inside}</{name}>" if inside else f"<{name}{listed}/>"


def words(text: str, x: float, y: float, size: float, **attributes: object) -> str:
    """A line of writing; ``size`` in mm, the rest in units."""
    letters = "".join(c for c in text if c.isprintable())
    return element(
        "text", escape(letters), x=round(x), y=round(y), font_size=round(size * UNITS), **attributes,
    )


def document(inside: Sequence[str], wide: float, tall: float, title: str) -> bytes:
    """A whole file of ``wide`` x ``tall`` mm of paper."""
    label = "".join(c for c in title if c.isprintable())
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide:g}mm" height="{tall:g}mm" '
        f'viewBox="0 0 {round(wide * UNITS)} {round(tall * UNITS)}" '
        f'fill="none" stroke-linejoin="round" stroke-linecap="round" font-family="{FONT}">'
    )
    paper = element("path", fill="#fff", d=f"M0 0h{round(wide * UNITS)}v{round(tall * UNITS)}H0z")
    parts = [head, element("title", escape(label)), paper, *inside, "</svg>"]
    return ("\n".join(parts) + "\n").encode("utf-8")
