"""Solid masses that should be hollow."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.digits import above, mm, most, place
from ..judging.rule import Finding, Level, Rule

if TYPE_CHECKING:
    from ..judging.piece import Piece

_CLAUSES = {
    "bar": "size",
    "disc": "height",
    "plate": "thick",
    "ball": "across",
    "dome": "height",
}


def _check(piece: Piece) -> Iterator[Finding]:
    for feature, call in piece.of_word(*_CLAUSES):
        key = _CLAUSES[call.word.name]
        figure = call.get(key)
        thick = min(figure) if isinstance(figure, tuple) else figure
        limit = piece.bound("heavy-solid", "most", feature)
        if feature.index in piece.roofs or call.get("wall") or not above(thick, limit):
            continue
        yield Finding(
            "this solid mass is thicker than needed",
            feature.index,
            mm(thick),
            most(mm(limit)),
            "hollow it from the back, or make it thinner",
            float(thick),
            limit,
            key=key,
            keys=(key, "height", "thick"),
            place=place(feature.frames[0, :, 3]),
        )


RULE = Rule(
    "heavy-solid",
    "A solid mass is very thick.",
    "plan",
    Level.NOTE,
    "A thick mass shrinks last, draws metal from its neighbours and comes out porous; it also "
    "costs its weight.",
    "Hollow it above 4 mm, with `hollow`, or sprue it by itself.",
    "SB saqlainbullion.com/blog/minimum-wall-thickness",
    _check,
)
