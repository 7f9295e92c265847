"""The mistakes of tests/suite: each file has exactly the faults it says it has."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))

from suite_runner import Case, Expected, cases, differences, expected_of
from toy_bench import ToyBench

from posy.compiler.bench.piece_bench import PieceBench
from posy.compiler.rules import rule_names
from posy.compiler.words import core_words
from posy.compiler.words.standard import standard_words

ALL = cases()


def _real_bench() -> PieceBench:
    return PieceBench(core_words(), rule_names())


@pytest.mark.parametrize("case", ALL, ids=lambda case: case.path.stem)
def test_faults_are_exactly_those_expected(case: Case) -> None:
    if case.real:
        assert differences(case, _real_bench, standard_words()) == []
    else:
        assert differences(case, ToyBench) == []


def test_the_suite_is_not_empty() -> None:
    """A runner that finds no files, or no marks, would pass for ever."""
    assert len(ALL) >= 25
    marks = sum(len(expected_of(str(case.path))) for case in ALL)
    assert marks >= 200


def test_the_runner_sees_what_is_missing_and_what_is_too_much(tmp_path: Path) -> None:
    path = tmp_path / "odd.posy"
    path.write_text("ball: across 2  #! unknown-word: no\nball: across 3\n", encoding="utf-8")
    told = differences(Case(path, False, {}, ()), ToyBench)
    assert [line.split(":")[0] for line in told] == ["missing", "too much", "too much"]


def test_marks_are_read_with_columns_and_several_on_a_line(tmp_path: Path) -> None:
    path = tmp_path / "marks.posy"
    path.write_text("#! 1-2 one: a b\nball  #! two: c #! three\n", encoding="utf-8")
    assert expected_of(str(path)) == [
        Expected(str(path), 2, "one", "a b", (1, 2)),
        Expected(str(path), 2, "two", "c"),
        Expected(str(path), 2, "three", ""),
    ]
