"""A place outside a block is where it is in the piece, also for the lines of the block."""

import numpy as np
import pytest
from texts import laid

OUTSIDE = "disc body: across 13 mm, thick 4 mm, out 3 mm\nspots edge: at left of body, up 1 mm\n"


@pytest.mark.parametrize("where", ["at edge", "at left of body", "at face of body, right 2 mm"])
@pytest.mark.parametrize("block", ["casting", "workpiece"])
def test_it_is_one_spot_in_and_out_of_a_block(where: str, block: str):
    inside = f"{block} lid: at face of body, right 3 mm, turn 30 deg\n  ball bit: across 1 mm, {where}\n"
    one = laid(f"{OUTSIDE}ball bit: across 1 mm, {where}\n", "bit")
    other = laid(OUTSIDE + inside, "lid.bit")
    assert np.allclose(one.frames, other.frames, atol=1e-8)


def test_a_pattern_that_stands_nowhere_is_laid_out_in_the_block():
    text = "disc body: across 13 mm, thick 4 mm\nspots three: row 3, every 2 mm\nworkpiece top: at face of body\n"
    bits = laid(text + "  ball bit: across 1 mm, at three\n", "top.bit")
    assert bits.frames[:, 2, 3] == pytest.approx([4.0] * 3)


@pytest.mark.parametrize(
    ("spots", "top"),
    [
        ("(-3, -17) to (0, -8) to (1, 2) to (0, 14 mm), smooth", (0.0, 14.0)),  # a stem: its upper end
        ("(-6, 8) to (0, -4) to (6, 8 mm), smooth", (0.0, -3.0)),  # horns on both sides: its middle
    ],
)
def test_metal_that_rises_to_one_side_ends_above_there(spots: str, top: tuple[float, float]):
    text = f"path stalk: through {spots}\nwire stem: along stalk, round 2 mm\nball bit: across 1 mm, at top of stem\n"
    assert laid(text, "bit").frames[0, :2, 3] == pytest.approx(top, abs=0.3)


def test_a_bend_of_a_closed_path_opens_to_what_the_wire_can():
    text = "path edge: through (-1, 0) to (8, 3.4) to (18, 3) to (18, -3) to (8, -3.4 mm), smooth, closed\n"
    thin, thick = (laid(f"{text}wire rim: along edge, round {wide} mm\n", "rim") for wide in (0.1, 1.2))
    near, far = (one.offers["path"]().lines[0].points[:, 0] for one in (thin, thick))
    assert near.min() < far.min() < near.min() + 1.2
    assert far.max() <= near.max() + 0.01
