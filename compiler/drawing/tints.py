"""The areas between the lines: metal and stones in pale tones, traced from the raster."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..geometry.parallels import signed_area
from .raster import Buffer, blended
from .scene import Body, Scene

_LIGHT = np.array((-0.45, 0.62, 0.64)) / np.linalg.norm((-0.45, 0.62, 0.64))
_SHADES = (0.30, 0.62)  # below the first a face is dark, below the second middling
_LEAST, _LEAST_TONE = 10, 50  # pixels: smaller patches of a body, of a tone, are left out
_BRIGHT = {False: (0.83, 0.90, 0.955), True: (0.52, 0.67, 0.82)}  # dark to light, by stone
# A stone one does not see into is lit on its face: it keeps its own brightness, dark ones a little raised.
_RAISED, _DARKEST, _STEPS = 0.05, 0.5, (0.16, 0.08, 0.0)
_PLAY = ("#dcb9c6", "#b5d8d3")  # what an opal shows beside its own colour, in its darker tones; house choice


@dataclass(frozen=True, eq=False)
class Tint:
    """Loops (k, 2) in pixels, the last spot the first, filled even-odd with ``colour``."""

    colour: str
    loops: tuple[np.ndarray, ...]


def tints(scene: Scene, bends: np.ndarray, xy: np.ndarray, axes: np.ndarray, buffer: Buffer) -> list[Tint]:
    """Areas in painting order: each body whole in its lightest tone, darker ones upon it.

    ``bends`` are the normals at the corners of triangles, ``xy`` as for the raster."""
    seen = buffer.triangle >= 0
    number = np.where(seen, buffer.triangle, 0)
    body = np.where(seen, scene.body[number], -1)
    tone = np.full(seen.shape, len(_SHADES))
    tone[seen] = np.searchsorted(_SHADES, _light(scene, bends @ (axes.T @ _LIGHT), xy, buffer, seen))
    found: list[Tint] = []
    kinds = list(dict.fromkeys(sorted(map(_kind, scene.bodies), key=lambda kind: kind[0])))  # metals first
    for key in kinds:
        chosen = np.array([_kind(one) == key for one in scene.bodies] + [False])[body]
        under = seen if key == kinds[0] else chosen  # no gaps between neighbours' tints
        for level in (2, 1, 0):
            mask = under if level == 2 else _smooth(tone <= level) & chosen
            loops = traced(mask, _LEAST if level == 2 else _LEAST_TONE)
            if loops:
                found.append(Tint(_tone(*key, level), tuple(loops)))
    return found


def _light(scene: Scene, corners: np.ndarray, xy: np.ndarray, buffer: Buffer, seen: np.ndarray) -> np.ndarray:
    """How much light falls on each pixel ``seen``, from that on the ``corners`` (m, 3)."""
    row, column = np.nonzero(seen)
    number = buffer.triangle[seen]
    shown = np.zeros(len(scene.triangles), dtype=bool)
    shown[number] = True
    used, which = np.flatnonzero(shown), (shown.cumsum() - 1)[number]
    return blended(xy[scene.triangles[used]], corners[used], which, column + 0.5, row + 0.5)


def _kind(body: Body) -> tuple[bool, str, str]:
    """What tells bodies apart that are not tinted alike."""
    return body.stone, body.colour, body.inside


def _tone(stone: bool, colour: str, inside: str, level: int) -> str:
    """The tint of a kind in a tone, 0 the darkest."""
    if not stone or inside == "clear":
        return pale(colour, _BRIGHT[stone][level])
    top = max(_brightness(colour) + _RAISED, _DARKEST)
    if inside == "play" and level < len(_PLAY):
        return pale(_PLAY[level], top - _STEPS[level])
    return pale(colour, top - _STEPS[level])


def _brightness(colour: str) -> float:
    red, green, blue = (int(colour[k : k + 2], 16) for k in (1, 3, 5))
    return (0.299 * red + 0.587 * green + 0.114 * blue) / 255.0


def pale(colour: str, bright: float) -> str:
    """``#rrggbb`` thinned with white (a pale one strengthened) to about that brightness."""
    parts = (int(colour[k : k + 2], 16) for k in (1, 3, 5))
    strength = min((1.0 - bright) / max(1.0 - _brightness(colour), 0.02), 1.7)
    thinned = (max(0, round(255 + (part - 255) * strength)) for part in parts)
    return "#" + "".join(f"{part:02x}" for part in thinned)


def deep(colour: str, strength: float) -> str:
    """``#rrggbb`` darkened: 1 leaves it, 0 is black."""
    parts = (int(colour[k : k + 2], 16) for k in (1, 3, 5))
    return "#" + "".join(f"{round(part * strength):02x}" for part in parts)


def traced(mask: np.ndarray, least: int = _LEAST) -> list[np.ndarray]:
    """The borders of ``mask`` as loops, the area on the right hand as one walks them."""
    rows, columns = np.flatnonzero(mask.any(axis=1)), np.flatnonzero(mask.any(axis=0))
    if not len(rows):
        return []
    top, left = rows[0], columns[0]
    wide = np.pad(mask[top : rows[-1] + 1, left : columns[-1] + 1], 1)
    width = wide.shape[1]
    after: dict[int, int] = {}
    for here, there in zip(*_sides(wide), strict=True):
        after.setdefault(here, there) if here not in after else after.setdefault(~here, there)
    loops = []
    while after:
        start = next(iter(after))
        spots, here = [], max(start, ~start)  # the second way from a corner is kept under ~corner
        while here in after or ~here in after:
            key = here if here in after else ~here
            spots.append(here)
            here = after.pop(key)
        loops.append(_loop(spots, width) + np.array((left, top)))
    return [loop for loop in loops if abs(signed_area(loop[:-1])) >= least]


def _sides(wide: np.ndarray) -> tuple[list[int], list[int]]:
    """Sides of pixels between mask and not, as (corner, next corner)."""
    width = wide.shape[1]
    first, last = [], []
    for axis, (one, two) in ((0, (1, 0)), (1, (0, 1))):
        low = wide[:-1] if axis == 0 else wide[:, :-1]
        high = wide[1:] if axis == 0 else wide[:, 1:]
        for sign in (False, True):
            rows, columns = np.nonzero((low & ~high) if sign else (high & ~low))
            near = (rows + one) * width + columns + two
            far = near + (1 if axis == 0 else width)
            swap = sign if axis == 0 else not sign
            first.append(far if swap else near)
            last.append(near if swap else far)
    a, b = np.concatenate(first), np.concatenate(last)
    order = np.argsort(a, kind="stable")
    return a[order].tolist(), b[order].tolist()


def _smooth(mask: np.ndarray) -> np.ndarray:
    """What most pixels within two of each are: specks, hairs and steps of facets go."""
    total = np.pad(mask.astype(np.int16), ((3, 2), (3, 2))).cumsum(axis=0).cumsum(axis=1)
    count = total[5:, 5:] - total[:-5, 5:] - total[5:, :-5] + total[:-5, :-5]
    return count >= 13


def _loop(corners: list[int], width: int) -> np.ndarray:
    """The loop with the steps of pixels averaged out: each spot the middle of five about it."""
    flat = np.array(corners)
    spots = np.column_stack([flat % width - 1.0, flat // width - 1.0])
    middle = np.mean([np.roll(spots, k, axis=0) for k in range(-2, 3)], axis=0)
    kept = middle[::2] if len(middle) > 24 else middle
    return np.concatenate([kept, kept[:1]])
