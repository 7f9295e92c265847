"""Places and paths of a part as its metal is now: sunk to the floor of what was cut there since.

A place is moved straight into the metal, through what broad cuts took away, to the first metal of the same
part; where none is left behind it (a hole right through) it stays. Lengths in mm."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence, Set
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from ..geometry import frames as fr
from ..geometry.inside import inside_loops
from ..geometry.joined_outlines import combined
from ..geometry.line import Face, Line
from ..geometry.once import once
from ..geometry.outlines import trace_all
from .feature import Lines, Places
from .lumps import Corners, Lump, lumps
from .near_places import WITHIN, Filled, below, below_cuts, hole_round, inside, looks_right
from .opening import PAST, is_open, opened, opening
from .plan import PRISM, Shape, Step
from .worked import START, STRAIGHT, FaceCut, depths, fallen, looking

if TYPE_CHECKING:
    from ..measures.kinds import Flags, Floats

DROP = 0.5  # mm in one step down: a cut takes the wall below a line away, which leaves off there
FINE = 0.05  # mm between points of a line that leaves off
UPRIGHT = 0.999  # cosine within which a hole stands square to a rim
BEHIND = 0.01  # within a face there is metal so far behind it
STILL = 1e-6
# mm, before a place, where metal that stands out is looked for
BEFORE = tuple(np.arange(-4.9, 0.0, 0.15).tolist())
MID = 0.8  # mm, no farther into metal beside an opening a loop is rooted
HEAD = 5.0  # mm, a head in a tray stands no farther out behind it; a post does

Wanted = Callable[[Step], bool]


def is_of(step: Step, wanted: Set[int]) -> bool:
    """Whether a step adds metal of one of the features ``wanted``."""
    if step.work != "add":
        return False
    return step.feature in wanted or any(is_of(one, wanted) for one in step.shape.steps)


def _any_cut(steps: Sequence[Step], broad: Wanted) -> bool:
    """Whether there is such a cut at all: without one nobody need know the metal."""
    return any((one.work == "cut" and broad(one)) or _any_cut(one.shape.steps, broad) for one in steps)


def right_away(
    steps: Sequence[Step], wanted: Set[int] | None, frames: np.ndarray, broad: Wanted, else_: bool
) -> Flags:
    """Whether x points away from the metal that the features ``wanted`` added (None: all), and not z, at
    places (n, 3, 4), as ``broad`` cuts left it."""
    return looks_right([_lessened(one) for one in lumps(steps, wanted, broad)], frames, else_)


def left_below(steps: Sequence[Step], wanted: set[int], frames: np.ndarray) -> np.ndarray:
    """See ``below_cuts``, of the metal that the features ``wanted`` added."""
    return below_cuts([_lessened(one) for one in lumps(steps, wanted, lambda _: True)], frames)


def hole_behind(steps: Sequence[Step], frames: np.ndarray) -> float:
    """See ``near_places.hole_round``, of metal as all cuts left it."""
    return hole_round([_lessened(one) for one in lumps(steps, None, lambda _: True)], frames)


def above_hole(steps: Sequence[Step], frames: np.ndarray) -> np.ndarray:
    """Places (n, 3, 4) that look out of an opening, as at the back of a head, moved up along their y to the
    middle of the metal that ends it there, onto the face of that; others, with metal close behind, as they
    are."""
    left = [_lessened(one) for one in lumps(steps, None, lambda _: True)]
    found = frames.copy()
    for k, frame in enumerate(frames):
        if below_cuts(left, fr.compose(frame[None], fr.shifted(out=BEHIND)))[0, 0] < WITHIN[-1]:
            continue
        deeps = np.concatenate([fr.shifted(out=-deep) for deep in (*BEFORE, *WITHIN)])
        levels = fr.compose(frame[None], deeps)
        spans = below_cuts(left, fr.compose(levels, fr.turned(0, 90.0)))
        ends = spans[len(BEFORE):][np.isfinite(spans[len(BEFORE):, 1])]
        # What stands out behind nearer than the end of the opening, as the rails of a head in its tray.
        near = spans[spans[:, 1] <= ends[0, 1]] if len(ends) else ends
        if len(near):
            into, out = near[0]
            there = fr.compose(frame[None], fr.shifted(up=into + min((out - into) / 2, MID)))
            face = below_cuts(left, fr.compose(there, fr.shifted(out=HEAD)))[0, 0] - HEAD
            found[k] = fr.compose(there, fr.shifted(out=-face if np.isfinite(face) else 0.0))[0]
    return fr.rounded(found)


def over_holes(steps: Sequence[Step], wanted: set[int], frames: np.ndarray) -> np.ndarray:
    """Places (n, 3, 4) that look away from metal of the features ``wanted``; those from behind which a cut
    took it, as in the tray round a head, moved out level with what of it stands farthest that way."""
    every = [*lumps(steps, wanted, lambda _: True)]
    if not any(one.cuts for one in every):
        return frames
    left = [_lessened(one) for one in every]
    points = np.concatenate([one.corners for one in every]).reshape(-1, 3)
    found = frames.copy()
    for k, frame in enumerate(fr.compose(frames, fr.shifted(out=BEHIND))):
        whole = below([(frame, one.corners) for one in every], frame[None])[0, 0]
        if whole < 2 * BEHIND and not below_cuts(left, frame[None])[0, 0] < whole + BEHIND:
            farther = float(((points - frame[:, 3]) @ frame[:, 2]).max()) + BEHIND
            found[k, :, 3] += farther * frame[:, 2] * (farther < HEAD)
    return fr.rounded(found)


def _less_its_cuts(lump: Lump) -> Filled:
    """The triangles of some metal, and of all that was cut from it."""
    cuts = _known(_tools([lump]), lump.corners)
    return lump.corners, [
        fr.apply(frame, points).reshape(-1, 3, 3)[:, :: -1 if fr.mirrored(frame) else 1]
        for cut in cuts for points in (_points(cut.shape),) for frame in cut.frames
    ]  # fmt: skip


_lessened = once(_less_its_cuts, 16)  # spots of one word, and of a text tried again, look at the same metal


def _points(shape: Shape) -> Floats:
    every = [one.corners for one in lumps([Step("add", shape, fr.identity(), 0)], None)]
    return np.concatenate(every).reshape(-1, 3)


def _tools(of: Sequence[Lump]) -> list[FaceCut]:
    """The cuts in some lumps of metal, each once."""
    found = {(tool.digest(), where.tobytes()): (tool, where) for one in of
             for tool, where in one.cuts}  # fmt: skip
    return [FaceCut(tool, where) for tool, where in found.values()]


def settled(places: Places, steps: Sequence[Step], wanted: set[int], faces: Wanted, ends: Wanted) -> Places:
    """``places`` of the metal that the features ``wanted`` added, on what is left of it: faces after the cuts
    that work on ``faces``, ends after those that take an end away."""
    cut = [*lumps(steps, wanted, ends)] if _any_cut(steps, ends) else []
    cuts = _tools(cut)
    if not cuts:
        return places
    corners = np.concatenate([one.corners for one in cut])
    right = looks_right([(corners, ())], places.frames, places.ends)
    frames = places.frames.copy()
    for axis, here, some in ((0, right, cuts), (2, ~right, _tools([*lumps(steps, wanted, faces)]))):
        if here.any() and some:
            frames[here] = _sunk(frames[here], some, corners, axis)
    return replace(places, frames=frames)


def _sunk(frames: np.ndarray, cuts: list[FaceCut], corners: Corners, axis: int) -> np.ndarray:
    """Frames (n, 3, 4) that look away from the metal along their ``axis``, moved against it onto what is
    left there; an end no farther than the middle of the metal."""
    seen = frames.copy()
    seen[:, :, :3] = np.roll(frames[:, :, :3], 2 - axis, axis=2)
    deep = depths(_known(cuts, corners), seen)
    found = frames.copy()
    found[:, :, 3] -= deep[:, None] * seen[:, :, 2]
    whole = below([(frames[0], corners)], seen)
    middle = (corners.min(axis=(0, 1)) + corners.max(axis=(0, 1))) / 2
    ahead = ((found[:, :, 3] - middle) * seen[:, :, 2]).sum(axis=1) > 0
    stands = (deep > STILL) & (whole[:, 0] < BEHIND) & (deep + BEHIND < whole[:, 1]) & (ahead | (axis == 2))
    for k in np.flatnonzero(stands):
        stands[k] = inside(corners, found[k, :, 3] - BEHIND * seen[k, :, 2])
    return np.where(stands[:, None, None], fr.rounded(found), frames)


def _known(cuts: list[FaceCut], corners: Corners) -> list[FaceCut]:
    """The cuts with a depth: a hole of open depth to the back of the metal behind it."""
    return [one for cut in cuts for one in (_opened(cut, corners) if is_open(cut.shape) else (cut,))]


def _opened(cut: FaceCut, corners: Corners) -> Iterator[FaceCut]:
    look = opening(cut.shape)
    assert look is not None
    spots = fr.identity(len(look.spots))
    spots[:, :2, 3] = look.spots
    for frame in cut.frames[:, None]:
        ends = below([(frame[0], corners)], fr.compose(frame, spots))[:, 1]
        if np.isfinite(ends).any():
            back = float(np.nanmax(ends))
            yield FaceCut(opened(cut.shape, back, back + PAST), frame)


@dataclass(frozen=True, eq=False)
class SunkFace:
    """A ``face`` in a (3, 4) frame as its ``cuts``, which stand in the piece, left it."""

    face: Face
    frame: np.ndarray
    cuts: list[FaceCut]

    def laid(self, points: np.ndarray) -> tuple[np.ndarray, np.ndarray] | None:
        """See ``Face.laid``."""
        found = self.face.laid(fr.apply(fr.inverse(self.frame), points))
        if found is None:
            return None
        laid, outs = fr.apply(self.frame, found[0]), found[1] @ self.frame[:, :3].T
        return laid - fallen(self.cuts, laid, outs)[:, None] * outs, outs


def settled_lines(
    lines: Lines, steps: Sequence[Step], wanted: set[int], faces: Wanted, ends: Wanted
) -> Lines:
    """``lines`` on the faces of the metal of the features ``wanted``, sunk to where cuts left those; a rim as
    holes that bite it leave it."""
    if not (_any_cut(steps, ends) or (lines.edge and _any_cut(steps, _is_deep))):
        return lines
    every = [*lumps(steps, wanted, faces)]
    cuts = _tools(every)
    found = tuple(_sunk_line(line, cuts, every) for line in lines.lines) if cuts else lines.lines
    for hole in _tools([*lumps(steps, wanted, ends)]):
        if is_open(hole.shape) and hole.shape.kind in STRAIGHT:
            for frame in hole.frames:
                found = tuple(one for line in found for one in _bitten(line, hole.shape, frame))
    for cut in _tools([*lumps(steps, wanted, _is_deep)]) if lines.edge else ():
        found = tuple(one for line in found for one in _left_off(line, cut))
    return replace(lines, lines=found)


def _is_deep(step: Step) -> bool:
    """Whether a cut with straight walls, of known depth, may take the wall below a rim away."""
    shape = step.shape
    return shape.kind == PRISM and not is_open(shape) and float(shape.figures[-2]) <= -DROP


def _bitten(line: Line, hole: Shape, frame: np.ndarray) -> tuple[Line, ...]:
    """A flat rim without what a straight hole down from ``frame`` (3, 4) takes of it; as it is where that is
    all inside it, or beside."""
    local = fr.apply(fr.inverse(frame), line.points)
    if not line.closed or abs(line.outs[0] @ frame[:, 2]) < UPRIGHT or local[:, 2].max() > PAST:
        return (line,)
    loops = trace_all(hole.figures[0])
    taken = inside_loops(loops, local[:, :2]) > 0
    if not taken.any() or taken.all():
        return (line,)
    cut = [
        Line(fr.apply(frame, np.column_stack([loop, np.full(len(loop), local[0, 2])])),
             np.tile(line.outs[0], (len(loop), 1)), True)
        for loop in loops
    ]  # fmt: skip
    return combined((line,), "-", tuple(cut)) or (line,)


def _sunk_line(line: Line, cuts: list[FaceCut], of: Sequence[Lump]) -> Line:
    """A line on a face, sunk to its ground; where a cut below leaves none, as the hollow under the table of
    a signet, it stays."""
    deep = fallen(cuts, line.points, line.outs)
    sunk = np.flatnonzero(deep > START)
    ends = below([(one.frame, one.corners) for one in of], looking(line.points[sunk], line.outs[sunk]))[:, 1]
    deep[sunk[~(deep[sunk] + BEHIND < ends)]] = 0.0
    if not (deep > START).any():
        return line
    face = None if line.face is None else (SunkFace(line.face[0], line.face[1], cuts), fr.identity()[0])
    return replace(line, points=line.points - deep[:, None] * line.outs, face=face)



def _left_off(line: Line, cut: FaceCut) -> tuple[Line, ...]:
    """A rim without the stretches whose wall a cut of known depth takes away, as of a half bezel."""
    if len(_standing(fallen([cut], line.points, line.outs), line.closed)) == len(line.points):
        return (line,)
    fine = replace(line.fine(FINE), face=line.face)
    return _parts(fine, _standing(fallen([cut], fine.points, fine.outs), fine.closed))


def _standing(deep: np.ndarray, closed: bool) -> np.ndarray:
    """The points of a line, in turn from the first after a gap, without the stretches that lie ``DROP`` or
    more below both their neighbours; all of a line that has none."""
    steps = np.diff(deep, append=deep[:1])
    falls, rises = set(np.flatnonzero(steps > DROP)), set(np.flatnonzero(steps < -DROP))
    if not (closed and falls and rises):
        return np.arange(len(deep))
    kept, down = [], False
    for before in np.roll(np.arange(len(deep)), -min(rises)):
        down = before in falls or (down and before not in rises)
        if not down:
            kept.append((before + 1) % len(deep))
    return np.array(kept)


def _parts(line: Line, kept: np.ndarray) -> tuple[Line, ...]:
    """The stretches of a closed line that the points ``kept``, in turn, leave; the line where all are."""
    if len(kept) == len(line.points):
        return (line,)
    apart = np.flatnonzero(np.diff(kept) % len(line.points) != 1) + 1
    runs = [one for one in np.split(kept, apart) if len(one) > 1]
    return tuple(Line(line.points[one], line.outs[one], False, line.face) for one in runs)
