"""Cathedral arms come to heads of every height and shape as whole metal, never as a blade along them."""

import pytest
from texts import Texts

from posy.compiler.making.pipeline import build
from posy.compiler.measures.rays import spots_on, straight_in

RING = (
    "band shank: finger us 6, wide 2 mm, thick 1.8 mm, profile d\n"
    "stone main: {cut}, gem garnet, at top of shank, out {out} mm\n"
    "basket head: for main, on shank\n"
    "cathedral arms: for main, on shank{around}\n"
)
THIN, SQUARE, BLADE = 0.2, 0.7, 0.25  # mm; cosine between opposite faces; mm2 of both together
CUTS = ["round 6 mm", "marquise 10 x 5 mm", "emerald 8 x 6 mm", "pear 9 x 6 mm"]


def made_of(**said):
    return build("p.posy", files=Texts({"p.posy": RING.format(**said)}))


@pytest.mark.parametrize("out", [5, 6])
@pytest.mark.parametrize("cut", CUTS)
def test_no_blade_is_left(cut: str, out: int) -> None:
    made = made_of(cut=cut, out=out, around="")
    assert not {"free-end", "trapped-void"} & {one.code for one in made.faults}
    skin = made.piece.skin_measures.skin
    spots = spots_on(skin, 0.1, 12_000)
    far, met, square = straight_in(skin, spots, 2 * THIN)
    assert spots.share * ((met >= 0) & (far < THIN) & (square > SQUARE)).sum() < BLADE


def test_arms_told_to_leave_too_near_the_head_are_told() -> None:
    (fault,) = (one for one in made_of(cut=CUTS[1], out=6, around=", around 46 deg").faults if "blade" in one.message)
    assert fault.remedy.startswith("write around 70 deg")
