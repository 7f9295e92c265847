"""How far letters and strokes of engraving lie on the face they are cut in or stand on."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..measures.kinds import unit

if TYPE_CHECKING:
    from ..geometry.line import Line
    from ..measures.skin import Skin

APART = 0.15  # mm between the spots looked at along an edge
DROP = 0.25  # mm below the floor of a cut where there is no face any more: faces curve a little
SHOWN = 0.6  # mm above the face, from where it is looked at
BELOW = 0.02  # mm below a cut or the root of a letter, where its face is whole
SMALLER = np.linspace(0.96, 0.2, 20)
STEP = 0.05  # mm between the spots looked at along a stroke
WELL_OVER, OVER_SHARE, OPPOSITE = 0.5, 0.25, -0.7  # mm past a rim, of its edge, cosine between two sides: of
# a cut meant to go across a face: house choice, no source


def ends_on_face(skin: Skin, line: Line, deep: float) -> tuple[float, float, np.ndarray] | None:
    """Between which lengths (mm from its start) an open stroke lies on metal, its runs past either end left
    out, and the spots (2, 3) where that begins and ends; None of one that nowhere does."""
    fine = line.fine(STEP)
    gone = np.r_[0.0, np.cumsum(np.linalg.norm(np.diff(fine.points, axis=0), axis=1))]
    on = np.flatnonzero(on_face(skin, fine.points, fine.outs, -deep, False))
    return (float(gone[on[0]]), float(gone[on[-1]]), fine.points[on[[0, -1]]]) if len(on) else None


def on_face(skin: Skin, at: np.ndarray, up: np.ndarray, low: float, raised: bool) -> np.ndarray:
    """Whether there is a face at spots (n, 3) on the plane of a mark, flags (n,)."""
    if raised:
        start = at + (low - BELOW) * up
        far, met = skin.grid.cast(start, -up, leaving=False)
        return np.asarray((met >= 0) & ((-up * skin.normals[met]).sum(axis=1) > 0))
    far, _ = skin.grid.cast(at + SHOWN * up, -up, leaving=False, reach=SHOWN - low + DROP)
    return np.asarray(np.isfinite(far))


def past_face(
    skin: Skin, frame: np.ndarray, edge: np.ndarray, ground: np.ndarray, low: float, raised: bool,
    boxes: list[np.ndarray],
) -> tuple[float, np.ndarray]:  # fmt: skip
    """How far a mark reaches past the face, and where, outside the ``boxes`` (2, 3) of other marks;
    ``ground`` (n, 3, 4) stands at each spot of its ``edge`` (n, 2)."""
    spots = ground[:, :, 3]
    off = ~on_face(skin, spots, ground[:, :, 2], low, raised)
    for least_of, most_of in boxes:
        off &= ((spots < least_of - APART) | (spots > most_of + APART)).any(axis=1)
    if not off.any():
        return 0.0, spots[0]
    if off.all():
        return float(np.ptp(edge, axis=0).max()), spots[0]
    apart = np.linalg.norm(edge[off][:, None] - edge[~off][None], axis=2).min(axis=1)
    apart = np.minimum(apart, _rim(skin, frame, edge[off], low))
    worst = int(np.argmax(apart))
    return float(apart[worst]), spots[off][worst]


def runs_across(skin: Skin, frame: np.ndarray, edge: np.ndarray, ground: np.ndarray, low: float) -> bool:
    """Whether a cut goes right across its face, well over the rim at opposite sides: one that is meant so."""
    off = ~on_face(skin, ground[:, :, 3], ground[:, :, 2], low, False)
    if off.mean() < OVER_SHARE:
        return False
    if off.all():
        return bool(np.isfinite(skin.grid.cast(frame[None, :, 3], -frame[None, :, 2], leaving=False)[0][0]))
    apart = _rim(skin, frame, edge[off], low)
    ways = unit((edge - edge.mean(axis=0))[off][apart > WELL_OVER])
    return len(ways) > 0 and bool((ways @ ways.T).min() < OPPOSITE)


def _rim(skin: Skin, frame: np.ndarray, spots: np.ndarray, low: float) -> np.ndarray:
    """Distance from spots of a mark's plane to the rim of its face, (n,)."""
    from ..measures.section import cuts
    from .hanging import clear

    turn = frame[:, :3]
    reach = float(np.abs(spots).max()) + 5.0
    _, face = skin.grid.near(frame[None, :, 3] - reach, frame[None, :, 3] + reach)
    local = (skin.corners[face] - frame[:, 3]) @ turn
    start, end, _, _ = cuts(local, np.array([low - BELOW]))
    return clear(spots, start, end) if len(start) else np.full(len(spots), np.inf)


def fits(
    skin: Skin, grounds: list[np.ndarray], homes: np.ndarray, low: float, raised: bool, rim: float
) -> float | None:
    """The share of their size at which marks leave so much rim to their face; None for none."""
    stood = np.concatenate(grounds)
    middle = np.repeat(homes, [len(one) for one in grounds], axis=0)
    way, go = stood[:, :, 2], stood[:, :, 3] - middle
    out = unit(go)
    for scale in SMALLER.tolist():
        if on_face(skin, middle + scale * go + rim * out, way, low, raised).all():
            return scale
    return None
