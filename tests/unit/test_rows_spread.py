"""`number` spreads a row over its line, even or graded, open or closed; gaps as calipers measure them."""

from __future__ import annotations

import numpy as np
import pytest
from test_shapes_words import fault_codes
from texts import built, checked, laid

from posy.compiler.geometry.outlines import trace

LINES = {
    "straight": "path way: through (-12, 0 mm) to (12, 0 mm)",
    "bent": "path way: through (-12, 0 mm) over (0, 6 mm) to (12, 0 mm)",
    "ring": 'band way: inside 21 mm, wide 6 mm, thick 3 mm',
}


def row(name: str, clauses: str) -> tuple[np.ndarray, np.ndarray]:
    """Middles (n, 3) and widths (n,) of the stones of a row along one of LINES."""
    along = "around of way" if name == "ring" else "way"
    text = f"{LINES[name]}\nbar b: size 1 x 1 x 1 mm\nstone s: {clauses}, gem garnet, along {along}"
    stones = built(text, check_metal=False).stones
    return np.array([s.frame[:, 3] for s in stones]), np.array([s.size[0] for s in stones])


def gaps(middles: np.ndarray, widths: np.ndarray, closed: bool) -> np.ndarray:
    apart = np.linalg.norm(np.roll(middles, -1, axis=0) - middles, axis=1)
    free = apart - (widths + np.roll(widths, -1)) / 2
    return free if closed else free[:-1]


@pytest.mark.parametrize("number", [3, 4, 7])
@pytest.mark.parametrize("name", LINES)
def test_a_graded_row_is_spread_as_an_even_one_is(name: str, number: int) -> None:
    graded, widths = row(name, f"round 2 mm to 3 mm, number {number}")
    even, _ = row(name, f"round 2.5 mm, number {number}")
    assert len(graded) == len(even) == number
    assert np.ptp(gaps(graded, widths, name == "ring")) < 1e-6
    assert graded[0] == pytest.approx(even[0], abs=1e-6)
    if name != "ring":
        assert graded[-1] == pytest.approx(even[-1], abs=1e-6)


def test_what_is_told_to_be_needed_is_enough() -> None:
    text = "path way: through (0, 0) to ({}, 0 mm)\nbar b: size 1 x 1 x 1 mm\n"
    text += "stone s: round 2 mm to 3 mm, gem garnet, along way, number 9, gap 0.2 mm"
    made = checked(text.format(20))
    (fault,) = [f for f in made.faults if f.code == "row-too-long"]
    need = float(fault.limit.removeprefix("a path of ").split(" mm")[0])
    assert need == pytest.approx(9 * 2.5 + 8 * 0.2, abs=0.01)
    assert "row-too-long" in fault_codes(text.format(need - 0.02))
    assert "row-too-long" not in fault_codes(text.format(need))


def test_a_graded_row_keeps_a_pitch_that_is_said() -> None:
    middles, _ = row("straight", "round 2 mm to 3 mm, fit 4 mm")
    assert np.diff(middles[:, 0]) == pytest.approx(np.full(6, 4.0))


def on_an_oval(clauses: str) -> tuple[np.ndarray, np.ndarray]:
    text = "path way: inside 62 x 54 mm, outset 1.6 mm\nbar b: size 1 x 1 x 1 mm\n"
    stones = built(f"{text}stone s: {clauses}, gem sapphire, along way", check_metal=False).stones
    return np.array([s.frame[:, 3] for s in stones]), np.array([s.size[0] for s in stones])


def test_fewer_stones_than_close_a_path_make_a_run_at_its_head() -> None:
    middles, widths = on_an_oval("round 2.5 mm to 4 mm to 2.5 mm, number 9, gap 1.2 mm")
    assert gaps(middles, widths, closed=False) == pytest.approx(np.full(8, 1.2), abs=1e-6)
    assert middles[4] == pytest.approx([0.0, 0.0, middles[:, 2].max()], abs=1e-6)  # the head looks up
    assert middles[0, 0] == pytest.approx(-middles[8, 0], abs=1e-6)


def test_as_many_as_close_a_path_close_it_evenly() -> None:
    found, widths = on_an_oval("round 3 mm, gap 0.3 mm")
    for number in (len(found), len(found) - 1):
        middles, widths = on_an_oval(f"round 3 mm, number {number}, gap 0.3 mm")
        free = gaps(middles, widths, closed=True)
        if number == len(found):
            assert np.ptp(free) < 1e-6
        else:
            assert free[:-1] == pytest.approx(np.full(number - 1, 0.3), abs=1e-6)


def test_a_graded_row_that_closes_begins_at_the_head() -> None:
    middles, widths = on_an_oval("round 2.5 mm to 4 mm to 2.5 mm, number 9")
    assert middles[widths.argmin(), 2] == pytest.approx(middles[:, 2].max(), abs=1e-6)


@pytest.mark.parametrize("gap", [0.3, 0.56])
@pytest.mark.parametrize("cut", ["tapered-baguette 3 x 2 x 1.5 mm", "princess 2 x 2 mm", "oval 3 x 2 mm"])
def test_a_gap_on_a_bend_is_that_of_the_nearest_corners(cut: str, gap: float):
    text = f"""path way: oval 12 x 9 mm
bar b: size 1 x 1 x 1 mm
stone s: {cut}, gem garnet, along way, gap {gap} mm, swivel 90 deg"""
    stones = laid(text, "s")
    flat = trace(stones.kind(0).outline, 0.005)
    dense = np.concatenate([flat + (np.roll(flat, -1, axis=0) - flat) * t for t in np.arange(0, 1, 0.01)])
    rims = [frame[:2, :2] @ dense.T + frame[:2, 3:] for frame in stones.frames]
    near = [
        np.linalg.norm(rim.T[:, None] - after.T[None], axis=2).min()
        for rim, after in zip(rims, rims[1:] + rims[:1], strict=True)
    ]
    assert min(near) > gap - 0.01
    assert min(near) < gap + 0.5  # an even number, as many as keep it


@pytest.mark.parametrize("way", ["along around of way, number 5", "on way, row 5"])
def test_a_row_level_with_a_domed_face_has_its_gap_where_its_girdles_lie(way: str) -> None:
    """They lie deeper than the crowns alone would have them, by how far the face falls away beside the crest."""
    text = f"band way: finger us 6, wide 3.4 mm, thick 2.5 mm, profile d\nstone s: round 2 mm, gem garnet, {way}"
    found = built(f"{text}, gap 0.2 mm, level table", check_metal=False).stones
    middles, widths = np.array([s.frame[:, 3] for s in found]), np.array([s.size[0] for s in found])
    assert gaps(middles, widths, closed=False) == pytest.approx(0.2, abs=0.002)
