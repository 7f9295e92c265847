"""Engraved strokes that run along the edge of their face and nick it, with one side past it."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from ..bench.roles import Role
from .digits import rounded_down, rounded_up
from .figure_rule import Reading
from .mark_faces import on_face

if TYPE_CHECKING:
    from ..geometry.line import Line
    from ..measures.kinds import Flags, Floats, Ints
    from ..measures.skin import Skin
    from .piece import Piece

APART = 0.1  # mm between the spots looked at along a stroke
SHARES = np.linspace(-1.0, 1.0, 41)  # of half its width, from one side of it to the other


def nicks(piece: Piece) -> Iterator[Reading]:
    """Strokes of the text's own lines, a part of which goes past the side of its face and comes back."""
    for feature, call in piece.with_role(Role.ENGRAVING):
        if not (call.given("along") and call.given("stroke")) or call.trail or call.get("raised"):
            continue
        half, deep, skin = float(call.get("stroke")) / 2, float(call.get("deep")), piece.skin_measures.skin
        found = [_past(skin, line.fine(APART), half, deep) for line in feature.look("path").lines]
        past, at = max(found, key=lambda one: one[0], default=(0.0, None))
        if past:
            yield Reading(
                feature.index, past, at, find="nick", cure=partial(_farther_in, piece, feature.index, past)
            )


def _past(skin: Skin, line: Line, half: float, deep: float) -> tuple[float, Floats]:
    """How far at most a stroke ``half`` mm to either side of its line reaches past one side of its face, and
    where; 0 where it runs right out over the edge, or on all its way along it as a bevel does."""

    def on(side: Floats, some: Ints) -> Flags:
        at = line.points[some] + (side * half)[:, None] * line.lefts()[some]
        return on_face(skin, at, line.outs[some], -deep, False)

    every = np.arange(len(line.points))
    off = np.stack([~on(np.full(len(every), side), every) for side in (1.0, -1.0)])
    some = np.flatnonzero(_comes_back(off[0] | off[1], off[0] & off[1], line.closed))
    if not len(some):
        return 0.0, line.points[0]
    sides = np.where(off[0, some], 1.0, -1.0)
    least = np.max([np.where(on(share * sides, some), share, -1.0) for share in SHARES], axis=0)
    worst = int(least.argmin())
    side = sides[worst] * half * line.lefts()[some[worst]]
    return float((1.0 - least[worst]) * half), line.points[some[worst]] + side


def _comes_back(past: Flags, out: Flags, closed: bool) -> Flags:
    """Which of the spots along a line, ``past`` its face with one side, are of a run that begins and ends on
    the face and is nowhere right ``out`` of it, (n,)."""
    if past.all() or not past.any():
        return np.zeros(len(past), dtype=bool)
    start = int(np.argmin(past)) if closed else 0  # a closed line is looked at from a spot on its face
    own, gone = np.roll(past, -start), np.roll(out, -start)
    run = np.cumsum(np.diff(own, prepend=False) & own)
    bad = set(run[own & gone].tolist())
    bad |= set() if closed else {int(run[k]) for k in (0, -1) if own[k]}
    return np.roll(own & ~np.isin(run, sorted(bad)), start)


def _farther_in(piece: Piece, line: int, past: float, _: float) -> str:
    """What keeps a stroke off the edge of its face."""
    rim, call = float(piece.bound("printer-detail", "least", line)), piece.call(line)
    course, stroke = piece.course(line), float(call.get("stroke")) - 2 * (past + rim)
    sway = None if course is None else piece.call(course).get("sway")
    ways = []
    if course is not None and sway:
        ways += [f"write sway {rounded_down(sway - past - rim)} in the line of {piece.name_of(course)}"]
    ways += [f"write stroke {rounded_down(stroke)}"] if stroke > float(call.get("stroke")) / 2 else []
    return "; or ".join([*ways, f"lay its path {rounded_up(past + rim)} farther in"])
