"""A bezel wider than its shank: the shank runs through below it, and its wall ends above the finger."""

import pytest
from manifold3d import Manifold
from texts import Texts, metal_of

from posy.compiler.making.pipeline import build

RING = (
    "{shank}: finger uk P, wide 4 mm, thick 1.9 mm{gap}\n"
    "stone moon: cabochon 14 x 12 mm, gem onyx, at top of shank, over-finger 5 mm\n"
    "bezel cup: for moon, on shank{blind}\n"
)
INSIDE, CREST = 17.9 / 2, 17.9 / 2 + 1.9  # mm from the finger's axis, along y


@pytest.mark.parametrize("blind", ["", ", blind"])
@pytest.mark.parametrize(("shank", "gap"), [("band shank", ""), ("split-shank shank", ", gap 4 mm")])
def test_it_leaves_no_blade_at_the_finger(shank: str, gap: str, blind: str) -> None:
    made = build("p.posy", files=Texts({"p.posy": RING.format(shank=shank, gap=gap, blind=blind)}))
    assert not {"sharp-on-skin", "open-joint"} & {one.code for one in made.faults}


def test_the_shank_runs_through_below_it() -> None:
    made = build("p.posy", files=Texts({"p.posy": RING.format(shank="band shank", gap="", blind="")}))
    core = Manifold.cube((6.0, 3.6, 1.5)).translate((-3.0, -1.8, INSIDE + 0.1))
    along = Manifold.cylinder(20.0, CREST - 0.02, circular_segments=256).rotate((90, 0, 0)).translate((0, 10, 0))
    whole = core ^ along
    assert (whole - metal_of(made)).volume() < 0.01 * whole.volume()
