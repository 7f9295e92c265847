"""Thicknesses as the lines state them: walls, roofs, plates, shells. Lengths mm."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...lang.lean import dataclass

if TYPE_CHECKING:
    from .piece import Piece


@dataclass(frozen=True)
class Stated:
    """A thickness a line gives: its line and clause, what it is the thickness of, the figure;
    ``shell`` for the walls of hollow work."""

    feature: int
    key: str
    what: str
    thick: float
    shell: bool


# Word -> (clause, what it is the thickness of, shell).
_CLAUSES = {
    "hollow": (
        ("wall", "a wall of the hollow", True),
        ("roof", "the roof of the hollow", True),
    ),
    "plate": (("thick", "this plate", False),),
    "disc": (("height", "this disc", False),),
    "dome": (("wall", "this shell", True),),
}


def stated_of(piece: Piece) -> Iterator[Stated]:
    """Every thickness the text states, in order."""
    for feature, call in zip(piece.features, piece.bench.lines, strict=True):
        for key, what, shell in _CLAUSES.get(call.word.name, ()):
            figure = call.get(key)
            if isinstance(figure, float | int):
                yield Stated(feature.index, key, what, float(figure), shell)
        if call.word.name == "bar" and isinstance(call.get("size"), tuple):
            figure = min(call.get("size"))
            yield Stated(feature.index, "size", "this bar", float(figure), False)
        elif call.word.name == "tube" and call.given("outside"):
            wall = (call.get("outside") - call.get("inside")) / 2
            yield Stated(feature.index, "inside", "the wall of this tube", float(wall), False)
