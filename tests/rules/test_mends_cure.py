"""Every change of text a rule offers cures: made on the rule's own case, the finding is gone."""

from functools import cache

import pytest
from rule_cases import all_cases

from posy.compiler.judging import judge
from posy.compiler.judging.mend import mended
from posy.compiler.judging.remark import Remark
from posy.compiler.making.pipeline import build, check
from posy.lang.loader import Texts

CASES = [case for case in all_cases() if not case.near and case.rule != "house"]
# Rules of the metal, and those whose change is on another line: they must offer one here.
OFFERED = {
    "crowded-stones", "crowded-stones.shared", "stone-overlap", "weak-shank", "thin-floor",
    "culet-through", "thin-bearing",
}  # fmt: skip


def findings(case, text):
    judge.STRICT = True
    look = build if case.on_metal else check
    built = look(case.path.name, files=Texts({case.path.name: text}))
    return [f for f in built.faults if isinstance(f, Remark) and f.code == case.rule]


@cache
def offered(case):
    return [found for found in findings(case, case.text) if found.edit is not None]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_a_mend_cures(case):
    before = offered(case)
    if not before:
        assert case.name not in OFFERED
        return
    text = mended(before, {case.path.name: case.text}).texts.get(case.path.name)
    if text is None:
        return  # the figure rests on more than this clause: left to the user
    after = findings(case, text)
    cured = {(found.feature, found.message.partition(" (")[0]) for found in before}
    left = {(found.feature, found.message.partition(" (")[0]) for found in after}
    assert not cured & left, text
