"""leans: a piece that hangs crooked."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ...bench.roles import Role
from ...judging.digits import above, below, mm, place
from ...judging.posts import bows_of
from ...judging.rule import Level, Rule, Verdict

if TYPE_CHECKING:
    from ...judging.hanging import Loop
    from ...judging.piece import Piece
    from ...judging.posts import Bow
    from ...measures.kinds import Floats

UP, BACK, LEVEL = np.array([0.0, 1.0, 0.0]), np.array([0.0, 0.0, -1.0]), np.array([1.0, 0.0, 1.0])
CLEAR = 2.0  # mm, a tip that comes down nearer to its root lies before or behind by nothing


def _check(piece: Piece) -> Iterator[Verdict]:
    yield from _ear_wires(piece)
    for casting, rest in piece.casting_measures.rests:
        if rest.hang.flips:
            continue  # see top-heavy
        lean, loop = rest.hang.tilt_side, rest.loops[-1]
        bound = piece.bound("leans", "most", loop.feature)
        if above(abs(lean), bound):
            off = float(casting.centre[1][0] - loop.middle[0])
            side = "right" if lean > 0 else "left"
            one = len(rest.loops) == 1
            yield Verdict(
                f"it hangs crooked, its {side} side low",
                loop.feature,
                f"{abs(lean):.1f} degrees",
                f"{bound:g} degrees or less",
                _move(piece, loop, off, side) if one else "set both loops level",
                abs(lean),
                bound,
                keys=("right", "left", "up", "down"),
                place=place(casting.centre[1]),
            )


def _ear_wires(piece: Piece) -> Iterator[Verdict]:
    """Ear wires whose bow does not look up, and those that come down before what they carry."""
    for bow in bows_of(piece):
        bound = piece.bound("leans", "bow", bow.feature)
        off = _between(bow.up, UP)
        across = bow.tail * LEVEL  # the way its tip lies from its root, seen from above
        before = 180.0 - _between(across, BACK) if _carries(piece, bow) else 180.0
        if above(off, bound):
            looks, remedy = _looking(bow.up), _upright(piece, bow)
            told = f"this ear wire does not stand upright: its bow looks {looks}"
        elif np.linalg.norm(across) > CLEAR and below(before, bound):
            off, remedy = 180.0 - before, "stand it at a place that looks to the front, not at a back"
            told = "this ear wire comes down in front: worn, the face looks to the neck"
        else:
            continue
        yield Verdict(
            told, bow.feature, f"{off:.0f} degrees off", f"{bound:g} degrees or less", remedy, off, bound,
            keys=("at", "turn"), place=place(bow.top),
        )  # fmt: skip


def _between(one: Floats, other: Floats) -> float:
    """The angle between two ways (3,), degrees; a right angle where one of them has no length."""
    size = float(np.linalg.norm(one) * np.linalg.norm(other))
    return float(np.degrees(np.arccos(np.clip(one @ other / size, -1.0, 1.0)))) if size > 1e-9 else 90.0


def _looking(way: Floats) -> str:
    """The side of the piece that a way (3,) looks to most."""
    axis = int(np.argmax(np.abs(way)))
    return (("to the left", "to the right"), ("down", "up"), ("to the back", "to the front"))[axis][
        int(way[axis] > 0)
    ]


def _carries(piece: Piece, bow: Bow) -> bool:
    """Whether an ear wire is of one body with metal that has a face, not with findings and rings alone."""
    castings = piece.casting_measures
    body = castings.body_at(bow.top)
    owners = [one for one in castings.bodies[body].shell.owners if one >= 0] if body is not None else []
    return any(not piece.is_for(one, Role.FINDING) and piece.features[one].opening is None for one in owners)


def _upright(piece: Piece, bow: Bow) -> str:
    """How to stand an ear wire up: at an end that looks up, or turned about its place where that does it."""
    x, y, z = piece.features[bow.feature].frames[0, :, :3].T
    remedy = "stand it at an end that looks up ('top' and 'right' turn with their part)"
    if abs(z[1]) > 0.1 or abs(z @ bow.up) > 0.1:
        return remedy
    more = np.degrees(np.arctan2(y @ UP, x @ UP) - np.arctan2(y @ bow.up, x @ bow.up))
    return f"{remedy}, or turn it there: 'turn {(more + 180.0) % 360.0 - 180.0:.0f} deg' more"


def _move(piece: Piece, loop: Loop, off: float, side: str) -> str:
    """Where to put the loop: further to a side of the piece; or, where its place looks sideways, so
    that the clauses for that go by other names, at an end that looks up."""
    turned = piece.features[loop.feature].frames[0, :, 0]
    if turned[0] > 0.5 or abs(turned[0]) < abs(turned[1]):
        own = "down" if (turned[1] > 0) == (side == "right") else "up"
        there = "" if abs(turned[0]) > 0.5 else f": at its place that is '{own} {mm(abs(off))}'"
        return f"move the loop {mm(abs(off))} to the {side}{there}"
    return (
        "its place looks to the left: hang it at an end that looks up. 'top' and 'right' turn with their "
        "part: what is to stand upright is drawn so, as oval 18 x 24 mm, without a turn"
    )


RULE = Rule(
    "leans",
    "The piece hangs crooked.",
    "metal",
    Level.WARNING,
    "On one loop a piece turns until its centre of mass is straight below; on two it hangs as "
    "level as they are set.",
    "Put the loop over the centre of mass, or both loops level.",
    "elementary statics; the figure is common practice, no source",
    _check,
)
