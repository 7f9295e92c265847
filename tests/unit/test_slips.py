"""A slip of the first hour is told with its place, its reason and a line that works."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))

from slips import FURTHER, PENDANT, RING, SLIPS, Slip
from texts import checked, faults

from posy.compiler.making.pipeline import build
from posy.lang.faults import Fault
from posy.lang.follow import followed
from posy.lang.loader import Texts
from posy.stdlib.fingers import clear_size

MOST_TURNS = 8  # remarks followed one after the other: a name in two words stands in five lines


def _faults(text: str) -> list[Fault]:
    return faults(checked(text))


@pytest.mark.parametrize("text", [PENDANT, RING])
def test_the_pieces_are_right(text: str) -> None:
    assert _faults(text) == []


@pytest.mark.parametrize("slip", [*SLIPS, *FURTHER], ids=lambda slip: slip.name)
def test_a_slip_is_told_and_what_is_told_works(slip: Slip) -> None:
    """The remark has a place and a reason, and the text is right when it is followed."""
    text = slip.text
    faults = _faults(text)
    if not slip.told:
        assert faults == []
        return
    assert any(slip.told in fault.message for fault in faults), [f.message for f in faults]
    assert all(fault.span is not None for fault in faults)
    if slip.mark < 3:
        return
    for _ in range(MOST_TURNS):
        if not faults:
            break
        before, text = text, followed(text, faults[0])
        assert text not in (None, before)
        faults = _faults(text)
    assert faults == [], text


@pytest.mark.parametrize(
    ("written", "mm"),
    [
        ("1/16 in", 1.5875), ("1 1/2 in", 38.1), ("(1/16 in)", 1.5875), ("2 * 1/16 in", 3.175),
        ("3/4 mm", 0.75), ("6 mm / 4", 1.5),
    ],
)  # fmt: skip
def test_fractions_are_figures(written: str, mm: float) -> None:
    """An inch is 25.4 mm, by the international yard and pound agreement of 1959 (from memory)."""
    made = build("piece.posy", files=Texts({"piece.posy": f"measure v = {written}\nball: across 1 mm\n"}))
    assert made.measures["v"] == (pytest.approx(mm), "mm")


@pytest.mark.parametrize(
    ("said", "meant"), [("M", "uk M"), ("54", "iso 54"), ("7", None), ("us 7", None), ("12", None)]
)
def test_a_finger_size_without_its_scale_is_taken_only_where_it_is_clear(said: str, meant: str | None) -> None:
    assert clear_size(said) == meant


def test_there_are_sixty_and_what_they_are_told_is_worth_its_mark() -> None:
    assert len({slip.name for slip in SLIPS}) == len(SLIPS) >= 60
    assert sum(slip.mark for slip in SLIPS) / len(SLIPS) >= 2.8


@pytest.mark.parametrize("clause", ["metal gold-585-rose", "right 10 mm"])
@pytest.mark.parametrize("word", ["casting", "workpiece"])
def test_a_clause_among_the_lines_of_a_block_is_taken_up_into_its_own(word: str, clause: str) -> None:
    text = f'piece "T"\n  metal silver-925\n{word} a\n  {clause}\n  disc d: across 8 mm, thick 1.2 mm\n'
    (fault,) = _faults(text)
    assert fault.code == "clause-alone" and f"{word} a: {clause}" in (fault.remedy or "")
    assert _faults(followed(text, fault) or "") == []
