"""Drawings on paper: sizes, scales, figures and line widths."""

from __future__ import annotations

from xml.etree import ElementTree

import numpy as np
import pytest
from test_drawing_scenes import BAR, ROW, scene

from posy.compiler.drawing.names import USUAL, VIEW_HELP
from posy.compiler.drawing.sheet import Titled, contact_sheet, picture_of, views_sheet
from posy.compiler.drawing.views import VIEWS

SVG = "{http://www.w3.org/2000/svg}"


def sheet(text: str = ROW, **wanted: object) -> bytes:
    return views_sheet(Titled(scene(text), "Level row", "silver-925"), **wanted)  # type: ignore[arg-type]


def test_same_text_same_bytes() -> None:
    assert sheet(figures=True) == sheet(figures=True)
    assert picture_of(scene(ROW), "row", "corner", 72, 54) == picture_of(scene(ROW), "row", "corner", 72, 54)


def test_a_drawing_is_xml_with_its_size_in_mm() -> None:
    root = ElementTree.fromstring(sheet(figures=True))
    assert root.tag == f"{SVG}svg"
    wide, tall = (float(root.attrib[side].removesuffix("mm")) for side in ("width", "height"))
    box = [float(part) for part in root.attrib["viewBox"].split()]
    assert box == [0, 0, pytest.approx(20 * wide, abs=1), pytest.approx(20 * tall, abs=1)]
    assert wide <= 210 and tall <= 297, "prints on A4"
    assert not list(root.iter(f"{SVG}script"))


def test_nothing_is_drawn_off_the_paper() -> None:
    root = ElementTree.fromstring(sheet(figures=True))
    _, _, wide, tall = (float(part) for part in root.attrib["viewBox"].split())
    for path in root.iter(f"{SVG}path"):
        for start in path.attrib["d"].split("M")[1:]:
            x, y = (int(part) for part in _pair(start))
            assert 0 <= x <= wide and 0 <= y <= tall


def _pair(text: str) -> tuple[str, str]:
    import re

    first, second = re.findall(r"-?\d+", text)[:2]
    return first, second


def test_overall_measures_are_those_of_the_piece() -> None:
    root = ElementTree.fromstring(sheet(BAR, figures=True))
    said = [text.text for text in root.iter(f"{SVG}text")]
    assert {"12", "5", "2", "Level row", "silver-925, 10:1, mm"} <= set(said)
    assert said.count("12") == said.count("5") == said.count("2") == 1, "each measure once"


def test_printed_to_scale() -> None:
    root = ElementTree.fromstring(sheet(BAR, names=("face",)))
    xs = []
    for path in root.iter(f"{SVG}path"):
        if "stroke" in path.attrib:
            xs += [int(_pair(start)[0]) for start in path.attrib["d"].split("M")[1:]]
    assert "silver-925, 10:1" in [text.text for text in root.iter(f"{SVG}text")]
    box = [float(part) for part in root.attrib["viewBox"].split()]
    assert box[2] / 20 == pytest.approx(12 * 10 + 2 * 6, abs=0.1)  # and the margins


def test_line_widths_are_of_the_standard_series() -> None:
    root = ElementTree.fromstring(sheet(figures=True))
    widths = {int(p.attrib["stroke-width"]) / 20 for p in root.iter(f"{SVG}path") if "stroke" in p.attrib}
    series = 0.13, 0.18, 0.25, 0.35, 0.5
    assert all(min(abs(width - one) for one in series) <= 0.026 for width in widths)


@pytest.mark.parametrize("view", list(VIEW_HELP))
def test_every_view_can_be_drawn_alone(view: str) -> None:
    assert ElementTree.fromstring(sheet(BAR, names=(view,))) is not None


def test_views_and_their_help_go_together() -> None:
    assert set(VIEWS) == set(VIEW_HELP) and set(USUAL) <= set(VIEWS)
    for view in VIEWS.values():
        assert np.linalg.det(view.axes()) == pytest.approx(1.0)


def test_titles_are_written_safely() -> None:
    titled = Titled(scene(BAR), 'A <b> & "c"\x07', "silver-925")
    for data in (views_sheet(titled), contact_sheet([titled])):
        root = ElementTree.fromstring(data)
        assert 'A <b> & "c"' in [text.text for text in root.iter(f"{SVG}text")]


def test_a_contact_sheet_shows_each_with_its_scale() -> None:
    titled = [Titled(scene(BAR), f"Piece {n}", "silver-925") for n in range(4)]
    titled.append(Titled(scene("bar a: size 120 x 20 x 4 mm\n"), "Piece 4", "silver-925"))
    root = ElementTree.fromstring(contact_sheet(titled))
    said = [text.text for text in root.iter(f"{SVG}text")]
    assert said[::2] == [f"Piece {n}" for n in range(5)]
    assert said[1::2] == ["silver-925, 4:1"] * 4 + ["silver-925, 1:2"]



def test_a_piece_as_large_as_the_cap_is_drawn_in_bounded_space() -> None:
    shot = ElementTree.fromstring(sheet("bar frame: size 390 x 5 x 2 mm\n", figures=True))
    assert float(shot.attrib["width"].removesuffix("mm")) <= 210
