"""What turns and moves does so about its own place: core words, words in posy, and domed metal."""

from __future__ import annotations

import numpy as np
import pytest
from test_shapes_words import fault_codes
from texts import built, laid

BAR = "bar b: size 24 x 4 x 2 mm\n"
STONE = "stone s: round 4 mm, gem garnet, right 6 mm, up 1 mm, out 3 mm\n"


def points(text: str) -> np.ndarray:
    made = built(text, check_metal=False)
    return np.concatenate([part.points for part in made.parts])


def alike(first: str, second: str) -> bool:
    a, b = points(first), points(second)
    apart = np.linalg.norm(a[:, None] - b[None], axis=2)
    return bool(max(apart.min(axis=0).max(), apart.min(axis=1).max()) < 0.003)


def test_a_setting_turns_about_the_stone_it_is_for() -> None:
    prong = "prong p: for s, count 4, foot 3 mm"
    turned = f"{prong}, start 45 deg, turn 30 deg"
    assert alike(BAR + STONE + f"{prong}, start 75 deg", BAR + STONE + turned)


def test_a_setting_moves_along_the_axes_of_its_stone() -> None:
    tilted = STONE.replace("out 3 mm", "out 3 mm, lean 40 deg")
    text = "bar b: size 2 x 4 x 2 mm\n" + tilted + "prong p: for s, count 4, start 45 deg, foot 4 mm"
    up = np.array([np.sin(np.radians(40)), 0, np.cos(np.radians(40))])
    plain, moved = points(text), points(f"{text}, out 0.4 mm")
    assert (moved @ up).max() - (plain @ up).max() == pytest.approx(0.4, abs=1e-4)


def test_a_word_in_posy_turns_about_each_of_its_places() -> None:
    bail = "bail l: at ({} mm, 0 mm, 2 mm){}, wire 1 mm, inside 3 mm"
    far = points(BAR + bail.format(8, ", turn 40 deg")) - (8, 0, 0)
    near = points(BAR + bail.format(0, ", turn 40 deg"))
    for at in (far, near):
        at[:] = np.where(at[:, 2:] > 2.2, at, 0)
    assert np.ptp(far[:, 1]) == pytest.approx(np.ptp(near[:, 1]), abs=1e-6)
    assert far[:, 1].max() == pytest.approx(near[:, 1].max(), abs=1e-6)


def test_one_setting_of_several_stones_is_not_turned_as_one() -> None:
    row = STONE.replace("right 6 mm", "row 2, every 6 mm")
    assert fault_codes(BAR + row + "prong p: for s, count 4, turn 30 deg") == ["several-stones"]
    each = "each one in s\n  prong p: for one, count 4, start 0 deg, foot 3 mm{}"
    straight = BAR + row + each.format(", turn 45 deg")
    assert alike(straight, BAR + row + each.format("").replace("start 0", "start 45"))
    # Moved the same way it stays one line of work: nothing is told but the points that stand in the bar.
    moved = BAR + row + "prong p: for s, count 4, out 0.4 mm, foot 4 mm"
    assert fault_codes(moved) == ["stone-in-metal"]
    assert fault_codes(moved.replace("out 3 mm", "out 3.9 mm")) == []


def test_metal_is_domed_about_its_own_middle() -> None:
    petal = "plate p: marquise 10 x 5 mm, thick 1.2 mm{}\ndap d: of p, ball 16 mm"
    home = points(petal.format(""))
    away = points(petal.format(", right 9 mm, up 2 mm, turn 90 deg")) - (9, 2, 0)
    assert np.allclose(np.sort(away[:, 2]), np.sort(home[:, 2]), atol=1e-5)
    assert away[:, 1].max() == pytest.approx(home[:, 0].max(), abs=1e-5)
    assert fault_codes(petal.format(", circle 5, radius 9 mm")) == ["too-many-copies"]


LEAF = "plate leaf: marquise 16 x 7 mm, thick 1.4 mm, up 7 mm, turn 70 deg\n"


@pytest.mark.parametrize(
    ("line", "middle", "ways"),
    [
        ("copy b: of leaf, right 13 mm, down 7 mm, turn -100 deg", (13, 0), -30),
        ("copy b: of leaf, at (20, 4 mm), turn 20 deg", (20, 4), 90),
        ("mirror b: of leaf, right 30 mm, turn 20 deg", (30, 7), 310),
    ],
)
def test_a_copy_turns_about_the_place_of_the_first(line: str, middle: tuple[float, float], ways: float) -> None:
    long = points(f"{LEAF}{line}")
    other = long[np.linalg.norm(long[:, :2] - middle, axis=1) < 9.0][:, :2]
    assert (other.min(axis=0) + other.max(axis=0)) / 2 == pytest.approx(np.array(middle), abs=0.01)
    tip = other[np.linalg.norm(other - middle, axis=1).argmax()] - middle
    off = np.degrees(np.arctan2(tip[1], tip[0])) - ways
    assert np.sin(np.radians(off)) == pytest.approx(0.0, abs=0.002)


def test_half_way_between_two_places_looks_half_way() -> None:
    spots = "spots one: left 6 mm, turn 60 deg\nspots two: right 6 mm, turn -30 deg\n"
    for ends in ("one, two", "two, one"):
        long = points(f"{spots}bar b: size 10 x 1 x 1 mm, at between({ends})")
        tip = long[long[:, 0].argmax()]
        assert np.degrees(np.arctan2(tip[1], tip[0])) == pytest.approx(15.0, abs=6.0)


def test_metal_that_is_used_up_is_told_so() -> None:
    text = "plate leaf: marquise 16 x 7 mm, thick 1.4 mm\ndap a: of leaf, ball 36 mm\n"
    assert fault_codes(f"{text}dap b: of leaf, ball 36 mm") == ["not-bendable"]
    assert fault_codes(f"{text}copy b: of a, right 20 mm") == []


def test_a_place_on_the_back_is_pointed_at_from_in_front() -> None:
    text = "disc medal: across 30 mm, thick 1.4 mm, out 2 mm\nspots backs: behind medal, up 5 mm, left 3 mm\n"
    frame = laid(text, "backs").frames[0]
    assert frame[:, 3] == pytest.approx((-3, 5, 2))
    assert frame[:, 2] == pytest.approx((0, 0, -1)) and frame[:, 1] == pytest.approx((0, 1, 0))
    assert fault_codes(f"{text}spots off: behind medal, up 25 mm\n") == ["no-places"]
