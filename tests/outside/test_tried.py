"""Every text tried from outside gives what it is to give, and every point made of it is answered.

The texts are ``tests/tried/*.posy``, their expectations stand in them (see tried_texts); the points, one
a row, with what was done or decided, are ``tests/tried/TABLE.md``. Each row names what shows it."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pytest
from tried_texts import FOLDER, Tried, all_tried, shortcomings

from posy.compiler.codes import CODES as BENCH_CODES
from posy.compiler.rules import rule_names
from posy.lang.codes import CODES

TESTS = Path(__file__).parents[1]
ROOT = TESTS.parent
STATES = "done", "otherwise", "open"


@pytest.mark.parametrize("text", all_tried(), ids=lambda text: text.name)
def test_a_text_gives_what_it_says(text: Tried) -> None:
    assert [said for _, said in text.marks if not said.startswith("open:")], "it expects something"
    missing = shortcomings(text)
    if text.open:
        assert missing, "all it expects has come: take its mark of being open away"
        pytest.xfail(f"{text.open}: {missing[0]}")
    assert missing == []


def rows() -> list[list[str]]:
    """The table's rows: what is said, state, what shows it."""
    lines = (FOLDER / "TABLE.md").read_text("utf-8").splitlines()
    cut = [[cell.strip() for cell in line.strip().strip("|").split("|")] for line in lines if line.startswith("|")]
    return [row for row in cut if row[0] != "point" and set(row[0]) != {"-"}]


@cache
def known() -> frozenset[str]:
    """Whatever a row may name: tests, texts, cases, rules, codes of faults, examples and tables."""
    tests = {
        name
        for path in TESTS.rglob("test_*.py")
        for name in re.findall(r"^\s*def (test_\w+)", path.read_text("utf-8"), re.MULTILINE)
    }
    files = {
        path.stem
        for folder in ("tests/tried", "tests/rules/cases", "tests/suite", "examples", "stdlib/tables", "stdlib/words")
        for path in (ROOT / folder).rglob("*.*")
    }
    return frozenset(tests | files | set(rule_names()) | set(CODES) | set(BENCH_CODES))


@pytest.mark.parametrize("row", rows(), ids=lambda row: row[0][:60])
def test_a_point_is_answered_by_something_that_exists(row: list[str]) -> None:
    assert len(row) == 3, row
    _, state, shown = row
    word, _, why = state.partition(":")
    assert word in STATES
    assert word == "done" or why.strip(), "what is decided otherwise, or open, says why"
    names = re.findall(r"`([^`]+)`", shown)
    assert names or word == "open"
    assert [name for name in names if name not in known()] == []


def test_an_open_text_is_an_open_row() -> None:
    """A text whose expectation does not come yet is named in a row that is open."""
    shown = {name for row in rows() if row[1].startswith("open") for name in re.findall(r"`([^`]+)`", row[2])}
    assert {text.name for text in all_tried() if text.open} - shown == set()
