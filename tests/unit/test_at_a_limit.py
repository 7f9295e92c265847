"""What nobody can tell from a limit is at it: half of the last digit told, and no more than a fiftieth of the limit."""

import pytest
from texts import codes, made

from posy.compiler.judging.bound import Bound
from posy.compiler.judging.digits import above, below
from posy.lang.faults import Level
from posy.stdlib.limits import limit


@pytest.mark.parametrize(
    ("rule", "what", "at", "past"),
    [
        ("uncovered-girdle", "least", 0.099, 0.097),  # 0.1 mm
        ("thin-wall", "least", 0.796, 0.794),  # 0.8 mm
        ("tips-forward", "most", 5.09, 5.2),  # 5 degrees
        ("stone-in-metal", "most", 0.0203, 0.021),  # 0.02 mm
        ("flask-full", "least", 1.0, 0.99),  # a count
    ],
)
def test_a_figure_at_its_limit_is_not_past_it(rule, what, at, past):
    bound = Bound(limit(rule, what).figure, limit(rule, what))
    leaves = above if past > bound else below
    assert not leaves(at, bound)
    assert leaves(past, bound)


def test_a_figure_of_no_table_has_no_slack():
    assert below(0.799, 0.8)


@pytest.mark.parametrize(("wire", "told"), [("0.996 mm", False), ("0.99 mm", True)])
def test_it_holds_for_what_a_text_says(wire, told):
    text = f"disc medal: across 16 mm, thick 2 mm\nbail loop: at top of medal, wire {wire}, inside 3 mm"
    assert ("thin-loop" in codes(made(text, tolerance=0.05), Level.WARNING)) is told
