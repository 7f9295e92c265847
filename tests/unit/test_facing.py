"""Which way a line looks, whichever end it is drawn from, and how smoothly it flows.

Closed forms: a wire's volume is its section times the length of its middle line, mitred corners
included (Pappus and Guldinus; Bronshtein and Semendyayev, from memory)."""

from __future__ import annotations

import numpy as np
import pytest
from texts import built, volume

from posy.compiler.geometry.facing import faced
from posy.compiler.geometry.frames import identity
from posy.compiler.geometry.smooth import smooth

ARCHES = {
    "cathedral": "(8.6, 0, 1.5 mm) to (8.3, 0, 4.6 mm) to (6.4, 0, 9.2 mm) to (3.6, 0, 12.7 mm)",
    "in space": "(-9, -3, 1 mm) to (-6, -1, 8 mm) to (0, 0, 10 mm) to (7, 2, 6 mm) to (9, 3, -2 mm)",
    "upright": "(20, -4, 3 mm) to (21, 0, 7 mm) to (20, 4, 9 mm)",
    "at the side": "(9, 0, -3 mm) to (9.6, 0, 0 mm) to (9.4, 0, 3 mm)",
    "hook": "(0, 0, -1 mm) to (0, 4, 3 mm) to (0, 8, 0 mm) to (0, 4, -5 mm)",
}


def spots_of(text: str) -> np.ndarray:
    rows = [spot.strip("() m").replace(" mm", "") for spot in text.split(" to ")]
    return np.array([[float(part) for part in row.split(",")] for row in rows])


@pytest.mark.parametrize("where", ["", ", edgewise", ", facing up", ", facing away"])
@pytest.mark.parametrize("spots", ARCHES.values(), ids=ARCHES)
def test_the_same_line_from_either_end_makes_the_same_solid(spots: str, where: str) -> None:
    from manifold3d import Manifold, Mesh64

    made = []
    for ends in (spots, " to ".join(spots.split(" to ")[::-1])):
        text = f"path a: through {ends}, smooth{where}\nwire w: along a, half-round 2 x 1.4 mm"
        (part,) = built(text, check_metal=False).parts
        triangles = part.triangles.astype(np.uint64)
        made.append(Manifold(Mesh64(np.array(part.points), triangles)))
    assert (made[0] - made[1]).volume() < 0.005 * made[0].volume()


def outs(points: np.ndarray, closed: bool = False, facing: str | None = None) -> np.ndarray:
    return faced(points, closed, identity()[0], facing).outs


@pytest.mark.parametrize("turns", [1.0, 1.5])
def test_a_line_round_the_finger_looks_away_from_it(turns: float) -> None:
    t = np.linspace(-np.pi * turns, np.pi * turns, 200)
    helix = np.stack([9 * np.sin(t), t, 9 * np.cos(t)], axis=1)
    away = helix * (1, 0, 1) / 9
    assert ((outs(helix) * away).sum(axis=1) > 0.999).all()
    assert ((outs(helix[::-1])[::-1] * away).sum(axis=1) > 0.999).all()
    assert ((outs(helix, facing="finger") * away).sum(axis=1) < -0.999).all()


def test_stones_on_an_upright_cuff_look_away_from_the_wrist() -> None:
    spots = [(28 * np.sin(t), 23 * np.cos(t)) for t in np.radians(np.arange(-140, 141, 14))]
    for way in (1, -1):
        run = " to ".join(f"({x:.4f}, 0, {z:.4f} mm)" for x, z in spots[::way])
        text = (
            f"path cuff: smooth, through ({run})\nwire rail: along cuff, flat 5 x 3 mm\n"
            "stone row: round 2 mm, gem sapphire, along cuff, number 9, out 1.5 mm"
        )
        stones = built(text, check_metal=False).stones
        assert len(stones) == 9
        for stone in stones:
            assert stone.frame[:, 2] @ stone.frame[:, 3] > 0.8 * np.linalg.norm(stone.frame[:, 3])


def test_a_line_drawn_flat_looks_to_the_onlooker() -> None:
    points = np.array([(0, 0, 1), (4, 2, 1), (8, 0, 1)], dtype=float)
    assert outs(points) == pytest.approx(np.tile([0, 0, 1], (3, 1)))
    # In its own plane it can look up, at right angles to itself all along.
    up = outs(points, facing="up")
    assert up[1] == pytest.approx([0, 1, 0])
    assert (up[:, 1] > 0.8).all()


def test_an_upright_ring_beside_the_middle_looks_outward_from_its_own_middle() -> None:
    t = np.linspace(0, 2 * np.pi, 60, endpoint=False)
    ring = np.stack([30 + 0 * t, 5 * np.cos(t), 5 * np.sin(t)], axis=1)
    for points in (ring, ring[::-1]):
        made = (points - (30, 0, 0)) / 5
        assert (outs(points, True) * made).sum(axis=1) == pytest.approx(np.ones(60), abs=1e-3)


def test_sections_do_not_twist_along_a_line_in_space() -> None:
    t = np.linspace(0, 3, 100)
    points = np.stack([t, np.sin(t), t**2 / 3], axis=1)
    ways = np.gradient(points, axis=0)
    ways /= np.linalg.norm(ways, axis=1, keepdims=True)
    made = outs(points)
    assert np.abs((made * ways).sum(axis=1)).max() < 0.02
    turn = np.degrees(np.arccos(np.clip((made[1:] * made[:-1]).sum(axis=1), -1, 1)))
    bend = np.degrees(np.arccos(np.clip((ways[1:] * ways[:-1]).sum(axis=1), -1, 1)))
    assert turn.max() < 1.5 * bend.max()


@pytest.mark.parametrize("plane", ["(0, {a}, {b} mm)", "({a}, {b}, 0 mm)", "({a}, 0, {b} mm)"])
def test_mitred_corners_keep_the_volume_in_every_plane(plane: str) -> None:
    corner = [(2, 2), (10, 2), (10, 12)]
    run = " to ".join(plane.format(a=a, b=b) for a, b in corner)
    made = volume(f"path l: through {run}\nwire w: along l, square 1 mm", check_metal=False)
    assert made == pytest.approx(18, rel=1e-4)


def bends(path: np.ndarray, closed: bool) -> np.ndarray:
    """The radius of the circle through each three points in a row."""
    points = np.concatenate([path[-1:], path, path[:1]]) if closed else path
    a, b, c = points[:-2], points[1:-1], points[2:]
    sides = [np.linalg.norm(q - p, axis=1) for p, q in ((a, b), (b, c), (a, c))]
    return np.asarray(np.prod(sides, axis=0) / 2 / np.linalg.norm(np.cross(b - a, c - b), axis=1))


def circle(angles: np.ndarray) -> np.ndarray:
    return 10 * np.stack([np.cos(angles), np.sin(angles), 0 * angles], axis=1)


def test_eight_spots_on_a_circle_flow_as_the_circle() -> None:
    path = smooth(circle(np.arange(8) * np.pi / 4), closed=True)
    assert np.linalg.norm(path, axis=1) == pytest.approx(np.full(len(path), 10), rel=0.002)
    assert bends(path, True) == pytest.approx(np.full(len(path), 10), rel=0.06)


@pytest.mark.parametrize("count", [3, 4, 6])
def test_spots_on_an_arch_flow_as_its_circle(count: int) -> None:
    path = smooth(circle(np.linspace(0.3, 2.2, count)), closed=False)
    assert np.linalg.norm(path, axis=1) == pytest.approx(np.full(len(path), 10), rel=0.004)
    assert bends(path, False) == pytest.approx(np.full(len(path) - 2, 10), rel=0.09)
