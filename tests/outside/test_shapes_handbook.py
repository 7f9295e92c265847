"""Volumes of bands, rims, bent, twisted and engraved metal against closed forms and outside libraries.

Sources: Bronshtein and Semendyayev, Handbook of Mathematics (Pappus-Guldinus theorems, obelisk,
frustum of a cone, spherical sector, circular segment), from memory; the rule for the length of
a ring blank, pi x (inside diameter + thickness), common practice, no source; the exact kernel
of `exact.py` (OpenCASCADE by the gmsh wheel); fontTools' own area pen for glyphs."""

from __future__ import annotations

from math import asin, cos, hypot, pi, sin, sqrt

import pytest
from exact import exact_volume, require_exact
from exact_pieces import DomedBand
from texts import built, volume

NEAR = 0.0005  # 0.05 %


def segment(chord: float, rise: float) -> tuple[float, float]:
    """Area of a circular segment and the distance of its centroid from its chord."""
    r = (chord**2 / 4 + rise**2) / (2 * rise)
    half = asin(min(1.0, chord / (2 * r)))
    area = r**2 * (half - sin(half) * cos(half))
    return area, chord**3 / (12 * area) - (r - rise)


def pappus(*parts: tuple[float, float]) -> float:
    """Volume swept once round by areas at their centroids' radii."""
    return 2 * pi * sum(area * radius for area, radius in parts)


BORE, WIDE, THICK = 8.65, 4.0, 2.0


def band(rest: str) -> float:
    return volume(f"band b: inside {2 * BORE} mm, wide {WIDE} mm, thick {THICK} mm, {rest}")


def test_flat_band() -> None:
    known = pappus((WIDE * THICK, BORE + THICK / 2))
    assert band("profile flat") == pytest.approx(known, rel=NEAR)


def test_d_band() -> None:
    area, arm = segment(WIDE, THICK / 2)
    known = pappus((WIDE * THICK / 2, BORE + THICK / 4), (area, BORE + THICK / 2 + arm))
    assert band("profile d") == pytest.approx(known, rel=NEAR)


def test_half_round_band() -> None:
    area, arm = segment(WIDE, THICK)  # exactly half a circle here
    assert band("profile half-round") == pytest.approx(pappus((area, BORE + arm)), rel=NEAR)


def test_knife_edge_band() -> None:
    known = pappus((WIDE * THICK / 2, BORE + THICK / 4), (WIDE * THICK / 4, BORE + THICK / 2 + THICK / 6))
    assert band("profile knife-edge") == pytest.approx(known, rel=NEAR)


@pytest.mark.parametrize("profile", ["flat, comfort", "court"])
def test_comfort_fit(profile: str) -> None:
    """The inside bellies by 0.15 of the thickness: a segment toward the finger."""
    belly = 0.15 * THICK
    inner, inner_arm = segment(WIDE, belly)
    low = BORE + belly
    parts = [(inner, low - inner_arm)]
    side = (THICK - belly) * (1.0 if profile.startswith("flat") else 0.5)
    parts.append((WIDE * side, low + side / 2))
    if profile == "court":
        outer, outer_arm = segment(WIDE, THICK - belly - side)
        parts.append((outer, low + side + outer_arm))
    known = pappus(*parts)
    assert band(f"profile {profile}") == pytest.approx(known, rel=NEAR)


def test_d_band_against_the_exact_kernel() -> None:
    require_exact()
    piece = DomedBand(inside=17.2, width=5.0, thickness=2.0, edge=1.0)
    text = "band b: inside 17.2 mm, wide 5 mm, thick 2 mm, profile d"
    assert volume(text) == pytest.approx(exact_volume(piece.recipe()), rel=NEAR)


def test_tapered_flat_band() -> None:
    """Pappus section by section: width and thickness run with the cosine of the angle."""
    wm, wh, tm, th = 3.2, 0.8, 1.7, 0.3  # 4 x 2 mm at the head, 2.4 x 1.4 mm at the back
    flat = BORE * (wm * tm + wh * th / 2)
    outward = (wm * tm**2 + wm * th**2 / 2 + wh * tm * th) / 2
    assert band("taper 2.4 x 1.4 mm") == pytest.approx(2 * pi * (flat + outward), rel=NEAR)


def test_cuff_is_part_of_a_band() -> None:
    """Open 20 mm across an inside of 40 mm: 1/6 of the round is missing."""
    text = "band c: inside 40 mm, wide 6 mm, thick 2 mm, open 20 mm"
    assert volume(text) == pytest.approx(pappus((12, 21)) * 5 / 6, rel=NEAR)


@pytest.mark.parametrize("rims,number", [("front", 1), ("back", 1), ("both", 2)])
def test_rounded_disc(rims: str, number: int) -> None:
    """A quarter round off the rim: the corner square less its quarter circle, once round."""
    r, across, high = 0.4, 16.0, 1.6
    square, quarter = (r * r, across / 2 - r / 2), (pi * r * r / 4, across / 2 - r + 4 * r / (3 * pi))
    corner = pappus(square) - pappus(quarter)
    text = f"disc d: across {across} mm, thick {high} mm, soften {r} mm, rims {rims}"
    known = pi * across**2 / 4 * high - number * corner
    assert volume(text) == pytest.approx(known, rel=NEAR)


def test_rounded_disc_against_the_exact_kernel() -> None:
    require_exact()
    outline = [
        ("start", (0, 0)),
        ("line", (8, 0)),
        ("line", (8, 1.2)),
        ("arc", (7.6, 1.2), (7.6, 1.6)),
        ("line", (0, 1.6)),
        ("line", (0, 0)),
    ]
    recipe = [["add", ("turned", outline, (0, 0, 0), (0, 1, 0), 360)]]
    text = "disc d: across 16 mm, thick 1.6 mm, soften 0.4 mm"
    assert volume(text) == pytest.approx(exact_volume(recipe), rel=NEAR)


def test_bevelled_bar_is_an_obelisk_on_a_box() -> None:
    """Obelisk: h / 6 x ((2 a + a1) b + (2 a1 + a) b1)."""
    a, b, h, by = 21.0, 5.0, 2.0, 0.5
    a1, b1 = a - 2 * by, b - 2 * by
    known = a * b * (h - by) + by / 6 * ((2 * a + a1) * b + (2 * a1 + a) * b1)
    assert volume(f"bar b: size {a} x {b} x {h} mm, bevel {by} mm") == pytest.approx(known, rel=1e-9)


def test_bevelled_band_edges() -> None:
    by = 0.4
    triangle = by * by / 2, BORE + THICK - by / 3
    known = pappus((WIDE * THICK, BORE + THICK / 2)) - 2 * pappus(triangle)
    assert band(f"bevel {by} mm") == pytest.approx(known, rel=NEAR)


def test_tapered_wire_is_a_frustum() -> None:
    text = "path l: through (0, 0) to (20, 0 mm)\nwire w: along l, round 1.6 mm, taper 0.8 mm"
    assert volume(text) == pytest.approx(pi * 20 * (0.8**2 + 0.8 * 0.4 + 0.4**2) / 3, rel=NEAR)


def test_tapered_wire_on_a_bend_keeps_it() -> None:
    """Pappus: the middle of a round section stays on the line."""
    text = (
        "path l: through (6, 0 mm) over (0, 6 mm) to (-6, 0 mm)\n"
        "wire w: along l, round 1.6 mm, taper 0.8 mm"
    )
    assert volume(text) == pytest.approx(pi * 6 * pi * (0.64 + 0.32 + 0.16) / 3, rel=NEAR)


def test_half_round_wire() -> None:
    text = "path l: through (0, 0) to (20, 0 mm)\nwire w: along l, half-round 3 x 1.5 mm"
    assert volume(text) == pytest.approx(pi * 1.5**2 / 2 * 20, rel=NEAR)


def test_knife_edge_wire() -> None:
    text = "path l: through (0, 0) to (20, 0 mm)\nwire w: along l, knife-edge 2 x 1.5 mm"
    assert volume(text) == pytest.approx(2 * 1.5 / 2 * 20, rel=1e-9)


def test_bent_strip_keeps_its_volume() -> None:
    """Lengths are kept at the middle of the thickness, so what the inside loses the outside gains."""
    text = "bar s: size 40 x 4 x 1.6 mm\nbend r: of s, inside 17 mm"
    assert volume(text) == pytest.approx(40 * 4 * 1.6, rel=NEAR)


def test_closed_strip_is_a_band() -> None:
    """Ring blank: pi x (inside diameter + thickness) closes exactly to a flat band."""
    text = f"bar s: size {pi * 18.6:.9f} x 4 x 1.6 mm\nbend r: of s, inside 17 mm, closed"
    assert volume(text) == pytest.approx(pappus((4 * 1.6, 9.3)), rel=NEAR)


def test_dapped_disc_is_a_shell_of_a_spherical_sector() -> None:
    """Sector of a ball: 2 pi r3 (1 - cos a) / 3."""
    inner, thick, reach = 12.0, 1.0, 7.0
    angle = reach / (inner + thick / 2)
    known = 2 * pi / 3 * (1 - cos(angle)) * ((inner + thick) ** 3 - inner**3)
    text = "disc d: across 14 mm, thick 1 mm\ndap b: of d, ball 24 mm"
    assert volume(text) == pytest.approx(known, rel=NEAR)
    assert volume(text + ", cupped", check_metal=False) == pytest.approx(known, rel=NEAR)


def test_tapered_hole_is_a_frustum() -> None:
    text = (
        "bar b: size 10 x 10 x 3 mm\n"
        "drill h: at face of b, across 3 mm, narrow 1 mm, deep 2 mm, in b"
    )
    assert volume(text) == pytest.approx(300 - pi * 2 * (1.5**2 + 1.5 * 0.5 + 0.5**2) / 3, rel=NEAR)


def test_a_strand_of_a_twist_is_a_helix() -> None:
    """Length sqrt((2 pi r n)2 + length2); volume by Pappus, section times the way of its middle."""
    import numpy as np

    from posy.compiler.geometry.line import Line
    from posy.compiler.shapes.makers import make
    from posy.compiler.words.twisting import _strand
    from posy.compiler.words.wires import frozen

    straight = Line(np.array([[0.0, 0.0, 0.0], [40.0, 0.0, 0.0]]), np.array([[0.0, 0.0, 1.0]] * 2), False)
    strand = _strand(straight, 0.46, 5.0, 0.0)
    helix = hypot(2 * pi * 0.46 * 5, 40)
    assert strand.length() == pytest.approx(helix, rel=0.001)
    mesh = make("wire", (frozen(strand), "round", 1.0, 1.0), 0.005)
    corrected = mesh.volume() + float((mesh.areas() * mesh.lift[mesh.face]).sum())
    assert corrected == pytest.approx(pi / 4 * helix, rel=0.001)


def test_twisted_strands_weigh_a_little_less_than_free_ones() -> None:
    text = (
        "path l: through (0, 0) to (40 mm, 0)\n"
        "twist t: along l, wire 1 mm, strands 3, pitch 10 mm, fused 3 %"
    )
    r = 0.5 / sin(pi / 3) * 0.97
    free = 3 * pi / 4 * hypot(2 * pi * r * 4, 40)
    assert 0.94 * free < volume(text) < free


def test_letters_have_the_area_their_font_says() -> None:
    """fontTools' AreaPen integrates a glyph's own curves (Green's theorem)."""
    from io import BytesIO

    from fontTools.pens.areaPen import AreaPen
    from fontTools.pens.boundsPen import BoundsPen
    from fontTools.ttLib import TTFont

    from posy.compiler.words.letters import standard_font

    font = TTFont(BytesIO(standard_font()))
    glyphs, names = font.getGlyphSet(), font.getBestCmap()
    box = BoundsPen(glyphs)
    glyphs[names[ord("H")]].draw(box)
    scale = 5.0 / box.bounds[3]
    total = 0.0
    for sign in "BAY8":
        pen = AreaPen(glyphs)
        glyphs[names[ord(sign)]].draw(pen)
        total += abs(pen.value) * scale**2
    plain = "bar b: size 40 x 10 x 2 mm"
    cut = plain + '\nengrave e: letters "BAY8", tall 5 mm, deep 0.5 mm, at face of b, in b'
    assert 800 - volume(cut) == pytest.approx(total * 0.5, rel=0.002)
    stood = plain + '\nengrave e: letters "BAY8", tall 5 mm, deep 0.5 mm, raised, at face of b, in b'
    assert volume(stood) - 800 == pytest.approx(total * 0.5, rel=0.002)


def test_drawn_curves_enclose_what_they_should() -> None:
    """Ellipse pi a b from arcs; a circle drawn with four cubics is 0.027 % over (the usual
    0.5523 handles); a hole by even-odd."""
    from posy.compiler.making.pipeline import build
    from posy.lang.loader import Texts

    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="40mm" viewBox="0 0 40 40"><path '
        'fill-rule="evenodd" d="M 0 20 A 20 10 0 0 1 40 20 A 20 10 0 0 1 0 20 Z M 15 20 A 5 5 0 0 1 25 20 A '
        '5 5 0 0 1 15 20 Z"/></svg>'
    )
    files = Texts({"p.posy": 'plate p: drawing "a.svg", across 20 mm, thick 1 mm', "a.svg": svg})
    made = build("p.posy", files=files)
    assert made.parts[0].volume == pytest.approx(pi * (10 * 5 - 2.5**2), rel=NEAR)
    assert "a.svg" in made.files_read


def test_signet_is_heavier_than_its_shank_by_its_head() -> None:
    """A signet lies between its shank with a bare block on it and the hull of block and shank."""
    shank = volume("band b: inside 18 mm, wide 5 mm, thick 2 mm")
    found = volume(
        "signet s: inside 18 mm, rectangle 12 x 12 mm, corner 1 mm, height 3 mm, wide 5 mm, thick 2 mm"
    )
    # Above the tangent lines to the shank nothing is: a prism of the tangents' trapezium at
    # most.
    top, outer, half = 12.0, 11.0, 6.0
    reach = sqrt(half**2 + top**2 - outer**2)
    assert shank < found < shank + 12 * (half * top + outer * reach) - 12 * outer**2 * 0.5


def test_two_metals_do_not_overlap() -> None:
    """A gold disc let into a silver plate: each weighed for itself, together the union's volume."""
    parts = built(
        'piece "Two"\n  metal silver-925\nbar b: size 20 x 10 x 2 mm\n'
        "disc d: across 6 mm, thick 2.5 mm, metal gold-750-yellow"
    ).parts
    assert [part.metal for part in parts] == ["silver-925", "gold-750-yellow"]
    assert parts[0].volume == pytest.approx(400, rel=1e-9)
    assert parts[1].volume == pytest.approx(pi * 9 * 0.5, rel=NEAR)
