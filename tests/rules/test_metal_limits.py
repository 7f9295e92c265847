"""Mutation: every limit that a rule of the metal goes by, shifted by 15 %, turns a case over."""

import pytest
from posy.compiler import build, house
from posy.compiler.rules import all_rules
from posy.stdlib.limits import limits_of
from rule_cases import all_cases

SHIFT = 0.15

# Rows that are not shifted here: (rule, what) -> why.
ELSEWHERE = {
    ("trapped-void", "most"): "zero, which no share shifts",
    ("stone-overlap", "most"): "zero, which no share shifts",
    ("slack-loop", "least"): "zero, which no share shifts",
    ("undrained-hollow", "holes"): "advice: the ways out are not counted",
    ("undrained-hollow", "large-hollow"): "told by cubes, good to a tenth",
}


def rows():
    for rule in all_rules().values():
        if rule.phase == "metal":
            for row in limits_of(rule.name):
                if (row.rule, row.what) not in ELSEWHERE and own_cases(rule.name):
                    yield row


def own_cases(rule):
    return [case for case in all_cases() if case.rule == rule]


def verdict(case):
    """Where the case's rule finds something, and how much it matters."""
    found = [fault for fault in case.findings() if fault.code == case.rule]
    return sorted((fault.span.line, fault.level.value) for fault in found)


def verdict_changes(row, figure, monkeypatch):
    cases = own_cases(row.rule)
    before = [verdict(case) for case in cases]
    own = house.House(figures={(row.rule, row.what, row.family): figure})
    monkeypatch.setattr(build, "house_for", lambda path: own)
    return [verdict(case) for case in cases] != before


@pytest.mark.parametrize("row", list(rows()), ids=lambda r: f"{r.rule}-{r.what}-{r.family}")
@pytest.mark.parametrize("sign", [-1, 1])
def test_a_limit_shifted_turns_a_case_over(row, sign, monkeypatch):
    assert verdict_changes(row, row.figure * (1 + sign * SHIFT), monkeypatch)


def test_every_rule_of_the_metal_has_both_kinds_of_case():
    metal = {rule.name for rule in all_rules().values() if rule.phase == "metal"}
    assert metal - {case.rule for case in all_cases() if not case.near} == set()
    assert metal - {case.rule for case in all_cases() if case.near} == set()


def test_every_row_left_out_is_there():
    for rule, what in ELSEWHERE:
        assert any(row.what == what for row in limits_of(rule))
