"""Every clause row of the reference says its unit and what holds when it is left out, and fits."""

from __future__ import annotations

import re

import pytest

from posy.compiler.commands.words import with_blocks
from posy.compiler.pages.usual import ANY_WORD, rows
from posy.compiler.pages.word_text import group_page, how_written, overview, page
from posy.compiler.words.standard import GROUPS
from posy.lang.folding import width_of
from posy.lang.placing import PLACING
from posy.lang.words import Kind, Take, Word

WORDS = with_blocks()
ALL = [(word, take) for word in WORDS.values() for take in word.takes] + [
    (Word("placing", "", "begin"), take) for take in PLACING
]
UNIT = {
    Kind.LENGTH: "mm", Kind.SIZE: "mm", Kind.LENGTHS: "mm", Kind.POINTS: "mm", Kind.STONE_SIZE: "mm",
    Kind.ANGLE: "deg", Kind.MASS: " g", Kind.PERCENT: "per cent",
}  # fmt: skip


@pytest.mark.parametrize(("word", "take"), ALL, ids=lambda one: one.name)
def test_a_row_says_its_unit_and_what_holds_without_it(word: Word, take: Take) -> None:
    written = how_written(take, word)
    assert UNIT.get(take.kind, "") in written
    held = re.search(r"usual \S|needed|say one of these|yes if written", written)
    assert held, written
    usual = written.partition("usual ")[2]
    assert take.kind is Kind.CHOICE or not re.search(r"[*/(]|\bmax\b", usual), written
    assert "1000 mm" not in written


def test_every_row_of_the_table_is_shown() -> None:
    """No row is left of a word or clause there is no more."""
    there = {(word.name, take.name) for word, take in ALL}
    anywhere = {name for _, name in there}
    for word, clause in rows():
        assert (word, clause) in there or (word == ANY_WORD and clause in anywhere), (word, clause)


@pytest.mark.parametrize("width", [40, 60, 80, 120])
def test_no_line_is_wider_than_the_terminal(width: int) -> None:
    told = overview(WORDS, width)
    for group in GROUPS:
        told += group_page(group, WORDS, width)
    for word in WORDS.values():
        told += page(word, width)
    assert [line for line in told if width_of(line) > width] == []
