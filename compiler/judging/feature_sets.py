"""Which features are of what kind to the measures: seats, beads, what holds stones, walls."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from ..bench.roles import Role

if TYPE_CHECKING:
    from .piece import Piece


class FeatureSets:
    """Sets of features, by their index."""

    def __init__(self, piece: Piece) -> None:
        self.piece = piece

    @cached_property
    def seats(self) -> frozenset[int]:
        """Features that are seats or light holes."""
        return frozenset(f.index for f, _ in self.piece.with_role(Role.SEAT, Role.LIGHT_HOLE))

    @cached_property
    def beads(self) -> frozenset[int]:
        """Features that are balls."""
        return frozenset(f.index for f, _ in self.piece.with_role(Role.BEAD))

    @cached_property
    def holders(self) -> frozenset[int]:
        """Features that hold stones: those of settings, and wires beside a girdle."""
        prongs = self.piece.rods.feature[self.piece.prongs.rod].tolist()
        settings = (f.index for f, _ in self.piece.with_role(Role.SETTING))
        return frozenset([*prongs, *settings])

    @cached_property
    def ornaments(self) -> frozenset[int]:
        """Features that adorn a rim, and hold nothing."""
        return frozenset(f.index for f, _ in self.piece.with_role(Role.BEADED_EDGE))

    @cached_property
    def small(self) -> frozenset[int]:
        """Beads and prongs."""
        return self.beads | self.holders.intersection(self.piece.rods.feature.tolist())

    @cached_property
    def walls(self) -> frozenset[int]:
        """Features whose faces bound walls: bodies, and cuts into them."""
        none = Role.SETTING, Role.FINDING
        solids = self.piece.with_role(Role.BODY, Role.CUT)
        return frozenset(
            f.index for f, call in solids
            if not self.piece.is_for(f.index, *none) and not call.get("bought")
        )  # fmt: skip
