"""Spots: places without metal, laid out, met with a path, or let down to metal."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ...lang.bench import Call
from ...lang.words import Kind, Take, Word
from ..bench.feature import Feature, number
from ..bench.feature import length as mm
from ..bench.placement import placed
from ..geometry import frames as fr
from ..geometry.line import Line

if TYPE_CHECKING:
    from ..bench.piece_bench import PieceBench

FAR = 500.0  # mm behind, from where the back of metal is sought


def _spots(bench: PieceBench, call: Call) -> Feature:
    frames = placed(call)
    if call.given("onto"):
        met = _met(frames, call.get("onto").lines)
        if met is None:
            call.refuse(
                "no-places",
                "that path does not lie on the way that these spots look",
                "onto",
                remedy="lay the spots inside a closed path: at its stone, or round its middle",
            )
        frames = met
    depth = np.zeros(len(frames))
    if call.given("behind"):
        turned = fr.compose(fr.turned(1, 180.0), fr.shifted(out=FAR))
        frames, _ = _down(bench, call, "behind", fr.compose(frames, turned))
    if call.given("down-to"):
        frames, depth = _down(bench, call, "down-to", frames)
    feature = bench.new_feature(call, frames)
    feature.offers = {
        "count": lambda: number(len(frames)),
        "shallowest": lambda: mm(float(depth.min())),
        "deepest": lambda: mm(float(depth.max())),
    }
    return feature


def _down(
    bench: PieceBench, call: Call, key: str, frames: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Frames moved inward to the metal of a feature, and how far; those that miss it are left out."""
    feature: Feature = call.get(key)
    ends = bench.below(feature, frames)
    depth = ends[:, 0]
    met = np.isfinite(depth)
    for ring in _rings(frames):
        met[ring] &= _this_side(ends[ring])
    if not met.any():
        call.refuse(
            "no-places",
            f"none of these places looks down on {feature.name}",
            key,
            remedy="move them over its metal, or turn them so that it lies below",
        )
    frames, depth = frames[met].copy(), depth[met]
    frames[:, :, 3] -= depth[:, None] * frames[:, :, 2]
    return fr.rounded(frames), depth


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
    stand over: what lies deeper than all the metal under the others is beside it, as the far side
    of a finger hole is. Flags (n,)."""
    order = np.argsort(ends[:, 0])
    enter, leave = ends[order, 0], np.fmax.accumulate(ends[order, 1])
    beyond = np.flatnonzero(enter[1:] > leave[:-1])
    held = np.ones(len(ends), bool)
    held[order[beyond[0] + 1 :] if len(beyond) else []] = False
    return held


def _met(frames: np.ndarray, lines: tuple[Line, ...]) -> np.ndarray | None:
    """Frames moved along their own x to where they meet the nearest of the lines, x square to it;
    None when one meets nothing."""
    middles = np.array([line.points.mean(axis=0) for line in lines])
    made = []
    for frame in frames:
        line = lines[int(np.linalg.norm(middles - frame[:, 3], axis=1).argmin())]
        seen = line.moved(fr.inverse(frame))
        after = np.roll(seen.points, -1, axis=0) if seen.closed else seen.points[1:]
        before = seen.points[: len(after)]
        crossing = np.flatnonzero((before[:, 1] < 0) != (after[:, 1] < 0))
        if len(crossing) == 0:
            return None
        first, last = before[crossing], after[crossing]
        share = (first[:, 1] / (first[:, 1] - last[:, 1]))[:, None]
        spots = first + share * (last - first)
        k = int(spots[:, 0].argmax())
        square = _square_to(*_round_about(seen, int(crossing[k])), float(share[k, 0]))
        turn = np.degrees(np.arctan2(square[1], square[0]))
        there = fr.compose(fr.shifted(*spots[k].tolist()), fr.turned(2, float(turn)))
        made.append(fr.compose(frame[None], there))
    return fr.rounded(np.concatenate(made))


def _round_about(line: Line, chord: int) -> tuple[Line, int]:
    """A chord of a line with the chords beside it, and which of those it is."""
    count = len(line.points)
    some = np.arange(chord - 1, chord + 3)
    some = some % count if line.closed else some[(some >= 0) & (some < count)]
    return Line(line.points[some], line.outs[some], False), int(line.closed or chord > 0)


def _square_to(line: Line, chord: int, share: float) -> np.ndarray:
    """The way square to a line, to its outer or inner side but never back along x, part of the
    way along one of its chords; on a curve that of the curve."""
    way = line.chords()[chord]
    flat = np.array([way[1], -way[0], 0.0])
    flat *= np.sign(flat[0]) or 1.0
    ends = chord, chord + 1
    corners, lefts = set(line.corners().tolist()), line.lefts()
    first, last = (
        flat / np.linalg.norm(flat)
        if end in corners
        else lefts[end] * (np.sign(lefts[end] @ flat) or 1.0)
        for end in ends
    )
    return np.asarray((1 - share) * first + share * last)


WORDS = (
    Word(
        "spots",
        "Places without metal, laid out by the placing clauses, for 'at' to use.",
        "paths",
        (
            Take(
                "onto",
                Kind.PATH,
                "each is moved along its own x to meet this path, and turned square to it: a "
                "'circle' of spots onto the girdle of any cut",
            ),
            Take(
                "down-to",
                Kind.PART,
                "each is moved inward until it meets this metal; those that miss it, or look past it "
                "in a ring of others that do not, are left out",
            ),
            Take(
                "behind",
                Kind.PART,
                "each lies on the back of this metal, where you point at it from in front, and looks "
                "backward: a place for a pin, a post or a joint",
                not_with=("down-to", "onto", "on"),
            ),
        ),
        example="spots dots: circle 6, radius 5 mm",
        offers={
            "count": "how many",
            "shallowest": "the least way that one went 'down-to' metal",
            "deepest": "the farthest way that one went",
        },
        made_by=_spots,
    ),
)
