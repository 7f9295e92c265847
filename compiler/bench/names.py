"""The names a text may use of what the compiler knows: core words, alloys, roles, bench rules."""

from __future__ import annotations

from collections.abc import Mapping

from ...lang.words import Word
from ...stdlib import alloys
from ...stdlib.fingers import SYSTEMS, clear_size, inside_diameter
from .roles import SAID


class Names:
    """The part of a bench that only tells names. ``words`` are the core words by name, ``rule_names`` those
    of the bench rules."""

    def __init__(self, words: Mapping[str, Word], rule_names: tuple[str, ...]) -> None:
        self._words, self._rule_names = words, rule_names

    def core_words(self) -> Mapping[str, Word]:
        """The words made by the compiler."""
        return self._words

    def metals(self) -> tuple[str, ...]:
        """Names of the alloys a piece can be of, and what else the trade calls them."""
        return (*alloys.ALLOYS, *(also for alloy in alloys.ALLOYS.values() for also in alloy.also))

    def check_metal(self, name: str) -> str | None:
        """The alloy's own name for a name or trade synonym; None if none or several are called so."""
        return alloys.metal_called(name)

    def metal_hint(self, name: str) -> str:
        """What to say of a metal there is not."""
        return alloys.metal_hint(name)

    def length_meant(self, text: str) -> str | None:
        """The inside of a finger, where a text says its size."""
        size = text if text.partition(" ")[0].lower() in SYSTEMS else clear_size(text)
        scale, _, number = (size or "").partition(" ")
        diameter = inside_diameter(scale.lower(), number)[0]
        return None if diameter is None else f"write {diameter:.2f} mm; that is {size} across, inside"

    def roles(self) -> tuple[str, ...]:
        """What a word written in posy may say it serves as."""
        return SAID

    def rules(self) -> tuple[str, ...]:
        """The names of the bench rules, for `waive`."""
        return self._rule_names
