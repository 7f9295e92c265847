"""A field of stones leaves room for a stone that stands in it already."""

from __future__ import annotations

import numpy as np
import pytest
from texts import built


@pytest.mark.parametrize("centre", ["round 3.5", "oval 5 x 3"])
@pytest.mark.parametrize("rows", ["", ", bordered"])
def test_a_field_keeps_clear_of_its_centre(centre: str, rows: str) -> None:
    """As far off it as off one another: no pair of stones nearer than pitch less width."""
    plate = "plate top: marquise 20 x 9 mm, thick 2.2 mm"
    middle = f"stone c: {centre} mm, gem ruby, at face of top"
    field = f"stone f: round 1.5 mm, gem ruby, upon top, every 1.7 mm, inset 1.15 mm{rows}"
    bare, kept = (built("\n".join(lines), check_metal=False).stones
                  for lines in ([plate, field], [plate, middle, field]))  # fmt: skip
    small = np.array([one.frame[:2, 3] for one in kept if one.cut == "round" and one.size[0] == 1.5])
    assert 8 < len(small) < len(bare)
    half = [float(part) / 2 for part in centre.split(" ", 1)[1].split(" x ")]
    angle = np.linspace(0, 2 * np.pi, 721)
    inner = np.column_stack([np.cos(angle) * half[0], np.sin(angle) * half[-1]])
    apart = np.linalg.norm(small[:, None] - inner[None], axis=2).min() - 0.75
    assert apart >= 0.2 - 0.01


def test_a_stone_high_above_its_field_takes_no_room_in_it() -> None:
    plate = "plate top: round 16 mm, thick 2.2 mm"
    field = "stone f: round 1.5 mm, gem ruby, upon top, every 1.7 mm, inset 1.15 mm"
    high = "stone c: round 5 mm, gem ruby, at face of top, out 6 mm"
    alone, under = (built("\n".join(lines), check_metal=False).stones
                    for lines in ([plate, field], [plate, high, field]))  # fmt: skip
    assert len(under) == len(alone) + 1


BAND = "band b: finger us 7, wide {} mm, thick 2.4 mm, profile {}{}"
SHAPES = {
    "a third of a tapering dome": (BAND.format(9, "d", ", taper 3 x 1.8 mm"), ", stretch -17 % to 17 %"),
    "an even band, all round": (BAND.format(5.4, "flat", ""), ""),
    "a tapering band, all round": (BAND.format(6.6, "court", ", taper 5 x 2 mm"), ""),
    "a pointed band": (BAND.format(6, "flat", ", vee 4 mm"), ", stretch -20 % to 20 %"),
}


@pytest.mark.parametrize("name", SHAPES)
def test_rows_of_a_bordered_band_follow_its_edges(name: str) -> None:
    """The first row lies as far inside either edge as said; no two stones are nearer than a setter lets them
    come; right and left of the head, and above and below the middle, are mirror images."""
    band, stretch = SHAPES[name]
    row = f"stone f: round 1.5 mm, gem ruby, upon b, bordered, every 1.7 mm, inset 1.2 mm{stretch}"
    spots = np.array([one.frame[:, 3] for one in built(f"{band}\n{row}", check_metal=False).stones])
    apart = np.linalg.norm(spots[:, None] - spots[None], axis=2) + 10 * np.eye(len(spots))
    assert apart.min() >= 0.98 * 1.7
    vee = "vee" in band
    for flip in [(-1, 1, 1), *([] if vee else [(1, -1, 1)])]:
        assert np.linalg.norm(spots[:, None] - (spots * flip)[None], axis=2).min(axis=1).max() < 0.02
    if not vee and "flat" in band:  # both edge rows, and no stone past them
        assert np.abs(spots[:, 1]).max() == pytest.approx(5.4 / 2 - 1.2, abs=1e-3)
        edge = spots[spots[:, 1] > 1.4]
        assert len(edge) == int(2 * np.pi / (2 * np.arcsin(1.7 / 2 / (17.3 / 2 + 2.4))))


@pytest.mark.parametrize("wide", [7.0, 9.9])
def test_an_even_number_of_rows_nests_across_the_middle(wide: float) -> None:
    """Rows of a hexagonal field: each full from end to end, its stones half way between those beside it."""
    band = f"band b: inside 17 mm, wide {wide} mm, thick 2.2 mm"
    rows = int((wide - 2.4) / (0.88 * 1.7)) + 1
    field = "stone f: round 1.5 mm, gem ruby, upon b, bordered, every 1.7 mm, inset 1.2 mm, stretch -20 % to 20 %"
    spots = np.array([one.frame[:, 3] for one in built(f"{band}\n{field}", check_metal=False).stones])
    heights, counts = np.unique(spots[:, 1].round(3), return_counts=True)
    assert len(heights) == rows
    assert np.diff(heights) == pytest.approx((wide - 2.4) / (rows - 1), abs=2e-3)
    assert counts.max() - counts.min() == 1
    assert (np.diff(counts) != 0).all()


OUTLINES = {
    "marquise 10 x 20 mm, upright": "xy", "oval 20 x 14 mm": "xy", "pear 14 x 20 mm, upright": "x",
    "heart 19 x 20 mm, upright": "x", "crescent 24 x 8 mm": "y", "trillion 18 x 17 mm, upright": "x",
    "polygon 4, across 18 mm": "xy", "polygon 5, across 18 mm": "x", "polygon 6, across 18 mm": "xy",
    "rectangle 20 x 12 mm": "xy", "cushion 18 x 15 mm": "xy", "round 16 mm": "x",
}  # fmt: skip


@pytest.mark.parametrize("pitch", [2.1, 1.6])
@pytest.mark.parametrize("outline", OUTLINES)
def test_a_bordered_field_is_the_mirror_image_of_itself(outline: str, pitch: float) -> None:
    """As its outline is; no stones nearer than a setter lets them come, and none alone with a bare ring about
    it wide enough for more."""
    plate = f"plate top: {outline}, thick 2.2 mm"
    field = f"stone f: round {pitch - 0.2} mm, gem ruby, upon top, every {pitch} mm, inset {pitch * 0.75} mm, bordered"
    spots = np.array([one.frame[:2, 3] for one in built(f"{plate}\n{field}", check_metal=False).stones])
    apart = np.linalg.norm(spots[:, None] - spots[None], axis=2) + 99 * np.eye(len(spots))
    assert apart.min() >= 0.98 * pitch
    assert apart.min(axis=1).max() < 1.6 * pitch
    for axis in OUTLINES[outline]:
        flip = (-1, 1) if axis == "x" else (1, -1)
        middle = (spots.min(axis=0) + spots.max(axis=0)) / 2
        images = (spots - middle) * flip + middle
        assert np.linalg.norm(spots[:, None] - images[None], axis=2).min(axis=1).max() < 0.02
