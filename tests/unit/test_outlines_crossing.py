"""Outlines that cross themselves, told from those that run once round."""

from __future__ import annotations

import math

import numpy as np
import pytest

from posy.compiler.geometry.outlines import crosses_itself
from posy.compiler.judging.edges import Neighbours, reach


def _star(points: int, step: int) -> np.ndarray:
    """A star drawn in one go: every ``step``-th corner of a regular polygon."""
    angles = 2 * math.pi * step * np.arange(points) / points
    return np.stack([np.cos(angles), np.sin(angles)], axis=1)


@pytest.mark.parametrize("points", [3, 4, 7, 200])
def test_a_regular_polygon_crosses_nothing_either_way_round(points):
    assert not crosses_itself(_star(points, 1))
    assert not crosses_itself(_star(points, 1)[::-1])


@pytest.mark.parametrize(("points", "step"), [(5, 2), (7, 2), (7, 3), (9, 4)])
def test_a_star_turns_one_way_and_crosses_itself_all_the_same(points, step):
    assert crosses_itself(_star(points, step))


def test_dents_and_loops():
    heart = np.array([(0, 0), (2, 2), (1, 3), (0, 2), (-1, 3), (-2, 2)], dtype=float)
    eight = np.array([(0, 0), (2, 2), (2, 0), (0, 2)], dtype=float)
    assert not crosses_itself(heart)
    assert crosses_itself(eight)


def test_neighbours_pass_over_far_bodies_only():
    class Body:
        """What Neighbours asks of a feature."""

        def __init__(self, x: float) -> None:
            self.outline, self.low, self.high = ("circle", 4.0), 0.0, 1.0
            self.frames = np.zeros((1, 3, 4))
            self.frames[0, 0, 3] = x

    bodies = [Body(0.0), Body(10.0), Body(5.0)]
    assert reach(("circle", 4.0)) == pytest.approx(2.0, abs=1e-2)
    near = Neighbours(bodies).near(np.array([[2.6, 0.0, 0.0]]), 0.5)
    assert near == [bodies[0], bodies[2]]
    assert Neighbours([]).near(np.zeros((1, 3)), 1.0) == []
