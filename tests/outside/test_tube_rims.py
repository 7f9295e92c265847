"""Tubes with rounded and bevelled ends against closed forms.

Source: Pappus' second theorem (volume of a solid of revolution = area x path of its centroid), with
the centroid of a square less its quarter circle from handbook tables (elementary geometry, calc)."""

from __future__ import annotations

from math import pi

import pytest
from texts import built, volume

R_OUT, R_IN, HIGH, BY = 4.0, 2.6, 3.0, 0.4
TUBE = f"tube one: outside {2 * R_OUT} mm, inside {2 * R_IN} mm, long {HIGH} mm"
WHOLE = pi * (R_OUT**2 - R_IN**2) * HIGH


def _corner(rounded: bool) -> tuple[float, float]:
    """Area taken off a sharp corner, and how far its centroid lies from the side."""
    if not rounded:
        return BY**2 / 2, BY / 3
    area = BY**2 * (1 - pi / 4)
    # square about the side less the quarter disc, whose centroid is 4r/(3 pi) from its middle
    return area, (BY**3 / 2 - pi * BY**2 / 4 * (BY - 4 * BY / (3 * pi))) / area


@pytest.mark.parametrize(("clause", "ends"), [
    ("soften 0.4 mm", 1), ("soften 0.4 mm, rims both", 2), ("bevel 0.4 mm, rims back", 1),
    ("bevel 0.4 mm, rims both", 2),
])  # fmt: skip
def test_what_is_taken_off_is_what_pappus_says(clause: str, ends: int) -> None:
    area, off = _corner(clause.startswith("soften"))
    taken = ends * 2 * pi * area * ((R_OUT - off) + (R_IN + off))
    assert volume(f"{TUBE}, {clause}") == pytest.approx(WHOLE - taken, rel=5e-4)


def test_no_more_than_half_the_wall() -> None:
    with pytest.raises(AssertionError, match="rim-too-deep"):
        built(f"{TUBE}, soften 0.8 mm")
