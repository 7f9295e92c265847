"""Bands fitted beside a ring: how near the finished metal of the two stands is measured by the kernel (minimum
distance of two meshes), which knows nothing of how the band was found. That a shaped band lies close to the ring
and follows its head is common practice, no source."""

from __future__ import annotations

import numpy as np
import pytest
from manifold3d import Manifold, Mesh64
from texts import built, codes, laid, made

RING = "band shank: finger us 7, wide 2.2 mm, thick 1.8 mm, profile d\n"
HEADS = {
    "oval": "stone main: oval 6 x 8 mm, gem sapphire, on shank, level back, out 0.9 mm\nbasket head: for main, on shank\n",
    "bezel": "stone main: pear 9 x 6 mm, upright, gem ruby, on shank, level back, out 0.3 mm\nbezel head: for main, on shank\n",
    "low-bezel": "stone main: round 5 mm, gem ruby, on shank, level back, out 0.3 mm\nbezel head: for main, on shank\n",
    "row": "stone main: round 3 mm, gem ruby, along around of shank, out 2.4 mm, number 5, gap 0.2 mm\n"
    "basket head: for main, shared, on shank\n",
}
BAND = "casting other\n  band fit: finger us 7, wide 1.8 mm, thick 1.6 mm, next-to shank{more}\n"


def _apart(text: str) -> float:
    """Least distance of the two castings of a text, mm."""
    one, two = (
        Manifold(Mesh64(part.points, part.triangles.astype(np.uint64))) for part in built(text).parts
    )
    return float(one.min_gap(two, 5.0))


@pytest.mark.parametrize("more", ["", ", below"])
@pytest.mark.parametrize("head", HEADS)
def test_it_stands_clear_of_ring_and_head_and_near_them(head: str, more: str):
    gap = _apart(RING + HEADS[head] + BAND.format(more=more))
    assert 0.03 < gap < 0.2


def test_the_gap_is_as_said_beside_a_plain_ring():
    for more in (", gap 0.3 mm", ", gap 0.3 mm, taper 1.4 x 1.4 mm"):
        assert _apart(RING + BAND.format(more=more)) == pytest.approx(0.3, abs=0.011)


def test_it_stays_level_beside_a_level_ring_and_under_a_high_head():
    high = "stone main: round 5 mm, gem ruby, on shank, out 6 mm\nprong head: for main, on shank, wire 0.8 mm\n"
    for text in (RING, RING + high):
        fit = laid(text + BAND.format(more=""), "other.fit")
        assert fit.shank.rise == 0.0


def test_it_bows_toward_the_side_it_stands_on():
    fits = [laid(RING + HEADS["oval"] + BAND.format(more=more), "other.fit") for more in ("", ", below")]
    above, below = ((fit.shank.rise, fit.frames[0, 1, 3]) for fit in fits)
    assert above[0] > 2 and above[1] > 2
    assert below == pytest.approx((-above[0], -above[1]), abs=0.05)


def test_one_beside_a_pointed_band_is_pointed():
    text = RING.replace("profile d", "profile d, vee 3 mm") + BAND.format(more="")
    fit = laid(text, "other.fit")
    assert fit.shank.pointed and fit.shank.rise == pytest.approx(3.0, abs=0.5)
    assert 0.03 < _apart(text) < 0.2


def test_what_the_line_says_of_its_bow_holds():
    fit = laid(RING + HEADS["oval"] + BAND.format(more=", wave 4 mm, long 9 mm"), "other.fit")
    assert fit.shank.rise == 4.0 and fit.shank.bow == pytest.approx(9 / (17.35 / 2 + 1.6), abs=0.01)


def test_the_head_stands_for_its_ring():
    by_head, by_ring = (laid(RING + HEADS["oval"] + BAND.format(more="").replace("next-to shank", f"next-to {name}"),
                             "other.fit") for name in ("head", "shank"))  # fmt: skip
    assert by_head.shank == by_ring.shank and (by_head.frames == by_ring.frames).all()


def test_beside_what_is_no_ring_is_told():
    text = "bar plain: size 10 x 3 x 2 mm\n" + BAND.format(more="").replace("shank", "plain")
    assert "wrong-kind" in codes(made(text))
