"""What `posy start` writes: starters that say nothing alarming, lessons that do what they promise."""

from __future__ import annotations

import re

import pytest
from texts import made as build_text

from posy.compiler.making.weights import weigh
from posy.compiler.pages.starter import KINDS, LESSONS, lesson_text, starter_text
from posy.lang.faults import Level

_TRY = re.compile(r"# Try: write (.+?) for (.+?)\.\n# See: (.+?)\.\n")
TRIES = [(lesson, *found) for lesson in LESSONS for found in _TRY.findall(lesson_text(lesson))]


@pytest.mark.parametrize("kind", KINDS)
def test_a_starter_says_nothing_alarming(kind: str) -> None:
    made = build_text(starter_text("Reed", kind))
    assert [f.message for f in made.faults if f.level is not Level.HINT] == []
    assert made.made
    assert made.title == "Reed"


@pytest.mark.parametrize("lesson", LESSONS)
def test_a_lesson_can_be_made_as_it_is(lesson: int) -> None:
    made = build_text(lesson_text(lesson))
    assert [f.message for f in made.faults if f.level is not Level.HINT] == []
    assert lesson_text(lesson).count("# Try: ") == sum(one[0] == lesson for one in TRIES) == 3


@pytest.mark.parametrize(("lesson", "new", "old", "seen"), TRIES)
def test_what_a_lesson_says_one_will_see(lesson: int, new: str, old: str, seen: str) -> None:
    """The change does something; where a remark is named it comes, where weights are, they are so."""
    text = lesson_text(lesson)
    work, _, _ = text.partition("# Try: ")
    assert work.count(old) == 1
    before, after = build_text(text), build_text(work.replace(old, new))
    codes = {fault.code for fault in after.faults}
    named = seen.rpartition("; ")[2]
    if re.fullmatch(r"[a-z]+(-[a-z]+)+", named):
        assert named in codes
        assert named not in {fault.code for fault in before.faults}
        return
    assert not [f.message for f in after.faults if f.level is Level.FAULT]
    weights = [weigh(made)[0].grams for made in (before, after)]
    told = [float(one) for one in re.findall(r"([\d.]+) g\b", seen)]
    if told:
        assert [round(weight, 2) for weight in weights][: len(told)] == told
    else:
        assert weights[0] != weights[1] or before.stones != after.stones
