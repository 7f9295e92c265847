"""What hangs by links in a body of metal: its weight, and where that bears. Lengths mm, weights g.

A free link carries no moment: all that hangs in a loop pulls straight down on it, and on a round one by way
of its middle (elementary statics, without friction)."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from typing import TYPE_CHECKING

import numpy as np

from ..measures.closest import nearest
from .nearness import between

if TYPE_CHECKING:
    from ..measures.kinds import Floats
    from .joints import Joint
    from .piece import Piece


def _beside(joints: Iterable[Joint]) -> dict[int, list[int]]:
    """The bodies by number that each of some holds to."""
    beside: dict[int, list[int]] = {}
    for joint in joints:
        beside.setdefault(joint.one, []).append(joint.two)
        beside.setdefault(joint.two, []).append(joint.one)
    return beside


def reached(joints: Iterable[Joint], start: Iterable[int], without: Iterable[int]) -> frozenset[int]:
    """The bodies by number that hold together with those of ``start``, by way of none of ``without``."""
    beside = _beside(joints)
    closed = set(without)
    waiting, found = [one for one in start if one not in closed], set[int]()
    while waiting:
        here = waiting.pop()
        if here not in found:
            found.add(here)
            waiting += [one for one in beside.get(here, ()) if one not in closed]
    return frozenset(found)


def strand(joints: Iterable[Joint], links: Collection[int], first: int) -> tuple[list[int], int | None]:
    """The ``links`` of a chain by number, in order from the ``first``, up to where it parts or ends, and what
    the last one hangs in."""
    beside = _beside(joints)
    found = [first]
    while len(ahead := [k for k in beside[found[-1]] if k in links and k not in found]) == 1:
        found += ahead
    return found, next((k for k in beside[found[-1]] if k not in links), None)


def weight_of(piece: Piece, bodies: Iterable[int]) -> tuple[float, Floats]:
    """Weight and centre of mass (3,) of bodies by number, each with its stones."""
    weights = [piece.casting_measures.weights[k] for k in bodies]
    grams = sum(one for one, _ in weights)
    return grams, sum((one * at for one, at in weights), np.zeros(3)) / max(grams, 1e-12)


def hung_in(piece: Piece, here: int, holders: Iterable[int]) -> list[tuple[frozenset[int], Floats]]:
    """All that hangs by links in body ``here`` and in what is soldered to it: bodies by number, and where
    their weight bears (3,). What hangs together with ``holders`` it hangs in itself."""
    joints = piece.casting_measures.joints
    frame = reached((joint for joint in joints if joint.how == "soldered"), [here], ())
    found: dict[frozenset[int], list[Floats]] = {}
    for joint in joints:
        ends = [joint.one, joint.two]
        if (joint.one in frame) == (joint.two in frame):
            continue
        (inner,) = (one for one in ends if one in frame)
        bodies = reached(joints, [one for one in ends if one != inner], frame)
        if bodies.isdisjoint(holders):
            found.setdefault(bodies, []).append(bears_at(piece, joint, inner))
    loads = []
    for bodies, spots in found.items():
        grams, centre = weight_of(piece, bodies)
        at = _between(centre, spots)
        if grams and centre[1] < at[1]:
            loads.append((bodies, at))
    return loads


def bears_at(piece: Piece, joint: Joint, body: int) -> Floats:
    """Where one body of a joint of links bears or is borne (3,): at the middle of its ring; in a hole
    where the top or the bottom of the other's ring is nearest; without a ring where they touch."""
    own = [line.mean(axis=0) for one, line in joint.rings if one == body]
    if own:
        return np.asarray(own[0])
    bodies = piece.casting_measures.bodies
    if not joint.rings:
        return np.asarray(between(bodies[joint.one].skin, bodies[joint.two].skin).at)
    line, skin = joint.rings[0][1], bodies[body].skin
    ends = line[[int(line[:, 1].argmax()), int(line[:, 1].argmin())]]
    return np.asarray(min(ends, key=lambda spot: nearest(skin, spot)[0]))


def _between(centre: Floats, spots: list[Floats]) -> Floats:
    """Where a weight with that centre bears on one spot, or on the outermost two: with the lever of each."""
    left, right = (way(spots, key=lambda spot: float(spot[0])) for way in (min, max))
    wide = right[0] - left[0]
    part = float(np.clip((centre[0] - left[0]) / wide, 0.0, 1.0)) if wide > 1e-6 else 0.5
    return (1.0 - part) * left + part * right
