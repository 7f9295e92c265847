"""Every page of the reference shows a piece that a bench would make: no fault and no warning.

So every standard word is sound at its defaults, as its example says it."""

from __future__ import annotations

import pytest

from posy.compiler.making.pipeline import build
from posy.compiler.pages.scenes import EXAMPLE, PIECE, Scene, scenes
from posy.compiler.words.standard import all_words
from posy.lang.faults import Level
from posy.lang.loader import Texts

NAMES = list(dict.fromkeys([*scenes(), *all_words()]))
# word -> code -> why a bench accepts it
ACCEPTED: dict[str, dict[str, str]] = {}


@pytest.mark.parametrize("name", NAMES)
def test_the_scene_of_a_word_is_sound(name: str) -> None:
    scene = scenes().get(name) or Scene(name, texts={PIECE: f"{EXAMPLE}\n"})
    word = all_words().get(name)
    built = build(PIECE, files=Texts(scene.with_example(word.example if word else "")))
    found = {f.code: f.message for f in built.faults if f.level is not Level.HINT}
    assert found.keys() == ACCEPTED.get(name, {}).keys(), found
    assert built.parts, "it makes metal"
