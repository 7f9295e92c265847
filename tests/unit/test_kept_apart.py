"""Copies, granules and strokes laid beside other things: where they come to lie, by elementary geometry."""

from __future__ import annotations

import numpy as np
import pytest
from texts import checked, codes, laid

DISC = "disc medal: across 10 mm, thick 1.6 mm\n"
BAND = "band shank: finger us 8, wide 7 mm, thick 2.2 mm\n"
STONE = "stone one: round 2.4 mm, gem sapphire, at top of shank, level table\n"
STROKE = "engrave line: along around of shank, stroke 0.6 mm, deep 0.3 mm, in shank{more}\n"


def _at(text: str, name: str) -> np.ndarray:
    return np.asarray(laid(text, name).frames[:, :, 3])


@pytest.mark.parametrize(
    "place, spots", [("top", [(1, 5.5), (-1, 5.5)]), ("right", [(5.5, 1), (5.5, -1)]),
                     ("bottom", [(1, -5.5), (-1, -5.5)])],
)  # fmt: skip
def test_at_an_end_both_sides_lie_along_its_edge(place: str, spots: list[tuple[float, float]]):
    text = f"{DISC}ball eyes: at {place} of medal, right 0.5 mm, up 1 mm, both-sides, across 2 mm\n"
    assert sorted(_at(text, "eyes")[:, :2].round(6).tolist()) == sorted(map(list, spots))


def test_moved_up_alone_the_image_is_as_far_down():
    text = f"{DISC}ball ears: at face of medal, up 3 mm, both-sides, across 2 mm\n"
    assert _at(text, "ears")[:, :2].round(6).tolist() == [[0, 3], [0, -3]]


def test_into_metal_there_is_no_other_side():
    text = f"{DISC}ball eyes: at top of medal, right 0.5 mm, both-sides, across 2 mm\n"
    assert codes(checked(text)) == ["clauses-disagree"]


def test_three_granules_at_an_end_are_a_trefoil_outside_of_it():
    text = f"{DISC}granules grapes: at bottom of medal, across 1.5 mm, count 3\n"
    at = _at(text, "grapes.others")
    sides = np.linalg.norm(at - np.roll(at, 1, axis=0), axis=1)
    assert sides == pytest.approx(sides[0]) and sides[0] < 1.5
    assert np.allclose(at[:, 2] + 0.75, 0.8)  # their middles halfway up the metal
    assert sorted(at[:, 1].round(4))[1:] == pytest.approx([-5.3, -5.3])  # 30 % of each let into the edge


@pytest.mark.parametrize("gap", [0.4, 0.8])
def test_a_stroke_keeps_off_the_stones_it_leaves_out(gap: float):
    text = BAND + STONE + STROKE.format(more=f", clear-of one, gap {gap} mm")
    (line,) = laid(text, "line").look("path").lines
    off = np.linalg.norm(line.points - _at(text, "one"), axis=1).min()
    assert not line.closed
    assert 0 <= off - (1.2 + 0.3 + gap) < 0.1  # a step along the line, and the girdle lies below the face


def test_a_stroke_leaves_out_each_stone_of_a_row():
    row = STONE.replace("level table", "level table, row 3, every 4 mm")
    lines = laid(BAND + row + STROKE.format(more=", clear-of one"), "line").look("path").lines
    assert len(lines) == 3 and not any(line.closed for line in lines)


def test_a_stroke_with_no_stone_in_its_way_is_told():
    aside = STONE.replace("level table", "level table, up 3 mm")
    assert "clause-idle" in codes(checked(BAND + aside + STROKE.format(more=", clear-of one")))
