"""What a remark on a setting says to do is done to the letter, on every setting word and cut of stone: the
remark is gone, and no fault comes in its place.

A clause of each setting is set to an odd figure, and whatever is told of it is followed: the change of text a
rule offers, else the line or clause that its words name. Some of the texts are tried here; ``python
tests/wear/usual.py --odd`` tries them all."""

from __future__ import annotations

import pytest
from usual_texts import odd_texts, what_remedies_leave

TEXTS = odd_texts()


@pytest.mark.parametrize("name", list(TEXTS)[::17])
def test_a_remedy_followed_cures_and_brings_no_fault(name: str) -> None:
    assert what_remedies_leave(TEXTS[name]) == []
