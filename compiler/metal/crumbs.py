"""Crumbs: closed surfaces too small to be metal or a hollow, left by the kernel's work or by a text.

Where two faces meet almost in one plane, a boolean may leave a grain of metal or of air between them,
millionths of a cubic millimetre. They hold on to nothing, no printer shows them and every reader of the file
counts them as bodies; so they are left out of the finished metal. Curved faces that are one on paper leave
slivers of air between their chords: those are no hollows, whatever their volume."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ..measures.bodies import thinner
from ..measures.kinds import place_of
from ..measures.labels import groups
from .kernel import Readout
from .parts import Origin

# A body or hollow below CRUMB is left out, and told unless it is below DUST: cubes of 0.1 mm and of
# 0.02 mm, less than a print shows.
CRUMB, DUST = 1e-3, 1e-5


@dataclass(frozen=True)
class Crumb:
    """One closed surface left out: volume mm3, below nought for a hollow; a spot on it (3,); the id of
    the step that its first triangle comes from, -1 for none."""

    volume: float
    at: tuple[float, float, float]
    owner: int


def without_crumbs(
    out: Readout, origin: Callable[[int], Origin | None], tolerance: float
) -> tuple[Readout, tuple[Crumb, ...]]:
    """The mesh without its crumbs, and those worth telling; ``origin`` as for ``in_order``. The largest
    body always stays. ``tolerance`` mm is that of the chords."""
    count = len(out.triangles)
    if not count:
        return out, ()
    one, two, three = out.triangles.T
    shell = groups(len(out.points), np.r_[one, two], np.r_[two, three])[one]
    if not shell.any():  # one closed surface
        return out, ()
    volume = np.bincount(shell, out.cones())
    sliver = (volume < 0) & thinner(np.abs(volume), np.bincount(shell, out.areas()), 2 * tolerance)
    small = (np.abs(volume) < CRUMB) | sliver
    small[int(np.argmax(volume))] = False
    used = np.bincount(shell, minlength=len(volume)) > 0
    if not (small & used).any():
        return out, ()
    gone = small[shell]
    told = []
    for number in np.flatnonzero(small & used & ~sliver & (np.abs(volume) >= DUST)).tolist():
        first = int(np.argmax(shell == number))
        at = place_of(out.points[out.triangles[first, 0]])
        found = origin(int(out.mark[first]))
        told.append(Crumb(float(volume[number]), at, -1 if found is None else found[0]))
    keep = ~gone
    whole = Readout(out.points, out.triangles[keep], out.mark[keep], out.face[keep], out.cut[keep])
    return whole, tuple(told)
