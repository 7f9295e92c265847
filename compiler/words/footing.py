"""Feet: at which places, looking down on metal, a foot is least past its edge. Lengths mm."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np

from ..geometry import frames as fr

if TYPE_CHECKING:
    from ..measures.kinds import Floats

# House choices, no source.
FINE = 0.2  # to which a foot is looked at
LOWER = 1.5  # metal that lies so much lower than in the middle of a foot carries nothing of it


def carrying(below: Callable[[Floats], Floats], frames: Floats, size: tuple[float, float]) -> np.ndarray:
    """Which of places (n, 3, 4) have a foot of that ``size``, along and square to their x, least past the
    edge of the metal that ``below`` finds (see ``near_places.below``): flags (n,); none where no middle of
    one is on it."""
    ways = [FINE * np.arange(-half, half + 1) for half in (round(one / 2 / FINE) for one in size)]
    cells = np.stack(np.meshgrid(*ways, indexing="ij"), axis=-1).reshape(-1, 2)
    sole = np.concatenate([fr.shifted(right, up) for right, up in cells.tolist()])
    spots = fr.rounded(fr.compose(frames, sole)).reshape(-1, 12)
    each, of = np.unique(spots, axis=0, return_inverse=True)
    deep = below(each.reshape(-1, 3, 4))[:, 0][of.ravel()].reshape(len(frames), -1)
    on = np.abs(deep - deep[:, deep.shape[1] // 2, None]) < LOWER
    apart = np.linalg.norm(cells[:, None] - cells[None], axis=-1)
    past = np.array([apart[:, one].min(axis=1, initial=np.inf).max() for one in on])
    return np.asarray(np.isfinite(past) & (past < past.min(initial=np.inf) + FINE / 2))
