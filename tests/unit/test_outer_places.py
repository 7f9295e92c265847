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
