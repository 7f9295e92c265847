"""Bent metal: facets lie as the bent surface does, few of them, and a closed joint is whole.

The surface compared with is the closed form of the bend: a cylinder round y, its radii those of
the finger and of the strip's thickness; volumes by Pappus and Guldinus (Bronshtein and
Semendyayev, Handbook of Mathematics, from memory)."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh
from test_shapes_words import fault_codes
from texts import built, volume

SEATED = (
    "workpiece strip\n  bar ground: size 58.6 x 3.8 x 2.2 mm\n"
    "  stone row: princess 2 x 2 mm, gem garnet, at face of ground, row 3, gap 0.2 mm\n"
    "  seat: for row, in ground\n"
)
RING = "bend ring: of strip, inside 16.92 mm, closed"
TURN = 3.0  # degrees: half of what a chord of 5 microns turns here is 1.8


def facets(text: str) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Corners (n, 3, 3), unit normals and sizes of a piece's facets."""
    (part,) = built(text, check_metal=False).parts
    corners = part.points[part.triangles]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    size = np.linalg.norm(normal, axis=1)
    return corners, normal / np.maximum(size, 1e-300)[:, None], size / 2


def lean_of(corners: np.ndarray, normals: np.ndarray, out: float) -> np.ndarray:
    """Degrees between facets and the way straight away from the finger (1) or to it (-1)."""
    way = corners.mean(axis=1) * (1, 0, 1)
    way = out * way / np.linalg.norm(way, axis=1, keepdims=True)
    return np.degrees(np.arccos(np.clip((normals * way).sum(axis=1), -1, 1)))


@pytest.mark.parametrize(("radius", "out"), [(8.46 + 2.2, 1.0), (8.46, -1.0)])
def test_facets_of_a_bent_strip_face_as_the_cylinder_does(radius: float, out: float) -> None:
    corners, normals, _ = facets(SEATED + RING)
    away = np.hypot(corners[:, :, 0], corners[:, :, 2])
    on = (np.abs(away - radius) < 0.02).all(axis=1)
    assert on.sum() > 200
    assert lean_of(corners[on], normals[on], out).max() < TURN


def test_a_bent_strip_has_few_more_facets_than_the_flat_one() -> None:
    flat, bent = len(facets(SEATED)[0]), len(facets(SEATED + RING)[0])
    # A plain strip takes eight facets to a chord, two to each of its four sides.
    chords = 2 * np.pi / (2 * np.arccos(1 - 0.005 / 10.66)) / 0.9
    assert bent < 1.2 * flat + 8 * 2 * chords


def test_facets_of_a_dome_face_as_the_ball_does() -> None:
    corners, normals, _ = facets("disc d: across 14 mm, thick 1 mm\ndap b: of d, ball 24 mm")
    middle = np.array([0.0, 0.0, 1.0 - 13.0])
    away = corners - middle
    on = (np.abs(np.linalg.norm(away, axis=2) - 13.0) < 0.02).all(axis=1)
    way = away[on].mean(axis=1)
    way /= np.linalg.norm(way, axis=1, keepdims=True)
    lean = np.degrees(np.arccos(np.clip((normals[on] * way).sum(axis=1), -1, 1)))
    assert on.sum() > 500
    assert lean.max() < TURN


@pytest.mark.parametrize("rest", ["", ", bevel 0.6 mm", ", corner 1 mm, soften 0.5 mm, rims both"])
def test_a_closed_joint_is_whole(rest: str) -> None:
    text = f"bar strip: size 60.7 x 6 x 2 mm{rest}\nbend ring: of strip, inside 17.32 mm, closed"
    (part,) = built(text, check_metal=False).parts
    mesh = trimesh.Trimesh(part.points, part.triangles, process=False)
    assert mesh.is_watertight
    assert mesh.body_count == 1
    assert part.error < 0.001 * part.volume
    back = part.points[part.points[:, 2] < -8]
    at_joint = np.abs(back[:, 0]) < 1e-9
    assert np.ptp(back[at_joint][:, 1]) == pytest.approx(6, abs=0.001)
    assert back[at_joint][:, 2].min() == pytest.approx(-10.66, abs=0.001)


def test_a_bevelled_strip_closed_is_the_bevelled_ring() -> None:
    ring = "\nbend ring: of strip, inside 17.32 mm, closed"
    made = volume("bar strip: size 60.7 x 6 x 2 mm, bevel 0.6 mm" + ring, check_metal=False)
    corner, arm = 0.6**2 / 2, 10.66 - 0.2
    known = 2 * np.pi * (12 * 9.66 - 2 * corner * arm)
    # The strip is fitted round: its length is stretched by as much as it was short.
    assert made == pytest.approx(known, rel=2e-4)


def test_ends_that_cannot_be_made_whole_are_told() -> None:
    edge = (
        "path edge: closed, through (-29, -2 mm) to (29, -2 mm) to (29, 2 mm) to (-29, 2 mm)\n"
        "plate strip: outline edge, thick 1.4 mm{}\nbend ring: of strip, inside 17 mm, closed"
    )
    assert fault_codes(edge.format(", soften 0.4 mm")) == ["open-joint"]
    assert fault_codes(edge.format("")) == []
