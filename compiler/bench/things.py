"""What things on the bench can be read as: places, lines, parts, stones; and those put together."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np

from ...lang.values import Point, Sequence
from ..geometry import frames as fr
from ..geometry.joined_outlines import combined
from .feature import Drawn, Feature, Lines, Places, joined
from .stone_rows import GROUP, again, merged


def as_kind(thing: Any, kind: str) -> Any:
    """``thing`` read as places, a line, a feature or stones."""
    if isinstance(thing, (Point, Sequence)):
        return _spelled(thing) if kind == "places" else None
    if isinstance(thing, Places) and kind != "places":
        thing = thing.stone()
    if kind == "part":
        return thing if isinstance(thing, Feature) else None
    if kind == "stones":
        return stones_in(thing) if isinstance(thing, Feature) else None
    if kind == "places":
        if isinstance(thing, Feature):
            group = bool(thing.members) and thing.index >= 0  # it stands at its own places
            whole = None if group else stones_in(thing)
            return (whole or thing).places()
        return thing if isinstance(thing, Places) else None
    if kind == "path":
        if isinstance(thing, Feature):
            names = ("path", "rim", "around", "girdle")  # a feature's own line
            return next((found for name in names if (found := thing.look(name))), None)
        return thing if isinstance(thing, Lines) else None
    return None


def _spelled(spots: Point | Sequence) -> Places | None:
    """Places spelled out as spots: (1, 2 mm), or several joined by `to`, facing the onlooker."""
    points = spots.members if isinstance(spots, Sequence) else (spots,)
    if not all(isinstance(point, Point) for point in points):
        return None
    rows = [fr.shifted(*(part.value for part in point.parts)) for point in points]  # type: ignore[attr-defined]
    return Places(np.concatenate(rows))


def stones_in(feature: Feature) -> Feature | None:
    """All stones of a feature as one line of stones: its own, its parts', its copies'."""
    if feature.stone_offers is not None and feature.source is None:
        return feature
    if feature.source is not None:
        return None if feature.row is None else again(feature.row, feature.frames)
    rows = [row for member in members(feature) if (row := stones_in(member)) is not None]
    return merged(feature, rows) if rows else None


def members(feature: Feature) -> Iterator[Feature]:
    """The parts of a feature; what is put together with + again and again is one sum of all."""
    for part in feature.parts:
        yield from members(part) if feature.word == part.word == GROUP else (part,)


def spots(thing: Any) -> list[Places] | list[Lines] | None:
    """Single places of a list of places, or paths of several; a path by itself is gone along whole."""
    if isinstance(thing, Lines):
        return [replace(thing, lines=(line,)) for line in thing.lines] if len(thing.lines) > 1 else None
    places = as_kind(thing, "places")
    return None if places is None else [places.one(k) for k in range(len(places))]


def between(first: Any, second: Any) -> Places | None:
    """The place half way between two places, looking half way between them; as the first does where
    they look apart."""
    a, b = as_kind(first, "places"), as_kind(second, "places")
    if a is None or b is None or len(a) != 1 or len(b) != 1:
        return None
    return Places(fr.rounded(fr.half_way(a.frames, b.frames)))


def together(first: Any, operator: str, second: Any) -> Feature | Places | Lines | None:
    """Parts, stones or places put together; closed lines in one plane put together, or taken from one
    another."""
    parts = operator == "+" and isinstance(first, Feature) and isinstance(second, Feature)
    if parts and not first.word == second.word == "path":
        return grouped(first, second)
    if operator == "+" and isinstance(first, Places) and isinstance(second, Places):
        return joined([first, second])
    return _outlines(first, operator, second)


def grouped(first: Feature, second: Feature) -> Feature:
    """Two parts, or lines of stones, as one: as a path, the outline that their rims have together."""
    frames = np.concatenate([first.frames, second.frames])
    group = Feature(f"{first.name} + {second.name}", GROUP, -1, frames)
    group.stands, group.members = False, {first.name: first, second.name: second}
    group.stones = (*first.stones, *second.stones)
    lines = None if group.stones else _outlines(first, "+", second)
    if lines is not None:
        group.offers["rim"] = lambda: Drawn(lines.lines, lines.edge)
    return group


def _outlines(first: Any, operator: str, second: Any) -> Lines | None:
    a, b = as_kind(first, "path"), as_kind(second, "path")
    if not isinstance(a, Lines) or not isinstance(b, Lines):
        return None
    lines = combined(a.lines, operator, b.lines)
    return Lines(lines, a.edge and b.edge) if lines else None


def describe(thing: Any) -> str:
    """A few words on an opaque thing."""
    if isinstance(thing, Feature):
        return f"{thing.name} ({thing.word})"
    if isinstance(thing, Places):
        return f"{len(thing)} place{'s' * (len(thing) != 1)}"
    if isinstance(thing, Lines):
        return "a path" if len(thing.lines) == 1 else f"{len(thing.lines)} paths"
    return "something else"


def indices(feature: Feature) -> set[int]:
    """The numbers of a feature and of all its parts."""
    return {feature.index}.union(*map(indices, feature.parts))


def has_stones(feature: Feature) -> bool:
    """Whether a feature, or any part of it, has stones."""
    return bool(feature.stones) or any(map(has_stones, feature.parts))


