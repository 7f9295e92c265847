"""Cuts made again elsewhere, seals cut in reverse, cuts that meet no metal, tables sunk to the face."""

from __future__ import annotations

import re

import numpy as np
import pytest
from texts import built, laid, made

from posy.compiler.making.pipeline import build
from posy.lang.loader import Texts
from posy.stdlib.cuts import CUTS

DISC = "disc medal: across 24 mm, thick 2 mm\n"
PLAIN = 2.0 * np.pi * 12.0**2  # mm3
HOLE = 2.0 * np.pi  # mm3, 2 mm across


def _codes(text: str) -> list[str]:
    return [fault.code for fault in made(text).faults]


@pytest.mark.parametrize(
    ("line", "holes"),
    [
        ("copy more: of hole, right 3 mm", 2), ("mirror more: of hole", 2),
        ("mirror more: of hole, swap up-down", 2), ("wheel more: of hole, times 6", 6),
        ("copy more: of hole, row 3, every 4 mm, down 8 mm, left 2 mm", 4),
    ],
)  # fmt: skip
def test_a_cut_is_made_again(line, holes):
    made = built(DISC + "drill hole: at face of medal, in medal, right 5 mm, up 4 mm, across 2 mm\n" + line)
    assert made.parts[0].volume == pytest.approx(PLAIN - holes * HOLE, rel=1e-4)


def _spots(text: str) -> np.ndarray:
    """Where the floor of what is engraved 0.5 mm deep stands, mm."""
    made = built(DISC + text)
    points = made.parts[0].points
    return points[np.abs(points[:, 2] - 1.5) < 1e-6]


def test_a_seal_is_the_mirror_image_of_its_print():
    line = 'engrave a: letters "FJ", deep 0.5 mm, at face of medal, in medal'
    print_, seal = _spots(line), _spots(line + ", reversed")
    assert len(print_) == len(seal) > 50
    apart = np.linalg.norm(print_[:, None] * (-1.0, 1.0, 1.0) - seal[None], axis=2)
    assert apart.min(axis=1).max() < 1e-6
    assert np.linalg.norm(print_[:, None] - seal[None], axis=2).min(axis=1).max() > 0.1


@pytest.mark.parametrize(
    ("line", "idle"),
    [
        ('engrave a: letters "F", at face of medal, in medal, left 40 mm', True),
        ('engrave a: letters "F", at face of medal, in medal, left 4 mm', False),
        ("pierce a: oval 3 x 2 mm, deep 1 mm, at face of medal, out 2 mm, in medal", True),
        ("drill h: across 2 mm, at face of medal, in medal\ncopy a: of h, right 30 mm", True),
        ("drill h: across 2 mm, at face of medal, in medal\ncopy a: of h, right 3 mm", False),
        ('workpiece g: right 40 mm\n  ball b: across 4 mm\n  engrave e: letters "F", in b, left 20 mm', True),
    ],
)
def test_a_cut_that_meets_no_metal_is_told(line, idle):
    assert ("idle-cut" in _codes(DISC + line + "\n")) == idle


PLATE = "plate b: rectangle 20 x 12 mm, thick 1.6 mm, up 6 mm\npath way: closed, through (-2, 5) to (2, 5) to (0, 8 mm)\n"
LOWER = "bar b: size 20 x 12 x 3 mm, inward 1.5 mm\n"


@pytest.mark.parametrize(
    ("part", "cut", "said"),
    [
        (PLATE, "pierce h: outline way, in b", "out 1.6 mm"),
        (PLATE, "drill h: across 1 mm, up 5 mm, in b", "out 1.6 mm"),
        (PLATE, "drill h: across 2 mm, narrow 1 mm, deep 0.5 mm, up 5 mm, in b", "out 1.6 mm"),
        (PLATE, "drill h: across 1 mm, ball, deep 0.3 mm, up 5 mm, in b", "out 1.6 mm"),
        (PLATE, 'engrave h: letters "F", tall 3 mm, up 5 mm, in b', "out 1.6 mm"),
        (PLATE, "engrave h: outline way, deep 0.3 mm, in b", "out 1.6 mm"),
        (PLATE + "disc d: across 3 mm, thick 2 mm, up 12 mm\n", "pierce h: outline way, in b + d", "out 2 mm"),
        (LOWER, "drill h: across 2 mm, deep 1 mm, in b", "out 1.5 mm"),
        ("workpiece w\n  bar b: size 9 x 9 x 2 mm\n", "drill h: across 2 mm, in w", "out 2 mm"),
    ],
)
def test_a_cut_with_no_place_begins_at_the_face(part, cut, said):
    """Parts and paths lie on one ground, the back of the part: the saw does not go away from it."""
    bare, told = (build("p.posy", files=Texts({"p.posy": part + cut + end})) for end in ("", f", {said}"))
    assert "idle-cut" not in [one.code for one in bare.faults]
    assert np.array_equal(bare.parts[0].points, told.parts[0].points)


@pytest.mark.parametrize(
    ("part", "cut"),
    [
        (PLATE, "pierce h: outline way, at origin of b, down 5 mm, in b"),
        (PLATE, "pierce h: outline way, inward 0.5 mm, in b"),
        (PLATE, "pierce h: outline way, out 4 mm, deep 1 mm, in b"),
    ],
)
def test_the_way_to_the_face_leaves_a_cut_where_it_lies(part, cut):
    """What is said of a place or a height is obeyed; the remedy, followed, moves it up or down alone."""
    (fault,) = build("p.posy", files=Texts({"p.posy": part + cut})).faults
    figure = re.findall(r"'((?:out|inward) [\d.]+ mm)'", fault.remedy)[0]
    again = re.sub(r", (out|inward) [\d.]+ mm", "", cut) + f", {figure}"
    made = build("p.posy", files=Texts({"p.posy": part + again}))
    assert fault.code == "idle-cut" and "idle-cut" not in [one.code for one in made.faults]
    if "deep" not in cut:
        right = build("p.posy", files=Texts({"p.posy": part + "pierce h: outline way, in b"}))
        assert made.parts[0].volume == pytest.approx(right.parts[0].volume, abs=1e-6)


@pytest.mark.parametrize("cut", ["drill h: across 2 mm, deep 2 mm, in b", "drill h: across 2 mm, inward 0.2 mm, deep 0.5 mm, in b"])
def test_a_cut_that_opens_a_side_or_says_its_height_stays(cut):
    """From the middle out of the back, or from where its line says, within the metal."""
    made = build("p.posy", files=Texts({"p.posy": LOWER + cut}), check_metal=False).parts[0]
    assert made.volume == pytest.approx(20 * 12 * 3 - np.pi * (1.5 if "deep 2" in cut else 0.5), rel=1e-3)


@pytest.mark.parametrize("profile", ["flat", "d", "half-round"])
def test_a_table_is_sunk_where_the_face_falls_away(profile):
    """At every spot of the girdle metal stands over half the crown, or 0.25 mm; none is sunk for
    nothing. By the arc that the profile is (see the page of band)."""
    text = (
        f'band shank: inside 18 mm, wide 6 mm, thick 3 mm, profile {profile}\n'
        "stone a: round 3.5 mm, gem sapphire, at top of shank, level table\n"
        "flush f: for a, in shank\n"
    ).replace(", profile flat", "")
    stone = built(text).stones[0]
    crown = CUTS["round"].heights(3.5, 3.5)[1]
    least = max(crown / 2, 0.25)
    turn = np.linspace(0, 2 * np.pi, 24, endpoint=False)
    right, up = 1.75 * np.cos(turn), 1.75 * np.sin(turn)
    edge = {"flat": 3.0, "d": 1.5, "half-round": 0.0}[profile]
    rise = 3.0 - edge
    bow = (9.0 + rise**2) / (2 * rise) if rise else np.inf
    fall = bow - np.sqrt(bow**2 - up**2) if rise else 0 * up
    face = np.sqrt((12.0 - fall) ** 2 - right**2) - stone.frame[2, 3]
    assert face.min() >= least - 0.02
    assert stone.frame[2, 3] <= 12.0 - crown + 1e-6
    if stone.frame[2, 3] < 12.0 - crown - 1e-3:
        assert face.min() == pytest.approx(least, abs=0.02)


def test_blows_fall_unevenly_and_always_alike():
    """Blows of a hammered face go deeper or shallower by up to half of what is said; made again every byte is
    the same."""
    text = "disc medal: across 20 mm, thick 2 mm\nhammered look: upon medal, every 2 mm, deep 0.12 mm, uneven 40 %\n"
    one, two = built(text, check_metal=False).parts[0], built(text, check_metal=False).parts[0]
    assert one.points.tobytes() == two.points.tobytes()
    owners = sorted(set(one.owner.tolist()))
    low = one.points[one.triangles[one.owner == owners[-1]]].reshape(-1, 3)[:, 2].min()
    assert 2 - 0.12 * 1.2 - 1e-6 <= low < 2 - 0.12


def test_beads_run_along_the_edge_of_what_was_sunk_or_sawn():
    """Along the mouth and along the floor of a field 0.5 mm deep, and round a window that goes through."""
    for line, paths in (
        ("engrave a: round 8 mm, deep 0.5 mm, at face of medal, in medal", {"rim": 2.0, "floor-rim": 1.5}),
        ("engrave a: round 8 mm, deep 0.5 mm, raised, at face of medal", {"rim": 2.5}),
        ("pierce a: oval 8 x 6 mm, at face of medal, in medal", {"rim": 2.0}),
    ):
        for path, height in paths.items():
            found = laid(f"disc medal: across 14 mm, thick 2 mm\n{line}\npath p: beside {path} of a\n", "p")
            (edge,) = found.look("path").lines
            assert edge.closed
            assert np.unique(edge.points[:, 2]) == pytest.approx(height)
            assert np.abs(edge.points[:, 0]).max() == pytest.approx(4.0, abs=0.01)


@pytest.mark.parametrize("line", ["pierce cut: round 2 mm, along way, number 3", "engrave cut: stroke 0.8 mm, along way",
                                  "drill cut: across 1 mm, deep 0.5 mm, along way, number 3"])
def test_a_cut_along_a_path_drawn_on_the_ground_begins_at_the_face_of_what_it_is_in(line: str) -> None:
    text = "plate leaf: oval 20 x 12 mm, thick 1.4 mm\npath way: through (-6, 0) to (6, 0 mm)\n" + line
    written, drawn = (built(f"{text}{said}, in leaf") for said in (", out 1.4 mm", ""))
    assert sum(part.volume for part in drawn.parts) == sum(part.volume for part in written.parts)
    assert drawn.parts[0].volume < built(text.rpartition("\n")[0]).parts[0].volume
