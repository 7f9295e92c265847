"""A hidden halo: small stones on edge under a stone's girdle, looking outward, its claws between them.

The claws' room is reckoned here again, from the rods' own axes (common practice: a claw passes between two
stones of the row, no source)."""

from __future__ import annotations

import numpy as np
import pytest
from texts import built, codes, made

HEAD = "stone main: {cut}, gem diamond\nbasket head: for main, foot 4.6 mm\n"
CUTS = ("round 6.5 mm", "square-step 6.5 mm", "oval 8 x 6 mm", "cushion 7 mm", "pear 9 x 6 mm", "hexagon 8 x 7 mm")


@pytest.mark.parametrize("cut", CUTS)
def test_small_stones_stand_under_the_girdle_clear_of_claws(cut: str):
    piece = built(HEAD.format(cut=cut) + "halo row: for main, gem diamond, across 1.1 mm, hidden")
    main, *small = piece.stones
    assert len(small) >= 5
    for stone in small:
        out, at = stone.frame[:, 2], stone.frame[:, 3]
        assert abs(out[2]) < 1e-6 and out @ at > 0  # on edge, looking away from the middle
        assert at[2] < -0.9 and np.hypot(*at[:2]) < np.hypot(*main.size[:2] if len(main.size) > 1 else (7, 7)) / 2
    assert "stone-in-metal" not in codes(piece)


def test_a_row_far_below_leaves_room_for_claws_too():
    """Claws are upright: how far a row lies below their places does not matter."""
    text = ("stone main: round 6.5 mm, gem diamond\npath low: beside girdle of main, rise {rise}\n"
            "stone row: round 1.2 mm, gem diamond, along low, gap 0.15 mm, prongs-at corners of main, prong 1 mm")
    level, low = (made(text.format(rise=rise), check_metal=False).stones[1:] for rise in ("0 mm", "-4 mm"))
    assert len(level) == len(low)
    for one, other in zip(level, low, strict=True):
        assert one.frame[:2, 3] == pytest.approx(other.frame[:2, 3], abs=1e-6)


@pytest.mark.parametrize("clause", ["room 0.5 mm", "scalloped", "inner 0.2 mm"])
def test_clauses_of_a_tray_are_not_those_of_a_hidden_halo(clause: str):
    text = HEAD.format(cut=CUTS[0]) + f"halo row: for main, gem diamond, hidden, {clause}"
    assert codes(made(text, check_metal=False)) == ["clauses-disagree"]


@pytest.mark.parametrize(
    ("cut", "head", "claws"),
    [("round 6.5 mm", "basket head: for one, foot 4.6 mm, rails 1, count 6", 6),
     ("cushion 7 mm", "basket head: for one, foot 4.6 mm, rails 1, double", 8),
     ("princess 6 mm", "basket head: for one, foot 4.6 mm, rails 1, tip vee", 4),
     ("oval 8 x 6 mm", "bezel cup: for one, foot 4.6 mm", 0)],
)  # fmt: skip
def test_the_row_parts_where_the_head_has_its_claws(cut: str, head: str, claws: int):
    """However many there are, of this stone alone: those of a casting that stands apart do not count."""
    other = "casting other: right 30 mm\n  stone two: round 6.5 mm, gem ruby\n  basket four: for two"
    here = f"casting mine\n  stone one: {cut}, gem diamond\n  {head}\n  expect count(claws of one) is {claws}, else \"no\""
    row = "\n  halo row: for one, gem diamond, across 1.1 mm, hidden" if claws else ""
    built(f"{other}\n{here}{row}")
