"""The ends of a strip that is bent to a closed ring: whole where they meet, as if its rims had been
taken off after soldering."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from ..bench.plan import Shape, Step
from ..geometry import frames as fr
from ..geometry.outlines import trace

NEAR = 1e-6  # mm
SPARE = 1.0  # mm

Ends = tuple[float, float]  # where the strip ends, left and right of the middle, mm


def open_joints(steps: Sequence[Step], ends: Ends, outer: np.ndarray) -> Iterator[int]:
    """The features of bodies whose ends cannot be made whole."""
    for step in steps:
        if step.shape.kind == "part":
            for frame in step.frames:
                yield from open_joints(step.shape.steps, ends, fr.compose(outer, frame[None]))
        elif any(_at_ends(step, outer, ends)) and _long_side(step, outer) is None:
            yield step.feature


def with_whole_ends(steps: Sequence[Step], ends: Ends, outer: np.ndarray) -> tuple[Step, ...]:
    """The steps with each bar that reaches the joint made longer and sawn to length, so that its
    section is whole there."""
    made: list[Step] = []
    for step in steps:
        if step.shape.kind == "part" and len(step.frames) == 1:
            inner = with_whole_ends(step.shape.steps, ends, fr.compose(outer, step.frames))
            made.append(replace(step, shape=replace(step.shape, steps=inner)))
            continue
        reached = _at_ends(step, outer, ends)
        side = _long_side(step, outer) if any(reached) else None
        made += [step] if side is None else _sawn(step, outer, reached, side)
    return tuple(made)


def _taken(step: Step) -> float:
    """How far the rim or the corners of a straight-sided body stand back from its end, mm."""
    outline, *figures = step.shape.figures
    corner = outline[3] if outline[0] == "rectangle" else 0.0
    return float(max(corner, figures[2] if step.shape.kind == "softened" else 0.0))


def _at_ends(step: Step, outer: np.ndarray, ends: Ends) -> tuple[bool, bool]:
    """Whether a straight-sided body with rims or corners taken off reaches the left and the right
    end of the strip."""
    straight = step.work == "add" and step.shape.kind in ("prism", "softened")
    if not straight or len(step.frames) != 1 or _taken(step) <= 0:
        return False, False
    flat = trace(step.shape.figures[0])
    space = np.column_stack([flat, np.zeros(len(flat))])
    along = fr.apply(fr.compose(outer, step.frames)[0], space)[:, 0]
    return abs(along.min() - ends[0]) < NEAR, abs(along.max() - ends[1]) < NEAR


def _long_side(step: Step, outer: np.ndarray) -> int | None:
    """Which side of a bar's outline lies along the strip, 0 or 1; None when none does."""
    along = np.abs(fr.compose(outer, step.frames)[0, 0, :2])
    bar = step.shape.figures[0][0] == "rectangle" and along.max() > 1 - NEAR
    return int(along.argmax()) if bar else None


def _sawn(step: Step, outer: np.ndarray, reached: tuple[bool, bool], side: int) -> list[Step]:
    outline, low, high, *rest = step.shape.figures
    more = _taken(step) + SPARE
    way = np.sign(fr.compose(outer, step.frames)[0, 0, side])
    signs = [sign * way for sign, at in zip((-1, 1), reached, strict=True) if at]
    longer, saw = [*outline], ["rectangle", more + SPARE, more + SPARE, 0.0]
    longer[1 + side] += len(signs) * more
    saw[2 - side] = outline[2 - side] + SPARE

    def moved(by: float) -> np.ndarray:
        shift = fr.shifted(right=by) if side == 0 else fr.shifted(up=by)
        return fr.rounded(fr.compose(step.frames, shift))

    body = replace(
        step,
        shape=replace(step.shape, figures=(tuple(longer), low, high, *rest)),
        frames=moved(sum(signs) * more / 2),
    )
    at = np.concatenate([moved(sign * (outline[1 + side] + more + SPARE) / 2) for sign in signs])
    tool = Shape("prism", (tuple(saw), low - SPARE, high + SPARE))
    return [body, Step("cut", tool, at, -1, "", (step.body,), step.feature)]
