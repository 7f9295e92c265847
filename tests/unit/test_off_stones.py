"""What is told of metal that reaches into a stone does away with it, when it is followed as it is written."""

from __future__ import annotations

import re

import pytest
from texts import made

from posy.lang.faults import Fault

SET = "bar plate: size 20 x 20 x 3 mm\nstone s: round 5 mm, gem garnet, on plate\nseat: for s, in plate\n"
SET += "path way: beside girdle of s, outset 2 mm\n"
BALLS = {
    "circle 6, radius 2.2 mm, out 2.5 mm, across 1.6 mm": r"radius [\d.]+ mm",
    "along way, inset 2.9 mm, number 9, inward 0.4 mm, across 1.2 mm": r"inset [\d.]+ mm",
}


def told(text: str) -> list[Fault]:
    return [fault for fault in made(text).faults if fault.code == "stone-in-metal"]


@pytest.mark.parametrize("clauses", BALLS)
def test_copies_of_a_pattern_are_laid_farther_off_by_the_clause_told(clauses: str) -> None:
    text = f"{SET}ball b: {clauses}"
    (fault,) = told(text)
    assert fault.remedy is not None
    said = re.search(f"write ({BALLS[clauses]}) on the line of b", fault.remedy)
    assert said, fault.remedy
    assert "farther apart" not in fault.remedy  # there is one stone
    key = said[1].split()[0]
    assert not told(re.sub(rf"{key} [\d.]+ mm", said[1], text))


def test_where_no_move_is_found_the_clauses_to_change_are_named() -> None:
    (fault,) = told(f"{SET}ball b: grid 2 x 2, every 2.6 mm, lean 20 deg, out 2.5 mm, swivel 10 deg, across 1.6 mm")
    assert fault.remedy is not None
    assert re.search(r"move b \d|change .*'grid'", fault.remedy), fault.remedy


def test_a_rod_at_a_corner_is_sunk_the_way_it_looks() -> None:
    rod = "bar a: size 10 x 10 x 2 mm\nrod b: right {x} mm, up {x} mm, out {z} mm, turn 45 deg, lean 54.7 deg, wire 1.6 mm, long 8 mm"
    (fault,) = (one for one in made(rod.format(x=4.95, z=1.95)).faults if one.code == "weak-joint")
    said = re.search(r"sink it ([\d.]+) mm left and ([\d.]+) mm down and ([\d.]+) mm inward", fault.remedy or "")
    assert said, fault.remedy
    far = float(said[1])
    sunk = made(rod.format(x=4.95 - far, z=1.95 - float(said[3])))
    assert "weak-joint" not in {one.code for one in sunk.faults}


CUP = "stone s: cushion 6 x 6 mm, gem garnet\nbasket cup: for s\n"


@pytest.mark.parametrize("side", ["bottom", "right"])
def test_a_loop_below_claws_stands_clear_of_its_stone(side: str) -> None:
    line = f"bail low: at {side} of cup, stand, wire 1 mm, inside 2.2 mm"
    after = {one.code for one in made(CUP + line).faults}
    assert not after & {"stone-in-metal", "weak-joint", "loose-piece"}, after


def test_a_halo_is_given_room_for_vees_within_it() -> None:
    text = "stone s: trillion 8 x 8 mm, gem tanzanite\nbasket head: for s, tip vee\n"
    text += "halo ring: for s, gem diamond, across 1.3 mm, scalloped"
    assert not told(text)  # its usual room
    text += ", room 0.35 mm"
    (fault,) = told(text)
    said = re.fullmatch(r"write (room [\d.]+ mm) in the line of ring", fault.remedy or "")
    assert said, fault.remedy
    assert not told(text.replace("room 0.35 mm", said[1]))
