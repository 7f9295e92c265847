"""Places with no metal below them: how far beside it they lie, and what brings them over it."""

from __future__ import annotations

import math
from itertools import takewhile
from typing import NoReturn

import numpy as np

from ...lang.bench import Call
from ..bench.feature import Feature
from ..bench.piece_bench import PieceBench
from ..geometry import frames as fr
from ..measures.closest import on_triangle
from ..measures.kinds import unit

FAR = 500.0  # mm behind, from where the back of metal is sought
THICK = 3.0  # mm of metal over a place that lies in it, beyond which it is not in wire but behind a band
MOST = 24  # places that are looked at
ROUND = 0.3  # of their mean length, what ways inward from all sides come to at most
TURNS = ("turn", 2), ("tilt", 0), ("lean", 1), ("swivel", 2)  # with their axes, in the order they are made
INSIDE = 0.3  # mm past the edge, a place that has metal under it
OWN = "what its neighbours carry leaves out 'on {0}'"


def refuse_missed(bench: PieceBench, call: Call, key: str, frames: np.ndarray) -> NoReturn:
    """Tell that places (n, 3, 4) look past the metal of the feature ``key``: that they lie in it, are wider
    than it, or how far beside it they are."""
    feature: Feature = call.get(key)
    name, message = feature.name, f"none of these places looks down on {feature.name}"
    over = FAR - bench.below(feature, fr.compose(frames, fr.shifted(out=FAR)))[:, 0]
    some = frames[np.unique(np.linspace(0, len(frames) - 1, min(len(frames), MOST)).astype(int))]
    seen = None
    if np.isfinite(over).any():
        lack = math.ceil(10 * float(np.nanmax(over)) + 1) / 10
        seen, remedy = "they lie in it, or behind it", (
            "move the stone out to its face: "
            + f"'level back, out {lack:g} mm' where its line has 'at', else " * (lack < THICK)
            + f"say 'on {name}' on its line"
        )  # fmt: skip
    elif len(shifts := list(takewhile(len, (_beside(bench, feature, one) for one in some)))) < len(some):
        remedy = f"move them over its metal, or turn them so that it lies below; {OWN.format(name)}"
    elif _round(some, np.array(shifts)):
        span = float(np.linalg.norm(some[:, None, :, 3] - some[None, :, :, 3], axis=-1).max())
        room = max(span - 2 * float(np.linalg.norm(shifts, axis=1).min()), 0.0)
        message = f"this is wider than {name}, which is to carry it"
        seen = f"{_mm(span)} across, {name} {_mm(room)}"
        remedy = f"make {name} {_mm(span + 2 * INSIDE)} across, or take a smaller stone"
    else:
        far = np.linalg.norm(shifts, axis=1)
        nearest, held = some[far.argmin()], call.figure("for")
        way = shifts[far.argmin()]
        if isinstance(held, Feature) and len(held.frames):
            way = _as_moved(bench, held, nearest[:, 3], nearest[:, :2] @ way)
        seen = f"{_mm(float(far.min()))} beside it, the nearest"
        them = getattr(held, "name", "them")
        remedy = (
            f"move {them} {_steps(way + INSIDE * unit(way))}; or lay wire "
            f"from {name} to below them, and say 'on' of that wire; {OWN.format(name)}"
        )
    call.refuse("no-places", message, key, seen=seen, remedy=remedy)


def _mm(length: float) -> str:
    return f"{length:.2f} mm"


def _as_moved(bench: PieceBench, stones: Feature, spot: np.ndarray, way: np.ndarray) -> np.ndarray:
    """A way in the piece (3,) by the clauses (2,) of the line of stones, for that nearest a spot (3,)."""
    far = np.linalg.norm(stones.frames[:, :, 3] - spot, axis=1)
    frame = stones.frames[far.argmin()][None]
    said = bench.lines[stones.index].get if stones.index >= 0 else lambda _: 0.0
    for key, axis in reversed(TURNS):
        frame = fr.compose(frame, fr.turned(axis, -float(said(key) or 0.0)))
    return np.asarray(way @ frame[0, :, :2])


def _steps(way: np.ndarray) -> str:
    """A way (2,), mm, by the clauses that go it."""
    words = ("right", "left"), ("up", "down")
    gone = [f"{_mm(abs(far))} {pair[int(far < 0)]}" for far, pair in zip(way.tolist(), words, strict=True)
            if abs(far) >= INSIDE / 2]  # fmt: skip
    return " and ".join(gone)


def _round(frames: np.ndarray, shifts: np.ndarray) -> bool:
    """Whether places (n, 3, 4) in one plane stand round what lies by ``shifts`` (n, 2) from them."""
    ways = np.einsum("nij,nj->ni", frames[:, :, :2], shifts)
    level = np.abs(frames[:, :, 2] @ frames[0, :, 2]).min() > 1 - 1e-6
    inward = np.linalg.norm(ways.mean(axis=0)) < ROUND * np.linalg.norm(ways, axis=1).mean()
    return bool(len(frames) > 2 and level and inward)


def _beside(bench: PieceBench, feature: Feature, frame: np.ndarray) -> np.ndarray:
    """The shortest way (2,), mm, in the plane of a place to where metal lies below; (0,) without any."""
    metal = bench.seen_from(feature, frame)
    metal = metal[metal[:, :, 2].min(axis=1) < THICK] * (1.0, 1.0, 0.0)
    spots = on_triangle(np.zeros((len(metal), 3)), metal)[:, :2]
    return spots[np.linalg.norm(spots, axis=1).argmin()] if len(spots) else np.zeros(0)
