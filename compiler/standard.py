"""The standard words written in posy, read from stdlib/words once per process.

They lie in a folder for each group of the reference: ``stdlib/words/settings/prong.posy``.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable

from ..lang.faults import Fault
from ..lang.program import check_words, load_words
from ..lang.words import Word
from .works import core_words

FOLDER = "<standard words>"
# The groups of words, in the order a reader meets them at the bench.
GROUPS = (
    "blocks", "shapes", "lines", "work", "stones", "settings", "decoration", "findings",
)  # fmt: skip


@cache
def _loaded() -> tuple[Mapping[str, Word], tuple[Fault, ...], Mapping[str, str]]:
    words: dict[str, Word] = {}
    faults: list[Fault] = []
    texts: dict[str, str] = {}
    folder = files("posy.stdlib").joinpath("words")
    for group in _entries(folder):
        for entry in _entries(group) if group.is_dir() else ():
            if not entry.name.endswith(".posy"):
                continue
            path = f"{FOLDER}/{group.name}/{entry.name}"
            texts[path] = entry.read_text("utf-8")
            found, wrong = load_words(texts[path], path, group.name)
            words |= found
            faults += wrong
    return words, tuple(faults), texts


def _entries(folder: Traversable) -> list[Traversable]:
    """What a folder holds, in the order of the names."""
    return sorted(folder.iterdir(), key=lambda entry: entry.name)


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
    """Every word there is, by group; in a group core words first, then those written in posy."""
    words = {**core_words(), **standard_words()}
    return {name: words[name] for name in sorted(words, key=lambda name: _place(words[name]))}


def _place(word: Word) -> int:
    """Where its group stands; one that is not known comes last."""
    return GROUPS.index(word.group) if word.group in GROUPS else len(GROUPS)
