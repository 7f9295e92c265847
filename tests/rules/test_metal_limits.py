"""Mutation: every limit a rule of the metal goes by, shifted by 15 %, turns a case over."""

from functools import cache

import pytest
from rule_cases import all_cases

from posy.compiler.house import house
from posy.compiler.making import pipeline as build
from posy.compiler.rules import all_rules
from posy.stdlib.limits import limits_of

SHIFT = 0.15

# Rows that are not shifted here: (rule, what) -> why.
ELSEWHERE = {
    ("trapped-void", "most"): "zero: see ZEROS",
    ("stone-overlap", "most"): "zero: see ZEROS",
    ("slack-loop", "least"): "zero: see ZEROS",
}


# Limits of zero, moved by so much instead: from there no finding of the case is left, or one more.
ZEROS = [
    ("trapped-void", "most", 1000.0),
    ("stone-overlap", "most", 10.0),
    ("slack-loop", "least", -5.0),
    ("slack-loop", "least", 0.5),
]


def rows():
    for rule in all_rules().values():
        if rule.phase == "metal":
            for row in limits_of(rule.name):
                if (row.rule, row.what) not in ELSEWHERE and own_cases(rule.name):
                    yield row


def own_cases(rule):
    return [case for case in all_cases() if case.rule == rule]


@cache
def piece_of(path):
    """The piece of a case with its metal, made once; only the rules run again."""
    kept = []
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(build, "on_metal", lambda piece, rules, go_on=None: kept.append(piece) or [])
        build.build(str(path))
    return kept[-1]


def verdict(case, limits):
    """Where the case's rule finds something, and how much it matters."""
    piece = piece_of(case.path)
    piece.house, piece._limits = limits, {}
    for name in ("sets", "skin_measures", "stone_measures", "wear_measures", "casting_measures", "shut"):
        piece.__dict__.pop(name, None)
    rule = all_rules()[case.rule]
    found = list(rule.check(piece))
    return sorted((one.feature, (one.level or rule.level).value) for one in found)


@cache
def as_it_is(case):
    return verdict(case, house.NO_HOUSE)


def verdict_changes(row, figure):
    own = house.House(figures={(row.rule, row.what, row.family): figure})
    cases = own_cases(row.rule)
    return any(verdict(case, own) != as_it_is(case) for case in cases)


@pytest.mark.parametrize("row", list(rows()), ids=lambda r: f"{r.rule}-{r.what}-{r.family}")
@pytest.mark.parametrize("sign", [-1, 1])
def test_a_limit_shifted_turns_a_case_over(row, sign):
    assert verdict_changes(row, row.figure * (1 + sign * SHIFT))


@pytest.mark.parametrize(("rule", "what", "figure"), ZEROS)
def test_a_limit_of_zero_moved_turns_a_case_over(rule, what, figure):
    (row,) = [row for row in limits_of(rule) if row.what == what]
    assert row.figure == 0
    assert verdict_changes(row, figure)


def test_every_rule_of_the_metal_has_both_kinds_of_case():
    metal = {rule.name for rule in all_rules().values() if rule.phase == "metal"}
    assert metal - {case.rule for case in all_cases() if not case.near} == set()
    assert metal - {case.rule for case in all_cases() if case.near} == set()


def test_every_row_left_out_is_there():
    for rule, what in ELSEWHERE:
        assert any(row.what == what for row in limits_of(rule))
