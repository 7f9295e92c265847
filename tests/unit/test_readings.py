"""Texts read as their faults suggest: what the metal shows is told beside the faults, and says how it was read."""

from __future__ import annotations

import pytest

from posy.compiler.making.tried import built_and_tried
from posy.lang.faults import Level
from posy.lang.loader import Texts

HEAD = 'piece "Tag"\n  metal silver-925\n'
TAG = "disc tag: across 12 mm, thick 1.4 mm\nbail loop: at top of tag, wire 1 mm, inside 3.5 mm\n"
SLIM = TAG.replace("wire 1 mm", "wire 0.4 mm")


def told(text: str) -> list[tuple[str, int, str]]:
    found = built_and_tried("p.posy", files=Texts({"p.posy": text}), rest=True).built.faults
    loud = [one for one in found if one.level is not Level.HINT or one.code == "lines-left-out"]
    return [(one.code, one.span.line, one.message) for one in loud if one.span]


@pytest.mark.parametrize(("old", "new", "read"), [
    ("silver-925", "silver-930", "metal silver-925"),  # one of several alike
    ("silver-925", "gold", "metal gold-375-yellow"),
    ("across 12 mm", "across 12", "across 12 mm"),
    ("disc tag", "disk tag", "disc tag"),
    ("at top of tag", "at top of tga", "at top of tag"),
    ("thick 1.4 mm", "thick 1.4 mm, soften 1.5 mm", "soften 1.39 mm"),  # as much as its limit allows
    ("thick 1.4 mm", "thick = 1.4 mm", "thick 1.4 mm"),
])  # fmt: skip
def test_a_fault_hides_nothing_that_the_metal_shows(old, new, read):
    """What a right text is told, a text with a slip is told below it, at the same lines."""
    (code, line, message), = told(HEAD + SLIM)
    text = (HEAD + SLIM).replace(old, new)
    assert text != HEAD + SLIM
    _, how, *rest = told(text)
    assert how[0] == "lines-left-out" and f"read as '{read}'" in how[2], how
    assert (code, line, message) in rest


def test_of_a_right_reading_nothing_more_is_found():
    (slip, how) = told((HEAD + TAG).replace("across 12 mm", "across 12"))
    assert slip[0] == "unit-missing" and how[2] == "with line 3 read as 'across 12 mm', nothing more is found"


def test_slips_of_several_lines_are_read_together():
    text = (HEAD + TAG).replace("across 12 mm", "across 12").replace("silver-925", "silvr-925").replace("at top", "at tpo")
    *slips, how, hidden = told(text)
    assert [line for _, line, _ in slips] == [2, 3] and how[2].startswith("the rest is told with line 2 read as")
    assert "line 4 read as 'at top of tag'" in how[2] and hidden[:2] == ("not-offered", 4)


def test_what_depends_on_which_alloy_was_meant_is_not_told():
    """Of two that the fault offers, one makes the prongs too thin."""
    text = HEAD.replace("silver-925", "silver-930") + "disc tag: across 12 mm, thick 1.4 mm\n"
    assert [code for code, _, _ in told(text)] == ["unknown-metal", "lines-left-out"]


def test_a_figure_far_from_what_is_allowed_is_not_guessed():
    text = (HEAD + TAG).replace("across 12 mm", "across 12000 mm")
    assert not any("read as" in message for _, _, message in told(text))
