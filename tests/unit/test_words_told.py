"""How `posy words` tells the words: one style, in groups, within the width of a terminal."""

from __future__ import annotations

import pytest

from posy.compiler.commands.words import with_blocks
from posy.compiler.pages.word_text import COLUMNS, overview, page
from posy.compiler.words.standard import GROUPS, all_words, standard_texts, standard_words

WORDS = with_blocks()


def test_groups_come_in_their_order_and_none_is_unknown() -> None:
    groups = [word.group for word in WORDS.values()]
    assert set(groups) == set(GROUPS)
    assert groups == sorted(groups, key=GROUPS.index)


def test_a_word_written_in_posy_is_filed_by_its_folder() -> None:
    for path in standard_texts():
        group, name = path.removesuffix(".posy").split("/")[-2:]
        assert standard_words()[name].group == group
        assert all_words()[name].group == group


def test_the_overview_gives_every_word_one_line_of_one_style() -> None:
    lines = [line for line in overview(WORDS)[:-2] if line.startswith("  ")]
    assert [line.split()[0] for line in lines] == list(WORDS)
    for line in lines:
        assert len(line) <= COLUMNS and line.endswith("."), line
        assert line.split(maxsplit=1)[1][0].isupper(), line


@pytest.mark.parametrize("name", WORDS)
def test_a_page_fits_the_terminal(name: str) -> None:
    lines = page(WORDS[name])
    example = lines.index("example") if "example" in lines else len(lines)
    assert all(len(line) <= COLUMNS for line in lines[:example])
    assert WORDS[name].help.endswith(".")


@pytest.mark.parametrize("name", all_words())
def test_every_clause_and_offer_says_what_it_is(name: str) -> None:
    word = all_words()[name]
    told = [take.help for take in word.takes] + list(word.offers.values())
    assert all(told)
    assert not [text for text in told if text.endswith(".")], "clauses are told without full stop"


def test_the_share_of_words_written_in_posy_is_told() -> None:
    own, total = len(standard_words()), len(all_words())
    assert f"{own} of {total} words are written in posy." in overview(WORDS)[-1]
