"""The plainest kernel script over a plan: the same solids, one batch boolean for each step.

What a programmer would write who knows the kernel and nothing of posy: each shape made once,
copied to its frames; bodies that the same cuts reach are one solid; nothing kept, nothing
looked at beforehand. It gives the yardstick, not the truth: tests/unit hold the metal to that."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
from manifold3d import Manifold, Mesh64, OpType

from posy.compiler.bench.plan import casting_of
from posy.compiler.geometry.bend import Bend
from posy.compiler.shapes.makers import make

Steps = Sequence[Any]


def build(steps: Steps, metal: str, tolerance: float) -> list[Manifold]:
    """The solid of each alloy, forced; where alloys of one casting meet the later yields."""
    solids: dict[str, Manifold] = {}
    for label, solid in _alloys(steps, metal, tolerance, {}).items():
        others = [solids[one] for one in solids if casting_of(one) == casting_of(label)]
        solids[label] = Manifold.batch_boolean([solid, *others], OpType.Subtract)
        solids[label].status()
    return [*solids.values()]


def _alloys(steps: Steps, metal: str, tolerance: float, shapes: dict[str, Manifold]) -> dict[str, Manifold]:
    hits: dict[int, list[int]] = {step.body: [] for step in steps if step.work == "add"}
    started: set[int] = set()
    for number, step in enumerate(steps):
        if step.work == "add":
            started.add(step.body)
            continue
        for body in started if step.into is None else started & {*step.into}:
            hits[body].append(number)
    done: dict[tuple[str, tuple[int, ...]], Manifold] = {}
    for number, step in enumerate(steps):
        for alloy, copies in _copies(step, metal, tolerance, shapes).items():
            if step.work == "add":
                key = alloy, tuple(hits[step.body])
                copies = [done[key], *copies] if key in done else copies
                done[key] = Manifold.batch_boolean(copies, OpType.Add)
                continue
            for key in done:
                if number in key[1]:
                    done[key] = Manifold.batch_boolean([done[key], *copies], OpType.Subtract)
    names = dict.fromkeys(alloy for alloy, _ in done)
    return {
        name: Manifold.batch_boolean([done[key] for key in done if key[0] == name], OpType.Add)
        for name in names
    }


def _copies(
    step: Any, metal: str, tolerance: float, shapes: dict[str, Manifold]
) -> dict[str, list[Manifold]]:
    """A step's solids by alloy, each at its frames."""
    shape = step.shape
    if shape.steps:
        inner = _alloys(shape.steps, metal, tolerance, shapes)
        if shape.kind == "bent":
            inner = {name: _bent(solid, shape.figures, tolerance) for name, solid in inner.items()}
    else:
        if shape.digest() not in shapes:
            mesh = make(shape.kind, shape.figures, tolerance)
            shapes[shape.digest()] = Manifold(Mesh64(mesh.points, mesh.triangles.astype(np.uint64)))
        inner = {step.metal or metal: shapes[shape.digest()]}
    return {name: [solid.transform(f) for f in step.frames] for name, solid in inner.items()}


def _bent(flat: Manifold, figures: tuple[Any, ...], tolerance: float) -> Manifold:
    """Flat metal bent; a ring's ends are joined by cutting it opposite to them."""
    bend = Bend(*figures)
    chord = 2 * math.acos(max(-1.0, 1 - tolerance / (bend.radius + bend.thick))) * bend.neutral
    parts = flat.split_by_plane((1.0, 0.0, 0.0), 0.0) if bend.closed else (flat,)
    bent = [part.refine_to_length(max(chord, 0.05)).warp_batch(bend.apply) for part in parts]
    return Manifold.batch_boolean(bent, OpType.Add)
