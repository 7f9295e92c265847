"""What is asked of the metal of things on the bench as it is now: its sides, ends, walls and claws."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import partial, reduce
from typing import NamedTuple

import numpy as np

from ..geometry import frames as fr
from ..geometry.outlines import trace
from ..shapes.wire_face import WireFace
from .by_girdles import claws_round, wall_round
from .edge_rows import Edge, along_course, along_edge
from .feature import Feature, Lines, Places
from .hung import openings
from .lumps import lumps, metal_of
from .plan import Step, casting_of, labels_of
from .settled import is_of, over_holes, right_away, settled, settled_lines
from .sides import SIDES, is_one, side
from .stone_rows import StoneSet
from .things import grouped, indices

ENDS = "top", "bottom", "right", "left", "ends"
ON_LOOP = 0.05  # mm off the wire of a loop, a place on it
ABOUT = -0.99  # cosine, from which an end looks the other way
FLAT, STEP = 1e-6, 0.02  # mm, by which flat wire rises, and between the spots of it
SQUARE = 1e-3  # of one, by which a way of a place may rise that is level
LEVEL = 0.6  # mm before or behind a place, metal lies at its height
LOOKS_UP = 0.9  # of a unit, how far the z of what looks up or down goes that way
FACES = "face", "back", "foot", "tip", "shoulders"  # places that look straight away from the metal there


class Made(NamedTuple):
    """What has been made so far: the steps of each part under way, the outermost first, and which work on a
    face, or take away an end; the stones, and those swivelled or turned, as frames (n, 3, 4) and
    degrees; the part that a step made the metal of, unless it is a finding or bought."""

    steps: list[list[Step]]
    faces: Callable[[Step], bool]
    ends: Callable[[Step], bool]
    swivels: Callable[[], Iterator[tuple[np.ndarray, float, float]]]
    stones: list[StoneSet]
    cast: Callable[[Step], Feature | None]


def edge_at(places: Places, thing: Feature, made: Made) -> Edge | None:
    """How the edge of a part's metal runs on from the one place that is an end of it."""
    wire = thing.surface
    if len(places) == 1 and len(thing.frames) == 1 and isinstance(wire, WireFace) and wire.section == "round":
        return partial(along_course, wire.line.moved(thing.frames[0]), places.frames[0])
    own = indices(thing)
    steps = steps_of(own, made)
    return (lambda far: along_edge(metal_of(steps, own), places.frames[0], far)) if len(places) == 1 else None


def on_loops(places: Places, thing: Feature) -> Places:
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


def on_metal(lines: Lines, thing: Feature, made: Made) -> Lines:
    """``lines`` of a feature on its metal as that is now."""
    own = indices(thing)
    return settled_lines(lines, steps_of(own, made), own, made.faces, made.ends) if thing.bodies() else lines


def steps_of(own: set[int], made: Made) -> list[Step]:
    """The steps of the part under way, the innermost, in which the features ``own`` added metal."""
    return next((steps for steps in reversed(made.steps) if any(is_of(one, own) for one in steps)), [])


def outward(places: Places, ends: bool, made: Made) -> Places:
    """Each place so turned that its x, as at ``ends``, or its z, as on a face, points away from the metal."""
    right = np.full(len(places), places.inside)
    if not (places.on_face or places.inside):
        looked = places.frames if places.found is None else places.found
        steps = made.steps[-1]
        own = places.own if any(is_of(one, places.own) for one in steps) else None
        right = right_away(steps, own, looked, made.ends, ends)
    if places.stood is not None:  # an end turned about, so that its x points back into an opening, say
        right |= (places.frames[:, :, 0] * places.stood[:, :, 0]).sum(axis=1) < ABOUT
    turned = right != ends
    frames, found = places.frames.copy(), None if places.found is None else places.found.copy()
    for one in (frames, found):
        if one is not None:  # round in turn, so that the same side stays before the same other
            one[turned, :, :3] = np.roll(one[turned, :, :3], 1 if ends else -1, axis=2)
    return replace(places, frames=frames, ends=ends, on_face=not ends, found=found)


def metal_at(places: Places, made: Made) -> Feature | None:
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
    return reduce(grouped, (parts[k] for k in level or parts)) if parts else None


def _joined_steps(made: Made) -> list[list[Step]]:
    """What has been made so far, without castings that stand apart."""
    return [[one for one in steps if not any(map(casting_of, labels_of([one])))] for steps in made.steps]


def claws_of(stones: Feature, made: Made) -> Places:
    """Where claws stand by the girdles of stones."""
    found = [
        claws_round(steps, frame, trace(stones.kind(k).outline, 0.02))
        for k, frame in enumerate(stones.frames) for steps in _joined_steps(made)
    ]  # fmt: skip
    sizes = {key: np.concatenate([places.figures[key] for places in found]) for key in ("wide", "past")}
    return Places(np.concatenate([places.frames for places in found]), sizes)


def vees(claws: Places) -> float:
    """How far claws reach out from a girdle, mm, where vees with wings along it or pairs are among them,
    which a nook of two stones does not take; else 0."""
    wide, past = claws.figures["wide"], claws.figures["past"]
    spots = claws.frames[:, :, 3]
    apart = np.linalg.norm(spots[:, None] - spots, axis=2) + np.diag(np.full(len(spots), np.inf))
    broad = (wide > 2 * past) | (apart.min(axis=1, initial=np.inf) < 2 * wide)
    return float(past.max()) if broad.any() else 0.0


def wall_of(stones: Feature, made: Made) -> float:
    """How far the widest wall round one of the stones stands out from its girdle, mm."""
    outlines = [trace(stones.kind(k).outline, 0.02) for k in range(len(stones.frames))]
    return max(
        wall_round(steps, frame, outline)
        for steps in _joined_steps(made)
        for frame, outline in zip(stones.frames, outlines, strict=True)
    )


def side_of(thing: Feature, attribute: str, made: Made) -> Places | None:
    """A side of a feature's metal, of a wheel that of the whole; None if it has none."""
    if attribute not in SIDES:
        return None
    if attribute == "origin":
        return thing.places()
    own = indices(thing) | (indices(thing.first) if thing.first else set())
    steps = steps_of(own, made)
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
        row = thing.frames[:, :, 3] if loose and len(thing.frames) > 2 else _course(thing)
        places = side(attribute, metal, frames, in_turn=thing.source is not None, row=row)
    if attribute == "centre":
        return places
    if attribute == "back":
        places = replace(places, frames=over_holes(steps, own, places.frames))
    return settled(replace(places, ends=attribute in ENDS), steps, own, made.faces, made.ends)


def _course(thing: Feature) -> np.ndarray | None:
    """Spots (n, 3) along open wire that lies flat and turns by less than a right angle, on whose metal its
    face and back are found; the middle of what goes farther round is in the air, as that of a hoop."""
    line = thing.surface.line if isinstance(thing.surface, WireFace) else None
    if line is None or line.closed or np.ptp(line.points[:, 2]) > FLAT:
        return None
    if line.chords()[0] @ line.chords()[-1] <= 0:
        return None
    return np.concatenate([fr.apply(frame, line.fine(STEP).points) for frame in thing.frames])


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


def upright(frames: np.ndarray, made: Made, any_place: bool = False) -> np.ndarray:
    """Frames (n, 3, 4) where settings stand, without the `swivel` of their stones, and without the `turn` of
    those at an upright place (or ``any_place``): the top of a halo is above, however its stone was turned."""
    upright = frames.copy()
    for stones, swivel, turn in made.swivels():
        for k in range(len(frames)):
            if (np.abs(stones - frames[k]).max(axis=(1, 2)) < 1e-9).any():
                level = fr.compose(frames[k : k + 1], fr.turned(2, -swivel - turn))[0]
                stands = any_place or (abs(level[1, 0]) < SQUARE and level[1, 1] > SQUARE)
                upright[k] = level if stands else fr.compose(frames[k : k + 1], fr.turned(2, -swivel))[0]
    return upright
