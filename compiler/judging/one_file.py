"""Which castings of a piece are one but for where they stand, so that one file serves them all."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from itertools import product

import numpy as np

from ..measures.alike import groups
from ..measures.kinds import Floats
from ..measures.skin import Skin
from ..metal.kernel import plain
from ..metal.part import Part, in_row
from .pairs import near_pairs
from .piece import Piece

NEAR = 5e-4  # mm, as thick as the skin is between two of one form, one moved onto the other


def one_file(piece: Piece | None, parts: Sequence[Part], kinds: Sequence[Hashable]) -> list[list[int]]:
    """The numbers of parts together that are moved and turned copies of one another, in order; mirror images
    and those of different ``kinds`` (n) never are."""
    frames = [_frame(piece, part.casting) for part in parts]
    skins = [Skin(part.points, part.triangles, part.owner) for part in parts]
    found: list[list[int]] = []
    for alike in groups(skins, kinds):
        own: list[list[int]] = []
        for k in alike:
            fits = (one for one in own if _moved(skins[one[0]], skins[k], frames[one[0]], frames[k]))
            group = next(fits, None)
            if group is None:
                own.append([k])
            else:
                group.append(k)
        found += own
    return sorted(found)


def _frame(piece: Piece | None, casting: str) -> Floats | None:
    """Where a casting stands, (3, 4); None of what stands outside any."""
    name, number = in_row(casting)
    lines = piece.features if piece is not None and casting else ()
    for line, which in ((casting, 0), (name, number - 1)):
        for feature in lines:
            if feature.name == line and which < len(feature.frames):
                return np.asarray(feature.frames[which], dtype=float)
    return None


def _moved(one: Skin, other: Skin, at: Floats | None, there: Floats | None) -> bool:
    """Whether a form is another moved and turned from a frame to a second, any way round its own axes."""
    if at is None or there is None:
        return False
    own = (one.points - at[:, 3]) @ np.linalg.inv(at[:, :3]).T
    hand = np.linalg.det(at[:, :3]) * np.linalg.det(there[:, :3])
    solid, most = plain(other.points, other.triangles), NEAR * float(other.areas.sum())
    for signs in product((1.0, -1.0), repeat=3):
        way = (there[:, :3] * signs).T
        if hand * np.prod(signs) > 0:
            spots = own @ way + there[:, 3]
            same = len(spots) == len(other.points)
            if same and len(np.unique(near_pairs(spots, other.points, NEAR)[0])) == len(spots):
                return True
            if (plain(spots, one.triangles) ^ solid).volume() > solid.volume() - most:
                return True
    return False
