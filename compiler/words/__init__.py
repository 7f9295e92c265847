"""The core words: one record and one maker each. A new core word is added in its module's WORDS, and its name
here, so that a piece loads the modules of the words it uses and no others."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cache
from importlib import import_module
from typing import Any

from ...lang.words import Word

# The words of each module, both in the order of the reference.
MODULES = {
    "bodies": "bar disc plate",
    "rounds": "tube rod ball dome",
    "fingers": "band",
    "rings": "signet split-shank",
    "wires": "wire jump-ring",
    "twisting": "twist",
    "turned": "turned",
    "lines": "path",
    "spotting": "spots",
    "stones": "stone",
    "seating": "azure seat",
    "boring": "bore",
    "hollowing": "hollow",
    "cutting": "drill pierce",
    "engraving": "engrave",
    "bending": "bend dap",
    "copies": "copy mirror wheel workpiece casting",
}


class WordsAsked(Mapping[str, Word]):
    """Words by name, each read when it is first asked for: a piece uses few of them. ``homes`` says of each
    name where its word is made."""

    def __init__(self, homes: Mapping[str, Any]) -> None:
        self._homes = homes

    def __contains__(self, name: object) -> bool:
        return name in self._homes

    def __iter__(self) -> Iterator[str]:
        return iter(self._homes)

    def __len__(self) -> int:
        return len(self._homes)


class _Core(WordsAsked):
    def __getitem__(self, name: str) -> Word:
        module = import_module(f".{self._homes[name]}", __name__)
        return next(word for word in module.WORDS if word.name == name)


@cache
def core_words() -> Mapping[str, Word]:
    """Every core word by name, in the order of the reference."""
    return _Core({name: module for module, names in MODULES.items() for name in names.split()})
