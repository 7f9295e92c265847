"""Thicknesses as the lines state them: walls, roofs, plates, shells. Lengths mm."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..bench.feature import Feature
from ..bench.roles import FigureOf, Role
from .figure_rule import Reading
from .figures import figure, figures, narrowest

if TYPE_CHECKING:
    from .piece import Piece


def thicknesses_of(piece: Piece) -> Iterator[Reading]:
    """Every thickness the text states of what is cast, in order; that of hollow work is found as "shell"."""
    for feature, call in zip(piece.features, piece.bench.lines, strict=True):
        if call.get("bought"):
            continue  # its maker saw to it
        word = call.word.name
        for of, key, value in figures(call, *_WALLS):
            shell = "shell" if of in _SHELLS else ""
            yield _stated(feature, key, _WALLS[of].format(word), narrowest(value), shell)
        outside, inside = (figure(call, of) for of in (FigureOf.OUTSIDE, FigureOf.INSIDE))
        if outside is not None and inside is not None:
            wall = float((outside[1] - inside[1]) / 2)
            yield _stated(feature, inside[0], f"the wall of this {word}", wall)


def _stated(feature: Feature, key: str, what: str, thick: float, find: str = "") -> Reading:
    return Reading(
        feature.index, thick, feature.frames[0, :, 3] if len(feature.frames) else None, find=find,
        words={"what": what}, key=key, keys=(key, "wall", "thick"),
    )  # fmt: skip


def thick_under(piece: Piece, body: object) -> float | None:
    """The thickness of metal that something is cut into, as its text states it, mm: of a ring under its
    table, or all round; None where it states none."""
    if not isinstance(body, Feature) or body.index < 0:
        return None
    stated = figure(piece.call(body.index), FigureOf.THICKNESS)
    if stated is None and piece.is_for(body.index, Role.SHANK):
        return float((body.look("height") or body.look("thick")).value)
    return narrowest(stated[1]) if stated else None


def roofs_of(piece: Piece) -> dict[int, float]:
    """The thinnest roof a hollow leaves, by the body it is cut in, mm."""
    roofs: dict[int, float] = {}
    for _, call in piece.with_role(Role.OPENS):
        body, roof = call.get("in"), figure(call, FigureOf.ROOF)
        if isinstance(body, Feature) and roof is not None:
            roofs[body.index] = min(roof[1], roofs.get(body.index, roof[1]))
    return roofs


_WALLS = {
    FigureOf.WALL: "a wall of the {}",
    FigureOf.ROOF: "the roof of the {}",
    FigureOf.THICKNESS: "this {}",
    FigureOf.SHELL: "this shell",
}
_SHELLS = (FigureOf.WALL, FigureOf.ROOF, FigureOf.SHELL)
