"""How `posy words` tells the words: one style, in groups, within the width of a terminal."""

from __future__ import annotations

import pytest
from texts import made

from posy.compiler.commands.words import with_blocks
from posy.compiler.pages.word_text import group_page, lines, overview, page
from posy.compiler.words import core_words
from posy.compiler.words.standard import (
    FILED,
    GROUPS,
    all_words,
    standard_texts,
    standard_words,
    trade_lines,
    trade_words,
)
from posy.lang.faults import Level
from posy.lang.folding import width_of
from posy.lang.placing import PLACING
from posy.stdlib.cuts import CUTS
from posy.stdlib.rows import read_rows

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


def test_the_placing_clauses_are_listed(posy) -> None:
    told = posy("words", "placing").out
    assert all(f"\n  {take.name} " in told for take in PLACING)


@pytest.mark.parametrize("said", trade_words())
def test_what_the_trade_says_finds_a_word(said: str, posy) -> None:
    meant = trade_words()[said]
    assert set(meant) <= set(WORDS)
    told = posy("words", said).out
    if said not in (*WORDS, *GROUPS, "gem"):
        assert f"{meant[0]}: " in told


LINES = read_rows("trade-lines", ["said", "line", "source"])


@pytest.mark.parametrize("said", dict.fromkeys(row["said"] for row in LINES))
def test_what_is_begun_for_a_trade_word_can_be_made(said: str, posy) -> None:
    lines = trade_lines(said.split(", ")[0])
    piece = made("\n".join(lines) + "\n")
    assert not [fault for fault in piece.faults if fault.level is not Level.HINT]
    for name in said.split(", "):
        assert name in trade_words()
        assert lines[0].split(":")[0] in posy("words", *name.split("-")).out


@pytest.mark.parametrize(
    ("asked", "said"),
    [("vee claw", "vee-prong: "), ("half pearls", "half-pearl 2 mm"), ("Crescents", "crescent 14 x 4 mm"), ("mother's ring", "children"),
     ("corner", "rounds the corners"), ("pearl brooch", "brooch-pin: "), ("id plate", "MARTIN"), ("locket catch", "locket-catch: "),
     ("spirals", "turns 2.5"), ("urn", "turned: "), ("lid", "casting"), ("curved", "bend: "), ("horn", "plate: "), ("dress studs", "disc button"), ("anchor", "a clause called anchor"),
     ("celtic knots", "border plait"), ("zodiac", ".svg"), ("watch", "not made")],
)  # fmt: skip
def test_several_words_and_plurals_lead_to_the_word(asked: str, said: str, posy) -> None:
    assert said in posy("words", *asked.split()).out


def test_no_trade_word_hides_a_word() -> None:
    assert not set(trade_words()) & set(WORDS)


@pytest.mark.parametrize("said", [row["said"] for row in read_rows("trade-notes", ["said", "note", "source"])])
def test_what_is_not_made_is_said_plainly(said: str, posy) -> None:
    for name in said.split(", "):
        assert posy("words", *name.split("-")).out.startswith(f"{name}: ")
        assert name not in WORDS


def test_the_share_of_words_written_in_posy_does_not_sink() -> None:
    """Settings, findings and decoration are words of the language, not of the compiler."""
    written, core = set(standard_words()), set(core_words())
    assert set(all_words()) == written | core and not written & core
    assert len(written) / len(all_words()) >= 0.38


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ("prong", "stone garnets:"),  # what the prongs of its example hold
        ("metal", "gold-750-rose"), ("gem", "cubic-zirconia"), ("gem", "also cz"), ("garnet", "almandine"),
        ("black onyx", "onyx"), ("14k", "gold-585-rose"), ("Half Eternity", "channel: "), ("onyx", "gem onyx"),
        ("black-onyx", "gem onyx"), ("garnet", "hardness"), ("opal", "dries out"),
        ("platinum", "platinum-950-iridium"), ("18k", "gold-750-white"),
    ],
)  # fmt: skip
def test_words_stones_and_metals_are_told_by_the_names_people_use(asked: str, said: str, posy) -> None:
    assert said in posy("words", asked).out


@pytest.mark.parametrize("also", [(also, cut.name) for cut in CUTS.values() for also in cut.also], ids=str)
def test_another_name_of_a_cut_leads_to_its_clause(also, posy) -> None:
    said, cut = also
    told = posy("words", said).out
    assert said in told and cut in told
