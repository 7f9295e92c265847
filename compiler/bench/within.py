"""What a closed flat wire frames: its opening, with the places at its sides that look into it. Lengths mm."""

from __future__ import annotations

from functools import partial

import numpy as np

from ..geometry import frames as fr
from ..geometry.line import Line, ring
from ..geometry.parallels import signed_area
from .feature import Feature, Lines, Offer
from .sides import walls

DEEP = 1.0  # mm, half of the hole by which its sides are found
LEVEL = 1e-6  # mm
LIES = 0.7  # cosine from which a line looks square to its plane, so that its section lies flat in that

OPENING_HELP = (
    "of a closed flat wire the inside of the frame it makes: its path, and 'top', 'bottom', 'right' and "
    "'left' of it, looking into it. 'bail eye: at top of opening of tear' is a loop that hangs inward, in "
    "which a drop hangs free inside the frame: 'casting drop: hangs-in eye'"
)


def openings_in(feature: Feature, lines: tuple[Line, ...], wide: float, thick: float) -> dict[str, Offer]:
    """The offer of its opening by a wire ``wide`` across its path and ``thick`` outward, if it frames one."""
    plane = _plane(lines[0]) if len(lines) == 1 and lines[0].closed else None
    return {} if plane is None else {"opening": partial(_opening, feature, lines[0], plane, wide, thick)}


def _opening(feature: Feature, line: Line, plane: np.ndarray, wide: float, thick: float) -> Feature | None:
    """The opening of a wire along a line in that plane; None where nothing is left of it, or it was bent."""
    lies = abs(float((line.outs @ plane[:, 2]).mean())) > LIES
    inner = _around(fr.apply(fr.inverse(plane), line.points)).moved_sharp((wide if lies else thick) / 2)
    if inner is None or feature.ground is not None:
        return None
    outline = ("points", tuple(map(tuple, np.round(inner.points[:, :2], 9).tolist())))
    path = Lines((ring(inner.points[:, :2], -DEEP),))
    frames = fr.compose(feature.frames, fr.compose(plane[None], fr.shifted(out=DEEP)))
    offers: dict[str, Offer] = {"path": lambda: path, **walls(outline, lambda: DEEP)}
    name = f"opening of {feature.name}"
    return Feature(name, feature.word, feature.index, frames, offers, body=feature.body)


def _around(points: np.ndarray) -> Line:
    """Points (n, 3) of a closed line in its plane, gone round so that its inner side is inside."""
    flat = points[:, :2]
    return ring(flat if signed_area(flat) > 0 else flat[::-1], 0.0)


def _plane(line: Line) -> np.ndarray | None:
    """The frame (3, 4) of the plane a line lies in, its y up as far as can be, or out; None if in none."""
    middle = line.points.mean(axis=0)
    axis = np.linalg.svd(line.points - middle, full_matrices=False)[2][2]
    if np.abs((line.points - middle) @ axis).max() > LEVEL:
        return None
    axis *= np.sign(axis[np.abs(axis).argmax()])
    up = np.array([0.0, 1.0, 0.0]) if abs(axis[1]) < LIES else np.array([0.0, 0.0, 1.0])
    home = (middle @ axis) * axis
    return np.asarray(fr.from_axes(home[None], np.cross(up, axis)[None], axis[None])[0])
