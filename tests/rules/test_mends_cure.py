"""Every remedy cures when it is followed: the change of text a rule offers, made on the rule's own
case; else what the remedy says, followed by hand in a line of the case: ``#! cure: OLD => NEW``."""

import pytest
from rule_cases import all_cases, told

from posy.compiler.judging.mend import mended
from posy.compiler.judging.remark import Remark
from posy.compiler.rules import all_rules
from posy.lang.faults import Level

CASES = [case for case in all_cases() if not case.near and case.rule != "house"]
# Rules of the metal, and those whose change is on another line: they must offer one here.
OFFERED = {
    "crowded-stones", "crowded-stones.shared", "stone-overlap", "weak-shank", "thin-floor",
    "culet-through", "thin-bearing",
}  # fmt: skip


# What these ask is a step at the bench, or at the caster's and the printer's, whose own tests try it
# (test_casting, test_printing): no other text.
ADVICE = {name for name, rule in all_rules().items() if rule.advice or rule.checks("cast")}


def of_rule(case, found):
    return [one for one in found if isinstance(one, Remark) and one.code == case.rule]


def followed(case):
    """The case with its ``cure`` lines carried out; None without any."""
    text, *cures = case.text.split("#! cure: ")
    for cure in cures:
        old, _, new = cure.removesuffix("\n").partition(" => ")
        assert old in text, f"{case.name}: {old!r} stands nowhere"
        text = text.replace(old, new.replace("\\n", "\n"))
    return text if cures else None


def offered(case):
    return [found for found in of_rule(case, told(case)) if found.edit is not None]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_a_mend_cures(case):
    before = offered(case)
    if not before:
        assert case.name not in OFFERED
        return
    text = mended(before, {str(case.path): case.text}).texts.get(str(case.path))
    if text is None:
        return  # the figure rests on more than this clause: left to the user
    after = of_rule(case, case.remarks(text))
    cured = {(found.feature, found.message.partition(" (")[0]) for found in before}
    left = {(found.feature, found.message.partition(" (")[0]) for found in after}
    assert not cured & left, text


@pytest.mark.parametrize("case", [c for c in CASES if followed(c)], ids=lambda case: case.name)
def test_a_remedy_followed_cures(case):
    assert of_rule(case, told(case))
    after = case.remarks(followed(case))
    assert not [f for f in after if f.code == case.rule or f.level is Level.FAULT]


def test_every_rule_has_a_remedy_that_is_tried():
    """A rule that says what to do has a change of text that cures, or a case that follows it."""
    tried = {case.rule for case in CASES if followed(case) or _changes_text(case)}
    assert sorted(set(all_rules()) - tried - ADVICE) == []


def _changes_text(case):
    before = offered(case)
    return bool(before and mended(before, {str(case.path): case.text}).texts)
