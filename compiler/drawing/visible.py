"""What is seen of the edges of a scene: which pieces of them, and as what kind of line."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..measures.kinds import spread
from .outline import Edges
from .raster import Buffer
from .scene import Scene

FRONT = 1e-3  # cosine below which a face counts as seen edge-on
NARROW = 0.03  # below it a wall is seen so narrow that its near edge is the limit
# A round surface of radius r stands sqrt(2 r d) before its own limit, d pixels away from it.
BORDER = 2.5  # times the root of the picture's longer side
HAIR = 4.0  # pixels: what lies no farther behind a limit that is no sharp edge is the same face
# Kinds of line: the limit against nothing, any other edge or limit, an edge between facets.
OUTLINE, EDGE, FACETS = 0, 1, 2


@dataclass(frozen=True, eq=False)
class Lines:
    """Visible pieces of edges: ``ends`` (s, 2, 2) pixels, ``kind`` (s,), ``body`` (s,)."""

    ends: np.ndarray
    kind: np.ndarray
    body: np.ndarray


def visible(
    scene: Scene, edges: Edges, toward: np.ndarray, xy: np.ndarray, depth: np.ndarray, buffer: Buffer
) -> Lines:
    """The pieces of edges seen from ``toward``; ``xy`` and ``depth`` as for the raster."""
    cosines = (edges.normals @ toward)[edges.like[edges.faces]]
    front = cosines > FRONT
    limit = front[:, 0] != front[:, 1]
    drawn = np.flatnonzero(limit | (edges.sharp & front.any(axis=1)))
    # How far a pixel's middle may lie before the edge: by the slope of the flatter face.
    best = np.clip(cosines[drawn].max(axis=1), 0.2, 1.0)
    slack = 0.6 + 1.5 * np.sqrt(1.0 - best**2) / best
    far, held = _farthest(buffer.depth)
    which, start, stop = _seen(xy, depth, edges.ends[drawn], slack, (held, buffer.depth))
    chosen = drawn[which]
    a, b = xy[edges.ends[chosen, 0]], xy[edges.ends[chosen, 1]]
    ends = np.stack([a + (b - a) * start[:, None], a + (b - a) * stop[:, None]], axis=1)
    fine = edges.stone[chosen] & ~limit[chosen]
    row, column = _pixels(ends.mean(axis=1), far.shape)
    bordering = limit[chosen] | (cosines[chosen].min(axis=1) < NARROW)
    outer = bordering & ~fine & np.isneginf(far[row, column])
    kind = np.where(fine, FACETS, np.where(outer, OUTLINE, EDGE))
    side = np.where(front[chosen, 0], edges.faces[chosen, 0], edges.faces[chosen, 1])
    # Where a curve turns away by a hair, from facet to facet, nothing is seen of that.
    here, there = depth[edges.ends[chosen]].T
    behind = here + (there - here) * (start + stop) / 2 - far[row, column]
    kept = edges.sharp[chosen] | (behind > HAIR)
    return Lines(ends[kept], kind[kept], scene.body[side][kept])


def _farthest(depth: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The farthest depth among each pixel and its eight neighbours, where nothing is the
    farthest of all; and what an edge by the open border is held against: what is there, less
    what a round surface may stand before its own limit."""
    far = _least(depth)
    metal = _least(np.where(np.isneginf(depth), np.inf, depth))
    return far, np.where(np.isneginf(far) & np.isfinite(metal), metal - BORDER * max(depth.shape) ** 0.5, far)


def _least(depth: np.ndarray) -> np.ndarray:
    """The least of each pixel and its eight neighbours; beyond the border is nothing."""
    wide = np.pad(depth, 1, constant_values=-np.inf if np.isneginf(depth).any() else np.inf)
    rows = np.minimum(np.minimum(wide[:-2], wide[1:-1]), wide[2:])
    return np.minimum(np.minimum(rows[:, :-2], rows[:, 1:-1]), rows[:, 2:])


def _pixels(spots: np.ndarray, shape: tuple[int, ...]) -> tuple[np.ndarray, np.ndarray]:
    column = np.clip(spots[:, 0].astype(np.int64), 0, shape[1] - 1)
    return np.clip(spots[:, 1].astype(np.int64), 0, shape[0] - 1), column


def _seen(
    xy: np.ndarray, depth: np.ndarray, ends: np.ndarray, slack: np.ndarray,
    held: tuple[np.ndarray, np.ndarray],
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Stretches of edges before all metal: (edge, from, to), shares of the edge's length.

    ``held`` is the depth an edge must reach, and that of the pixel itself: where an edge goes under, it stops
    by the latter."""
    far, own = held
    a, b = xy[ends[:, 0]], xy[ends[:, 1]]
    outside = (np.maximum(a, b) < 0) | (np.minimum(a, b) >= (far.shape[1], far.shape[0]))
    long = np.where(outside.any(axis=1), 1.0, np.linalg.norm(b - a, axis=1))
    count = np.maximum(np.ceil(long), 1).astype(np.int64)
    edge, place = spread(count)
    t = (place + 0.5) / count[edge]
    spot = a[edge] + (b - a)[edge] * t[:, None]
    za, zb = depth[ends[:, 0]], depth[ends[:, 1]]
    z = za[edge] + (zb - za)[edge] * t + slack[edge]
    row, column = _pixels(spot, far.shape)
    within = ((spot >= 0) & (spot < (far.shape[1], far.shape[0]))).all(axis=1)
    seen = (z >= far[row, column]) & within
    inner = (place[1:-1] > 0) & (place[1:-1] < count[edge[1:-1]] - 1)
    seen[1:-1] |= inner & seen[:-2] & seen[2:]  # a gap of one pixel is the raster's, not ours
    under = z < own[row, column]
    goes = np.zeros(len(seen), dtype=bool)
    goes[1:] |= ~seen[:-1] & (place[1:] > 0)
    goes[:-1] |= ~seen[1:] & (place[1:] > 0)
    seen &= ~(goes & under)
    begins = seen & np.concatenate([[True], ~seen[:-1] | (place[1:] == 0)])
    closes = seen & np.concatenate([~seen[1:] | (place[1:] == 0), [True]])
    first, last = np.flatnonzero(begins), np.flatnonzero(closes)
    which = edge[first]
    return which, place[first] / count[which], (place[last] + 1) / count[which]
