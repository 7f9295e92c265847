"""The metal of several parts together."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

import numpy as np

from ...stdlib.alloys import ALLOYS
from ..measures.mass import Part as Mass
from ..measures.skin import Skin, from_manifold, side_by_side
from ..metal.kernel import Patch, join, solid_of
from ..metal.part import Part

if TYPE_CHECKING:
    from manifold3d import Manifold

    from .piece import Piece


def joined_solid(parts: Sequence[Part]) -> Manifold:
    """The parts as one solid of the kernel, which remembers of each triangle its feature and one."""
    return join([
        solid_of([Patch(part.points, part.triangles, np.arange(len(part.owner)), part.owner + 1)])
        for part in parts
    ])


def joined_skin(parts: Sequence[Part], solid: Callable[[], Manifold] | None = None) -> Skin:
    """The outside of the parts together (``solid`` gives them as one), each triangle with its feature;
    faces in which two of them touch are none of it."""
    if len(parts) == 1:
        return skins_of(parts)
    features = np.unique(np.concatenate([part.owner for part in parts])).tolist()
    owners = {feature + 1: feature for feature in features}
    return from_manifold(solid() if solid else joined_solid(parts), owners)


def skins_of(parts: Sequence[Part]) -> Skin:
    """The meshes of all parts side by side, each triangle with its feature."""
    return side_by_side([Skin(part.points, part.triangles, part.owner) for part in parts])


def masses(piece: Piece, parts: Sequence[Part]) -> list[Mass]:
    """The metal of some parts with its density, g/cm3, as it is weighed."""
    alone = len(piece.parts) == 1
    return [
        (piece.skin_measures.skin if alone else skins_of([one]), ALLOYS[one.metal].density) for one in parts
    ]
