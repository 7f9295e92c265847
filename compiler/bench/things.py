"""What may be asked of the things on the bench: their places, lines, stones and parts, by name."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import reduce
from typing import Any, NamedTuple

import numpy as np

from ...lang.bench import NAMELESS, Missing
from ...lang.values import Point, Quantity, Sequence
from ..geometry import frames as fr
from ..geometry.joined_outlines import combined
from ..geometry.line import Line
from ..geometry.outlines import trace
from .edge_rows import Edge, along_edge
from .feature import ANGLES, Drawn, Feature, Lines, Places, angle, joined, length, number
from .hung import openings
from .near_places import half_way, overhang, rooted
from .path import path_offers
from .plan import Step, casting_of, labels_of
from .settled import above_hole, hole_behind, is_of, over_holes, right_away, settled, settled_lines
from .sides import SIDES, claws_round, is_one, lumps, metal_of, side, wall_round
from .stone_rows import GROUP, STONE_ASKS, StoneSet, again, merged

ENDS = "top", "bottom", "right", "left", "ends"
WAYS = ENDS[:4]  # where its metal ends: no path inside it answers for that
ON_LOOP = 0.05  # mm off the wire of a loop, a place on it
LEVEL = 0.6  # mm before or behind a place, metal lies at its height
LOOKS_UP = 0.9  # of a unit, how far the z of what looks up or down goes that way
FACES = "face", "back", "foot", "tip", "shoulders"  # places that look straight away from the metal there


class Made(NamedTuple):
    """What has been made so far: the steps of each part under way, the outermost first, and which work on a
    face, or take away an end; the stones, and those swivelled where they stand, as frames (n, 3, 4) and
    degrees; the part that a step made the metal of, unless it is a finding or bought."""

    steps: list[list[Step]]
    faces: Callable[[Step], bool]
    ends: Callable[[Step], bool]
    swivels: Callable[[], Iterator[tuple[np.ndarray, float]]]
    stones: list[StoneSet]
    cast: Callable[[Step], Feature | None]


def look(thing: Any, attribute: str, made: Made) -> tuple[Any, Missing | None]:
    """``attribute of thing``, of which what is ``made`` tells where its metal is."""
    value, missing = _looked(thing, attribute, made)
    if isinstance(value, Places) and attribute in (*ENDS, *FACES):
        value = replace(value, ends=attribute in ENDS, on_face=attribute in FACES)
        if isinstance(thing, Feature):
            value = replace(value, own=frozenset(indices(thing)))
        if attribute in ENDS and isinstance(thing, Feature):
            value = replace(_on_loops(value, thing), edge=_edge_at(value, thing, made))
    return value, missing


def _edge_at(places: Places, thing: Feature, made: Made) -> Edge | None:
    """How the edge of a part's metal runs on from the one place that is an end of it."""
    own = indices(thing)
    steps = _steps_of(own, made)
    return (lambda far: along_edge(metal_of(steps, own), places.frames[0], far)) if len(places) == 1 else None


def _on_loops(places: Places, thing: Feature) -> Places:
    """Places that lie outermost on loops of a part, with the `inside` and `wire` of those, mm, and how far
    their holes look off toward you, where a chain is laid flat, `lies` degrees: 90 of one on edge."""
    loops = [(one.opening, frame) for one, frames in openings(thing) if one.opening for frame in frames]
    found = [next((one for one in loops if _outermost(*one, at)), None) for at in places.frames]
    told = [one for one in found if one is not None]
    if not told or len(told) < len(found):
        return places
    cosine = np.abs([loop[2, 2] for _, loop in told])
    figures = {
        "inside": np.array([inside for (inside, _), _ in told]),
        "wire": np.array([wire for (_, wire), _ in told]),
        "lies": np.degrees(np.arccos(np.minimum(cosine, 1.0))),
    }
    return replace(places, figures={**places.figures, **figures})


def _outermost(opening: tuple[float, float], frame: np.ndarray, at: np.ndarray) -> bool:
    """Whether a spot lies on the outer half of the wire of a loop, which may lie aslant to it."""
    own = fr.apply(fr.inverse(frame), at[None, :, 3])[0]
    past = float(np.hypot(own[0], own[1])) - sum(opening) / 2
    return past > 0 and bool(abs(np.hypot(past, own[2]) - opening[1] / 2) < ON_LOOP)


def _looked(thing: Any, attribute: str, made: Made) -> tuple[Any, Missing | None]:
    if isinstance(thing, Quantity):
        return None, Missing(why="a figure has no parts")
    if isinstance(thing, Places):
        stone = thing.stone()
        if attribute == "claws" and stone is not None:
            return _claws_round(stone, made), None
        value = None if stone is None else stone.look(attribute)
        if attribute == "places":
            return thing, None
        if attribute in ("face", "ends"):
            return _outward(thing, attribute == "ends", made), None
        if attribute == "edge":
            turn = fr.turned(2, 90.0 * (thing.ends or thing.of_line))
            return replace(thing, frames=fr.compose(thing.frames, turn), ends=False, of_line=False), None
        if attribute == "overhang":
            return length(overhang(made.stones, thing.frames)), None
        if attribute == "half-way":
            return length(half_way(made.stones, thing.frames)), None
        if attribute == "root":
            metal = [one.corners for one in lumps(made.steps[-1], None)] or [np.zeros((0, 3, 3))]
            # What was moved since is moved from its root.
            home = thing.frames if thing.found is None else thing.found
            go = (rooted(made.stones, np.concatenate(metal), home) - home)[:, :, 3]
            frames = thing.frames.copy()
            frames[:, :, 3] += go
            moved = float(-(go * frames[:, :, 2]).sum(axis=1).min(initial=0.0))
            return replace(thing, frames=frames, figures={"moved": np.full(len(frames), moved)}), None
        if attribute == "above-hole":
            return replace(thing, frames=above_hole(made.steps[-1], thing.frames)), None
        if attribute == "metal":
            value = _metal_at(thing, made)
            return value, None if value else Missing(why="there is no metal yet, above this line")
        if attribute == "hole":
            return length(hole_behind(made.steps[-1], thing.frames)), None
        return _look_places(thing, attribute) if value is None else (value, None)
    if isinstance(thing, Lines):
        return _look_line(thing.lines[0], attribute)
    if not isinstance(thing, Feature):
        return None, Missing(describe(thing))
    if attribute in thing.members:
        return thing.members[attribute], None
    if attribute in STONE_ASKS and has_stones(thing):
        found = STONE_ASKS[attribute](stones_in(thing) or thing)
        found = Missing(why=found) if isinstance(found, str) else found
        return (None, found) if isinstance(found, Missing) else (found, None)
    if attribute == "wall" and has_stones(thing):
        return length(_wall_round(stones_in(thing) or thing, made)), None
    if attribute in ("claws", "vees") and has_stones(thing):
        claws = _claws_round(stones_in(thing) or thing, made)
        return (claws if attribute == "claws" else length(_vees_round(claws))), None
    if attribute == "places":
        return _places_of(thing)
    value = _of_sum(thing, attribute, made) if thing.word == GROUP else None
    value = _offered_by(thing, attribute, made) if value is None else value
    if value is not None:
        return value, None
    for name, member in _inner(thing):  # a word's own named parts answer for it
        if name == attribute:
            return member, None
        if attribute in member.offers and (member.bodies() or attribute not in WAYS):
            return _offered_by(member, attribute, made), None
    value = _of_nameless(thing, attribute, made) or _side(thing, attribute, made)
    value = thing.figures.get(attribute) if value is None else value
    return (None, _offered(thing)) if value is None else (value, None)


def _of_sum(thing: Feature, attribute: str, made: Made) -> Any:
    """What parts put together offer: a side of all their metal, or each its own places or paths."""
    if attribute in SIDES and thing.bodies():
        return _side(thing, attribute, made)
    if attribute in thing.offers:
        return None
    found = [look(one, attribute, made)[0] for one in _members(thing)]
    for kind in (Places, Lines):
        alike = [value for value in found if isinstance(value, kind)]
        if alike:
            return joined(alike)
    return None


def _offered_by(thing: Feature, attribute: str, made: Made) -> Any:
    """What a feature offers, places and lines on its metal as that is now."""
    value, own = thing.look(attribute), indices(thing)
    if isinstance(value, Lines):
        return on_metal(value, thing, made)
    if thing.bodies() and isinstance(value, Places) and attribute in (*ENDS, *FACES):
        value = replace(value, ends=attribute in ENDS)
        return settled(value, _steps_of(own, made), own, made.faces, made.ends)
    return value


def on_metal(lines: Lines, thing: Feature, made: Made) -> Lines:
    """``lines`` of a feature on its metal as that is now."""
    own = indices(thing)
    return settled_lines(lines, _steps_of(own, made), own, made.faces, made.ends) if thing.bodies() else lines


def _steps_of(own: set[int], made: Made) -> list[Step]:
    """The steps of the part under way, the innermost, in which the features ``own`` added metal."""
    return next((steps for steps in reversed(made.steps) if any(is_of(one, own) for one in steps)), [])


def _outward(places: Places, ends: bool, made: Made) -> Places:
    """Each place so turned that its x, as at ``ends``, or its z, as on a face, points away from the metal."""
    right = np.full(len(places), places.inside)
    if not (places.on_face or places.inside):
        looked = places.frames if places.found is None else places.found
        steps = made.steps[-1]
        own = places.own if any(is_of(one, places.own) for one in steps) else None
        right = right_away(steps, own, looked, made.ends, ends)
    turned = right != ends
    frames, found = places.frames.copy(), None if places.found is None else places.found.copy()
    for one in (frames, found):
        if one is not None:  # round in turn, so that the same side stays before the same other
            one[turned, :, :3] = np.roll(one[turned, :, :3], 1 if ends else -1, axis=2)
    return replace(places, frames=frames, ends=ends, on_face=not ends, found=found)


def _metal_at(places: Places, made: Made) -> Feature | None:
    """The parts of metal, put together, that reach the plane in which the first of the places lies; all of
    them where none does."""
    home, high = fr.inverse(places.frames[0]), dict[int, list[np.ndarray]]()
    parts = {}
    for step in made.steps[-1]:
        part = made.cast(step) if step.work == "add" else None
        if part is not None:
            parts[step.feature] = part
            high.setdefault(step.feature, []).extend(
                fr.apply(home, one.corners.reshape(-1, 3))[:, 2] for one in lumps([step], None)
            )
    ends = {k: (min(map(np.min, spots)), max(map(np.max, spots))) for k, spots in high.items() if spots}
    level = [k for k, (low, top) in ends.items() if low < LEVEL and top > -LEVEL]
    return reduce(_group, (parts[k] for k in level or parts)) if parts else None


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


def _joined_steps(made: Made) -> list[list[Step]]:
    """What has been made so far, without castings that stand apart."""
    return [[one for one in steps if not any(map(casting_of, labels_of([one])))] for steps in made.steps]


def _claws_round(stones: Feature, made: Made) -> Places:
    """Where claws stand by the girdles of stones."""
    found = [
        claws_round(steps, frame, trace(stones.kind(k).outline, 0.02))
        for k, frame in enumerate(stones.frames) for steps in _joined_steps(made)
    ]  # fmt: skip
    sizes = {key: np.concatenate([places.figures[key] for places in found]) for key in ("wide", "past")}
    return Places(np.concatenate([places.frames for places in found]), sizes)


def _vees_round(claws: Places) -> float:
    """How far claws reach out from a girdle, mm, where vees with wings along it or pairs are among them,
    which a nook of two stones does not take; else 0."""
    wide, past = claws.figures["wide"], claws.figures["past"]
    spots = claws.frames[:, :, 3]
    apart = np.linalg.norm(spots[:, None] - spots, axis=2) + np.diag(np.full(len(spots), np.inf))
    broad = (wide > 2 * past) | (apart.min(axis=1, initial=np.inf) < 2 * wide)
    return float(past.max()) if broad.any() else 0.0


def _wall_round(stones: Feature, made: Made) -> float:
    """How far the widest wall round one of the stones stands out from its girdle, mm."""
    outlines = [trace(stones.kind(k).outline, 0.02) for k in range(len(stones.frames))]
    return max(
        wall_round(steps, frame, outline)
        for steps in _joined_steps(made)
        for frame, outline in zip(stones.frames, outlines, strict=True)
    )


def _side(thing: Feature, attribute: str, made: Made) -> Places | None:
    """A side of a feature's metal, of a wheel that of the whole; None if it has none."""
    if attribute not in SIDES:
        return None
    if attribute == "origin":
        return thing.places()
    own = indices(thing) | (indices(thing.first) if thing.first else set())
    steps = _steps_of(own, made)
    metal = metal_of(steps, own)
    if not metal:
        return None
    if thing.hub is not None:
        places = side(attribute, metal, thing.hub)
    else:
        loose = thing.is_bundle and (not thing.stands or is_one(metal, thing.frames))
        frames = fr.identity() if loose else upright(thing.frames, made)
        if attribute in ("top", "bottom"):
            frames = raised(frames) if thing.at_end else tipped_back(frames)
        row = thing.frames[:, :, 3] if loose and len(thing.frames) > 2 else None
        places = side(attribute, metal, frames, in_turn=thing.source is not None, row=row)
    if attribute == "centre":
        return places
    if attribute == "back":
        places = replace(places, frames=over_holes(steps, own, places.frames))
    return settled(replace(places, ends=attribute in ENDS), steps, own, made.faces, made.ends)


def raised(frames: np.ndarray) -> np.ndarray:
    """Frames (n, 3, 4) turned about their own z until y points up as far as it can: the top of what stands
    at an end is above, though its x points away from that end."""
    angles = np.degrees(np.arctan2(-frames[:, 1, 0], frames[:, 1, 1]))
    level = np.hypot(frames[:, 1, 0], frames[:, 1, 1]) < 0.5
    turns = [fr.turned(2, 0.0 if flat else float(angle)) for flat, angle in zip(level, angles, strict=True)]
    return fr.compose(frames, np.concatenate(turns))


def tipped_back(frames: np.ndarray) -> np.ndarray:
    """Frames (n, 3, 4), those that look up or down turned about their own x until y points up: the top of a
    cup that looks down on the pearl it holds is above."""
    tips = np.where(np.abs(frames[:, 1, 2]) > LOOKS_UP, 90.0 * np.sign(frames[:, 1, 2]), 0.0)
    return fr.compose(frames, np.concatenate([fr.turned(0, float(tip)) for tip in tips]))


def upright(frames: np.ndarray, made: Made) -> np.ndarray:
    """Frames (n, 3, 4) where settings stand, without the `swivel` of their stones: the top of a halo is
    above, whichever way its stone was swivelled."""
    upright = frames.copy()
    for stones, swivel in made.swivels():
        for k in range(len(frames)):
            if (np.abs(stones - frames[k]).max(axis=(1, 2)) < 1e-9).any():
                upright[k] = fr.compose(frames[k : k + 1], fr.turned(2, -swivel))[0]
    return upright


def _places_of(feature: Feature) -> tuple[Any, Missing | None]:
    """``places of feature``."""
    places = feature.places()
    why = f"{feature.name} has no place of its own; ask one of its parts"
    return (None, Missing(why=why)) if places is None else (places, None)


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
    rows = [row for member in _members(feature) if (row := stones_in(member)) is not None]
    return merged(feature, rows) if rows else None


def _members(feature: Feature) -> Iterator[Feature]:
    """The parts of a feature; what is put together with + again and again is one sum of all."""
    for member in feature.members.values():
        if isinstance(member, Feature):
            summed = feature.word == member.word == GROUP
            yield from _members(member) if summed else (member,)


def parts(thing: Any, kind: str, made: Made) -> list[str]:
    """The names of those of its parts that can be read as ``kind``."""
    if not isinstance(thing, Feature):
        return []
    return [name for name in _offered(thing).offers if as_kind(look(thing, name, made)[0], kind) is not None]


def spots(thing: Any) -> list[Places] | list[Lines] | None:
    """Single places of a list of places, or paths of several; a path by itself is gone along whole."""
    if isinstance(thing, Lines):
        return [Lines((line,)) for line in thing.lines] if len(thing.lines) > 1 else None
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
        return _group(first, second)
    if operator == "+" and isinstance(first, Places) and isinstance(second, Places):
        return joined([first, second])
    return _outlines(first, operator, second)


def _group(first: Feature, second: Feature) -> Feature:
    """Two parts, or lines of stones, as one: as a path, the outline that their rims have together."""
    frames = np.concatenate([first.frames, second.frames])
    group = Feature(f"{first.name} + {second.name}", GROUP, -1, frames)
    group.stands, group.members = False, {first.name: first, second.name: second}
    group.stones = (*first.stones, *second.stones)
    lines = None if group.stones else _outlines(first, "+", second)
    if lines is not None:
        group.offers["rim"] = lambda: Drawn(lines.lines)
    return group


def _outlines(first: Any, operator: str, second: Any) -> Lines | None:
    a, b = as_kind(first, "path"), as_kind(second, "path")
    if not isinstance(a, Lines) or not isinstance(b, Lines):
        return None
    lines = combined(a.lines, operator, b.lines)
    return Lines(lines) if lines else None


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
    found = {feature.index}
    for member in feature.members.values():
        if isinstance(member, Feature):
            found |= indices(member)
    return found


def has_stones(feature: Feature) -> bool:
    """Whether a feature, or any part of it, has stones."""
    return bool(feature.stones) or any(
        isinstance(member, Feature) and has_stones(member)
        for member in feature.members.values()
    )


def _look_places(places: Places, attribute: str) -> tuple[Any, Missing | None]:
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
    asked = "count", "right", "up", "out", "hole", "overhang", "half-way", "root", "above-hole"
    return None, Missing("a place", (*places.figures, *asked))


def _look_line(line: Line, attribute: str) -> tuple[Any, Missing | None]:
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
