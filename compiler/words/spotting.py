"""Spots: places without metal, laid out, met with a path, or let down to metal."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

import numpy as np

from ...lang.bench import Call
from ...lang.words import Kind, Take, Word
from ..bench.feature import Feature, Places, number
from ..bench.feature import length as mm
from ..bench.piece_bench import PieceBench
from ..bench.placement import placed
from ..geometry import frames as fr
from ..geometry.line import CORNER_DEGREES, Line
from ..geometry.once import once
from ..measures.kinds import cross, unit
from .common import size
from .footing import carrying
from .missed import FAR, refuse_missed

TOGETHER = 200_000  # points of lines that are looked at in one go
ONE = 1e-3  # mm, spots that lie nearer are one
LEVEL = 1e-3  # mm, what lies no lower lies level
PAST = 3.0  # mm below all metal that others meet, what one meets is another side
STEP, OPEN = 0.1, 8.0  # mm, how finely metal beside an open back is sought, and how wide that is at most
ACROSS = tuple(range(0, 180, 15))  # deg, ways across it
BESIDE = [
    np.concatenate([fr.shifted(right=way * far) for far in np.arange(STEP, OPEN, STEP)])
    for way in (1.0, -1.0)
]


def _spots(bench: PieceBench, call: Call) -> Feature:
    frames = placed(call)
    if call.given("onto"):
        frames = _onto(call, frames)
    ends = np.zeros((len(frames), 2))
    if call.given("behind"):
        at = call.get("at")  # a back looks backward as it is
        over = 0.0 if isinstance(at, Places) and at.asked.startswith("back of ") else 180.0
        turned = fr.compose(fr.turned(1, over), fr.shifted(out=FAR))
        frames, _ = _down(bench, call, "behind", fr.compose(frames, turned))
    if call.given("down-to"):
        frames, ends = _down(bench, call, "down-to", frames)
    depth = ends[:, 0]
    feature = bench.new_feature(call, frames)
    feature.offers = {"count": lambda: number(len(frames))}
    if len(frames):
        feature.offers |= {
            "shallowest": lambda: mm(float(depth.min())),
            "deepest": lambda: mm(float(depth.max())),
            "near-side": lambda: mm(_near_side(frames, depth)),
            "thick": lambda: mm(float((ends[:, 1] - depth).min())),
            "far-end": lambda: mm(float(ends[:, 1].min())),
        }
    return feature


def _onto(call: Call, frames: np.ndarray) -> np.ndarray:
    """The frames moved onto the path they are to meet. Raises Refused where one misses it, or two meet."""
    met = _met(frames, tuple(replace(line, face=None) for line in call.get("onto").lines))
    if met is None:
        call.refuse(
            "no-places", "that path does not lie on the way that these spots look", "onto",
            remedy="lay the spots inside a closed path: at its stone, or round its middle",
        )
    several = len(np.unique(np.round(met[:, :, 3] / ONE), axis=0))
    if several < len(met):
        call.refuse(
            "no-places",
            f"{len(met)} spots come to lie on {several} of that path: they look the way they are laid",
            "onto",
            remedy=f"lay them 'along' that path, with 'number {len(met)}' and a 'stretch' of it",
        )
    return met


def _near_side(frames: np.ndarray, depth: np.ndarray) -> float:
    """The farthest way of those places of a ring (n, 3, 4) that lie at the end where metal is nearer, by
    the plane that their ways (n,) are nearest to; of all where it is level."""
    flat = fr.apply(fr.inverse(frames[0]), frames[:, :, 3])[:, :2]
    flat = np.column_stack([flat - flat.mean(axis=0), np.ones(len(flat))])
    fall = flat[:, :2] @ np.linalg.lstsq(flat, depth, rcond=None)[0][:2]
    return float(depth[fall <= fall.min() + max(np.ptp(fall) / 4, LEVEL)].max())


def _down(bench: PieceBench, call: Call, key: str, frames: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Frames moved inward to the metal of a feature, and how far that begins and ends (n, 2); those that
    miss it are left out."""
    feature: Feature = call.get(key)
    below = partial(bench.below, feature, as_cut=bool(call.get("as-cut")))
    if call.given("footing"):
        frames = frames[carrying(below, frames, call.get("footing"))]
    ends = below(frames)
    if key == "behind":
        frames = _over_rails(bench, feature, frames, ends)
    met = np.isfinite(ends[:, 0])
    for ring in _rings(frames):
        met[ring] &= _this_side(ends[ring])
    if not met.any() and not call.get("may-miss"):
        refuse_missed(bench, call, key, frames)
    frames, ends = frames[met].copy(), ends[met]
    frames[:, :, 3] -= ends[:, :1] * frames[:, :, 2]
    return fr.rounded(frames), ends


def _over_rails(bench: PieceBench, feature: Feature, frames: np.ndarray, ends: np.ndarray) -> np.ndarray:
    """Frames (n, 3, 4), those that look into the open back of a setting turned so that their x goes straight
    across it, where it is narrowest; in ``ends`` (n, 2) these meet what lies nearest on either side."""
    turned = frames.copy()
    for k in np.flatnonzero(np.isnan(ends[:, 0])):
        best = OPEN
        for turn in fr.compose(frames[k : k + 1], np.concatenate([fr.turned(2, a) for a in ACROSS])):
            sides = [bench.below(feature, fr.compose(turn[None], side)) for side in BESIDE]
            met = [np.isfinite(one[:, 0]) for one in sides]
            wide = sum(float(np.argmax(one)) if one.any() else np.inf for one in met)
            if wide * STEP < best:
                best, turned[k] = wide * STEP, turn
                ends[k] = min((one[m][0] for one, m in zip(sides, met, strict=True)), key=lambda end: end[0])
    return turned


def _rings(frames: np.ndarray) -> list[np.ndarray]:
    """Places that follow one another closely in one plane, as those round one stone: numbers of each."""
    hop = np.linalg.norm(np.diff(frames[:, :, 3], axis=0), axis=1)
    axis, spot = frames[:, :, 2], frames[:, :, 3]
    level = np.abs(((spot[1:] - spot[:-1]) * axis[:-1]).sum(axis=1))
    level += np.abs(np.diff(axis, axis=0)).sum(axis=1)
    apart = (hop > 3 * np.median(hop)) | (level > 1e-6) if len(hop) else np.zeros(0, bool)
    return np.split(np.arange(len(frames)), np.flatnonzero(apart) + 1)


def _this_side(ends: np.ndarray) -> np.ndarray:
    """Which of a ring of places, whose lines enter and leave metal so deep (n, 2), meet the side they
    stand over: what lies far deeper than all the metal under the others is beside it, as the far side
    of a finger hole is. Flags (n,)."""
    order = np.argsort(ends[:, 0])
    enter, leave = ends[order, 0], np.fmax.accumulate(ends[order, 1])
    beyond = np.flatnonzero(enter[1:] > leave[:-1] + PAST)
    held = np.ones(len(ends), bool)
    held[order[beyond[0] + 1 :] if len(beyond) else []] = False
    return held


@once
def _met(frames: np.ndarray, lines: tuple[Line, ...]) -> np.ndarray | None:
    """Frames moved along their own x to where they meet the nearest of the lines, x square to it;
    None when one meets nothing."""
    middles = np.array([line.points.mean(axis=0) for line in lines])
    nearest = [int(np.linalg.norm(middles - spot, axis=1).argmin()) for spot in frames[:, :, 3]]
    alike: dict[tuple[int, bool], list[int]] = {}
    for k, which in enumerate(nearest):
        alike.setdefault((len(lines[which].points), lines[which].closed), []).append(k)
    made = np.empty_like(frames)
    for (count, closed), some in alike.items():
        for first in range(0, len(some), max(1, TOGETHER // count)):
            part = some[first : first + max(1, TOGETHER // count)]
            there = _met_together(frames[part], [lines[nearest[k]] for k in part], closed)
            if there is None:
                return None
            made[part] = there
    return fr.rounded(made)


def _met_together(frames: np.ndarray, lines: list[Line], closed: bool) -> np.ndarray | None:
    """``_met`` for frames (n, 3, 4) each with its own line, all of as many points."""
    ways, each = frames[:, :, :3], np.arange(len(frames))
    seen = (np.stack([line.points for line in lines]) - frames[:, None, :, 3]) @ ways
    chords = (np.roll(seen, -1, axis=1) if closed else seen[:, 1:]) - seen[:, : None if closed else -1]
    low = seen[:, :, 1] < 0
    crossing = low[:, : chords.shape[1]] != (np.roll(low, -1, axis=1) if closed else low[:, 1:])
    if not crossing.any(axis=1).all():
        return None
    share = -seen[:, : chords.shape[1], 1] / np.where(crossing, chords[:, :, 1], 1.0)
    far = np.where(crossing, seen[:, : chords.shape[1], 0] + share * chords[:, :, 0], -np.inf)
    k = far.argmax(axis=1)
    share = share[each, k][:, None]
    outs = np.stack([np.stack([line.outs[i], line.outs[(i + 1) % len(line.outs)]])
                     for line, i in zip(lines, k.tolist(), strict=True)]) @ ways  # fmt: skip
    square = _square_to(chords, k, share, outs, closed)
    there = fr.turned_by(np.arctan2(square[:, 1], square[:, 0]))
    there[:, :, 3] = seen[each, k] + share * chords[each, k]
    return fr.composed(frames, there)


def _square_to(
    chords: np.ndarray, k: np.ndarray, share: np.ndarray, outs: np.ndarray, closed: bool
) -> np.ndarray:
    """The ways (n, 3) square to lines with these ``chords`` (n, m, 3), to their outer or inner side but
    never back along x, a ``share`` of the way along chord ``k`` of each, at whose ends they look
    ``outs`` (n, 2, 3); on a curve those of the curve."""
    last = chords.shape[1] - 1
    about = np.stack([k - 1, k, k + 1])
    about = about % (last + 1) if closed else np.clip(about, 0, last)
    before, own, after = chords[np.arange(len(k)), about]
    flat = np.stack([own[:, 1], -own[:, 0], np.zeros(len(k))], axis=1)
    flat = _toward(unit(flat), np.array([[1.0, 0.0, 0.0]]))
    before, own, after = unit(before), unit(own), unit(after)
    ends = []
    for into, beyond, out in ((before, own, outs[:, 0]), (own, after, outs[:, 1])):
        corner = (into * beyond).sum(axis=1) < np.cos(np.radians(CORNER_DEGREES))
        left = _toward(unit(cross(out, unit(into + beyond))), flat)
        ends.append(np.where(corner[:, None], flat, left))
    return np.asarray((1 - share) * ends[0] + share * ends[1])


def _toward(ways: np.ndarray, way: np.ndarray) -> np.ndarray:
    """Ways (n, 3), turned round where they look away from a way."""
    return np.where((ways * way).sum(axis=1, keepdims=True) < 0, -ways, ways)


WORDS = (
    Word(
        "spots", "Places without metal, laid out by the placing clauses, for 'at' to use.", "paths",
        (
            Take(
                "onto", Kind.PATH,
                "each is moved along its own x to meet this path, and turned square to it: a 'circle' of "
                "spots onto the girdle of any cut",
            ),
            Take(
                "down-to", Kind.PART,
                "each is moved inward until it meets this metal; those that miss it, or look past it in a "
                "ring of others that do not, are left out",
            ),
            Take(
                "as-cut", Kind.FLAG,
                "with 'down-to': they meet that metal as what was cut from it above left it, not as it was "
                "before",
            ),
            size(
                "footing", "with 'down-to': those alone stay that have a foot so wide and so high least past "
                "the edge of that metal", 2, goes_with=("down-to",),
            ),
            Take(
                "may-miss", Kind.FLAG,
                "no fault if all of them miss it: then their 'count' is 0, and nothing is to be put there",
            ),
            Take(
                "behind", Kind.PART,
                "each lies on the back of this metal, where you point at it from in front, and looks "
                "backward: a place for a pin, a post or a joint", not_with=("down-to", "onto", "on"),
            ),
        ),
        example="spots dots: circle 6, radius 5 mm",
        offers={
            "count": "how many",
            "shallowest": "the least way that one went 'down-to' metal",
            "deepest": "the farthest way that one went",
            "thick": "how thick the metal met is there, the least",
            "far-end": "the least way to where the metal met ends again",
            "near-side": "the farthest way of those at the end where that metal lies nearer; 'deepest' "
            "where it falls away alike on both sides",
        },
        made_by=_spots,
    ),
)
