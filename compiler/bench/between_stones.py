"""Straight wire that finds its way between stones: along its path to the nearest gap. Lengths mm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from typing import Any

import numpy as np

from ...lang.bench import Argument, Call
from ..geometry import frames as fr
from ..measures.triangles import spread
from .placement import placed, without
from .stone_rows import StoneSet
from .stone_solid import stone_mesh

STEP = 0.05  # between the spots of the path that are tried
CLEAR = 0.05  # from a stone, or as much as the gap leaves
FINE = 6  # parts of the edge of a facet between the spots of it that are looked at


def between_stones(call: Call, stones: Sequence[StoneSet], wire: float, long: float) -> np.ndarray:
    """Frames (n, 3, 4) of rods along a path, each moved along it to the nearest spot where it passes the
    ``stones`` laid so far, or the middle of a gap that is too narrow; Refused where two would share one."""
    wanted, lines, clear = placed(call), call.get("along").lines, wire / 2 + CLEAR
    many = Argument(max(int(max(line.length() for line in lines) / STEP), 2), call.span)
    every = placed(replace(call, arguments={**without(call, "fit").arguments, "number": many}))
    held = _room(wanted, stones, long, clear) >= clear
    room = _room(every, stones, long, clear)
    about = range(-int(wire / STEP), int(wire / STEP) + 1)
    free = every[(room > 0) & (room >= np.max([np.roll(room, by) for by in about], axis=0))]
    found = wanted[held]
    for k in np.flatnonzero(~held):
        apart = np.linalg.norm(free[:, None, :, 3] - found[None, :, :, 3], axis=2).min(axis=1, initial=np.inf)
        open_ = free[apart > wire]
        if not len(open_):
            call.refuse(
                "no-places", f"only {len(found)} of these {len(wanted)} find a gap between the stones",
                "between-stones", seen=str(len(wanted)), limit=f"{len(found)} or fewer",
                remedy="make them fewer, or of thinner wire" if len(found) else "lead it beside the stones",
            )  # fmt: skip
        away = np.linalg.norm(open_[:, :, 3] - wanted[k, :, 3], axis=1)
        found = np.concatenate([found, open_[[int(away.argmin())]]])
    return fr.rounded(found)


def _room(frames: np.ndarray, stones: Sequence[StoneSet], long: float, most: float) -> np.ndarray:
    """How far, up to ``most``, stones stay from the first ``long`` mm of the axis out of each of the frames
    (n, 3, 4), (n,)."""
    room = np.full(len(frames), most)
    for one in stones:
        spots = _spots(one.setting.figures)
        reach = most + float(np.linalg.norm(spots, axis=1).max())
        for stone in one.frames:
            middle = np.einsum("nij,ni->nj", frames[:, :, :3], stone[:, 3] - frames[:, :, 3])
            for k in np.flatnonzero(np.hypot(middle[:, 0], middle[:, 1]) < reach):
                own = fr.apply(fr.inverse(frames[k]), fr.apply(stone, spots))
                passed = own[(own[:, 2] >= 0) & (own[:, 2] <= long)]
                room[k] = min(room[k], _beside(passed[:, :2]))
    return room


def _beside(spots: np.ndarray) -> float:
    """How far the nearest of the spots (n, 2) of a convex body lies from zero; 0 where they surround it."""
    turns = np.sort(np.arctan2(spots[:, 1], spots[:, 0]))
    if len(turns) and np.diff(turns, append=turns[0] + 2 * np.pi).max() < np.pi:
        return 0.0
    return float(np.hypot(spots[:, 0], spots[:, 1]).min(initial=np.inf))


@lru_cache(maxsize=64)
def _spots(figures: tuple[Any, ...]) -> np.ndarray:
    """Spots (n, 3) all over the facets of a stone."""
    points, triangles = stone_mesh(figures)
    return np.unique(spread(points[triangles], FINE).reshape(-1, 3).round(6), axis=0)
