"""What stands near a place: how far in metal is met, which way leads out of it, the hole it looks out of, the
stones that reach over it. Lengths mm."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np

from ..geometry import frames as fr
from ..geometry.line import ring
from ..geometry.outlines import trace
from ..measures.kinds import flat_cross, least, most
from ..measures.section import cuts
from .lumps import CHORD, Corners
from .sides import heights_at
from .stone_rows import StoneSet

if TYPE_CHECKING:
    from ..measures.kinds import Flags, Floats

Filled = tuple[Corners, Sequence[Corners]]  # the triangles of some metal, and of each tool that cut it
WITHIN = (0.1, 0.25, 0.4, 0.55, 0.7, 0.85)  # mm behind a place, where metal round a hole is looked for
REACHES = (0.15, 0.4, 1.0, 2.5)  # mm, before and behind a place, where metal is looked for
BESIDE = 2.0  # mm to either side of a place, within which what is hung there meets a stone
FAR = -100.0  # mm
NEAR = 1e-6  # mm
RIM = 0.2  # mm, nearer than that to the side of a hole a pad rests beside it
STEP = 0.02  # mm, how finely the end of a cut is sought
LOOP = 3.5  # mm, the radius of a loop or strap that is hung there
WALL = 2.0  # mm from a girdle, nearer than that an end is the setting's own
GOES_IN = 0.6  # mm an end falls back behind its place, at most, where a loop is still rooted on it
OVER = 0.25  # mm, nearer than that to over the middle of the weight an end stays
HALF_ROOT = 0.25  # mm of metal below the middle of a root, at least
ROUND = 96  # spots round a girdle
RAY = 16.0  # mm, how far another stone is looked for
INWARD, OUTWARD, LEANS = 1.5, 2.5, 0.6  # mm in and out from a girdle, rails of its head; more below it
LEVEL, SLIM = 0.6, 0.15  # mm above a place metal still lies at its height; less tall, arms find no hold
BESIDE_GIRDLE = 0.2  # mm, what begins farther out is of a neighbour's head
ASLANT, UPRIGHT = 0.3, 0.9  # of a unit, a stone looks out that way, and straight up

# Where metal is looked for round a place: (reaches, x or z, before or behind, a little to either side, 3).
# What stands a hair beside it is on no plane or seam of the metal.
ROUND_IT = np.array([
    [[[np.roll((far * way, 0.013 * far, 0.3 * far * aside), shift) for aside in (-1, 1)] for way in (1, -1)]
     for shift in (0, 2)]
    for far in REACHES
])  # fmt: skip


def below(metal: Sequence[tuple[np.ndarray, Corners]], frames: np.ndarray) -> np.ndarray:
    """How far inward from each frame (n, 3, 4) its own z first meets ``metal``, and leaves it again,
    (n, 2) mm; no number where there is none."""
    corners = np.concatenate([one for _, one in metal]) if metal else np.zeros((0, 3, 3))
    found = np.full((len(frames), 2), np.nan)
    hands = np.sign(np.linalg.det(frames[:, :, :3]))  # from a mirrored place triangles run the other way
    for k, (own, hand) in enumerate(zip(_pierced(frames, corners), hands, strict=True)):
        if not len(own):
            continue
        ends = [-heights_at(own[_level(own) * way * hand > 0], np.zeros(2)) for way in (1.0, -1.0)]
        into, out = (np.unique(np.round(depths[depths >= -1e-6], 6)) for depths in ends)
        if len(into):
            found[k] = into[0], _leaves(into, out)
    return found


def below_cuts(metal: Sequence[Filled], frames: np.ndarray) -> np.ndarray:
    """As ``below``, of metal less what was cut from each lump of it."""
    found = np.full((len(frames), 2), np.nan)
    crossed = [
        (_crossings(frames, lump), [_crossings(frames, tool) for tool in tools]) for lump, tools in metal
    ]
    for k in range(len(frames)):
        spans = []
        for lump, tools in crossed:
            steps = [(depth, way, 0) for depth, way in lump[k]]
            steps += [(depth, 0, way) for tool in tools for depth, way in tool[k]]
            spans += _solid(sorted(steps))
        joined = _solid(sorted(one for low, high in spans for one in ((low, -1, 0), (high, 1, 0))))
        found[k] = next((span for span in joined if span[0] >= -NEAR), (np.nan, np.nan))
    return found


def _pierced(frames: np.ndarray, corners: Corners) -> list[Corners]:
    """The triangles that the z axis of each place (n, 3, 4) goes through, seen from there."""
    found = [corners[:0]] * len(frames)
    axes, of = np.unique(frames[:, :, :2].reshape(-1, 6), axis=0, return_inverse=True)
    for one, way in enumerate(axes.reshape(-1, 3, 2)):
        flat = (corners.reshape(-1, 3) @ way).reshape(-1, 3, 2)
        low, high = (np.ascontiguousarray(end.T) for end in (least(flat), most(flat)))
        ends = [(end.min(axis=1), end.max(axis=1)) for end in (low, high)] if len(corners) else []
        for k in np.flatnonzero(of.ravel() == one):
            right, up = spot = frames[k, :, 3] @ way
            if not ends or (spot < ends[0][0] - NEAR).any() or (spot > ends[1][1] + NEAR).any():
                continue
            near = (low[0] <= right + NEAR) & (high[0] >= right - NEAR)
            near &= (low[1] <= up + NEAR) & (high[1] >= up - NEAR)
            own = fr.apply(fr.inverse(frames[k]), corners[near].reshape(-1, 3)).reshape(-1, 3, 3)
            found[k] = own[((least(own[:, :, :2]) <= 0) & (most(own[:, :, :2]) >= 0)).all(axis=1)]
    return found


def _crossings(frames: np.ndarray, corners: Corners) -> list[list[tuple[float, int]]]:
    """How far inward the z axis of each place (n, 3, 4) crosses triangles, and -1 where it goes in, 1 where
    it comes out."""
    found: list[list[tuple[float, int]]] = []
    hands = np.sign(np.linalg.det(frames[:, :, :3]))
    for own, hand in zip(_pierced(frames, corners), hands, strict=True):
        if not len(own):
            found.append([])
            continue
        ends = [(-heights_at(own[_level(own) * way * hand > 0], np.zeros(2)), -way) for way in (1, -1)]
        found.append([(one, way) for depths, way in ends for one in np.unique(np.round(depths, 6)).tolist()])
    return found


def _solid(steps: Sequence[tuple[float, int, int]]) -> list[tuple[float, float]]:
    """From where to where there is metal and no tool: steps of depth, with -1 for into and 1 out of each."""
    spans, metal, tools, begun = [], 0, 0, np.nan
    for depth, of_metal, of_tool in steps:
        was = metal > 0 and tools <= 0
        metal, tools = metal - of_metal, tools - of_tool
        if was and not (metal > 0 and tools <= 0) and depth > begun + NEAR:
            spans.append((begun, depth))
        begun = begun if was else depth
    return spans


def hole_round(metal: Sequence[Filled], frames: np.ndarray) -> float:
    """How wide the hole is, along their x, in which places (n, 3, 4) look out at the open back of metal, mm,
    the widest of several; 0 where metal stands close behind or beside them, or none at both sides."""
    widest = 0.0
    for frame in frames[:, None]:
        ends = below_cuts(metal, fr.compose(frame, fr.shifted(out=CHORD)))
        if np.nanmin(ends[:, 0], initial=-FAR) < WITHIN[-1]:
            continue  # none lies there that a pad would reach
        levels = np.concatenate([fr.compose(frame, fr.shifted(out=-deep)) for deep in WITHIN])
        both = [below_cuts(metal, fr.compose(levels, fr.turned(1, turn)))[:, 0] for turn in (90.0, -90.0)]
        sides = [float(np.nanmin(far, initial=np.inf)) for far in both]
        if np.isfinite(sides).all() and min(sides) > RIM:
            widest = max(widest, 2 * max(sides))
    return widest


def looks_right(metal: Sequence[Filled], frames: np.ndarray, else_: bool) -> Flags:
    """Whether x points away from ``metal`` at each of the places (n, 3, 4), as at an end, and not z, as on a
    face, (n,): it stands behind the place and not before it; in the midst of metal its end is nearer that
    way. ``else_`` where neither is so."""
    found = np.full(len(frames), else_)
    for k, filled in enumerate(_filled(metal, frames)):
        ahead, behind = filled[..., 0], filled[..., 1]  # (reach, axis)
        ways = [(behind - ahead)[:-1], *([1.0 - ahead] if filled[0].min() == 1 else [])]
        sure = next((one for way in ways for one in way if one.max() >= 0.5 and one[0] != one[1]), None)
        found[k] = else_ if sure is None else sure[0] > sure[1]
    return found


def _filled(metal: Sequence[Filled], frames: np.ndarray) -> Iterator[Floats]:
    """Of each place (n, 3, 4) how much of what is looked at round it lies in ``metal`` (reaches, x or z,
    before or behind)."""
    plain = (one for one, cuts in metal if not len(cuts))
    whole: list[Filled] = [(np.concatenate([np.zeros((0, 3, 3)), *plain]), ())]
    whole += [one for one in metal if len(one[1])]
    for frame in frames:
        spots = fr.apply(frame, ROUND_IT.reshape(-1, 3))
        near = [(_over(one, spots), [_over(tool, spots) for tool in cuts]) for one, cuts in whole]
        filled = np.array([_in_metal(near, spot) for spot in spots], dtype=float)
        yield filled.reshape(ROUND_IT.shape[:-1]).mean(axis=-1)


def _over(corners: Corners, spots: Floats) -> Corners:
    """The triangles that may lie above or below some spots (n, 3)."""
    low, high = corners[:, :, :2].min(axis=1), corners[:, :, :2].max(axis=1)
    return corners[((low <= spots[:, :2].max(axis=0)) & (high >= spots[:, :2].min(axis=0))).all(axis=1)]


def _in_metal(metal: Sequence[Filled], spot: Floats) -> bool:
    return any(
        inside(corners, spot) and not any(inside(tool, spot) for tool in cuts) for corners, cuts in metal
    )


def inside(corners: Corners, spot: Floats) -> bool:
    """Whether a spot (3,) lies in the metal of the triangles: not as many are entered above it as are left,
    the other way round where metal is mirrored."""
    low, high = corners.min(axis=1), corners.max(axis=1)
    over = corners[(low[:, :2] <= spot[:2]).all(axis=1) & (high >= spot).all(axis=1)]
    way = _level(over)
    left, entered = (heights_at(over[side], spot[:2]) > spot[2] for side in (way > 0, way < 0))
    return bool(left.sum() != entered.sum())


def _level(corners: Corners) -> Floats:
    """Twice the area of triangles seen along z, positive where they look up it."""
    one, two, three = corners[:, 0, :2], corners[:, 1, :2], corners[:, 2, :2]
    return flat_cross(two - one, three - one)


def _leaves(into: Floats, out: Floats) -> float:
    """Where a line is out of all metal for the first time after it goes in, of bodies that may
    overlap: as often out as in."""
    for depth in out.tolist():
        if np.searchsorted(into, depth - 1e-6) <= np.searchsorted(out, depth, side="right"):
            return float(depth)
    return float(into[-1])


def half_way(stones: Sequence[StoneSet], frames: np.ndarray) -> float:
    """How far it goes along the x of places (n, 3, 4), on rims of stones, until another girdle that stands
    ahead is as near, of all the least; -FAR where none is."""
    found, out = -FAR, np.arange(0.0, RAY, STEP)
    for place in frames:
        for girdle in _girdles(stones, place):
            if girdle[:, 0].mean() > 0:
                away = np.hypot(girdle[:, 0] - out[:, None], np.hypot(girdle[:, 1], girdle[:, 2])).min(axis=1)
                found = min(found, float(out[away <= out].min(initial=-FAR)))
    return found


def _girdles(stones: Sequence[StoneSet], place: np.ndarray) -> Iterator[Floats]:
    """The girdle of each stone as it lies from a place (3, 4), (ROUND, 3)."""
    for one in stones:
        line = ring(trace(one.setting.outline, 0.02), 0.0).numbered(ROUND)[:, :, 3]
        yield from (fr.apply(fr.inverse(place), fr.apply(stone, line)) for stone in one.frames)


def overhang(stones: Sequence[StoneSet], frames: np.ndarray) -> float:
    """How far the girdles of stones that stand behind places (n, 3, 4) reach out past them along their x,
    within BESIDE of it and LOOP before or behind; less by what a loop bows away from a girdle above or below
    it; FAR where none is."""
    found = FAR
    for place in frames:
        for own in _girdles(stones, place):
            if own[:, 0].mean() < 0:
                own = own[(np.abs(own[:, 1:]) < (BESIDE, LOOP)).all(axis=1)]
                past = own[:, 0] + np.sqrt(LOOP**2 - own[:, 2] ** 2) - LOOP
                found = max(found, float(past.max(initial=FAR)))
    return found


def rooted(stones: Sequence[StoneSet], corners: Corners, frames: np.ndarray) -> np.ndarray:
    """Ends of settings, frames (n, 3, 4), moved inward on the metal of those triangles till they lie over the
    middle of its weight, or as far as that metal goes: a loop hangs straight there, and off a claw's tip."""
    found = frames.copy()
    for k, frame in enumerate(frames):
        girdles = np.concatenate([np.zeros((0, 3)), *_girdles(stones, frame)])
        near = (girdles[:, 0] < 0) & (np.abs(girdles) < (WALL, BESIDE, 2 * LOOP)).all(axis=1)
        if not near.any() or not len(corners):
            continue
        own = fr.apply(fr.inverse(frame), corners.reshape(-1, 3)).reshape(-1, 3, 3)
        weigh = np.linalg.det(own)
        middle = float(weigh @ own[:, :, 2].sum(axis=1) / 4 / weigh.sum())
        start, end, _, _ = cuts(np.ascontiguousarray(own[:, :, [2, 0, 1]]), np.array([STEP]))
        deep, out = 0.0, 0.0
        for height in np.arange(0.0, middle, -STEP):
            now, below = (_outermost(start, end, at) for at in (height, height - HALF_ROOT))
            if min(now, below) < -GOES_IN:
                break
            deep, out = height, now
        if deep < -OVER:
            found[k] = fr.compose(frame[None], fr.shifted(min(out, 0.0), 0.0, deep))[0]
    return fr.rounded(found)


def _outermost(start: Floats, end: Floats, height: float) -> float:
    """How far out chords (k, 2), of height and way out, reach at a height; FAR where none is."""
    rise = end[:, 0] - start[:, 0]
    here = (start[:, 0] - height) * (end[:, 0] - height) < 0
    share = (height - start[here, 0]) / rise[here]
    return float((start[here, 1] + share * (end[here, 1] - start[here, 1])).max(initial=FAR))


def rail_at(stones: Sequence[StoneSet], metal: Sequence[Corners], place: np.ndarray) -> Floats | None:
    """Where arms meet metal of a head that goes through the x-z plane of a place (3, 4) by its girdle and
    begins no higher: the highest that hides no stone looking out of it. The middle of its breadth there and
    that breadth, its top, or the underside of such stones, and how tall it is to there, along x and z."""
    found, home = [], fr.inverse(place)
    laid = [(one.setting.width / 2, frame) for one in stones for frame in fr.compose(home[None], one.frames)]
    reach = min([INWARD, *(-at[0, 3] for _, at in laid if at[0, 3] < 0 and at[2, 2] > UPRIGHT)])
    for corners in metal:
        own = fr.apply(home, corners.reshape(-1, 3)).reshape(-1, 3, 3)
        start, end, _, _ = cuts(np.ascontiguousarray(own[:, :, [2, 0, 1]]), np.zeros(1))
        inner = -reach + LEANS * np.minimum(start[:, 0], 0.0)
        near = (start[:, 1] > inner) & (start[:, 1] < OUTWARD)  # but no shank and no floor, which go on
        if near.any() and not (near & ((end[:, 1] < inner) | (end[:, 1] > OUTWARD))).any():
            low, top = start[near, 0].min(), start[near, 0].max()
            level, run = np.clip(0.0, low, top), end[near] - start[near]
            share = np.clip((level - start[near, 0]) / np.where(run[:, 0] == 0, np.inf, run[:, 0]), 0.0, 1.0)
            at = start[near] + share[:, None] * run
            across = at[np.abs(at[:, 0] - level) < LEVEL / 2, 1]
            found.append((across.min(), across.max(), low, top))
    ceiling = np.inf
    for half, frame in laid:
        x, y, z = frame[:, 3]
        if frame[0, 2] > ASLANT and abs(y) < BESIDE:
            carried = (a - half < x < b + half and low < z < top for a, b, low, top in found)
            ceiling = min(ceiling, z - half) if any(carried) else ceiling
    near = (one for one in found if one[2] < LEVEL and one[0] < BESIDE_GIRDLE)
    capped = [(a, b, low, min(top, ceiling)) for a, b, low, top in near]
    free = [((a + b) / 2, b - a, top, top - low) for a, b, low, top in capped]
    tall = [one for one in free if one[3] > SLIM]
    return np.array(max(tall, key=lambda one: one[2])) if tall else None
