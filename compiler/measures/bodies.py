"""The separate bodies of a solid, and the hollows shut inside them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from .kinds import Floats, Ints, Solid, cross, dot, length, place_of, renumbered
from .labels import groups
from .skin import Skin, from_manifold


@dataclass(frozen=True)
class Shell:
    """One closed surface: volume mm3 enclosed, centre of that volume, feature indices on it.

    For a piece the volume is that of the metal, its shut voids taken out; for a void it is that of the air.
    ``number`` is the one that ``labels`` gives its triangles."""

    volume: float
    centre: tuple[float, float, float]
    owners: tuple[int, ...]
    number: int = -1


def pieces(solid: Solid | Skin) -> list[Shell]:
    """Separate bodies of metal (also loose ones in a void), largest first; exact for the mesh."""
    skin = _skin(solid)
    label, volume, moment = _shells(skin)
    inside = _home(skin, label, volume)
    for void in np.flatnonzero(volume < 0).tolist():
        if inside[void] >= 0:
            volume[inside[void]] += volume[void]
            moment[inside[void]] += moment[void]
    return _listed(skin, label, volume, moment, 1.0)


def voids(solid: Solid | Skin, thin: float = 0.0) -> list[Shell]:
    """Hollows with no opening at all, largest first (nothing is reported for an open one), but for those
    that are ``thin`` mm or less across in the mean: slivers of air between the chords of two faces."""
    skin = _skin(solid)
    area = np.bincount(labels(skin), skin.areas)
    found = _listed(skin, *_shells(skin), -1.0)
    return [one for one in found if not thinner(one.volume, area[one.number], thin)]


def thinner(volume: Any, area: Any, thin: float) -> Any:
    """Whether closed surfaces of some volume (mm3) and area (mm2) are ``thin`` mm or less across in the
    mean, as slivers are between the chords of two faces that are one on paper."""
    return 2 * volume <= thin * area


def labels(solid: Solid | Skin) -> Ints:
    """The number of the closed surface that each triangle is part of, (m,)."""
    return _shells(_skin(solid))[0]


def _skin(solid: Solid | Skin) -> Skin:
    return solid if isinstance(solid, Skin) else from_manifold(solid)


def _shells(skin: Skin) -> tuple[Ints, Floats, Floats]:
    """Shell number of each triangle; signed volume and first moment of each shell (copies)."""
    kept: tuple[Ints, Floats, Floats] | None = skin.__dict__.get("_shells")
    if kept is None:
        one, two, three = np.asarray(skin.triangles, dtype=np.int64).T
        point = groups(len(skin.points), np.r_[one, two], np.r_[two, three])
        label = renumbered(point[one], len(skin.points)) if len(one) else one
        count = int(label.max(initial=-1)) + 1
        part, moments = skin.cones
        volume = np.asarray(np.bincount(label, part, count), dtype=np.float64)
        moment = np.stack([np.bincount(label, moments[k], count) for k in range(3)], 1)
        kept = skin.__dict__["_shells"] = label, volume, moment + volume[:, None] * skin.box[0]
    return kept[0], kept[1].copy(), kept[2].copy()


def _home(skin: Skin, label: Ints, volume: Floats) -> Ints:
    """For each void the smallest body it lies in, -1 for none."""
    home = np.full(len(volume), -1, dtype=np.int64)
    bodies = np.flatnonzero(volume > 0)
    bodies = bodies[np.argsort(volume[bodies], kind="stable")]
    for void in np.flatnonzero(volume < 0).tolist():
        spot = skin.corners[int(np.argmax(label == void))].mean(axis=0)
        for body in bodies.tolist():
            if volume[body] > -volume[void] and winding(skin.corners[label == body], spot) > 0.5:
                home[void] = body
                break
    return home


def winding(corners: Floats, spot: Floats) -> float:
    """How often closed triangles wind round a spot: 1 inside (Van Oosterom and Strackee 1983)."""
    a, b, c = (corners[:, i] - spot for i in range(3))
    la, lb, lc = length(a), length(b), length(c)
    top = dot(a, cross(b, c))
    low = la * lb * lc + dot(a, b) * lc + dot(b, c) * la + dot(c, a) * lb
    return float(np.arctan2(top, low).sum() / (2 * np.pi))


def _listed(skin: Skin, label: Ints, volume: Floats, moment: Floats, sign: float) -> list[Shell]:
    """Shells of one sign, largest first, those of no volume left out."""
    found = []
    for number in np.flatnonzero(sign * volume > 1e-12).tolist():
        at = place_of(moment[number] / volume[number])
        owners = tuple(np.unique(skin.owner[label == number]).tolist())
        found.append(Shell(float(sign * volume[number]), at, owners, number))
    return sorted(found, key=lambda shell: -shell.volume)
