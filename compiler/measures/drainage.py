"""Hollows that drain badly: chambers joined to the outside only through a narrow neck.

A print's resin, wax and investment must come out of every hollow. The neck of a chamber is the
largest ball that can pass from it to the outside. A pocket as wide at its mouth as within has
no neck and is not reported.

Method. The piece is cut into cubes; the distance from each air cube to the metal is taken, and
air is shrunk step by step: at the step where some of it comes apart from the outside, that part
is a chamber and the step is its neck. Necks are good to one `pitch` (two if under three pitches
wide); chambers narrower than two pitches, or less than `wider` times their neck, are not told.
"""

from __future__ import annotations

import numpy as np

from ...lang.lean import dataclass
from .kinds import Flags, Floats, Ints, spread
from .skin import Skin
from .voxels import connected, fill, reach

MOST_CUBES = 2_000_000


@dataclass(frozen=True)
class Chamber:
    """A chamber: neck mm (diameter of the ball that just drains it, 0 if shut), width mm of the
    largest ball inside (told up to somewhat over twice `widest`), volume mm3 (less than the
    true one: where the middle of a ball of the neck's size can go), at its widest place."""

    neck: float
    width: float
    volume: float
    at: tuple[float, float, float]


def drainage(
    skin: Skin, widest: float = 1.5, pitch: float = 0.1, wider: float = 1.5
) -> list[Chamber]:
    """Chambers with a neck under `widest` mm, narrowest first.

    `pitch` is the cube in mm; it grows on a large piece so that there are at most two million.
    """
    low, high = skin.box
    steps = int(np.ceil(widest / pitch)) + 2
    while np.prod(np.ceil((high - low) / pitch) + 2 * steps) > MOST_CUBES:
        pitch *= 1.15
        steps = int(np.ceil(widest / pitch)) + 2
    shape = tuple(int(n) for n in np.ceil((high - low) / pitch) + 2 * steps)
    origin = low - (steps - 0.5) * pitch
    metal = fill(skin, origin, pitch, (shape[0], shape[1], shape[2]))
    # A quarter added evens out, over round necks and slots, that no cube's middle is just in
    # the middle of the neck and that the metal begins before a metal cube's middle.
    radius = np.minimum(reach(metal, steps + 2), steps + 2) + 0.25
    return _sift(radius, ~metal, origin, pitch, widest, wider)


def _sift(
    radius: Floats, air: Flags, origin: Floats, pitch: float, widest: float, wider: float
) -> list[Chamber]:
    """Shrink the air step by step and note what comes apart."""
    taken = np.zeros(air.shape, dtype=bool)
    found: list[Chamber] = []
    size = 0.0
    while size <= widest / pitch + 0.5:
        mask = air if size == 0.0 else radius >= size / 2
        neck = max(size - 0.25, 0.0) * pitch
        for part in _cut_off(mask, taken):
            width = 2 * float(radius[part].max() - 0.75) * pitch
            where = np.argmax(np.where(radius[part] == radius[part].max(), 1, 0))
            taken[part] = True
            if width >= max(wider * neck, 2 * pitch) and neck < widest:
                at = origin + pitch * np.array([axis[where] for axis in part])
                volume = len(part[0]) * pitch**3
                found.append(
                    Chamber(neck, width, volume, (float(at[0]), float(at[1]), float(at[2])))
                )
        size = size + 1.0 if size == 0.0 else size + 0.5
    return sorted(found, key=lambda chamber: (chamber.neck, chamber.at))


def _cut_off(mask: Flags, taken: Flags) -> list[tuple[Ints, Ints, Ints]]:
    """Cubes of each part of the mask that is apart from the outside and not yet taken."""
    label, column, first, last = connected(mask)
    if not len(label):
        return []
    ny = mask.shape[1]
    outside = label[0]
    parts = []
    fresh = ~taken[column // ny, column % ny, first] & (label != outside)
    for number in np.unique(label[fresh]).tolist():
        runs = np.flatnonzero(label == number)
        row, z = spread(last[runs] - first[runs] + 1, first[runs])
        parts.append((column[runs][row] // ny, column[runs][row] % ny, z))
    return parts
