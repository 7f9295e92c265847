"""Earrings: where the post stands on an open back, what hangs in rows of loops, what carries."""

from __future__ import annotations

import numpy as np
import pytest
from texts import made as built

from posy.lang.faults import Level

CURVE = "path curve: through (0, 0) over (-3.6, 9) to (-1, 20 mm)\n"
ROW = (
    "stone row: round 3.5 mm to 1.8 mm, gem diamond, along curve, number 7, gap 0.35 mm\n"
    "basket head: for row, shared\near-post post: at pick(centres of row, {}), behind head\n"
)
BEAM = (
    "bar beam: size 16 x 1.6 x 1.4 mm, corner 0.7 mm\nbail loop: at top of beam, wire 0.8 mm, inside 1.8 mm, stand\n"
    "bail eyes: at bottom of beam, row 5, every 2.6 mm, wire 0.8 mm, inside 1.5 mm, stand\n"
)
TRAYS = {
    "halo": "halo round-it: for one, gem diamond, across 1.3 mm\n",
    "cluster": "cluster round-it: for one, gem diamond, across 2 mm\n",
}


def told(text: str) -> list[str]:
    return [f"{fault.message}: {fault.remedy}" for fault in built(text).faults if fault.level is Level.FAULT]


@pytest.mark.parametrize("which", [1, 2, 7])
def test_a_post_stands_straight_behind_the_chosen_stone_of_a_row(which: int) -> None:
    """Its axis goes through the middle of the stone."""
    made = built(CURVE + ROW.format(which))
    assert not [fault for fault in made.faults if fault.level is Level.FAULT]
    points = made.parts[0].points
    tip = points[points[:, 2] < points[:, 2].min() + 1.0].mean(axis=0)
    assert tip[:2] == pytest.approx(made.stones[which - 1].frame[:2, 3], abs=0.02)


@pytest.mark.parametrize("tray", TRAYS)
def test_a_post_at_the_back_of_a_head_in_a_tray_is_carried_by_its_rail(tray: str) -> None:
    """The tray behind the stone is cut open: the foot of the head is what the post stands on."""
    text = f"stone one: round 5 mm, gem sapphire\nbasket head: for one\n{TRAYS[tray]}ear-post post: at back of head\n"
    assert not told(text)


def test_a_strand_hangs_in_every_loop_of_a_row() -> None:
    made = built(BEAM + "chain strands: hangs-in eyes, long 30 mm, wire 0.4 mm\n")
    assert not [fault for fault in made.faults if fault.level is Level.FAULT]
    strands = [part for part in made.parts if part.casting.startswith("strands")]
    middles = sorted(float(np.mean(part.points[:, 0])) for part in strands)
    assert middles == pytest.approx([-5.2, -2.6, 0, 2.6, 5.2], abs=0.02)


def test_what_hangs_in_a_strand_hangs_at_its_lower_end() -> None:
    charm = "casting charm: hangs-in strands\n  disc coin: across 5 mm, thick 1 mm\n  bail ring: at top of coin, wire 0.8 mm, inside 1.6 mm\n"
    made = built(BEAM.replace("row 5, every 2.6 mm, ", "") + "chain strands: hangs-in eyes, long 30 mm, wire 0.4 mm\n" + charm)
    assert not [fault for fault in made.faults if fault.level is Level.FAULT]
    lowest = {part.casting: float(part.points[:, 1].min()) for part in made.parts}
    assert min(lowest, key=lambda name: lowest[name]).startswith("charm")
    assert lowest["charm"] < -33.0


def test_a_ring_cast_by_itself_turns_as_it_hangs() -> None:
    eyes = "casting top\n  disc coin: across 6 mm, thick 1 mm\n  bail eye: at bottom of coin, wire 0.9 mm, inside 1.8 mm\n"
    assert not told(eyes + "casting link: hangs-in eye of top\n  jump-ring ring: wire 0.8 mm, inside 2.6 mm\n")


def test_an_ear_hook_carries_and_hangs_in_nothing() -> None:
    top = "casting top\n  disc coin: across 6 mm, thick 1 mm\n  bail eye: at top of coin, wire 0.9 mm, inside 1.8 mm\n"
    (said,) = told(top + "casting hook: hangs-in top\n  ear-hook wire: eye 2 mm\n")
    assert said == (
        "hook goes through the ear: it hangs in nothing, it carries top: write hook above top, and "
        "'hangs-in hook' on the line of top"
    )


def test_a_pearl_that_hangs_is_hung_by_the_top_of_its_cup() -> None:
    drop = "casting hook\n  ear-hook wire: eye 2 mm\ncasting drop: hangs-in hook\n  stone bead: pearl 8 mm, gem pearl, tilt 90 deg\n"
    assert not told(drop + "  pearl-cup cup: for bead\n  bail loop: at top of cup, wire 0.8 mm, inside 1.6 mm\n")


def test_a_drop_fast_on_its_ear_wire_swings_to_below_the_top_of_its_bow() -> None:
    """Elementary statics, reckoned by hand: (mm3, y, z) of the disc, the leg, the half round of the bow (its
    middle 2 r / pi above its own) and the tail of 0.8 mm wire; the top of the bow at y 13.1, z -3.8."""
    wire, bow = np.pi * 0.4**2, 4.6
    parts = np.array([
        (np.pi * 5.5**2 * 1.6, 0.0, 0.8), (wire * 3.0, 7.0, 0.8),
        (wire * np.pi * bow, 8.5 + 2 * bow / np.pi, 0.8 - bow), (wire * 14.0, 1.5, 0.6 - 2 * bow),
    ])  # fmt: skip
    _, y, z = parts[:, 0] @ np.c_[np.ones(4), parts[:, 1:]] / parts[:, 0].sum()
    by_hand = np.degrees(np.arctan2(z - (0.8 - bow), 13.1 - y))
    made = built('piece "Drop"\n  metal silver-925\ndisc drop: across 11 mm, thick 1.6 mm\near-hook hook: at top of drop\n')
    (told,) = [fault for fault in made.faults if fault.code == "tips-forward"]
    assert told.level is Level.HINT  # the weight lies no farther in front than the front leg
    assert told.seen is not None
    assert float(told.seen.split()[0]) == pytest.approx(by_hand, abs=0.3)
