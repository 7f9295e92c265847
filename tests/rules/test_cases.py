"""Every bench rule: a file that triggers exactly it, and a near miss that does not."""

import ast
from pathlib import Path

import pytest
from rule_cases import all_cases, differences, told

from posy.compiler import rules
from posy.compiler.judging import judge
from posy.compiler.rules import all_rules
from posy.stdlib.rows import read_rows

ALL = all_cases()


@pytest.mark.parametrize("case", ALL, ids=lambda case: case.name)
def test_a_case_finds_what_it_says(case):
    assert case.near or case.wanted(), "a case that triggers its rule marks the line"
    if case.near:  # a milder finding of the same rule may stand, at another limit
        other = next((one for one in ALL if one.name == case.name.removesuffix(".near")), None)
        assert other is not None, "a near miss stands beside the case it nearly is"
        limits = {w.said["limit"] for w in other.wanted() if "limit" in w.said}
        assert not [w for w in case.wanted() if w.said.get("limit") in limits]
    assert differences(case, case.findings(told(case))) == []


def test_every_rule_has_both_kinds_of_case():
    triggering = {case.rule for case in ALL if not case.near}
    near = {case.rule for case in ALL if case.near}
    plan = {rule.name for rule in all_rules().values() if rule.phase == "plan"}
    assert plan - triggering == set()
    assert plan - near == set()


def test_names_of_cases_are_names_of_rules():
    assert {case.rule for case in ALL} - set(all_rules()) == set()


def test_every_module_of_rules_is_named_by_a_row():
    folder = Path(rules.__path__[0])
    files = (path.relative_to(folder).with_suffix("").parts for path in folder.rglob("*.py"))
    assert {".".join(one) for one in files if one[-1] != "__init__"} == {row["where"] for row in read_rows("rules")} - {""}
    known = {row["rule"] for row in read_rows("figure-rules")}
    assert known >= {row["rule"] for row in read_rows("rules") if not row["where"]}


def test_every_find_of_a_row_is_one_that_rules_make_and_the_other_way_round():
    code = [*Path(rules.__path__[0]).rglob("*.py"), *Path(judge.__file__).parent.glob("*.py")]
    made, said = set(), set()
    for node in (node for path in code for node in ast.walk(ast.parse(path.read_text("utf-8")))):
        if isinstance(node, ast.keyword) and node.arg == "find":
            made |= {one.value for one in _ways(node.value) if isinstance(one, ast.Constant)}
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            said.add(node.value)
    rows = {row["find"] for row in read_rows("figure-rules")}
    assert made <= rows <= said | {""}


def _ways(value):
    """What an expression may come to, of one condition or several."""
    return [*_ways(value.body), *_ways(value.orelse)] if isinstance(value, ast.IfExp) else [value]


@pytest.mark.parametrize("phase", ["plan", "metal", "cast"])
def test_rules_loaded_for_a_phase_are_those_that_check_in_it(phase):
    loaded, checking = all_rules(phase), {n for n, rule in all_rules().items() if rule.checks(phase)}
    assert checking <= set(loaded)
    if phase != "metal":  # the second checks of rules of the plan are found by loading those
        assert checking == set(loaded)
