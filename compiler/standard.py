"""The standard words written in posy, read from stdlib/words once per process."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from importlib.resources import files

from ..lang.faults import Fault
from ..lang.program import check_words, load_words
from ..lang.words import Word
from .works import core_words

FOLDER = "<standard words>"


@cache
def _loaded() -> tuple[Mapping[str, Word], tuple[Fault, ...], Mapping[str, str]]:
    words: dict[str, Word] = {}
    faults: list[Fault] = []
    texts: dict[str, str] = {}
    folder = files("posy.stdlib").joinpath("words")
    for entry in sorted(folder.iterdir(), key=lambda entry: entry.name):
        if not entry.name.endswith(".posy"):
            continue
        path = f"{FOLDER}/{entry.name}"
        texts[path] = entry.read_text("utf-8")
        found, wrong = load_words(texts[path], path)
        words |= found
        faults += wrong
    return words, tuple(faults), texts


def standard_words() -> Mapping[str, Word]:
    """The standard words written in posy, by name."""
    return _loaded()[0]


def standard_texts() -> Mapping[str, str]:
    """Their source texts by path, for snippets."""
    return _loaded()[2]


def standard_faults() -> list[Fault]:
    """What is wrong with them (a test wants nothing)."""
    words, faults, _ = _loaded()
    return [*faults, *check_words(words, core_words())]


def all_words() -> Mapping[str, Word]:
    """Every word there is: core words, then those written in posy."""
    return {**core_words(), **standard_words()}
