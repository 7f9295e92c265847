"""The floor that a cut of stated depth leaves of flat metal. Lengths mm."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..bench.roles import Role
from .digits import mm, rounded_down
from .remedies import thickened
from .thicknesses import thick_under
from .tolerances import SAME

if TYPE_CHECKING:
    from ..measures.places import Place
    from .piece import Piece

LEFT = 0.5  # of its depth, what a mark keeps at the least when it is to be cut less deep
SQUARE = 0.98  # cosine, from which a face lies across the way a cut goes
BEGINS = 0.05  # mm, a cut that begins no lower begins at the face


@dataclass(frozen=True)
class Ground:
    """The floor, ``thick`` mm, that a cut ``deep`` mm leaves of flat metal, stated so thick, whose face lies
    ``above`` mm over where the cut begins."""

    cut: int
    metal: int
    thick: float
    deep: float
    stated: float
    above: float

    def told(self, piece: Piece) -> str:
        """What is thin, and why the cut goes deeper than it says."""
        metal = piece.name_of(self.metal)
        begins = f": it begins {mm(self.above)} below the face of {metal}, on the ground of what is cut there"
        return f"{piece.name_of(self.cut)} leaves {metal} a thin floor{begins if self.above > BEGINS else ''}"

    def thicker(self, piece: Piece, wanted: float) -> str:
        """What leaves a floor so thick: the cut begun at the face, or less deep, or thicker metal."""
        cut, lack = piece.name_of(self.cut), wanted - self.thick
        ways = [thickened(piece, self.metal, lack)]
        if self.deep - lack > self.deep * LEFT:
            ways.insert(0, f"write deep {rounded_down(self.deep - lack)} in the line of {cut}")
        if self.above > BEGINS and not piece.call(self.cut).given("out"):
            ways.insert(0, f"write out {mm(self.above)} in the line of {cut}, so that it begins at the face")
        return "; or ".join(ways)


def ground_of(piece: Piece, thin: Place) -> Ground | None:
    """The floor under a cut of stated depth, where that is what is thin; None of other walls."""
    cut = next((one for one in thin.pair if piece.is_for(one, Role.OPENS)), None)
    metal = sum(thin.pair) - cut if cut is not None else -1
    if cut is None or metal == cut or piece.is_for(metal, Role.CUT) or piece.is_for(cut, Role.ENGRAVING):
        return None
    deep, stated = piece.call(cut).get("deep"), thick_under(piece, piece.features[metal])
    if not isinstance(deep, float) or stated is None or not piece.call(metal).given("thick"):
        return None
    axes = piece.features[cut].frames[:, :, 2] @ piece.skin_measures.skin.normals[thin.triangle]
    above = stated - deep - thin.figure
    if np.abs(axes).max() < SQUARE or above < -SAME:
        return None
    return Ground(cut, metal, thin.figure, deep, stated, above)
