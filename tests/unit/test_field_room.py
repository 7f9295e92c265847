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
