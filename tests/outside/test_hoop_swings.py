"""The ear wire of a hoop turned about its rivet, on the metal: it swings free, and holds at its click.

Elementary geometry; how far an ear wire has to open: common practice, no source."""

import numpy as np
import pytest
from manifold3d import Manifold
from texts import built, solid_of

SIZES = ("inside 16 mm, wide 3.2 mm, thick 2 mm", "inside 14 mm", "outside 20 mm, round 3 mm, taper 2 mm",
         "inside 10 mm, round 2 mm", "inside 60 mm, wide 4 mm, thick 3 mm", "outside 24 mm, round 4 mm, wall 0.8 mm",
         "inside 12 mm, wide 2 mm, thick 1.5 mm, pin 0.7 mm", "inside 20 mm, round 5 mm, pin 1.1 mm")  # fmt: skip


@pytest.mark.parametrize("said", SIZES)
def test_an_ear_wire_with_its_eye_turns_from_its_click_to_wide_open(said: str) -> None:
    parts = built(f"hoop ring: {said}").parts
    bought = sorted((part for part in parts if part.bought), key=lambda part: part.volume)
    (body,) = (solid_of(part) for part in parts if not part.bought)
    rivet, pin = bought[0].points, solid_of(bought[-1])
    middle = (rivet.min(axis=0) + rivet.max(axis=0)) / 2
    thick = np.ptp(np.array(bought[-1].points)[:, 1])
    eye = Manifold.cylinder(thick, 0.8 * thick, circular_segments=96).translate((0, 0, -thick / 2)).rotate((90, 0, 0))
    swung = pin + eye.translate(middle)  # a flattened end 1.6 times as wide as the wire is thick
    turns = 0, 3, 15, 20, 30, 45, 60, 75
    meets, gaps = {}, {}
    for turn in turns:
        moved = swung.translate(-middle).rotate((0, -turn, 0)).translate(middle)
        meets[turn], gaps[turn] = (moved ^ body).volume(), moved.min_gap(body, 1.0)
    assert meets[3] > 0.01  # it springs out of its click
    assert [meets[turn] for turn in turns if turn != 3] == pytest.approx([0] * 7, abs=1e-3)
    assert min(gaps[turn] for turn in turns if turn != 3) > 0.05


def test_stones_seen_lie_on_the_half_with_the_click() -> None:
    """The gap looks back; the rivet is at the right of it, the click at the left."""
    made = built("hoop ring: inside 16 mm\nball bead: along seen of ring, number 5, across 1 mm, inward 0.2 mm")
    body = max(made.parts, key=lambda part: part.volume).points
    plain = max(built("hoop ring: inside 16 mm").parts, key=lambda part: part.volume).points
    assert body[:, 0].min() < plain[:, 0].min() - 0.2 and body[:, 0].max() == pytest.approx(plain[:, 0].max(), abs=1e-3)
    assert body[:, 2].max() < plain[:, 2].max() + 0.7  # the last near the lowest place, none on it
