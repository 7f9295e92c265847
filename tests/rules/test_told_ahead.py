"""What a rule of the metal tells of the plan already, where no metal was made: what the metal then says too,
and nothing of its near misses."""

import pytest
from rule_cases import all_cases, told

from posy.compiler.making.pipeline import check

RULE = "stone-in-metal"
TOLD = {f"{RULE}.{name}" for name in ("bezel", "culet", "filled-cup", "workpiece", "buried", "medal", "foot")}
CASES = [case for case in all_cases() if case.rule in (RULE, "covered-table")]


def _told(found):
    return {(one.span.line, one.message.partition(" (")[0]) for one in found if one.code == RULE}


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_the_plan_tells_what_the_metal_does(case):
    ahead = _told(check(str(case.path)).faults)
    assert bool(ahead) == (case.name in TOLD)
    assert not ahead or ahead <= _told(told(case))
