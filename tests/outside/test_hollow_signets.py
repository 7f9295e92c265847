"""Signets hollowed from the finger: the metal left, measured on the mesh against what the line says.

A wall is thick as the distance from the skin of the hollow to the outside (elementary geometry); the metal saved is
the hollow's part of the solid head, which the exact kernel takes out of it."""

from __future__ import annotations

import numpy as np
import pytest
from manifold3d import Manifold
from scipy.spatial import cKDTree
from texts import built, codes, made, solid_of

from posy.compiler.making.weights import saved_by_hollowing, weigh

INSIDE = 19.0
SHANK = f"signet s: inside {INSIDE} mm, height 3 mm, wide 6 mm, thick 2.1 mm, taper 4 x 1.7 mm"


def _skin(text: str) -> tuple[np.ndarray, np.ndarray, Manifold]:
    """Spots evenly over the skin of a piece (n, 3), which line each is of (n,), and the solid."""
    (part,) = built(text, check_metal=False).parts
    corners = part.points[part.triangles]
    area = np.linalg.norm(np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1) / 2
    rng = np.random.default_rng(1)
    which = rng.choice(len(area), 90_000, p=area / area.sum())
    shares = rng.random((len(which), 2))
    shares[shares.sum(axis=1) > 1] = 1 - shares[shares.sum(axis=1) > 1]
    spots = corners[which, 0] + (shares[:, :, None] * (corners[which, 1:] - corners[which, :1])).sum(axis=1)
    solid = solid_of(part)
    return spots, part.owner[which], solid


@pytest.mark.parametrize(
    ("table", "profile"),
    [("oval 12 x 14 mm", "flat"), ("cushion 13 x 11 mm", "d"), ("rectangle 14 x 10 mm, corner 1 mm", "court"), ("round 12 mm", "flat"),
     ("heart 12 x 12 mm", "flat")],
)  # fmt: skip
def test_the_walls_of_a_hollow_signet_are_as_thick_as_told(table: str, profile: str) -> None:
    head = f"{SHANK}, {table}, profile {profile}"
    spots, owner, solid = _skin(f"{head}\nhollow h: in s, wall 0.9 mm, roof 1.1 mm")
    inner, radius = spots[owner == 1], np.hypot(spots[:, 0], spots[:, 2])
    outer = spots[(owner == 0) & (radius > INSIDE / 2 + 0.4)]
    apart, _ = cKDTree(outer).query(inner)
    assert apart.min() >= 0.86
    assert inner[:, 2].max() == pytest.approx(INSIDE / 2 + 3 - 1.1, abs=1e-6)  # the roof
    assert len(solid.decompose()) == 1 and solid.genus() == 1  # one ring, open to the finger alone


def test_what_hollowing_saves_is_what_the_solid_one_weighs_more() -> None:
    head = f"{SHANK}, oval 12 x 14 mm"
    solid, hollow = built(head, check_metal=False), built(f"{head}\nhollow h: in s, wall 0.9 mm, roof 1.1 mm")
    (full, _), (less, _) = weigh(solid), weigh(hollow)
    assert full is not None and less is not None
    assert saved_by_hollowing(solid, full) == 0
    assert saved_by_hollowing(hollow, less) == pytest.approx(full.grams - less.grams, abs=1e-6)
    assert full.grams - less.grams > full.grams * 0.1
    assert not codes(hollow)


def test_a_shank_too_narrow_to_hollow_the_head_is_told() -> None:
    text = SHANK.replace("wide 6", "wide 2.6") + ", round 12 mm\nhollow h: in s, wall 0.9 mm, roof 1.1 mm"
    (fault,) = made(text).faults
    assert fault.code == "wall-too-thick" and fault.limit == "under 0.8 mm"
