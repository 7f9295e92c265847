"""The functions of the language, each with its help, and how those of figures are reckoned.

How pick, between, count and given get their values, which ask the bench or the scope, stands in questions.py.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from .measures import Result, Trouble, comparable, mismatch, order
from .shown import quantity, value_name
from .values import ANGLE, NUMBER, Dimension, Quantity

Reckon = Callable[[Sequence[Quantity]], Result]


@dataclass(frozen=True)
class Function:
    """A function: how many arguments it takes (``most`` None: any number), and its help."""

    name: str
    least: int
    most: int | None
    help: str
    example: str
    reckon: Reckon | None = None  # None: done by the evaluator, its arguments are no figures


def _extreme(best: int) -> Reckon:
    """The least (-1) or greatest (1) of figures of one dimension."""

    def reckon(figures: Sequence[Quantity]) -> Result:
        chosen = figures[0]
        for figure in figures[1:]:
            if not comparable(chosen, figure):
                return None, mismatch("beside", chosen, figure)
            if order(figure.value, chosen.value) == best:
                chosen = figure
        # A bare zero takes the unit of its company.
        for figure in figures:
            if chosen.dimension == NUMBER and figure.dimension != NUMBER:
                return Quantity(chosen.value, figure.dimension, figure.share), None
        return chosen, None

    return reckon


def _stepped(rounding: Callable[[float], float]) -> Reckon:
    """A whole number, or a whole number of steps: round(value), round(value, step)."""

    def reckon(figures: Sequence[Quantity]) -> Result:
        figure = figures[0]
        step = figures[1] if len(figures) > 1 else Quantity(1.0)
        if len(figures) == 1 and (figure.dimension != NUMBER or figure.share):
            return None, Trouble(
                "dimension", f"{value_name(figure)} can only be rounded to a step",
                "say the step: round(a, 0.1 mm)",
            )
        if figure.dimension != step.dimension or figure.share != step.share:
            return None, mismatch("in steps of", figure, step)
        if step.value <= 0:
            return None, Trouble("out-of-range", f"the step is {quantity(step)}", "make it larger than 0")
        # 0.3 / 0.1 is 2.9999999999999996: a figure a hair off a whole number of steps is on it.
        steps = figure.value / step.value
        near = math.floor(steps + 0.5)
        whole = near if order(steps, near) == 0 else rounding(steps)
        return Quantity(whole * step.value, figure.dimension, figure.share), None

    return reckon


def _half_up(value: float) -> float:
    return math.floor(value + 0.5)


def _abs(figures: Sequence[Quantity]) -> Result:
    figure = figures[0]
    return Quantity(abs(figure.value), figure.dimension, figure.share), None


def _sqrt(figures: Sequence[Quantity]) -> Result:
    figure = figures[0]
    if any(power % 2 for power in figure.dimension):
        return None, Trouble(
            "dimension", f"{value_name(figure)} has no square root",
            "the root of an area (mm times mm) is a length",
        )
    if figure.value < 0:
        return None, Trouble("out-of-range", f"{quantity(figure)} has no square root")
    dimension = Dimension(*(power // 2 for power in figure.dimension))
    return Quantity(math.sqrt(figure.value), dimension), None


def _circular(reckon_radians: Callable[[float], float]) -> Reckon:
    """sin, cos, tan: of an angle; a plain number counts as degrees only when it is zero."""

    def reckon(figures: Sequence[Quantity]) -> Result:
        figure = figures[0]
        if figure.dimension != ANGLE and not (figure.dimension == NUMBER and figure.value == 0):
            remedy = f"add deg: {quantity(figure)} deg" if figure.dimension == NUMBER else None
            code = "unit-missing" if remedy else "dimension"
            return None, Trouble(code, f"an angle is needed, not {value_name(figure)}", remedy)
        turned = math.fmod(figure.value, 360.0)
        exact = _EXACT.get((reckon_radians, turned % 360.0))
        if exact is not None:
            if math.isinf(exact):
                return None, Trouble("out-of-range", f"{quantity(figure)} has no tangent")
            return Quantity(exact), None
        return Quantity(reckon_radians(math.radians(turned))), None

    return reckon


# Quarter turns come out exactly, or cos(90 deg) would be 6e-17.
_EXACT: dict[tuple[Callable[[float], float], float], float] = {
    (function, turn): value
    for function, values in (
        (math.sin, (0.0, 1.0, 0.0, -1.0)),
        (math.cos, (1.0, 0.0, -1.0, 0.0)),
        (math.tan, (0.0, math.inf, 0.0, math.inf)),
    )
    for turn, value in zip((0.0, 90.0, 180.0, 270.0), values, strict=True)
}


def _arc(reckon_one: Callable[[float], float], limit: float | None) -> Reckon:
    """asin, acos, atan: of a plain number, giving an angle."""

    def reckon(figures: Sequence[Quantity]) -> Result:
        figure = figures[0]
        if figure.dimension != NUMBER or figure.share:
            return None, Trouble(
                "dimension", f"a plain number is needed, not {value_name(figure)}",
                "divide two lengths: asin(a / b)",
            )
        value = figure.value
        if limit is not None and abs(value) > limit:
            if order(abs(value), limit) != 0:
                return None, Trouble(
                    "out-of-range", f"{quantity(figure)} is not the ratio of any angle",
                    "it has to be from -1 to 1",
                )
            value = math.copysign(limit, value)
        return Quantity(math.degrees(reckon_one(value)), ANGLE), None

    return reckon


FUNCTIONS: Mapping[str, Function] = MappingProxyType(
    {
        function.name: function
        for function in (
            Function("min", 1, None, "the least of the figures", "min(across, 3 mm)", _extreme(-1)),
            Function("max", 1, None, "the greatest of the figures", "max(wall, 0.8 mm)", _extreme(1)),
            Function(
                "round", 1, 2, "to the nearest whole, or to the nearest step", "round(across / 3, 0.05 mm)",
                _stepped(_half_up),
            ),
            Function("floor", 1, 2, "down to a whole, or to a step", "floor(7.8)", _stepped(math.floor)),
            Function("ceil", 1, 2, "up to a whole, or to a step", "ceil(7.2)", _stepped(math.ceil)),
            Function("abs", 1, 1, "without its minus", "abs(a - b)", _abs),
            Function("sqrt", 1, 1, "the square root", "sqrt(a * a + b * b)", _sqrt),
            Function("sin", 1, 1, "sine of an angle", "sin(30 deg)", _circular(math.sin)),
            Function("cos", 1, 1, "cosine of an angle", "cos(60 deg)", _circular(math.cos)),
            Function("tan", 1, 1, "tangent of an angle", "tan(45 deg)", _circular(math.tan)),
            Function("asin", 1, 1, "the angle of a sine", "asin(rise / run)", _arc(math.asin, 1.0)),
            Function("acos", 1, 1, "the angle of a cosine", "acos(0.5)", _arc(math.acos, 1.0)),
            Function("atan", 1, 1, "the angle of a tangent", "atan(rise / run)", _arc(math.atan, None)),
            Function("pick", 2, 2, "one of several places, counted from 1", "pick(ends of frame, 2)"),
            Function("between", 2, 2, "the place half way, looking half way between both", "between(a, b)"),
            Function("count", 1, 1, "how many places there are", "count(gaps of row)"),
            Function(
                "choose", 3, 3, "the first figure if the test holds, else the second",
                "choose(across > 3 mm, 1 mm, 0.8 mm)",
            ),
            Function(
                "given", 1, 1, "in a word: whether the line said this key, or what it said offers that",
                "given(wire)",
            ),
        )
    }
)
