"""What the core words share: clause records, and making a body from a shape."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import TYPE_CHECKING

from ...lang.bench import Call
from ...lang.words import Kind, Take
from ..bench.feature import Feature, Offer
from ..bench.placement import placed
from ..bench.plan import Shape
from ..bench.roles import FigureOf
from ..bench.sides import reaches_all
from ..geometry import frames as fr
from ..geometry.surfaces import Surface

if TYPE_CHECKING:
    import numpy as np

    from ..bench.piece_bench import PieceBench

Maker = Callable[["PieceBench", Call], Feature]

# Largest figure of a piece, mm: a long necklace fits; most slips of the unit do not.
LARGEST = 1000.0
# Smallest thickness the kernel is asked to make, mm. Bench limits are far above it.
SMALLEST = 0.01


def length(
    name: str, help: str, *, needed: bool = False, default: str | None = None, zero: bool = False,
    most: float = LARGEST, goes_with: tuple[str, ...] = (), not_with: tuple[str, ...] = (),
    of: FigureOf | None = None, like: str = "",
) -> Take:
    """A clause that takes a length above zero (or from zero), within the size of a piece."""
    return Take(
        name, Kind.LENGTH, help, needed, default, like=like, least=0.0 if zero else SMALLEST, most=most,
        goes_with=goes_with, not_with=not_with, figure_of=of,
    )


def size(
    name: str, help: str, *parts: int, needed: bool = False, goes_with: tuple[str, ...] = (),
    of: FigureOf | None = None,
) -> Take:
    """A clause that takes a size of so many members, each within the size of a piece."""
    return Take(
        name, Kind.SIZE, help, needed, parts=parts, least=SMALLEST, most=LARGEST, goes_with=goes_with,
        figure_of=of,
    )


def count(
    name: str, help: str, *, needed: bool = False, default: str | None = None, least: int = 1,
    most: int = 20_000,
) -> Take:
    """A clause that takes a whole number."""
    return Take(name, Kind.COUNT, help, needed, default, least=least, most=most)


@cache
def metal() -> tuple[Take, ...]:
    """The clauses of whatever is metal: of another alloy than the piece, and bought, not cast."""
    from ...stdlib.alloys import ALLOYS, metal_called, metal_hint
    from ...stdlib.own import Names

    help = "an alloy of its own, as in a two-colour piece"
    return (
        Take("metal", Kind.CHOICE, help, choices=Names(ALLOYS), hint=metal_hint, called=metal_called),
        Take("bought", Kind.FLAG, "bought in, not cast: kept out of the print files and weighed apart"),
        Take("weighs", Kind.MASS, "what one bought weighs by the scales: 7.99 g", goes_with=("bought",)),
    )


RIMS = ("front", "back", "both")


@cache
def rims() -> tuple[Take, ...]:
    """The clauses that take the sharp rims off a flat body."""
    return (
        length("soften", "rounds its rim by this radius", not_with=("bevel",), like="0.3 mm"),
        length("bevel", "takes its rim off straight, so far each way", like="0.3 mm"),
        Take(
            "rims", Kind.CHOICE, "which rim: of its face, its back, or both", default="front", choices=RIMS,
            goes_with=("soften", "bevel"),
        ),
    )


def target(help: str = "what it cuts", needed: bool = False) -> Take:
    """The `in` clause of a work that removes metal."""
    return Take("in", Kind.PART, help, needed)


def body(
    bench: PieceBench, call: Call, shape: Shape, low: float, high: float, offers: dict[str, Offer],
    outline: tuple[object, ...] | None = None, ground: np.ndarray | None = None,
    surface: Surface | None = None,
) -> Feature:
    """Add ``shape`` (its own z from ``low`` to ``high``) at every place of the line, seen from ``ground``
    (1, 3, 4) if that is given; with its ``surface`` things can be spread upon it."""
    frames = placed(call, high)
    if ground is not None:
        frames = fr.rounded(fr.compose(ground, frames))
    if call.given("under"):
        reaches_all(call, shape, frames, outline)
    feature = bench.new_feature(call, frames)
    feature.offers, feature.low, feature.high, feature.outline = offers, low, high, outline
    feature.surface = surface
    bench.add(feature, shape, frames, call.get("metal"))
    return feature
