"""How `posy words` tells the words: one style, in groups, within the width of a terminal."""

from __future__ import annotations

import pytest

from posy.compiler.command import main
from posy.compiler.commands.words import with_blocks
from posy.compiler.pages.word_text import group_page, lines, overview, page
from posy.compiler.words.standard import (
    FILED,
    GROUPS,
    all_words,
    standard_texts,
    standard_words,
    trade_words,
)
from posy.lang.folding import width_of
from posy.lang.placing import PLACING

WORDS = with_blocks()
WIDTHS = 40, 60, 80, 120


def test_every_word_is_filed_once_and_groups_come_in_the_order_one_learns() -> None:
    assert set(FILED) == set(WORDS)
    groups = [FILED[name] for name in WORDS]
    assert groups == sorted(groups, key=list(GROUPS).index)


def test_a_word_written_in_posy_stands_in_its_folder() -> None:
    for path in standard_texts():
        group, name = path.removesuffix(".posy").split("/")[-2:]
        assert standard_words()[name].group == group


@pytest.mark.parametrize("width", WIDTHS)
def test_the_overview_names_every_word_and_fits(width: int) -> None:
    told = overview(WORDS, width)
    assert max(map(width_of, told)) <= width
    text = " ".join(" ".join(told).replace(",", " ").split())
    assert all(f" {name}" in text for name in WORDS)
    assert len(overview(WORDS, 80)) <= 24  # the first group stays on the screen


@pytest.mark.parametrize("group", GROUPS)
def test_a_group_tells_its_words(group: str) -> None:
    mine = [name for name, filed in FILED.items() if filed == group]
    told = [line for line in group_page(group, WORDS, 120) if line[:2] == "  " != line[1:3]]
    assert [line.split()[0] for line in told] == mine


def test_a_line_for_each_word_of_one_style() -> None:
    assert [line.split(":")[0] for line in lines(WORDS)] == list(WORDS)
    for line in lines(WORDS):
        assert line.endswith(".") and line.split(": ", 1)[1][0].isupper(), line


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", WORDS)
def test_a_page_fits_the_terminal(name: str, width: int) -> None:
    assert max(map(width_of, page(WORDS[name], width))) <= width
    assert WORDS[name].help.endswith(".")


@pytest.mark.parametrize("name", all_words())
def test_every_clause_and_offer_says_what_it_is(name: str) -> None:
    word = all_words()[name]
    told = [take.help for take in word.takes] + list(word.offers.values())
    assert all(told)
    assert not [text for text in told if text.endswith(".")], "clauses are told without full stop"


def test_the_placing_clauses_are_listed(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["words", "placing"]) == 0
    told = capsys.readouterr().out
    assert all(f"\n  {take.name} " in told for take in PLACING)


def test_an_example_can_be_made_as_it_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["words", "prong"]) == 0
    assert "stone garnets:" in capsys.readouterr().out  # what the prongs hold


@pytest.mark.parametrize("said", trade_words())
def test_what_the_trade_says_finds_a_word(said: str, capsys: pytest.CaptureFixture[str]) -> None:
    meant = trade_words()[said]
    assert set(meant) <= set(WORDS)
    assert main(["words", said]) == 0
    told = capsys.readouterr().out
    if said not in (*WORDS, *GROUPS, "gem"):
        assert f"{meant[0]}: " in told


def test_no_trade_word_hides_a_word() -> None:
    assert not set(trade_words()) & set(WORDS)


def test_metals_and_stones_are_listed(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["words", "metal"]) == 0 and main(["words", "gem"]) == 0
    told = capsys.readouterr().out
    assert "gold-750-rose" in told and "cubic-zirconia" in told and "also cz" in told


def test_the_share_of_words_written_in_posy_does_not_sink() -> None:
    assert len(standard_words()) / len(all_words()) >= 0.38


@pytest.mark.parametrize(("said", "told"), [("garnet", "almandine"), ("black onyx", "onyx"), ("14k", "gold-585-rose")])
def test_a_stone_or_a_metal_is_told_by_its_name(said: str, told: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["words", said]) == 0
    assert told in capsys.readouterr().out


def test_words_of_the_trade_may_be_two(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["words", "Half Eternity"]) == 0
    assert "channel: " in capsys.readouterr().out


@pytest.mark.parametrize(
    ("asked", "said"),
    [("onyx", "gem onyx"), ("black-onyx", "gem onyx"), ("garnet", "hardness"), ("opal", "dries out"),
     ("platinum", "platinum-950-iridium"), ("18k", "gold-750-white")],
)  # fmt: skip
def test_a_stone_and_a_metal_are_told_by_their_names(asked: str, said: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["words", asked]) == 0
    assert said in capsys.readouterr().out
