"""Stones of an outline of one's own: closed, as large as geometry says, held by what holds other stones.

Volumes: prismatoid and half ellipsoid, elementary geometry (each level is the girdle made smaller, so its
area goes with the square). Solids are read by manifold3d, metal by trimesh, which know nothing of cuts."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from manifold3d import Manifold, Mesh64
from texts import built, codes, made

from posy.stdlib.cuts import CUTS, as_deep
from posy.stdlib.cuts.outline import called
from posy.stdlib.cuts.step import CROWN, THREE, levels

KITE = [(-4.5, 0), (-1.5, -3), (4.5, 0), (-1.5, 3)]
SHIELD = [(0, -5), (2.5, -3), (4, 0), (4, 4), (2, 3.5), (0, 4.5), (-2, 3.5), (-4, 4), (-4, 0), (-2.5, -3)]
TRIANGLE = [(4, 0), (-2, 3.4641), (-2, -3.4641)]
HEXAGON = [(3.5, 0), (1.75, 3), (-1.75, 3), (-3.5, 0), (-1.75, -3), (1.75, -3)]
FREE = [(round((9 + np.cos(3 * t)) * np.cos(t), 6), round((6 + np.sin(2 * t)) * np.sin(t), 6))
        for t in np.linspace(0, 2 * np.pi, 120, endpoint=False)]  # fmt: skip
POLYGONS = {"kite": KITE, "shield": SHIELD, "triangle": TRIANGLE, "hexagon": HEXAGON}


def area(points: list[tuple[float, float]]) -> float:
    return abs(sum(a * d - b * c for (a, b), (c, d) in itertools.pairwise([*points, points[0]]))) / 2


def solid(cut: str, points: list[tuple[float, float]]) -> Manifold:
    long, wide = np.ptp(np.array(points, float), axis=0)
    facets = CUTS[cut].facets(float(long), float(wide))
    one = Manifold(Mesh64(np.array(facets.points), facets.triangles().astype(np.uint64)))
    assert one.genus() == 0 and not one.is_empty()
    return one


def frusta(points: list[tuple[float, float]]) -> float:
    """Volume of a step cut over a polygon: its girdle, and a frustum for each tier."""
    wide = float(np.ptp(np.array(points, float)[:, 1]))
    p, whole = CUTS["hexagon"].proportions, 0.0
    for tiers, height, level in ((CROWN, p.crown, p.table), (THREE, p.pavilion, 0.0)):
        ends = [(1.0, 0.0), *((1 - (1 - level) * way, z) for way, z in levels(tiers, height * wide))]
        whole += sum((b - a) * (s * s + s * t + t * t) / 3 for (s, a), (t, b) in itertools.pairwise(ends))
    return area(points) * (whole + p.girdle * wide)


@pytest.mark.parametrize("name", POLYGONS)
def test_a_faceted_stone_over_a_polygon_is_as_large_as_its_frusta(name: str):
    points = POLYGONS[name]
    assert solid(called(np.array(points, float)), points).volume() == pytest.approx(frusta(points), rel=1e-4)


def test_the_hexagon_of_the_table_is_that_of_its_outline():
    drawn, named = called(np.array(HEXAGON, float)), CUTS["hexagon"].facets(7.0, 6.0)
    assert solid(drawn, HEXAGON).volume() == pytest.approx(named.volume(), rel=1e-6)
    by_factor = CUTS["hexagon"].carats(7.0, 6.0, density=1.0)
    assert by_factor == pytest.approx(named.volume() / 200, rel=1e-3)


@pytest.mark.parametrize("points", [*POLYGONS.values(), FREE], ids=[*POLYGONS, "free"])
def test_a_dome_and_a_flat_stone_are_as_large_as_geometry_says(points):
    cut = called(np.array(points, float))
    wide = float(np.ptp(np.array(points, float)[:, 1]))
    long = float(np.ptp(np.array(points, float)[:, 0]))
    p = CUTS[cut + "-dome"].shares(wide)
    half = area(points) * (p.girdle + 2 * p.crown / 3) * wide
    assert solid(cut + "-dome", points).volume() == pytest.approx(half, rel=0.01)
    assert solid(f"{cut}-tablet@.3@0@0", points).volume() == pytest.approx(area(points) * 0.3 * wide, rel=2e-3)
    deep = CUTS[as_deep(CUTS[cut + "-dome"], long, wide, 0.3 * wide)]
    assert deep.total_depth(long, wide) == pytest.approx(0.3 * wide, rel=1e-6)


def test_a_bowed_outline_is_faceted_within_its_cone():
    """Its facets leave less than the smooth stone (that of very many sides), and little less."""
    stone = solid(called(np.array(FREE)), FREE).volume()
    assert 0.97 * frusta(FREE) < stone < frusta(FREE)


@pytest.mark.parametrize(
    ("points", "claws", "points_of"),
    [(KITE, 4, 4), (TRIANGLE, 3, 3), (HEXAGON, 6, 0), (FREE, 3, 0),
     ([(4 * np.cos(t), 4 * np.sin(t)) for t in np.linspace(0, np.pi, 90)], 4, 2)],
    ids=["kite", "triangle", "hexagon", "free", "half-moon"],
)  # fmt: skip
def test_claws_stand_on_corners_and_leave_no_half_free(points, claws, points_of):
    cut = CUTS[called(np.array(points, float))]
    size = [float(one) for one in np.ptp(np.array(points, float), axis=0)]
    rows, sharp = cut.corners(*size), cut.sharp(*size)
    assert (len(rows), sum(sharp)) == (claws, points_of)
    assert (np.diff([*rows[:, 2], rows[0, 2] + 360]) < 179).all()


EDGES = {
    "kite": "closed, through (-4.5, 0) to (-1.5, -3) to (4.5, 0) to (-1.5, 3 mm)",
    "half-moon": "closed, through (-4, 0) to (4, 0) over (0, 4 mm)",
    "free": "closed, smooth, through (6, 0.5) to (1, 4) to (-5.5, 2.5) to (-4.5, -3) to (1.5, -4 mm)",
    "octagon": "polygon 8, across 8 mm, turn 22.5 deg",
    "shield": "closed, through (0, -5) to (3.5, 0) to (3.5, 3) to (0, 4) to (-3.5, 3) to (-3.5, 0 mm)",
}
HELD = {
    "bezel": "{stone}\nbezel cup: for one",
    "basket": "{stone}\nbasket head: for one",
    "claws": "{stone}\ndisc low: across 16 mm, thick 1.2 mm, inward 6.5 mm\nprong claws: for one, foot 6 mm, splay 0 deg",
    "flush": "bar plate: size 16 x 14 x 7 mm\n{stone}, on plate, level table\nflush rim: for one, in plate",
}


@pytest.mark.parametrize("edge", EDGES)
@pytest.mark.parametrize("held", HELD)
def test_settings_hold_stones_of_any_outline(held: str, edge: str):
    built(f"path edge: {EDGES[edge]}\n" + HELD[held].format(stone="stone one: outline edge, gem sapphire"))


def test_a_cabochon_of_an_own_outline_sits_in_its_bezel_and_on_the_lists():
    text = (f"path edge: {EDGES['free']}\nstone one: outline edge, size 12 x 9 mm, domed, deep 4 mm, gem turquoise\n"
            "bezel cup: for one")  # fmt: skip
    (stone,) = built(text).stones
    assert stone.size == (12.0, 9.0) and stone.cut == "outline-dome"
    assert CUTS[stone.form].total_depth(12.0, 9.0) == pytest.approx(4.0, abs=1e-4)


@pytest.mark.parametrize(
    ("line", "code"),
    [("stone one: outline edge, gem ruby", None),
     ("stone one: outline open, gem ruby", "path-not-closed"),
     ("stone one: outline hollow, gem ruby", "odd-size"),
     ("stone one: outline edge, gem mother-of-pearl", "not-faceted"),
     ("stone one: outline edge, domed, gem mother-of-pearl", None),
     ("stone one: oval 8 x 6 mm, domed, gem turquoise", "odd-size"),
     ("stone one: marquise 8 x 4 mm, domed, gem turquoise", None),
     ("stone one: round 8 mm, size 3 x 3 mm, gem ruby", "clause-idle"),
     ("stone one: outline edge, size 8 x 5 mm to 6 x 4 mm, gem ruby, row 3, gap 0.2 mm", None)],
)  # fmt: skip
def test_what_is_no_stone_is_told(line: str, code: str | None):
    text = (f"path edge: {EDGES['kite']}\npath open: through (0, 0) to (4, 0) to (4, 4 mm)\n"
            "path hollow: closed, through (0, 0) to (8, 0) to (8, 8) to (7, 8) to (7, 1) to (0, 1 mm)\n"
            f"{line}\nbar frame: size 4 x 4 x 1 mm, down 30 mm")  # fmt: skip
    assert codes(made(text, check_metal=False)) == ([code] if code else [])
