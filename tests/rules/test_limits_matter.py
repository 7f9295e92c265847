"""Mutation: every limit a rule of the plan goes by, shifted by 15 %, turns some case over."""

import pytest
from rule_cases import all_cases, differences

from posy.compiler.house import house
from posy.compiler.making import pipeline as build
from posy.compiler.rules import all_rules
from posy.stdlib.limits import limits_of, rules

SHIFT = 0.15

# Rows that are not shifted here: (rule, what) -> why.
ELSEWHERE = {("low-bezel", "above-wall"): "zero: see below"}


def rows():
    for rule in all_rules().values():
        if rule.phase == "plan":
            for row in limits_of(rule.name):
                if (row.rule, row.what) not in ELSEWHERE:
                    yield row


def shifted(row, sign):
    """The figure 15 % lower or higher; a count goes one down or up."""
    return row.figure + sign * (1 if row.unit == "count" else row.figure * SHIFT)


def verdict_changes(row, figure, monkeypatch):
    own = house.House(figures={(row.rule, row.what, row.family): figure})
    monkeypatch.setattr(build, "house_for", lambda path, rules: own)
    cases = [case for case in all_cases() if case.rule == row.rule]
    return any(differences(case, case.findings()) for case in cases)


@pytest.mark.parametrize("row", list(rows()), ids=lambda r: f"{r.rule}-{r.what}-{r.family}")
@pytest.mark.parametrize("sign", [-1, 1])
def test_a_limit_shifted_turns_a_case_over(row, sign, monkeypatch):
    assert verdict_changes(row, shifted(row, sign), monkeypatch)


def test_a_limit_of_zero_moved_turns_a_case_over(monkeypatch):
    (row,) = [row for row in limits_of("low-bezel") if row.what == "above-wall"]
    assert row.figure == 0
    assert verdict_changes(row, 2.0, monkeypatch)


def test_every_row_belongs_to_a_rule():
    assert set(rules()) - set(all_rules()) == set()


def test_every_row_said_to_count_elsewhere_is_there():
    for rule, what in ELSEWHERE:
        assert any(row.what == what for row in limits_of(rule))
