"""Copies that meet are joined, those that surely do not are one mesh."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh
from scipy.spatial.transform import Rotation

from posy.compiler.bench.plan import Shape
from posy.compiler.metal.copies import Copies, placed, solids_of
from posy.compiler.metal.kernel import Patch, join, solid_of
from posy.compiler.metal.locality import apart, colours, met, pairs
from posy.compiler.metal.owners import LEAST_ID, Owner
from posy.compiler.shapes.makers import make


@pytest.mark.parametrize("seed", range(5))
def test_boxes_of_one_colour_never_meet(seed: int) -> None:
    dice = np.random.default_rng(seed)
    low = dice.uniform(0, 10, (300, 3))
    boxes = np.concatenate([low, low + dice.uniform(0.1, 1.5, (300, 3))], axis=1)
    meet = (boxes[:, None, :3] <= boxes[None, :, 3:]).all(axis=2)
    meet &= meet.T
    found = pairs(boxes)
    assert found is not None
    assert {tuple(sorted(p)) for p in found.tolist()} == {
        (i, j) for i in range(300) for j in range(i + 1, 300) if meet[i, j]
    }
    colour = colours(found, len(boxes))
    assert not (meet & (colour[:, None] == colour[None]) & ~np.eye(300, dtype=bool)).any()
    reached = met(boxes[:200], boxes[200:])
    assert reached is not None and np.array_equal(reached, meet[:200, 200:].any(axis=1))


def test_copies_that_meet_are_not_put_into_one_solid() -> None:
    """One mesh of overlapping copies is taken by the kernel without a word and has too much
    volume; the union of two balls half a diameter apart is known (two caps: pi h2 (3 r - h) / 3)."""
    mesh = make("ball", (2.0,), 0.001)
    frames = np.repeat(np.eye(3, 4)[None], 3, axis=0)
    frames[:, 0, 3] = (0.0, 1.0, 9.0)
    solids = solids_of([Copies(Owner("k", 1 << 27, 0, 0, Shape("ball", (2.0,))), mesh, frames)])
    ball, cap = 4 / 3 * np.pi, np.pi * 0.5**2 * (3 - 0.5) / 3
    assert join(solids).volume() == pytest.approx(3 * ball - 2 * cap, rel=6e-3)


@pytest.mark.parametrize("seed", range(3))
def test_hulls_told_apart_are_apart(seed: int) -> None:
    """Balls and rods at any angle: what is told apart has no common metal by the kernel, and balls
    (where the distance of the middles tells) are told apart but for a hair."""
    dice = np.random.default_rng(seed)
    ball, rod = make("ball", (1.0,), 0.01), trimesh.creation.box((0.4, 0.4, 2))
    turns = Rotation.random(200, random_state=seed).as_matrix()
    frames = np.concatenate([turns, dice.uniform(-1.2, 1.2, (200, 3, 1))], axis=2)
    one, other = frames[:100], frames[100:]
    told = apart(ball.points, one, ball.points, other)
    middles = frames[:, :, 3] + 0.5 * frames[:, :, 2]  # a ball stands on its origin
    gap = np.linalg.norm(middles[:100] - middles[100:], axis=1)
    assert not told[gap < 0.98].any() and told[gap > 1.02].all()
    told = apart(ball.points, one, rod.vertices, other)
    rod = Patch(rod.vertices, rod.faces, np.arange(len(rod.faces)), 0)
    assert 20 < told.sum() < 95
    for k in np.flatnonzero(told):
        both = [solid_of([placed(m, f[None], LEAST_ID)]) for m, f in ((ball, one[k]), (rod, other[k]))]
        assert (both[0] ^ both[1]).is_empty()
