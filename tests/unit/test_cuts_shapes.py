"""The meshes of stone cuts: our own promises (frame, symmetry, names, tolerance)."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from posy.stdlib.cuts import CUTS, Cut, Proportions
from posy.stdlib.cuts.model import Size
from posy.stdlib.cuts.solid import Facets, Plane, from_planes

EVERY = pytest.mark.parametrize("cut", CUTS.values(), ids=lambda cut: cut.name)
WIDTH = 6.0


def stone(cut: Cut, **more: float) -> Facets:
    return cut.facets(cut.ratio * WIDTH, WIDTH, **more)


def normal(facets: Facets, face: tuple[int, ...]) -> np.ndarray:
    p = facets.points[list(face)]
    n = np.cross(p[1:-1] - p[0], p[2:] - p[0]).sum(axis=0)
    return n / np.linalg.norm(n)


def closed(facets: Facets) -> bool:
    """Every directed edge once, and its opposite once."""
    edges = [(a, b) for face in facets.faces for a, b in zip(face, face[1:] + face[:1], strict=True)]
    return len(set(edges)) == len(edges) and {(b, a) for a, b in edges} == set(edges)


def same_points(a: np.ndarray, b: np.ndarray) -> bool:
    """Whether two clouds hold the same points, in any order."""
    gap = np.linalg.norm(a[:, None] - b[None], axis=2)
    return bool(gap.min(axis=0).max() < 1e-9 and gap.min(axis=1).max() < 1e-9)


@EVERY
def test_faces_are_planar_closed_and_named(cut: Cut):
    facets = stone(cut)
    assert len(facets.names) == len(facets.faces) and all(facets.names)
    assert closed(facets)
    for face in facets.faces:
        p = facets.points[list(face)]
        assert np.abs((p - p[0]) @ normal(facets, face)).max() < 1e-9 * WIDTH


@EVERY
def test_the_stone_fills_its_length_and_width_about_the_origin(cut: Cut):
    low, high = stone(cut).points.min(axis=0), stone(cut).points.max(axis=0)
    half = np.array([cut.ratio * WIDTH, WIDTH]) / 2
    slack = 0.01 + 1e-9  # the chord error asked for
    assert np.all(np.abs(high[:2] - half) <= slack) and np.all(np.abs(low[:2] + half) <= slack)


@EVERY
@pytest.mark.parametrize("width", [0.8, 1.2, 3.0, 9.0, 20.0])
def test_heights_are_those_of_the_facets(cut: Cut, width: float):
    z = cut.facets(width * cut.ratio, width).points[:, 2]
    assert cut.heights(width * cut.ratio, width) == (min(z.min(), 0.0), z.max())


@EVERY
def test_the_table_faces_up(cut: Cut):
    facets = stone(cut)
    tables = [f for f, n in zip(facets.faces, facets.names, strict=True) if n == "table"]
    assert bool(tables) == (cut.proportions.table > 0)
    for face in tables:
        assert normal(facets, face) == pytest.approx([0, 0, 1], abs=1e-9)
        assert facets.points[list(face), 2] == pytest.approx(facets.points[:, 2].max())


@EVERY
def test_every_cut_is_its_own_image_across_the_length(cut: Cut):
    points = stone(cut).points
    assert same_points(points, points * (1, -1, 1))


@pytest.mark.parametrize("name", [
    "round", "oval", "marquise", "cushion", "princess", "emerald", "square-step", "baguette",
    "cabochon", "pearl", "rose",
])  # fmt: skip
def test_double_cuts_are_their_own_image_along_the_length_too(name: str):
    points = stone(CUTS[name]).points
    assert same_points(points, points * (-1, 1, 1))


@pytest.mark.parametrize(("name", "fold"), [
    ("round", 8), ("cushion", 4), ("princess", 4), ("square-step", 4), ("trillion", 3),
])  # fmt: skip
def test_equal_sided_cuts_turn_into_themselves(name: str, fold: int):
    facets = CUTS[name].facets(WIDTH, WIDTH)
    # A trillion turns about its culet, which is not the middle of its length.
    culet = facets.points[facets.points[:, 2].argmin()] * (1, 1, 0)
    a = 2 * math.pi / fold
    turn = np.array([[math.cos(a), -math.sin(a), 0], [math.sin(a), math.cos(a), 0], [0, 0, 1]])
    points = facets.points - culet
    assert same_points(points, points @ turn.T)


@EVERY
def test_the_outline_keeps_its_chord_error_and_turns_counter_clockwise(cut: Cut):
    length = cut.ratio * WIDTH
    fine = cut.outline(length, WIDTH, tolerance=0.00001)
    rough = cut.outline(length, WIDTH, tolerance=0.02)
    for ring in (fine, rough):
        x, y = ring[:, 0], ring[:, 1]
        assert np.dot(x, np.roll(y, -1)) > np.dot(y, np.roll(x, -1))
    a, b = rough, np.roll(rough, -1, axis=0)
    along = b - a
    t = np.einsum("nij,ij->ni", fine[:, None] - a[None], along) / (along**2).sum(axis=1)
    foot = a + np.clip(t, 0, 1)[..., None] * along
    assert np.linalg.norm(fine[:, None] - foot, axis=2).min(axis=1).max() <= 0.02 + 1e-5


@pytest.mark.parametrize("name", [name for name in CUTS if CUTS[name].proportions.girdle > 0])
def test_the_facet_girdle_lies_on_the_outline(name: str):
    cut = CUTS[name]
    facets = stone(cut)
    used = sorted({k for f, n in zip(facets.faces, facets.names, strict=True) if n == "girdle" for k in f})
    rim = cut.outline(cut.ratio * WIDTH, WIDTH, tolerance=0.0001)
    a, b = rim, np.roll(rim, -1, axis=0)
    along = b - a
    points = facets.points[used][:, :2]
    t = np.einsum("nij,ij->ni", points[:, None] - a[None], along) / (along**2).sum(axis=1)
    foot = a + np.clip(t, 0, 1)[..., None] * along
    assert np.linalg.norm(points[:, None] - foot, axis=2).min(axis=1).max() <= 0.011


@EVERY
def test_prong_places_lie_on_the_outline_and_hold_the_stone(cut: Cut):
    length = cut.ratio * WIDTH
    rows = cut.corners(length, WIDTH)
    assert len(cut.sharp(length, WIDTH)) == len(rows) >= 3
    rim = cut.outline(length, WIDTH, tolerance=0.0001)
    a, b = rim, np.roll(rim, -1, axis=0)
    along = b - a
    t = np.einsum("nij,ij->ni", rows[:, None, :2] - a[None], along) / (along**2).sum(axis=1)
    foot = a + np.clip(t, 0, 1)[..., None] * along
    assert np.linalg.norm(rows[:, None, :2] - foot, axis=2).min(axis=1).max() < 1e-3
    # No half turn is left open between neighbours (statics: else the stone slides out).
    facing = np.sort(rows[:, 2] % 360)
    assert np.diff([*facing, facing[0] + 360]).max() < 180
    out = np.column_stack([np.cos(np.radians(rows[:, 2])), np.sin(np.radians(rows[:, 2]))])
    assert ((rows[:, :2] * out).sum(axis=1) > 0).all()


def test_the_round_girdle_follows_the_tolerance_with_32_facets_at_least():
    few = CUTS["round"].facets(1.3, 1.3).names.count("girdle")
    many = CUTS["round"].facets(20.0, 20.0).names.count("girdle")
    assert (few, many % 16) == (32, 0)
    assert many > 64


@EVERY
def test_same_measures_same_bytes_and_nobody_can_spoil_the_shared_stone(cut: Cut):
    facets = stone(cut)
    shape = cut._shape().facets(Size(cut.ratio, 1.0, cut.narrow_ratio), cut.shares(WIDTH), 2.0 ** (-19 / 2))
    again = cut._shape().facets(Size(cut.ratio, 1.0, cut.narrow_ratio), cut.shares(WIDTH), 2.0 ** (-19 / 2))
    assert shape.points.tobytes() == again.points.tobytes() and shape.faces == again.faces
    with pytest.raises(ValueError, match="read-only"):
        facets.points[0, 0] = 1.0


@settings(max_examples=60, deadline=None)
@given(
    name=st.sampled_from(list(CUTS)), width=st.floats(0.5, 40), share=st.floats(0, 1),
    narrow=st.floats(0.3, 1),
)
def test_every_size_without_a_problem_cuts_a_closed_stone(name, width, share, narrow):
    cut = CUTS[name]
    low, high = cut.ratios
    length = width * (low + share * (high - low))
    end = width * narrow if cut.sizes == 3 else None
    if cut.problem(length, width, end) is not None:
        return
    facets = cut.facets(length, width, end, tolerance=max(0.01, width / 400))
    assert closed(facets)
    most = 1.001 if cut.name == "rectangle" else 0.75  # a slab fills its box
    assert 0.2 < facets.volume() / (length * width * cut.total_depth(length, width)) < most


@settings(max_examples=40, deadline=None)
@given(
    name=st.sampled_from([n for n in CUTS if not CUTS[n].domed and n not in ("pearl", "princess")]),
    table=st.floats(0.4, 0.7), crown=st.floats(0.05, 0.2), girdle=st.floats(0, 0.08),
    pavilion=st.floats(0.3, 0.6), culet=st.sampled_from([0.0, 0.02, 0.1]),
)
def test_other_proportions_cut_closed_stones(name, table, crown, girdle, pavilion, culet):
    cut = CUTS[name]
    p = Proportions(table, crown, girdle, pavilion, culet, 0.5, 0.75, cut.proportions.corner)
    facets = cut.facets(cut.ratio * WIDTH, WIDTH, proportions=p)
    assert closed(facets) and facets.volume() > 0
    assert ("culet" in facets.names) == (culet > 0)


def test_senseless_proportions_and_tolerances_are_refused():
    with pytest.raises(ValueError, match="proportions"):
        CUTS["round"].facets(6, 6, proportions=Proportions(1.2, 0.15, 0.03, 0.43))
    with pytest.raises(ValueError, match="tolerance"):
        CUTS["round"].facets(6, 6, tolerance=0.0)
    with pytest.raises(ValueError, match="chevrons"):
        CUTS["princess"].facets(6, 6, proportions=Proportions(0.68, 0.1, 0.03, 1.9))


def test_a_table_too_wide_for_its_outline_is_refused():
    wide = Proportions(0.85, 0.09, 0.035, 0.275)
    with pytest.raises(ValueError, match="leaves no crown"):
        CUTS["trillion"].facets(6, 6, proportions=wide)


def test_planes_that_leave_a_side_open_are_refused():
    with pytest.raises(ValueError, match="do not close"):
        from_planes([Plane("table", (0.0, 0.0, 1.0), 1.0)], 5.0)
    with pytest.raises(ValueError, match="nothing is left"):
        from_planes([Plane("table", (0.0, 0.0, 1.0), -9.0)], 5.0)
