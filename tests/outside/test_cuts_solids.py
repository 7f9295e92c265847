"""Stone meshes against outside geometry libraries.

trimesh (closedness, convexity, volume), scipy's Qhull (convex hull) and manifold3d (a
kernel that refuses meshes that are not closed) each read the same points and triangles."""

from __future__ import annotations

import cmath
import math

import manifold3d
import numpy as np
import pytest
import trimesh
from scipy.spatial import ConvexHull

from posy.stdlib.cuts import CUTS, Cut, tablet

EVERY = pytest.mark.parametrize("cut", CUTS.values(), ids=lambda cut: cut.name)
WIDTHS = 1.5, 6.0, 14.0


def sizes(cut: Cut) -> list[tuple[float, float]]:
    ratios = (*cut.ratios, cut.ratio)
    return [(width * ratio, width) for width in WIDTHS for ratio in ratios]


@EVERY
def test_trimesh_finds_every_stone_closed_and_its_volume_ours(cut: Cut):
    for length, width in sizes(cut):
        facets = cut.facets(length, width)
        mesh = trimesh.Trimesh(facets.points, facets.triangles(), process=False)
        assert mesh.is_watertight and mesh.is_winding_consistent
        assert mesh.euler_number == 2  # one piece without a hole through it
        assert mesh.volume == pytest.approx(facets.volume(), rel=1e-9)
        assert facets.volume() > 0
        assert mesh.is_convex == cut.convex


@EVERY
def test_qhull_wraps_convex_stones_without_adding_anything(cut: Cut):
    for length, width in sizes(cut):
        facets = cut.facets(length, width)
        hull = ConvexHull(facets.points)
        if cut.convex:
            assert hull.volume == pytest.approx(facets.volume(), rel=1e-9)
            assert len(hull.vertices) == len(facets.points)
        else:  # the hull bridges a heart's cleft
            assert hull.volume > 1.005 * facets.volume()


@EVERY
def test_the_solid_kernel_takes_every_stone(cut: Cut):
    for length, width in sizes(cut):
        facets = cut.facets(length, width)
        solid = manifold3d.Manifold(
            manifold3d.Mesh64(np.array(facets.points), facets.triangles().astype(np.uint64))
        )
        assert solid.status() == manifold3d.Error.NoError
        assert solid.genus() == 0 and len(solid.decompose()) == 1
        assert solid.volume() == pytest.approx(facets.volume(), rel=1e-6)


def test_flat_stones_have_the_volume_of_their_solids():
    """Prisms, and frustums by the prismoidal formula (Gieck, Technical Formulae, solid bodies)."""
    corner, deep, bevel = 1.5, 2.0, 0.4
    made = [tablet.called(cut, wide, deep, by, round_) for cut, wide, by, round_ in
            (("rectangle", 10, 0, corner), ("rectangle", 10, bevel, 0), ("round", 9, bevel, 0))]  # fmt: skip
    frustum = bevel / 6 * (14 * 10 + 4 * (14 - bevel) * (10 - bevel) + (14 - 2 * bevel) * (10 - 2 * bevel))
    cone = math.pi * bevel / 3 * (4.5**2 + 4.5 * (4.5 - bevel) + (4.5 - bevel) ** 2)
    exact = [
        (14 * 10 - (4 - math.pi) * corner**2) * deep,
        14 * 10 * (deep - bevel) + frustum,
        math.pi * 4.5**2 * (deep - bevel) + cone,
    ]
    for name, (long, wide), volume in zip(made, ((14, 10), (14, 10), (9, 9)), exact, strict=True):
        assert CUTS[name].facets(long, wide, tolerance=1e-4).volume() == pytest.approx(volume, rel=1e-4)
        assert CUTS[name].carats(long, wide, density=2.6) == pytest.approx(volume * 2.6 / 200, rel=1e-3)


@pytest.mark.parametrize("ratio", [1.0, 1.4])
def test_a_rose_cut_has_the_volume_of_its_pyramid_and_its_prismoid(ratio: float):
    """Over its girdle: a pyramid on six sides, and under it a prismoid down to twelve (Gieck, Technical
    Formulae, solid bodies). Six of its edges meet each corner of the hexagon."""
    width, p = 6.0, CUTS["rose"].proportions
    round_ = [cmath.rect(width / 2, math.pi / 6 * k) for k in range(12)]
    tips = [p.star * at for at in round_[::2]]
    half = [(tip + round_[(2 * k + side) % 12]) / 2 for k, tip in enumerate(tips) for side in (-1, 0, 1)]

    def area(spots: list[complex]) -> float:
        return ratio / 2 * sum((a.conjugate() * b).imag for a, b in zip(spots, spots[1:] + spots[:1], strict=True))

    facets = CUTS["rose"].facets(width * ratio, width, tolerance=1e-4)
    top, base = p.depth * width, 0.6 * p.depth * width
    # A circle stands out over the sides of its twelve: there the girdle is as thin as its wall.
    bow = (1 - math.cos(math.pi / 12)) / (math.cos(math.pi / 12) * (1 - p.star))
    level = (p.girdle * width + bow * base) / (1 + bow)
    solid = manifold3d.Manifold(manifold3d.Mesh64(np.array(facets.points), facets.triangles().astype(np.uint64)))
    over = [solid.trim_by_plane((0, 0, 1), z).volume() for z in (level, base)]
    pyramid = area(tips) * (top - base) / 3
    prismoid = (area(tips) + 4 * area(half) + area(round_)) * (base - level) / 6
    assert over == pytest.approx([pyramid + prismoid, pyramid], rel=2e-4)
    under = solid.volume() - over[0]
    assert p.girdle * width < under / (math.pi / 4 * ratio * width**2) < level
    # Its weight is that volume, at 3.52 g/cm3 and 0.2 g to the carat.
    carats = CUTS["rose"].carats(width * ratio, width, density=3.52)
    assert carats == pytest.approx(solid.volume() * 3.52 / 200, rel=1e-3)


def test_cabochon_and_pearl_close_in_on_their_exact_volumes():
    """Ellipsoid and sphere, calc: chord error falls by 4, so does the missing volume."""
    short = []
    for tolerance in (0.04, 0.01, 0.0025):
        pearl = CUTS["pearl"].facets(8, 8, tolerance=tolerance).volume()
        short.append(1 - pearl / (np.pi / 6 * 512))
        half = CUTS["half-pearl"].facets(8, 8, tolerance=tolerance).volume()
        assert half == pytest.approx(pearl / 2, rel=1e-9)
    assert short[0] > short[1] > short[2] > 0
    assert short[2] < 0.003
    # Half a sphere of 8 mm, 2.7 g/cm3: 2/3 pi r3, in carats of 0.2 g.
    assert CUTS["half-pearl"].carats(8, 8, density=2.7) == pytest.approx(2 / 3 * np.pi * 64 * 2.7 / 200, rel=1e-9)
