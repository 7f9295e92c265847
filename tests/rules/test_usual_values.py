"""What a word takes where a text says nothing pleases every rule, of the plan and of the metal, not even a
hint left over; what asks for care with the stone itself apart.

Every sixth text is tried here; ``python tests/wear/usual.py`` tries them all."""

from __future__ import annotations

import pytest
from usual_texts import is_advice, usual_texts

from posy.compiler.making.pipeline import build
from posy.lang.loader import Texts

TEXTS = usual_texts()


@pytest.mark.parametrize("name", list(TEXTS)[::6])
def test_usual_values_please_every_rule(name: str) -> None:
    made = build("p.posy", files=Texts({"p.posy": TEXTS[name]}))
    assert made.parts
    told = [f"{one.code}: {one.message}; {one.seen}" for one in made.faults if not is_advice(one)]
    assert told == []
