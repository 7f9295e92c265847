"""Drawings of settings and stones: cuts hold against trimesh, numbers are legible, views stand as the
projection has them."""

import re

import numpy as np
import pytest
import trimesh
from lxml import etree

from posy.compiler.drawing.looks import close_up, maps
from posy.compiler.drawing.numbers import LEAST
from posy.compiler.drawing.projection import FIRST, PLACES, THIRD
from posy.compiler.drawing.scene import scene_of
from posy.compiler.drawing.section import cut_of, section_drawing
from posy.compiler.drawing.sheet import Titled, views_sheet
from posy.compiler.drawing.svg import UNITS
from posy.compiler.drawing.views import VIEWS
from posy.compiler.judging.settings import settings_of
from posy.compiler.making.pipeline import build
from posy.lang.loader import Texts

CUP = "stone eye: round 5 mm, gem garnet\nbezel cup: for eye, wall 0.6 mm, foot 3 mm, lip 0.5 mm\n"
MANY = (
    "bar plate: size 14 x 12 x 1.6 mm, inward 1.6 mm\n"
    "stone small: round 1 mm, gem garnet, grid 6 x 8, every 1.3 mm\nbead-set pave: for small, in plate, bead 0.4 mm\n"
)


def made(text):
    built = build("p.posy", files=Texts({"p.posy": text}), tolerance=0.02, check_metal=False)
    assert built.made, built.faults
    return built


@pytest.fixture(scope="module")
def cup():
    return made(CUP)


def test_a_cut_is_that_of_trimesh(cup):
    """The metal in the plane through the stone's axis, by trimesh's own intersection."""
    (setting,) = settings_of(cup.piece)
    cut = cut_of(cup.piece, setting)
    metal = np.concatenate([loop for loops in cut.metals for loop in loops])
    (part,) = cup.parts
    solid = trimesh.Trimesh(part.points, part.triangles, process=False)
    frame = cup.stones[0].frame
    lines = trimesh.intersections.mesh_plane(solid, np.cross(frame[:, 1], frame[:, 2]), frame[:, 3])
    seen = (lines.reshape(-1, 3) - frame[:, 3]) @ np.array([frame[:, 1], frame[:, 2]]).T
    left, low, right, high = cut.window
    inside = seen[(seen[:, 0] > left) & (seen[:, 0] < right) & (seen[:, 1] > low) & (seen[:, 1] < high)]
    assert metal[:, 0].min() == pytest.approx(inside[:, 0].min(), abs=1e-3)
    assert metal[:, 0].max() == pytest.approx(inside[:, 0].max(), abs=1e-3)
    assert metal[:, 1].max() == pytest.approx(inside[:, 1].max(), abs=1e-3) == pytest.approx(0.5)
    assert metal[:, 0].max() == pytest.approx(2.5 + 0.6, abs=0.05)  # wall 0.6 mm round a stone of 5 mm


def test_a_cut_is_drawn_at_ten_to_one_with_its_figures(cup):
    (setting,) = settings_of(cup.piece)
    tree = etree.fromstring(section_drawing(cut_of(cup.piece, setting), "garnet", "cup"))
    texts = [one.text for one in tree.iter("{*}text")]
    assert "stone 1, cut through its axis, 10:1, mm" in texts
    assert {"5", "0.5"} <= set(texts)
    (view,) = [one for one in tree.iter("{*}svg") if one is not tree]
    left, _, right, _ = cut_of(cup.piece, setting).window
    assert float(view.get("width")) / UNITS == pytest.approx(10 * (right - left), abs=0.05)
    hatch = [one for one in view.iter("{*}path") if one.get("stroke-width") == "3" and not one.get("stroke-dasharray")]
    for x0, y0, x1, y1 in re.findall(r"M(-?\d+) ?(-?\d+)L(-?\d+) ?(-?\d+)", hatch[0].get("d")):
        assert abs(abs(int(x1) - int(x0)) - abs(int(y1) - int(y0))) <= 2  # at 45 degrees


def test_numbers_on_stones_of_a_millimetre_are_legible_and_apart():
    built = made(MANY)
    found, hidden = maps(scene_of(built))
    assert not hidden
    assert sorted({number for one in found for number in one.numbers}) == list(range(1, len(built.stones) + 1))
    for one in found:
        tree = etree.fromstring(one.drawing)
        boxes = []
        for text in tree.iter("{*}text"):
            size = float(text.get("font-size")) / UNITS
            assert size >= LEAST - 0.05
            if text.get("stroke") is None:
                x, y = float(text.get("x")) / UNITS, float(text.get("y")) / UNITS
                wide = 0.5 * size * len(text.text)
                boxes.append((x - wide / 2, y - 0.7 * size, x + wide / 2, y))
        over = [
            (a, b) for k, a in enumerate(boxes) for b in boxes[k + 1 :]
            if min(a[2], b[2]) - max(a[0], b[0]) > 0.1 and min(a[3], b[3]) - max(a[1], b[1]) > 0.1
        ]
        assert not over
        assert b"paint-order" not in one.drawing  # every reader sees the light rim below the number


def test_a_ring_of_stones_is_numbered_from_all_sides():
    """Stones all round a finger: no one side shows them all."""
    built = made(
        'band shank: finger "iso 54", wide 3.3 mm, thick 1.9 mm\n'
        "stone row: round 2.4 mm, gem garnet, along around of shank, gap 0.21 mm, out 0.2 mm\n"
    )
    found, hidden = maps(scene_of(built))
    assert len(found) > 1 and not hidden
    assert {number for one in found for number in one.numbers} == set(range(1, len(built.stones) + 1))
    for one in found:  # none edge on, where it would stand on a prong: within 57 degrees of the onlooker
        axes = np.array([built.stones[number - 1].frame[:, 2] for number in one.numbers])
        assert (axes @ np.array(VIEWS[one.view].toward)).min() > 0.54


def test_a_close_up_has_no_number_cut_by_its_frame_and_nothing_beyond_it():
    drawing, _ = close_up(scene_of(made(MANY)), 1)
    tree = etree.fromstring(drawing)
    (inner,) = [one for one in tree.iter("{*}svg") if one is not tree]
    left, low, wide, tall = map(float, inner.get("viewBox").split())
    texts = list(tree.iter("{*}text"))
    assert len(texts) > 2 and inner.get("overflow") == "hidden" and all(one.getparent() is inner for one in texts)
    for one in texts:
        assert left + UNITS < float(one.get("x")) < left + wide - UNITS
        assert low + UNITS < float(one.get("y")) < low + tall - UNITS / 2


def test_views_in_a_column_say_where_they_are_seen_from():
    """ISO 5456-2 (from memory): what does not stand as a projection has it bears no sign of one, but its name."""
    long = made("bar slab: size 60 x 20 x 2 mm\n")
    tree = etree.fromstring(views_sheet(Titled(scene_of(long), "Slab", ""), figures=True, most=(184.0, 195.0)))
    texts = [one.text for one in tree.iter("{*}text")]
    assert {"seen from the front", "seen from below", "seen from the right"} <= set(texts)
    assert not tree.findall(".//{*}circle")


def test_a_close_up_shows_the_stone_and_its_scale(cup):
    drawing, scale = close_up(scene_of(cup), 1)
    assert scale == "6:1"
    tree = etree.fromstring(drawing)
    assert [one.text for one in tree.iter("{*}text")] == ["1", "1"]  # its rim, and itself


@pytest.mark.parametrize(("projection", "order"), [(THIRD, ("face", "side")), (FIRST, ("side", "face"))])
def test_views_stand_as_the_projection_has_them(cup, projection, order):
    """ISO 5456-2 (from memory): a view from above stands above in third angle, below in first; one from the
    right at the right in third angle, at the left in first."""
    places = PLACES[projection]
    assert places[order[0]][1] < places[order[1]][1]
    assert (places["end"][0] > places["side"][0]) == (projection == THIRD)
    titled = Titled(scene_of(cup), "Cup", "silver-925")
    tree = etree.fromstring(views_sheet(titled, figures=True, projection=projection))
    cone, wide = tree.findall(".//{*}circle")[-2:], None
    assert [one.get("cx") for one in cone] == [cone[0].get("cx")] * 2
    (wide,) = [float(one.get("d").split("L")[0][1:].split()[0]) for one in tree.iter("{*}path")
               if one.get("d", "").count("L") == 3 and one.get("d").endswith("z") and one.get("stroke-width") == "5"]
    assert (float(cone[0].get("cx")) < wide) == (projection == THIRD)


def test_a_title_never_runs_over_the_drawing(cup):
    long = "A very long title of a very small piece that somebody gave it one evening at the bench"
    tree = etree.fromstring(views_sheet(Titled(scene_of(cup), long, "silver-925"), ("face",)))
    wide = float(tree.get("width").removesuffix("mm"))
    (title,) = [one for one in tree.iter("{*}text") if one.text == long]
    assert 0.55 * float(title.get("font-size")) / UNITS * len(long) < wide
    lowest = max(float(n) for one in tree.iter("{*}path") if one.get("stroke-width") for n in re.findall(r"M-?\d+ (\d+)", one.get("d")))
    assert float(title.get("y")) - float(title.get("font-size")) > lowest


@pytest.mark.parametrize(("word", "kind"), [("vee-prong", "prongs"), ("channel", "rim"), ("flush", "rim"), ("collet", "bezel")])
def test_every_setting_of_the_standard_words_is_known_for_what_it_is(word, kind):
    """The examples of the words' own pages, cut through: the metal comes up to the stone on both sides."""
    from posy.compiler.pages.scenes import scenes
    from posy.compiler.words.standard import all_words

    record = all_words()[word]
    scene = scenes().get(word)
    built = made(next(iter(scene.with_example(record.example).values())) if scene else record.example)
    setting = settings_of(built.piece)[0]
    assert setting.kind == kind and setting.words[0] == word
    cut = cut_of(built.piece, setting)
    metal = np.concatenate([loop for loops in cut.metals for loop in loops])
    left, _, right, high = cut.box
    beside = metal[(metal[:, 1] > -0.4) & (metal[:, 1] < high + 3)]
    assert (beside[:, 0] < left + 0.2).any() and (beside[:, 0] > right - 0.2).any()
    if word == "vee-prong":  # it rises 0.5 mm above the table where its text says nothing else
        assert cut.over - high == pytest.approx(0.5, abs=0.01)
