"""Every shape at several tolerances: a sound solid whose corrected volume does not depend on them."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from texts import built

from posy.compiler.judging.joined_metal import joined_solid
from posy.compiler.metal.kernel import Patch, problem, solid_of
from posy.compiler.shapes.makers import make
from posy.compiler.shapes.mesh import SolidMesh

LEAF = "stone", "marquise", 14.0, 7.0
DRAWN = "drawing", (((5, -5), (5, 5), (-5, 5), (-5, -5)), ((-2, -2), (-2, 2), (2, 2), (2, -2)))

CASES: dict[str, tuple[str, tuple[Any, ...]]] = {
    "tapered band": ("shank", (17.3, 4.0, 2.0, 2.5, 1.4, ("flat",), 0.0)),
    "tapered court band": ("shank", (17.3, 4.0, 2.0, 2.5, 1.4, ("court",), 0.0)),
    "softened band": ("shank", (17.3, 4.0, 2.0, 4.0, 2.0, ("flat", True, 0.4), 0.0)),
    "bevelled band": ("shank", (17.3, 4.0, 2.0, 4.0, 2.0, ("flat", False, 0.4, True), 0.0)),
    "tapered d band": ("shank", (17.3, 4.0, 2.0, 2.5, 1.4, ("d", True), 0.0)),
    "tapered half-round": ("shank", (17.3, 4.0, 2.0, 2.5, 1.4, ("half-round",), 0.0)),
    "tapered knife edge": ("shank", (17.3, 4.0, 2.0, 2.5, 1.4, ("knife-edge",), 0.0)),
    "tall narrow d": ("shank", (17.3, 2.0, 3.0, 1.5, 2.4, ("d",), 0.0)),
    "cuff": ("shank", (58.0, 6.0, 2.0, 5.0, 1.4, ("court",), 25.0)),
    "softened bar": ("softened", (("rectangle", 22.0, 5.0, 0.5), 0.0, 2.0, 0.3, True, "front")),
    "bar softer than its corner": ("softened", (("rectangle", 22.0, 5.0, 0.2), 0.0, 2.0, 0.3, True, "both")),
    "bevelled bar": ("softened", (("rectangle", 22.0, 5.0, 0.0), 0.0, 2.0, 0.3, False, "back")),
    "half softened away": ("softened", (("circle", 16.0), 0.0, 2.0, 1.0, True, "both")),
    "softened leaf": ("softened", (LEAF, 0.0, 2.0, 0.3, True, "both")),
    "softened heart": ("softened", (("stone", "heart", 14.0, 14.0), 0.0, 2.0, 0.3, True, "front")),
    "softened oval": ("softened", (("ellipse", 14.0, 9.0), 0.0, 2.0, 0.5, True, "front")),
    "softened polygon": ("softened", (("polygon", 6, 14.0), 0.0, 2.0, 0.5, True, "both")),
    "softened frame": ("softened", (DRAWN, 0.0, 2.0, 0.3, True, "both")),
    "frame": ("prism", (DRAWN, 0.0, 2.0)),
    "oval table": ("table", (("ellipse", 12.0, 14.0), 11.2, 10.4, 4.0)),
    "cushion table": ("table", (("stone", "cushion", 13.0, 11.0), 11.2, 10.4, 4.0)),
    "square table": ("table", (("rectangle", 12.0, 10.0, 1.0), 11.2, 10.4, 4.0)),
}
SMOOTH_ENOUGH = 0.0005  # share of the volume


def corrected(mesh: SolidMesh) -> float:
    return mesh.volume() + float((mesh.areas() * mesh.lift[mesh.face]).sum())


@pytest.mark.parametrize("kind,figures", CASES.values(), ids=CASES)
def test_corrected_volume_agrees_with_one_fifty_times_finer(kind: str, figures: tuple[Any, ...]) -> None:
    fine = make(kind, figures, 0.0001)
    for tolerance in (0.005, 0.02):
        assert corrected(make(kind, figures, tolerance)) == pytest.approx(corrected(fine), rel=SMOOTH_ENOUGH)
    # The fine mesh itself, uncorrected, bears out the exact volume it was fitted to.
    assert fine.volume() == pytest.approx(corrected(fine), rel=SMOOTH_ENOUGH)


@pytest.mark.parametrize("kind,figures", CASES.values(), ids=CASES)
def test_the_kernel_takes_it(kind: str, figures: tuple[Any, ...]) -> None:
    mesh = make(kind, figures, 0.005)
    solid = solid_of([Patch(mesh.points, mesh.triangles, mesh.face, 0)])
    assert problem(solid) is None
    assert solid.volume() == pytest.approx(mesh.volume(), rel=1e-9)
    assert len(solid.decompose()) == 1
    assert np.isfinite(mesh.points).all()


@settings(max_examples=40, deadline=None)
@given(
    inside=st.floats(3, 70), wide=st.floats(0.5, 15), thick=st.floats(0.3, 5), share=st.floats(0.3, 1.0),
    name=st.sampled_from(["flat", "court", "d", "half-round", "knife-edge"]), comfort=st.booleans(),
)
def test_any_shank_is_sound(inside, wide, thick, share, name, comfort):
    figures = inside, wide, thick, wide * share, thick * share, (name, comfort), 0.0
    mesh = make("shank", figures, 0.02)
    solid = solid_of([Patch(mesh.points, mesh.triangles, mesh.face, 0)])
    assert problem(solid) is None and solid.genus() == 1
    assert corrected(mesh) == pytest.approx(mesh.exact, rel=1e-6)


@settings(max_examples=40, deadline=None)
@given(
    long=st.floats(2, 40), wide=st.floats(2, 40), corner=st.floats(0, 1), by=st.floats(0.02, 0.95),
    round_=st.booleans(), rims=st.sampled_from(["front", "back", "both"]),
)
def test_any_softened_bar_is_sound(long, wide, corner, by, round_, rims):
    outline = "rectangle", long, wide, corner
    mesh = make("softened", (outline, 0.0, 2.0, by, round_, rims), 0.01)
    solid = solid_of([Patch(mesh.points, mesh.triangles, mesh.face, 0)])
    assert problem(solid) is None and len(solid.decompose()) == 1
    assert solid.volume() <= long * wide * 2.0 + 1e-9


@pytest.mark.parametrize("outline", ["pear 12 x 9 mm", "heart 14 x 13 mm", "marquise 16 x 8 mm"])
def test_wire_mitred_between_bent_runs_lies_nowhere_in_itself(outline: str) -> None:
    lines = f"path drop: {outline}, inset 1.2 mm", "wire loop: along drop, flat 2.4 x 3 mm"
    metal = joined_solid(built("\n".join(('piece "Loop"', "  metal silver-925", *lines, ""))).parts)
    assert metal.volume() == pytest.approx(3.0 * metal.project().area(), rel=1e-5)  # an upright wall
