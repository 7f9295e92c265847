"""Several cuts in one line of stones: they take turns along each row, as they are written."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from texts import built, codes, made

BAND = 'band shank: finger "us 6 1/2", wide 2.6 mm, thick 1.8 mm, profile d\n'
ROW = "stone row: oval 3 x 4 mm, round 2.5 mm, gem ruby and diamond, row 7, gap 0.35 mm, {where}\n"


def test_cuts_and_gems_take_turns_level_and_held_by_shared_claws():
    piece = built(BAND + ROW.format(where="on shank, out 1.8 mm") + "basket head: for row, shared, on shank")
    assert [(one.cut, one.gem) for one in piece.stones] == [("oval", "ruby"), ("round", "diamond")] * 3 + [("oval", "ruby")]
    high = [float(np.hypot(one.frame[0, 3], one.frame[2, 3])) for one in piece.stones]
    assert max(high) - min(high) < 1e-6


@pytest.mark.parametrize(
    ("where", "gap"),
    [("row 6, gap 0.3 mm", 0.3), ("along way, gap 0.3 mm, number 6", 0.3), ("along way, gap 0.3 mm", 0.3)],
)
def test_the_gap_is_kept_between_unlike_neighbours(where: str, gap: float):
    """Straight, girdle to girdle: half of either width and the gap (elementary geometry)."""
    text = f"path way: through (-14, 0) to (14, 0 mm)\nstone row: marquise 5 x 2.5 mm, round 2 mm, gem ruby, {where}\n"
    stones = made(text, check_metal=False).stones
    assert len(stones) >= 6
    for one, other in itertools.pairwise(stones):
        apart = np.linalg.norm(one.frame[:, 3] - other.frame[:, 3])
        assert apart == pytest.approx((one.size[0] + other.size[0]) / 2 + gap, abs=1e-6)
        assert {one.cut, other.cut} == {"marquise", "round"}


def test_they_are_taken_as_written_not_as_listed():
    text = "stone s: baguette 3 x 2 mm, round 2 mm, oval 3 x 2 mm, gem ruby, row 3, every 4 mm"
    assert [one.cut for one in made(text, check_metal=False).stones] == ["baguette", "round", "oval"]


@pytest.mark.parametrize(
    ("line", "code"),
    [("round 2 mm, oval 3 x 2 mm, gem ruby", "clauses-disagree"),
     ("round 2 mm, oval 3 x 2 mm, gem ruby, row 1, gap 0.2 mm", "several-stones"),
     ("round 2 mm, oval 3 x 2 mm, gem ruby, circle 7, gap 0.2 mm", "clauses-disagree"),
     ("round 2 mm, oval 3 x 2 mm, gem ruby, circle 8, gap 0.2 mm", None),
     ("baguette 3 x 2 mm, oval 2 x 3 mm, gem ruby, row 4, gap 0.2 mm", "clauses-disagree"),
     ("marquise 2 x 4 mm, oval 2 x 3 mm, gem ruby, row 4, gap 0.2 mm", None),
     ("round 2 mm to 3 mm, oval 3 x 2 mm, gem ruby, row 4, gap 0.2 mm", "clauses-disagree"),
     ("round 2 mm, oval 3 x 2 mm, gem ruby, row 4, gap 0.2 mm, deep 1 mm", "clauses-disagree")],
)  # fmt: skip
def test_what_cannot_take_turns_is_told(line: str, code: str | None):
    told = codes(made(f"stone s: {line}\nbar frame: size 4 x 4 x 1 mm, down 30 mm", check_metal=False))
    assert told == ([code] if code else [])
