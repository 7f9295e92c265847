"""The page of the language says what the language takes: its texts build, its caps are the caps."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from texts import made

from posy.lang import blocks, faults, layout, loader, reckoner, rows, series, suggest
from posy.lang import build as reading
from posy.lang.functions import FUNCTIONS
from posy.lang.placing import PLACING
from posy.lang.words import Kind

PAGE = (Path(__file__).parents[2] / "lang" / "LANGUAGE.md").read_text("utf-8")
BLOCKS = re.findall(r"^```posy\n(.*?)^```", PAGE, re.M | re.S)


@pytest.mark.parametrize("text", BLOCKS, ids=lambda text: text.split("\n")[0][:30])
def test_every_text_of_the_page_builds(text: str) -> None:
    built = made(text, check_metal=False)
    assert not [f for f in built.faults if f.level.name == "FAULT"], built.faults
    assert built.parts


def test_there_is_no_other_kind_of_block_on_the_page() -> None:
    assert len(BLOCKS) >= 4
    assert PAGE.count("\n```posy\n") * 2 == len(re.findall(r"^```", PAGE, re.M))


def test_the_page_names_every_placing_clause_and_function() -> None:
    for take in PLACING:
        assert re.search(rf"\b{take.name}\b", PAGE), take.name
    for name in FUNCTIONS:
        assert re.search(rf"\b{name}\b", PAGE), name


def test_the_page_names_every_kind_a_word_may_take() -> None:
    for kind in Kind:
        assert kind.value.replace(" ", "-") in PAGE, kind


def test_the_caps_told_are_the_caps() -> None:
    table = PAGE[PAGE.index("## 5") : PAGE.index("## 6")]
    for cap in (
        rows.MOST_ROWS, rows.MOST_CHARACTERS, layout.MOST_CARRIED, layout.MOST_BLOCKS,
        layout.MOST_PARENTHESES, blocks.MOST_TURNS, reckoner.MOST_STEPS, loader.MOST_FILES,
        series.MOST_MAKINGS, int(reading.MOST_NUMBER),
    ):  # fmt: skip
        assert f"{cap:,}" in table, cap
    assert layout.MOST_SIZE == 1_000_000 and "1 MB" in table
    assert f"at most {faults.MOST_FAULTS} are told" in PAGE


def test_did_you_mean_goes_as_far_as_the_page_says() -> None:
    assert suggest.nearest("bra", ["bar"]) == "bar"  # two swapped is one slip
    assert suggest.nearest("brax", ["bar"]) is None  # two slips in a short name
    assert suggest.nearest("prnogs", ["prong"]) == "prong"
    assert suggest.nearest("basekets", ["disc"]) is None
    assert suggest.nearest("a" * 41, ["a" * 40]) is None
    assert suggest.nearest("SEAT", ["seat"]) == "seat"

