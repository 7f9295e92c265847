"""Metals and stones by the names of the trade, wherever a text names one."""

from __future__ import annotations

from functools import partial

import pytest
from texts import checked, made

from posy.compiler.words.standard import trade_lines
from posy.lang.faults import Level

BAR = "bar b: size 9 x 4 x 2 mm\n"


_made = partial(made, check_metal=False)


@pytest.mark.parametrize(
    ("said", "name"),
    [
        ("gold-14k-yellow", "gold-585-yellow"), ('"14k rose"', "gold-585-rose"),
        ("sterling", "silver-925"), ('"Sterling silver"', "silver-925"), ("brass", "brass"),
        ('"18k white nickel"', "gold-750-white-nickel"),
    ],
)  # fmt: skip
def test_a_metal_is_found_by_its_trade_name(said, name):
    assert _made(f'piece "A"\n  metal {said}\n' + BAR).metal == name
    line = f"disc d: across 3 mm, thick 1 mm, left 5 mm, metal {said}\n"
    two = _made('piece "A"\n  metal bronze\n' + BAR + line)
    assert {part.metal for part in two.parts} == {"bronze", name}
    tone = _made('piece "A"\n  metal bronze\n' + f"measure tone = {said}\n" + BAR + line.replace(said, "tone"))
    assert {part.metal for part in tone.parts} == {"bronze", name}


@pytest.mark.parametrize("said", ["gold-18k", '"18k"', "18k", "platinum", '"750"'])
def test_a_name_of_several_metals_lists_them(said):
    for text in (f'piece "A"\n  metal {said}\n' + BAR, BAR[:-1] + f", metal {said}\n"):
        faults = checked(text).faults
        (fault,) = [one for one in faults if one.level.value == "fault"]
        assert " or " in fault.remedy and fault.seen == said.strip('"')


@pytest.mark.parametrize(("said", "gem"), [("cz", "cubic-zirconia"), ('"Blue sapphire"', "sapphire")])
def test_a_stone_is_found_by_its_trade_name(said, gem):
    assert _made(BAR + f"stone s: round 2 mm, gem {said}, at face of b\n").stones[0].gem == gem


def test_a_stone_let_in_as_if_it_were_metal_leads_to_the_strip_of_stones_that_is_made():
    band = "band shank: finger us 9, wide 6 mm, thick 2.4 mm\n"
    cut = "engrave stripe: along around of shank, stroke 2 mm, cut flat, deep 0.8 mm, in shank, filled onyx\n"
    (fault,) = _made(band + cut).faults
    said = fault.remedy.partition("posy words ")[2].partition(";")[0]
    piece = _made("\n".join(trade_lines(said)) + "\n")
    assert not [one for one in piece.faults if one.level is not Level.HINT]
    assert len(piece.stones) > 20 and {one.gem for one in piece.stones} == {"onyx"}


@pytest.mark.parametrize(("clause", "remedy"), [
    ("twist 12", "it is a line of its own, of the word twist; or is 'tilt' meant?"),
    ("twst 12", "it is a line of its own, of the word twist"),
    ("turned 3 deg", "did you mean 'turn'?"),
    ("tlt 12 deg", "did you mean 'tilt'?"),
])  # fmt: skip
def test_a_clause_that_is_a_word_is_no_slip_of_another_clause(clause: str, remedy: str):
    (fault,) = _made(f"path way: round 18 mm\nwire rope: along way, round 1.2 mm, {clause}\n").faults
    assert fault.code == "unknown-clause" and fault.remedy.startswith(remedy)
