"""Engraving cut by hand after casting: in no mould and no weight, on the sheets, and in the finished piece."""

from __future__ import annotations

import math

import numpy as np
import pytest
from texts import built, codes, made

from posy.compiler.making.setting import as_set, is_worked
from posy.lang.faults import Level

DISC = "disc medal: across 16 mm, thick 1.4 mm\n"
NAME = 'engrave name: letters "Nora", tall 1.4 mm, at face of medal, in medal{}\n'
HAND = NAME.format(", by-hand")
ELSEWHERE = {
    "plain": DISC + "{}",
    "casting": "casting one\n  disc medal: across 16 mm, thick 1.4 mm\n  {}",
    "workpiece": "workpiece one: row 2, every 20 mm\n  disc medal: across 16 mm, thick 1.4 mm\n  {}\n"
    "bar joint: size 30 x 4 x 1 mm\n",
    "copy": "casting one\n  disc medal: across 16 mm, thick 1.4 mm\n  {}\ncopy two: of one, at (30 mm, 0)\n",
    "bend": "bar medal: size 30 x 5 x 1.5 mm\n{}bend ring: of medal, inside 17 mm\n",
}


@pytest.mark.parametrize("text", ELSEWHERE.values(), ids=ELSEWHERE)
def test_the_mould_is_that_of_a_piece_without_it(text: str) -> None:
    with_it, without = (built(text.format(line)) for line in (HAND, ""))
    assert len(with_it.parts) == len(without.parts)
    for one, other in zip(with_it.parts, without.parts, strict=True):
        corners = [np.sort(part.points[part.triangles].reshape(-1, 9).round(9), axis=0) for part in (one, other)]
        assert np.array_equal(*corners) and one.volume == pytest.approx(other.volume, rel=1e-12)
    assert is_worked(with_it.piece) and not is_worked(without.piece)
    cut = sum(part.volume for part in as_set(with_it).parts)
    assert cut < sum(part.volume for part in with_it.parts) - 0.05


def test_finished_it_is_cut_as_deep_as_it_says() -> None:
    """A cylinder of metal less: elementary geometry."""
    for said, deep in (("", 0.2), (", deep 0.3 mm", 0.3)):
        piece = built(f"{DISC}engrave dot: round 4 mm, at face of medal, in medal, by-hand{said}\n")
        gone = piece.parts[0].volume - as_set(piece).parts[0].volume
        assert gone == pytest.approx(math.pi * 4 * deep, rel=1e-3)


def test_what_no_mould_can_hold_is_no_remark_for_the_hand() -> None:
    assert "letters-too-fine" in [fault.code for fault in made(DISC + NAME.format("")).faults]
    assert not made(DISC + HAND).faults
    long = HAND.replace("Nora", "Nora and her sisters").replace("1.4 mm", "3 mm")
    assert "letters-off-face" in codes(made(DISC + long), Level.WARNING)


def test_nothing_raised_is_cut_by_hand() -> None:
    assert codes(made(DISC + NAME.format(", by-hand, raised"))) == ["clauses-disagree"]
