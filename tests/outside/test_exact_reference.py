"""The exact reference is itself held to closed forms.

Formulas: "volumes of solids" and "areas of plane figures" as tabled in Machinery's Handbook
(mathematics section) and Bronshtein-Semendyayev, Handbook of Mathematics (stereometry), given
from memory; solids of revolution by the theorems of Pappus and Guldin."""

from __future__ import annotations

from math import acos, pi, radians, sin, sqrt, tan

import exact
import exact_pieces
import pytest
from exact import exact_many, exact_measures, exact_volume, require_exact
from exact_pieces import PIECES

CLOSE = 1e-7  # relative; the kernel integrates curved faces numerically


@pytest.fixture(scope="module", autouse=True)
def _exact() -> None:
    require_exact()


def volume(piece: exact_pieces.Piece) -> float:
    return exact_volume(piece.recipe())


def frustum(height: float, r0: float, r1: float) -> float:
    """Frustum of a cone: pi h (R^2 + R r + r^2) / 3."""
    return pi * height * (r0 * r0 + r0 * r1 + r1 * r1) / 3


def cap(radius: float, height: float) -> float:
    """Spherical segment of one base: pi h^2 (3 r - h) / 3."""
    return pi * height**2 * (3 * radius - height) / 3


def segment(radius: float, chord: float) -> tuple[float, float]:
    """Circular segment: area r^2 (t - sin t) / 2, centroid from the circle's centre."""
    half = acos(sqrt(radius**2 - (chord / 2) ** 2) / radius)
    t = 2 * half
    area = radius**2 * (t - sin(t)) / 2
    return area, 4 * radius * sin(half) ** 3 / (3 * (t - sin(t)))


def test_bar_is_area_less_corners_times_height() -> None:
    p = exact_pieces.PlainBar()
    found = exact_measures(p.recipe())
    area = p.length * p.width - (4 - pi) * p.corner**2
    rim = 2 * (p.length + p.width) - (8 - 2 * pi) * p.corner
    assert found.volume == pytest.approx(area * p.height, rel=CLOSE)
    assert found.area == pytest.approx(2 * area + rim * p.height, rel=CLOSE)
    assert found.centroid == pytest.approx((0, 0, p.height / 2), abs=1e-9)


def test_tube_is_a_hollow_cylinder() -> None:
    p = exact_pieces.Tube()
    known = pi / 4 * (p.outside**2 - p.inside**2) * p.length
    assert volume(p) == pytest.approx(known, rel=CLOSE)


def test_disc_less_its_holes() -> None:
    p = exact_pieces.DrilledDisc()
    known = pi / 4 * (p.across**2 - p.holes * p.drill**2) * p.thickness
    assert volume(p) == pytest.approx(known, rel=CLOSE)


def test_jump_ring_is_a_torus() -> None:
    p = exact_pieces.JumpRing()
    ring, wire = (p.inside + p.wire) / 2, p.wire / 2
    found = exact_measures(p.recipe())
    assert found.volume == pytest.approx(2 * pi**2 * ring * wire**2, rel=CLOSE)
    assert found.area == pytest.approx(4 * pi**2 * ring * wire, rel=CLOSE)


def test_sphere_cut_by_a_plane_leaves_a_cap() -> None:
    recipe = [["add", ("sphere", (0, 0, 0), 3)], ["cut", ("box", -4, -4, -4, 8, 8, 5.2)]]
    assert exact_volume(recipe) == pytest.approx(cap(3, 1.8), rel=CLOSE)


@pytest.mark.parametrize("top", [0.0, 0.7])
def test_cone_and_frustum(top: float) -> None:
    recipe = [["add", ("cone", (1, 2, 3), (0, 0, 2.5), 1.9, top)]]
    found = exact_measures(recipe)
    lift = 2.5 * (1.9**2 + 2 * 1.9 * top + 3 * top**2) / (4 * (1.9**2 + 1.9 * top + top**2))
    assert found.volume == pytest.approx(frustum(2.5, 1.9, top), rel=CLOSE)
    assert found.centroid == pytest.approx((1, 2, 3 + lift), abs=1e-6)


def test_flat_band_is_a_hollow_cylinder_on_the_y_axis() -> None:
    p = exact_pieces.FlatBand()
    known = pi * ((p.inside / 2 + p.thickness) ** 2 - (p.inside / 2) ** 2) * p.width
    found = exact_measures(p.recipe())
    assert found.volume == pytest.approx(known, rel=CLOSE)
    assert found.centroid == pytest.approx((0, 0, 0), abs=1e-8)


@pytest.mark.parametrize("comfort", [0.0, 0.3])
def test_domed_band_by_pappus(comfort: float) -> None:
    p = exact_pieces.DomedBand(comfort=comfort)
    bore, out = p.inside / 2, p.dome(p.thickness - p.edge)
    area, arm = segment(out, p.width)
    straight = p.edge - comfort
    moment = area * (bore + p.thickness - out + arm)
    moment += p.width * straight * (bore + comfort + straight / 2)
    if comfort:  # the inside dome is metal too: its segment faces the finger
        inner = p.dome(comfort)
        area, arm = segment(inner, p.width)
        moment += area * (bore + inner - arm)
    assert volume(p) == pytest.approx(2 * pi * moment, rel=CLOSE)


def test_beads_half_sunk_add_half_balls() -> None:
    p = exact_pieces.BeadedPlate()
    known = p.length * p.width * p.height + p.beads * 2 / 3 * pi * (p.bead / 2) ** 3
    assert volume(p) == pytest.approx(known, rel=CLOSE)


def test_ball_on_a_post() -> None:
    p = exact_pieces.BallPost()
    ball, wire = p.ball / 2, p.wire / 2
    leaves = sqrt(ball**2 - wire**2)  # where the post leaves the ball
    known = 4 / 3 * pi * ball**3 + pi * wire**2 * (p.length - leaves) - cap(ball, ball - leaves)
    assert volume(p) == pytest.approx(known, rel=CLOSE)


def test_bent_wire_is_section_times_centre_line() -> None:
    p = exact_pieces.BentWire()
    assert volume(p) == pytest.approx(pi * p.wire**2 / 4 * p.run(), rel=CLOSE)


def test_oval_less_window_and_hole() -> None:
    p = exact_pieces.PiercedOval()
    ovals = p.length * p.width - p.window_length * p.window_width - p.drill**2
    assert volume(p) == pytest.approx(pi / 4 * ovals * p.thickness, rel=CLOSE)


def test_set_bar_without_prongs_by_parts() -> None:
    """Bar less hollow less seats: the light holes run from the hollow to the cones."""
    p = exact_pieces.SetBar()
    recipe = [step for step in p.recipe() if step[:1] != ["add"] or step[1][0] == "rounded-box"]
    bar = (p.length * p.width - (4 - pi) * p.corner**2) * p.height
    hollow = (p.length - 2 * p.wall) * (p.width - 2 * p.wall) * (p.height - p.roof)
    r, light = p.across / 2, p.light / 2
    fall = (r - light) * tan(radians(p.bearing))
    left = p.roof - p.sink - fall
    seat = pi * r**2 * p.sink + frustum(fall, r, light) + pi * light**2 * left
    assert exact_volume(recipe) == pytest.approx(bar - hollow - p.stones * seat, rel=CLOSE)


def test_moves_keep_the_volume_and_carry_the_centre() -> None:
    bar = ["add", ("box", 0, 0, 0, 4, 2, 1)]
    moved = [[*bar, ("shift", (10, 0, 0)), ("turn", (0, 0, 0), (0, 0, 1), 90)]]
    found = exact_measures(moved)
    assert found.volume == pytest.approx(8, rel=CLOSE)
    assert found.centroid == pytest.approx((-1, 12, 0.5), abs=1e-9)


def test_group_is_built_before_it_is_added() -> None:
    pierced = [["add", ("box", 0, 0, 0, 4, 4, 1)], ["cut", ("box", 1, 1, -1, 2, 2, 3)]]
    recipe = [["add", ("box", 0, 0, -1, 4, 4, 1)], ["add", ("group", pierced)]]
    assert exact_volume(recipe) == pytest.approx(16 + 12, rel=CLOSE)


def test_every_piece_is_one_piece_and_lists_its_figures() -> None:
    found = exact_many([piece.recipe() for piece in PIECES.values()])
    for (name, piece), measures in zip(PIECES.items(), found, strict=True):
        assert measures.pieces == 1, name
        assert measures.volume > 0 and measures.area > 0, name
        assert len(piece.figures()) >= 2, name


def test_a_recipe_that_cannot_be_built_is_named() -> None:
    with pytest.raises(exact.ExactError, match="recipe 1"):
        exact_many([[["add", ("sphere", (0, 0, 0), 1)]], [["add", ("sphere", (0, 0, 0), -1)]]])


def test_absent_kernel_skips_or_fails(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(exact, "why_no_exact", lambda: "libGLU.so.1 is missing")
    monkeypatch.delenv("POSY_ALL_OUTSIDE", raising=False)
    with pytest.raises(pytest.skip.Exception, match="libGLU"):
        require_exact()
    monkeypatch.setenv("POSY_ALL_OUTSIDE", "1")
    with pytest.raises(pytest.fail.Exception, match="libGLU"):
        exact.require_exact()
