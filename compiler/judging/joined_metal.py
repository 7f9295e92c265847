"""The metal of all parts of a piece together."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import numpy as np
from manifold3d import Manifold, Mesh64

from ..measures.skin import Skin, side_by_side
from ..metal.kernel import join
from ..metal.part import Part


def joined_solid(parts: Iterable[Part], solids: Mapping[str, Manifold]) -> Manifold:
    """The ``solids`` by alloy as one; without any, those of the meshes of ``parts``."""
    return join(list(solids.values()) or [_solid(part) for part in parts])


def joined_skin(parts: Iterable[Part]) -> Skin:
    """The meshes of all parts as one, each triangle with its feature."""
    return side_by_side([Skin(part.points, part.triangles, part.owner) for part in parts])


def _solid(part: Part) -> Manifold:
    """A part's mesh as a solid again."""
    return Manifold(Mesh64(np.array(part.points), part.triangles.astype(np.uint64)))
