"""A plate with a weight at a hook: where it comes to rest, by elementary statics (moments about the support).

A free link carries no moment: what hangs in an eye pulls straight down at it, wherever its own middle lies.
"""

from __future__ import annotations

from math import atan2, degrees, pi

import pytest
from texts import made as built

PLATE, BUD = (16.0, 1.6), (6.0, 1.4)  # mm across and thick
FRAME = """disc medal: across 16 mm, thick 1.6 mm
spots off: right {right:g} mm, up 6.8 mm, out 0.8 mm, turn 90 deg
bail loop: at off, wire 1.2 mm, inside 3 mm
"""
HOLE = "drill eye: at face of medal, down 6 mm, left {left:g} mm, across 1.6 mm, in medal\n"
LINK = "jump-ring link: hangs-in eye, wire 0.8 mm, inside {inside:g} mm{bought}\n"
DROP = "casting drop: hangs-in link\n  disc bud: across 6 mm, thick 1.4 mm\n"
DROP += "  bail up: at top of bud, wire 1 mm, inside 2 mm\n"


def ring(inside: float, wire: float) -> float:
    """Volume of a whole ring of round wire, mm3 (Pappus)."""
    return pi * (inside + wire) * pi * wire**2 / 4


def disc(across: float, thick: float) -> float:
    return pi * across**2 / 4 * thick


def leaning(text: str) -> tuple[float, str]:
    (told,) = [fault for fault in built(text).faults if fault.code == "leans"]
    return float(told.figure), told.remedy or ""


@pytest.mark.parametrize("bought", [", bought", ""])
@pytest.mark.parametrize("left", [0.0, 2.0])
def test_a_plate_leans_as_its_own_weight_and_that_at_its_hole_tell(left: float, bought: str) -> None:
    """The drilled medal on its loop: moments of plate, loop and of what hangs, at the hole it hangs in."""
    text = FRAME.format(right=4) + HOLE.format(left=left) + LINK.format(inside=4, bought=bought) + DROP
    middle = max(part.points[:, 1].max() for part in built(text).parts) - 2.7  # inside 3, wire 1.2 mm
    parts = [
        (disc(*PLATE) - disc(1.6, 1.6), 0.0, 0.0),
        (ring(3, 1.2), 4.0, middle),
        (ring(4, 0.8) + disc(*BUD) + ring(2, 1), -left, -6.0),
    ]
    whole = sum(volume for volume, _, _ in parts)
    x, y = (sum(part[0] * part[k] for part in parts) / whole for k in (1, 2))
    found, remedy = leaning(text)
    assert found == pytest.approx(degrees(atan2(4.0 - x, middle + 1.5 - y)), abs=0.2)
    assert "to the left" in remedy


@pytest.mark.parametrize("hung", ["", DROP])
def test_a_loop_over_the_middle_of_all_the_weight_is_right(hung: str) -> None:
    text = FRAME.format(right=0) + HOLE.format(left=0) + LINK.format(inside=4, bought=", bought") + hung
    assert "leans" not in [fault.code for fault in built(text).faults]


def test_what_swings_long_below_bears_at_its_hook_alone() -> None:
    """The same weight on one link or on a chain of three: the frame above leans the same."""
    head = FRAME.format(right=4) + HOLE.format(left=2) + LINK.format(inside=4, bought="")
    chain = "".join(
        f"jump-ring {one}: hangs-in {two}, wire 0.5 mm, inside 6 mm\n"
        for one, two in (("b", "link"), ("c", "b"))
    )
    short, long = leaning(head + DROP)[0], leaning(head + chain + DROP.replace("in link", "in c"))[0]
    assert long == pytest.approx(short, abs=0.4)


def test_the_ring_of_a_charm_carries_the_charm_alone() -> None:
    """A ring of 0.8 mm is thin for 3 g (stdlib/tables/limits.tsv), and the frame it hangs in is no load on it."""
    text = FRAME.format(right=0) + HOLE.format(left=0) + LINK.format(inside=4, bought=", bought") + DROP
    piece = built(text)
    assert not [fault for fault in piece.faults if fault.code == "thin-loop"]
    heavy = text.replace("across 6 mm, thick 1.4", "across 16 mm, thick 2.4")
    assert {fault.span.line for fault in built(heavy).faults if fault.code == "thin-loop"} >= {5}
