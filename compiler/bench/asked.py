"""What may be asked of the things on the bench, by name: their places, lines, stones and parts."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any

import numpy as np

from ...lang.bench import NAMELESS, Missing
from ...lang.values import Quantity
from ..geometry import frames as fr
from ..geometry.line import Line
from . import asked_metal as metal
from .asked_metal import ENDS, FACES, Made
from .feature import ANGLES, Feature, Lines, Places, angle, joined, length, number
from .lumps import lumps
from .near_places import half_way, overhang, rail_at, rooted
from .path import path_offers
from .settled import above_hole, hole_behind, settled
from .sides import SIDES
from .stone_rows import GROUP, STONE_ASKS
from .things import as_kind, describe, has_stones, indices, members, stones_in

WAYS = ENDS[:4]  # where its metal ends: no path inside it answers for that


def look(thing: Any, attribute: str, made: Made) -> tuple[Any, Missing | None]:
    """``attribute of thing``, of which what is ``made`` tells where its metal is."""
    value, missing = _looked(thing, attribute, made)
    if isinstance(value, Places) and attribute in (*ENDS, *FACES):
        value = replace(value, ends=attribute in ENDS, on_face=attribute in FACES)
        if isinstance(thing, Feature):
            value = replace(value, own=frozenset(indices(thing)))
        if attribute in ENDS and isinstance(thing, Feature):
            value = replace(metal.on_loops(value, thing), edge=metal.edge_at(value, thing, made))
    return value, missing


def _looked(thing: Any, attribute: str, made: Made) -> tuple[Any, Missing | None]:
    if isinstance(thing, Quantity):
        return None, Missing(why="a figure has no parts")
    if isinstance(thing, Places):
        return _of_places(thing, attribute, made)
    if isinstance(thing, Lines):
        return (thing, None) if attribute == "edge" and thing.edge else _of_line(thing.lines[0], attribute)
    if isinstance(thing, Feature):
        value, missing = _of_part(thing, attribute, made)
        path = as_kind(thing, "path") if missing is not None and attribute == "edge" else None
        return (path, None) if path is not None and path.edge else (value, missing)
    return None, Missing(describe(thing))


def _of_places(places: Places, attribute: str, made: Made) -> tuple[Any, Missing | None]:
    stone = places.stone()
    if attribute == "claws" and stone is not None:
        return metal.claws_of(stone, made), None
    if attribute in OF_PLACES:
        value = OF_PLACES[attribute](places, made)
        return value, None if value is not None else Missing(why=NONE_THERE.get(attribute, NO_METAL))
    value = None if stone is None else stone.look(attribute)
    return _figure(places, attribute) if value is None else (value, None)


def _edge(places: Places, _: Made) -> Places:
    turn = fr.turned(2, 90.0 * (places.ends or places.of_line))
    return replace(places, frames=fr.compose(places.frames, turn), ends=False, of_line=False)


def _root(places: Places, made: Made) -> Places:
    corners = [one.corners for one in lumps(made.steps[-1], None)] or [np.zeros((0, 3, 3))]
    # What was moved since is moved from its root.
    home = places.frames if places.found is None else places.found
    go = (rooted(made.stones, np.concatenate(corners), home) - home)[:, :, 3]
    frames = places.frames.copy()
    frames[:, :, 3] += go
    moved = float(-(go * frames[:, :, 2]).sum(axis=1).min(initial=0.0))
    return replace(places, frames=frames, figures={"moved": np.full(len(frames), moved)})


def _rail(places: Places, made: Made) -> Places:
    metal = [one.corners for one in lumps(made.steps[-1], None)]
    found = rail_at(made.stones, metal, places.frames[0])
    right, thick, out, tall = (0.0, 0.0, 0.0, 0.0) if found is None else found.tolist()
    there = fr.rounded(fr.compose(places.frames[:1], fr.shifted(right, 0.0, out)))
    return Places(there, {"thick": np.array([thick]), "tall": np.array([tall])})


OF_PLACES: dict[str, Callable[[Places, Made], Any]] = {
    "places": lambda places, made: places,
    "face": lambda places, made: metal.outward(places, False, made),
    "ends": lambda places, made: metal.outward(places, True, made),
    "edge": _edge,
    "end": lambda places, made: places if places.ends or places.of_line else None,
    "overhang": lambda places, made: length(overhang(made.stones, places.frames)),
    "half-way": lambda places, made: length(half_way(made.stones, places.frames)),
    "root": _root,
    "rail": _rail,
    "above-hole": lambda places, made: replace(places, frames=above_hole(made.steps[-1], places.frames)),
    "metal": metal.metal_at,
    "hole": lambda places, made: length(hole_behind(made.steps[-1], places.frames)),
}

NO_METAL = "there is no metal yet, above this line"
NONE_THERE = {"end": "these are no ends of metal"}


def _of_part(thing: Feature, attribute: str, made: Made) -> tuple[Any, Missing | None]:
    if attribute in thing.members:
        return thing.members[attribute], None
    if has_stones(thing) and attribute in (*STONE_ASKS, "wall", "claws", "vees"):
        found = _of_stones(stones_in(thing) or thing, attribute, made)
        found = Missing(why=found) if isinstance(found, str) else found
        return (None, found) if isinstance(found, Missing) else (found, None)
    if attribute == "places":
        why = f"{thing.name} has no place of its own; ask one of its parts"
        places = thing.places()
        return (None, Missing(why=why)) if places is None else (places, None)
    value = _of_sum(thing, attribute, made) if thing.word == GROUP else None
    value = _offered_by(thing, attribute, made) if value is None else value
    if value is not None:
        return value, None
    for name, member in _inner(thing):  # a word's own named parts answer for it
        if name == attribute:
            return member, None
        if attribute in member.offers and (member.bodies() or attribute not in WAYS):
            return _offered_by(member, attribute, made), None
    value = _of_nameless(thing, attribute, made) or metal.side_of(thing, attribute, made)
    value = thing.figures.get(attribute) if value is None else value
    return (None, _offered(thing)) if value is None else (value, None)


def _of_stones(stones: Feature, attribute: str, made: Made) -> Any:
    """What is asked of stones, or of those in a part; in words why they have none."""
    if attribute in STONE_ASKS:
        return STONE_ASKS[attribute](stones)
    if attribute == "wall":
        return length(metal.wall_of(stones, made))
    claws = metal.claws_of(stones, made)
    return claws if attribute == "claws" else length(metal.vees(claws))


def _of_sum(thing: Feature, attribute: str, made: Made) -> Any:
    """What parts put together offer: a side of all their metal, or each its own places or paths."""
    if attribute in SIDES and thing.bodies():
        return metal.side_of(thing, attribute, made)
    if attribute in thing.offers:
        return None
    found = [look(one, attribute, made)[0] for one in members(thing)]
    for kind in (Places, Lines):
        alike = [value for value in found if isinstance(value, kind)]
        if alike:
            return joined(alike)
    return None


def _offered_by(thing: Feature, attribute: str, made: Made) -> Any:
    """What a feature offers, places and lines on its metal as that is now."""
    value, own = thing.look(attribute), indices(thing)
    if isinstance(value, Lines):
        return metal.on_metal(value, thing, made)
    if thing.bodies() and isinstance(value, Places) and attribute in (*ENDS, *FACES):
        value = replace(value, ends=attribute in ENDS)
        return settled(value, metal.steps_of(own, made), own, made.faces, made.ends)
    return value


def _inner(thing: Feature, deep: bool = False) -> Iterator[tuple[str, Feature]]:
    """The named parts of a feature; of a group, or ``deep``, those its words made too."""
    deep = deep or thing.index >= 0
    for name, member in thing.members.items():
        if isinstance(member, Feature) and not name.startswith(NAMELESS):
            yield name, member
            if deep:
                yield from _inner(member, deep)


def _of_nameless(thing: Feature, attribute: str, made: Made) -> Any:
    """What the metal parts without a name, of each turn of an `each`, offer together: the first
    that offers it, with its like of the other turns."""
    found: dict[str, list[Any]] = {}
    for name, member in thing.members.items():
        if name.startswith(NAMELESS) and isinstance(member, Feature) and member.bodies():
            value = None if attribute in SIDES else look(member, attribute, made)[0]
            if isinstance(value, Places | Lines):
                found.setdefault(re.sub(r" \d+$", "", member.name), []).append(value)
    return joined(next(iter(found.values()))) if found else None


def parts(thing: Any, kind: str, made: Made) -> list[str]:
    """The names of those of its parts that can be read as ``kind``."""
    if not isinstance(thing, Feature):
        return []
    return [name for name in _offered(thing).offers if as_kind(look(thing, name, made)[0], kind) is not None]


def _figure(places: Places, attribute: str) -> tuple[Any, Missing | None]:
    if attribute == "count":
        return number(len(places)), None
    if attribute in places.figures:
        values = places.figures[attribute]
        if len(values) > 1 and float(np.ptp(values)) > 1e-9:
            why = f"the {attribute} differs from place to place; ask it of one, with pick()"
            return None, Missing(why=why)
        return (angle if attribute in ANGLES else length)(values[0]), None
    for name, axis in (("right", 0), ("up", 1), ("out", 2)):
        if attribute == name and len(places) == 1:
            return length(places.frames[0, axis, 3]), None
    if attribute in ("right", "up", "out"):
        return None, Missing(why=f"there are {len(places)} places; ask one of them, with pick()")
    asked = "count", "right", "up", "out", "hole", "overhang", "half-way", "root", "rail", "above-hole"
    return None, Missing("a place", (*places.figures, *asked))


def _of_line(line: Line, attribute: str) -> tuple[Any, Missing | None]:
    offers = path_offers(line)
    if attribute in offers:
        return offers[attribute](), None
    return None, Missing("a path", tuple(offers))


def _offered(feature: Feature) -> Missing:
    members = [name for name in feature.members if not name.startswith(NAMELESS)]
    names = list(dict.fromkeys((*members, *feature.offers, *(name for name, _ in _inner(feature)))))
    if has_stones(feature):
        names += [name for name in STONE_ASKS if name not in names]
    if feature.bodies():
        names += [name for name in SIDES if name not in names]
    return Missing(feature.name, tuple(names))
