"""Which stones the metal of a setting holds, as the text tells: those its word was given (`for`),
and those it laid itself. Where no word tells, the geometry decides."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from ...lang.bench import Use
from ..bench.carried import given_to
from ..bench.feature import Feature
from ..bench.roles import Role

if TYPE_CHECKING:
    from .piece import Piece


class Services:
    """Lines of stones by the features that were made to hold them."""

    def __init__(self, piece: Piece) -> None:
        self.piece = piece
        self._served: dict[int, frozenset[int]] = {}

    def lines(self, feature: int) -> frozenset[int]:
        """The lines of stones that a feature was made to hold; empty where no word tells."""
        if feature not in self._served:
            found = (given_to(use) | self._laid_by.get(use, frozenset()) for use in self._uses(feature))
            self._served[feature] = next(filter(None, found), frozenset())
        return self._served[feature]

    def around(self, seat: int, line: int) -> bool:
        """Whether a seat for a stone of ``line`` is cut in metal that the same setting, given the
        stone, made to hold it."""
        into = self.piece.call(seat).get("in")
        if not isinstance(into, Feature):
            return False
        made = {use for index in indices_of(into) for use in self.piece.call(index).within}
        return any(use in made and line in given_to(use) for use in self._uses(seat))

    def may_hold(self, stone: np.ndarray, rod: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Which pairs of a stone and a rod (n,) may be a stone and its prong, and which of them the
        text made for one another, (n,) flags each."""
        piece = self.piece
        line, feature = piece.stones.line[stone], piece.rods.feature[rod]
        pairs, which = np.unique(np.stack((line, feature)), axis=1, return_inverse=True)
        known = [self._knows(*pair) for pair in pairs.T.tolist()]
        finding = [piece.is_for(one, Role.FINDING) for one in pairs[1].tolist()]
        told = [pair[0] in self.lines(pair[1]) for pair in pairs.T.tolist()]
        flags, findings, made = (
            np.array(one, dtype=bool)[which.reshape(-1)] for one in (known, finding, told)
        )
        return (flags | piece.rods.bare[rod]) & ~findings, made

    def _knows(self, line: int, feature: int) -> bool:
        served = self.lines(feature)
        return not served or line in served

    @cached_property
    def bare_copies(self) -> frozenset[int]:
        """Features that repeat metal without any stones: what the metal was made for then says
        nothing of the stones it stands by."""
        stones = {group.feature for group in self.piece.stone_sets}
        copies = (f.index for f in self.piece.features if f.source is not None)
        return frozenset(copies) - stones

    def _uses(self, feature: int) -> Iterator[Use]:
        """The settings a feature was made inside of, the innermost first."""
        for use in reversed(self.piece.call(feature).within):
            if Role.SETTING in use.word.roles:
                yield use

    @cached_property
    def _laid_by(self) -> dict[Use, frozenset[int]]:
        """Lines of stones by the words they were laid in."""
        found: dict[Use, frozenset[int]] = {}
        for line in {group.line for group in self.piece.stone_sets}:
            for use in self.piece.call(line).within:
                found[use] = found.get(use, frozenset()) | {line}
        return found


def indices_of(feature: Feature) -> Iterator[int]:
    """The line that made a feature, and those that made its parts."""
    if feature.index >= 0:
        yield feature.index
    for part in feature.parts:
        yield from indices_of(part)
