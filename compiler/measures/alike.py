"""Which of several bodies are one form, wherever each stands: moved, turned or mirrored."""

from __future__ import annotations

from collections.abc import Hashable, Sequence

import numpy as np

from .kinds import Floats
from .mass import volume_and_centre
from .skin import Skin

SAME = 1e-4  # of a figure: forms that differ by less are one


def groups(skins: Sequence[Skin], kinds: Sequence[Hashable]) -> list[list[int]]:
    """The numbers of bodies of one form together, in order; those of different ``kinds`` (n) never are."""
    figures = [form(skin) for skin in skins]
    found: list[list[int]] = []
    for k, own in enumerate(figures):
        for group in found:
            first = group[0]
            if kinds[first] == kinds[k] and np.allclose(figures[first], own, rtol=SAME, atol=0.0):
                group.append(k)
                break
        else:
            found.append([k])
    return found


def form(skin: Skin) -> Floats:
    """Figures (5,) that stay as a body is moved, turned or mirrored, and tell two others apart: its volume
    mm3, area mm2 and principal second moments mm5 (exact sums over the tetrahedra to each face)."""
    volume, centre = volume_and_centre(skin)
    corners = skin.corners - centre
    cones = np.einsum("ij,ij->i", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])) / 6
    rays = np.concatenate((corners, corners.sum(axis=1, keepdims=True)), axis=1)
    moments = np.einsum("i,ijk,ijl->kl", cones / 20, rays, rays)
    return np.array([volume, skin.areas.sum(), *np.linalg.eigvalsh(moments)])
