"""How high a stone stands over the finger: measured on the stone's own mesh, from the axis of the ring. US size 7
is 17.35 mm inside (ISO 8653 and the US scale, see tests/outside on fingers)."""

from __future__ import annotations

import numpy as np
import pytest
from texts import codes, laid, made

SHANK = "band shank: finger us 7, wide 2.4 mm, thick {thick} mm, profile d{more}\n"
STONE = "stone one: round 6 mm, gem garnet, {where}, over-finger 6 mm{more}\n"
INSIDE = laid(SHANK.format(thick=1.8, more=""), "shank").shank.inside / 2


def _over(text: str) -> np.ndarray:
    """How far the middles of girdles stand over the finger, mm."""
    middle = laid(text, "one").frames[:, :, 3]
    return np.hypot(middle[:, 0], middle[:, 2]) - INSIDE


@pytest.mark.parametrize("thick", [1.6, 2.4])
@pytest.mark.parametrize(
    "where", ["on shank", "on shank, around 25 deg, both-sides", "at top of shank", "at shoulders of shank"]
)
def test_a_girdle_stands_as_high_over_the_finger_as_said(thick: float, where: str):
    for more in ("", ", taper 2 x 1.5 mm"):
        text = SHANK.format(thick=thick, more=more) + STONE.format(where=where, more="")
        assert _over(text) == pytest.approx(6.0, abs=0.003)


def test_level_says_what_stands_there():
    culet, table = (
        _over(SHANK.format(thick=1.8, more="") + STONE.format(where="on shank", more=f", level {level}"))
        for level in ("back", "table")
    )
    assert culet > 7.5 and table < 5.5


@pytest.mark.parametrize("more, text", [(", out 1 mm", SHANK), ("", "bar shank: size 20 x 8 x 3 mm\n")])
def test_what_it_cannot_go_with_is_told(more: str, text: str):
    text = text.format(thick=1.8, more="") if "{" in text else text
    assert codes(made(text + STONE.format(where="on shank", more=more))) == ["clauses-disagree"]


def test_wire_on_a_path_about_a_finger_is_a_ring_too():
    text = "path way: finger us 7, outset 0.85 mm, arc -28 deg to 388 deg, advance 5.8 mm\n"
    text += "wire shank: along way, half-round 2.6 x 1.7 mm\n" + STONE.format(where="at top of way", more="")
    assert _over(text) == pytest.approx(6.0, abs=0.003)


def test_a_ring_in_a_casting_that_was_moved_is_measured_where_it_is():
    text = "casting second: right 30 mm\n  " + SHANK.format(thick=1.8, more="")
    stone = laid(text + "stone one: round 6 mm, gem garnet, at top of shank of second, over-finger 6 mm\n", "one")
    assert np.hypot(stone.frames[0, 0, 3] - 30.0, stone.frames[0, 2, 3]) - INSIDE == pytest.approx(6.0, abs=0.003)


@pytest.mark.parametrize(
    "row",
    [
        "on shank, row 3, gap 0.2 mm", "along around of shank, number 5, gap 0.2 mm",
        "on shank, row 3, gap 0.2 mm, level back",
    ],
)  # fmt: skip
def test_a_row_keeps_its_gap_at_that_height(row: str):
    """Girdle to girdle: equal stones stand their width and the gap apart, as the crow flies."""
    text = SHANK.format(thick=1.8, more="") + f"stone one: round 3 mm, gem garnet, {row}, over-finger 5 mm\n"
    middle = laid(text, "one").frames[:, :, 3]
    apart = np.linalg.norm(np.diff(middle, axis=0), axis=1)
    assert apart == pytest.approx(3.2, abs=0.01)
    if "level" not in row:
        assert _over(text) == pytest.approx(5.0, abs=0.003)


BYPASS = (
    "path way: finger us 7, outset 0.85 mm, arc -28 deg to 388 deg, advance 6 mm, late\n"
    "wire shank: along way, half-round 2.6 x 1.7 mm\n"
)


@pytest.mark.parametrize("up", [1.0, 4.0])  # on the slope of its dome, and past its edge
@pytest.mark.parametrize("shank", [SHANK.format(thick=1.8, more=""), BYPASS])
def test_it_stands_as_high_beside_its_shank(shank: str, up: float):
    text = shank + STONE.format(where=f"on shank, up {up} mm", more="")
    assert _over(text) == pytest.approx(6.0, abs=0.003)
    assert laid(text, "one").frames[0, :2, 3] == pytest.approx((0.0, up), abs=0.003)  # from midway between the arms
    if up > 2:
        assert codes(made(text.replace("over-finger 6 mm", "out 3 mm"))) == ["off-the-face"]


def test_the_top_of_arms_that_pass_each_other_lies_midway_between_them():
    way = laid(BYPASS, "way")
    points = way.look("path").lines[0].points
    ahead = points[(np.abs(points[:, 0]) < 0.3) & (points[:, 2] > 0)][:, 1]
    top = way.look("top").frames[0]
    assert ahead.min() < -1.0 and ahead.max() > 1.0
    assert top[1, 3] == pytest.approx((ahead.min() + ahead.max()) / 2, abs=0.1)
    assert np.allclose(top[:, :3], np.eye(3))
