"""A gallery on a shank: its rail lies outside the finger's room."""

import numpy as np
import pytest
from texts import Texts, metal_of

from posy.compiler.making.pipeline import build

RING = (
    "band shank: finger us 6, wide 2.2 mm, thick 1.8 mm\n"
    "stone main: {cut}, gem diamond, at top of shank, out {out}\n"
    "basket head: for main, on shank\n"
    "halo ring: for main, gem diamond, across 1.5 mm\n"
    "gallery lace: {narrow}along rim of ring, on shank\n"
)
INSIDE = 16.51 / 2  # mm, us 6: 16.51 inside


def made_of(**said):
    return build("p.posy", files=Texts({"p.posy": RING.format(**said)}))


@pytest.mark.parametrize(("cut", "out"), [("oval 8 x 6 mm", "5 mm"), ("oval 10 x 8 mm", "6 mm")])
def test_the_rail_of_a_wide_head_stays_out_of_the_finger(cut: str, out: str) -> None:
    """Whole, too: of its wire of 0.9 mm no more than a third lies in the bore, which takes that."""
    told = made_of(cut=cut, out=out, narrow="")
    points = np.asarray(metal_of(told).to_mesh64().vert_properties)
    assert np.hypot(points[:, 0], points[:, 2]).min() > INSIDE - 0.01
    assert not [one for one in told.faults if one.code in ("loose-piece", "expectation")]
