"""A band open by an angle stands open as far as its chord, plane trigonometry: inside diameter x sin(half)."""

import math

import pytest
from texts import codes, made, volume

BAND = "band ring: inside 16 mm, wide 3 mm, thick 2 mm, open {so}\n"


@pytest.mark.parametrize("degrees", [40, 60, 90])
def test_an_angle_is_its_chord(degrees: int) -> None:
    wide = 16 * math.sin(math.radians(degrees) / 2)
    one, other = (volume(BAND.format(so=so)) for so in (f"{degrees} deg", f"{wide:.9f} mm"))
    assert one == pytest.approx(other, rel=1e-6)


@pytest.mark.parametrize("so", ["0 deg", "-5 deg", "170 deg"])
def test_an_angle_that_leaves_no_band_is_told(so: str) -> None:
    assert codes(made(BAND.format(so=so)))[0] in ("out-of-range", "band-too-open")
