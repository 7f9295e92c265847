"""Hollows that drain badly: chambers joined to the outside only through a narrow neck.

A print's resin, wax and investment must come out of every hollow. The neck of a chamber is the largest ball
that can pass from it to the outside. A pocket as wide at its mouth as within has no neck and is not reported.

Method. The piece is cut into cubes; the distance from each air cube to the metal is taken, and air is shrunk
step by step: at the step where some of it comes apart from the outside, that part is a chamber. The widest
way out of it then shows where its neck is, and there the neck is measured on the skin itself. Chambers
narrower than two cubes, or less than `wider` times their neck, are not told, and of necks under one cube wide
only that they are shut.

Most pieces have no chamber, and that is found out first, for a tenth of the work: a chamber has a widest
place, so only widest places that the air shrunk as far as it would be told cuts off from the outside can be
one (`_holds_none`)."""

from __future__ import annotations

import heapq
from dataclasses import dataclass

import numpy as np

from .kinds import Flags, Floats, Ints, spread
from .rays import centred
from .skin import Skin
from .voxels import connected, fill, reach

MOST_CUBES = 2_000_000
SURE = 1.3  # cubes tell a neck so many times too wide at most
AT_ONCE = 5  # sizes of ball looked at together first
TOUCH = 0.002  # mm, how closely the middle of a neck is sought


@dataclass(frozen=True)
class Chamber:
    """A chamber: neck mm (diameter of the ball that just drains it, 0 if shut), width mm of the
    largest ball inside (told up to somewhat over twice `widest`), volume mm3 (less than the
    true one: where the middle of a ball of the neck's size can go), at its widest place."""

    neck: float
    width: float
    volume: float
    at: tuple[float, float, float]


def drainage(skin: Skin, widest: float = 1.5, pitch: float = 0.1, wider: float = 1.5) -> list[Chamber]:
    """Chambers with a neck under `widest` mm, narrowest first.

    `pitch` is the cube in mm; it grows on a large piece so that there are at most two million."""
    low, high = skin.box
    steps = int(np.ceil(widest / pitch)) + 2
    while np.prod(np.ceil((high - low) / pitch) + 2 * steps) > MOST_CUBES:
        pitch *= 1.15
        steps = int(np.ceil(widest / pitch)) + 2
    shape = tuple(int(n) for n in np.ceil((high - low) / pitch) + 2 * steps)
    origin = low - (steps - 0.5) * pitch
    metal = fill(skin, origin, pitch, (shape[0], shape[1], shape[2]))
    inner = (slice(steps - 2, 2 - steps),) * 3  # the box of the metal and a little more
    if _holds_none(metal[inner], SURE * widest / pitch, wider):
        return []
    # A quarter added evens out, over round necks and slots, that no cube's middle is just in
    # the middle of the neck and that the metal begins before a metal cube's middle.
    radius = np.minimum(reach(metal, steps + 2), steps + 2) + 0.25
    chambers = _sift(radius, ~metal, origin, pitch, SURE * widest, wider, skin)
    return sorted(
        (one for one in chambers if one.neck < widest and one.width >= wider * one.neck),
        key=lambda chamber: (chamber.neck, chamber.at),
    )


def _holds_none(metal: Flags, widest: float, wider: float) -> bool:
    """Whether `_sift` would find nothing, told from the cubes in the box of the metal.

    Out of that box the way to the metal only grows: what reaches its rim is outside. The air round a widest
    place is cut off at a larger size if it is at a smaller one, so the largest size at which the place is
    wide enough to be told is the only one to look at."""
    sizes = np.arange(1.0, widest + 1.0 + 1e-9, 0.5)
    need = np.maximum(wider * (sizes - 0.25) / SURE, 2.0) / 2 + 0.75
    radius = reach(metal, int(need[-1]) + 1) + np.float32(0.25)
    np.minimum(radius, np.float32(need[-1] + 0.1), out=radius)
    peaks = np.flatnonzero(_peaks(radius) & (radius >= need[0] - 1e-4))
    room = radius.reshape(-1)[peaks]
    largest = np.searchsorted(need, room + 1e-4, side="right") - 1
    for together in (AT_ONCE, 1):  # what is outside at a larger size still needs no closer look
        left = np.ones(len(peaks), dtype=bool)
        for number in np.unique(largest // together).tolist():
            mine = largest // together == number
            size = min(sizes[largest[mine].max()], 2 * float(room[mine].min()))
            left[mine] = ~_outside_at(radius >= size / 2, peaks[mine])
        peaks, room, largest = peaks[left], room[left], largest[left]
    return not len(peaks)


def _peaks(radius: Floats) -> Flags:
    """Cubes none of whose six neighbours has more room; of those of equal room side by side the last."""
    peak = np.ones(radius.shape, dtype=bool)
    for axis in range(3):
        line, found = np.moveaxis(radius, axis, 0), np.moveaxis(peak, axis, 0)
        found[:-1] &= line[1:] < line[:-1]
        found[1:] &= line[:-1] <= line[1:]
    return peak


def _outside_at(mask: Flags, cubes: Ints) -> Flags:
    """Which of these cubes (flat numbers) of a mask hang together with its rim."""
    label, column, first, _ = connected(np.pad(mask, 1, constant_values=True))
    x, y, z = (axis + 1 for axis in np.unravel_index(cubes, mask.shape))
    wide, deep = mask.shape[1] + 2, mask.shape[2] + 2
    run = np.searchsorted(column * deep + first, (x * wide + y) * deep + z, side="right") - 1
    return np.asarray(label[run] == label[0])


def _sift(
    radius: Floats, air: Flags, origin: Floats, pitch: float, widest: float, wider: float, skin: Skin
) -> list[Chamber]:
    """Shrink the air step by step and note what comes apart."""
    taken = np.zeros(air.shape, dtype=bool)
    found: list[Chamber] = []
    size, before = 0.0, air
    while size <= widest / pitch + 1.0:
        mask = air if size == 0.0 else radius >= size / 2
        coarse = max(size - 0.25, 0.0) * pitch
        for part, outside in _cut_off(mask, taken):
            width = 2 * float(radius[part].max() - 0.75) * pitch
            where = np.argmax(np.where(radius[part] == radius[part].max(), 1, 0))
            taken[part] = True
            if width >= max(wider * coarse / SURE, 2 * pitch):
                way = _way_out(radius, part, outside, before) if size else []
                neck = _neck(skin, origin + pitch * np.array(way), pitch) if way else 0.0
                at = origin + pitch * np.array([axis[where] for axis in part])
                volume = len(part[0]) * pitch**3
                found.append(Chamber(neck, width, volume, (float(at[0]), float(at[1]), float(at[2]))))
        before = mask
        size = size + 1.0 if size == 0.0 else size + 0.5
    return found


def _way_out(
    radius: Floats, part: tuple[Ints, Ints, Ints], outside: Flags, open_: Flags
) -> list[tuple[int, ...]]:
    """The widest way from a chamber to the outside through `open_` cubes, cube by cube."""
    mine = np.zeros(open_.shape, dtype=bool)
    mine[part] = True
    rim = mine.copy()
    for axis in range(3):
        for shift in (1, -1):  # the edge of the cubes is far outside: nothing wraps round
            rim |= np.roll(mine, shift, axis)
    came: dict[tuple[int, ...], tuple[int, ...] | None] = {}
    heap: list[tuple[float, int, tuple[int, ...]]] = []
    for start in map(tuple, np.argwhere(rim & open_ & ~mine).tolist()):
        came[start] = None
        heap.append((-float(radius[start]), 0, start))
    heapq.heapify(heap)
    open_ = open_ & ~mine
    done: set[tuple[int, ...]] = set()
    while heap:
        tight, steps, cube = heapq.heappop(heap)
        if cube in done:
            continue
        done.add(cube)
        if outside[cube]:
            way: list[tuple[int, ...]] = []
            back: tuple[int, ...] | None = cube
            while back is not None:
                way.append(back)
                back = came[back]
            return way
        for step in _beside(cube, open_):
            if step not in done and step not in came:
                came[step] = cube
                heapq.heappush(heap, (max(tight, -float(radius[step])), steps + 1, step))
    return []


def _beside(cube: tuple[int, ...], open_: Flags) -> list[tuple[int, ...]]:
    """The open cubes across the six faces of a cube."""
    found = []
    for axis in range(3):
        for way in (-1, 1):
            step = tuple(n + way * (k == axis) for k, n in enumerate(cube))
            if 0 <= step[axis] < open_.shape[axis] and open_[step]:
                found.append(step)
    return found


def _neck(skin: Skin, way: Floats, pitch: float) -> float:
    """Diameter of the largest ball that passes along a way (k, 3): at each place the ball that
    finds most room square to the way counts, and of these the smallest."""
    fine = way
    for size in (pitch, pitch / 4):
        fine, room = _centred(skin, fine, size)
        k = int(np.argmin(room))
        near = fine[max(k - 1, 0) : k + 2]
        shares = np.linspace(0.0, len(near) - 1.0, 4 * len(near) - 3)
        fine = np.stack([np.interp(shares, np.arange(len(near)), near[:, axis]) for axis in range(3)], axis=1)
    return 2 * float(_centred(skin, fine, pitch / 16)[1].min())


def _centred(skin: Skin, way: Floats, size: float) -> tuple[Floats, Floats]:
    """Places of a way moved square to it to where there is most room, and the room, mm."""
    last = len(way) - 1
    along = way[np.minimum(np.arange(len(way)) + 2, last)] - way[np.maximum(np.arange(len(way)) - 2, 0)]
    return centred(skin, way, along, size, TOUCH)


def _cut_off(mask: Flags, taken: Flags) -> list[tuple[tuple[Ints, Ints, Ints], Flags]]:
    """Cubes of each part of the mask apart from the outside and not yet taken; the flags of the outside."""
    label, column, first, last = connected(mask)
    if not len(label):
        return []
    outside, ny = np.zeros(mask.shape, dtype=bool), mask.shape[1]

    def cubes(number: int) -> tuple[Ints, Ints, Ints]:
        runs = np.flatnonzero(label == number)
        row, z = spread(last[runs] - first[runs] + 1, first[runs])
        return column[runs][row] // ny, column[runs][row] % ny, z

    fresh = ~taken[column // ny, column % ny, first] & (label != label[0])
    parts = [(cubes(number), outside) for number in np.unique(label[fresh]).tolist()]
    if parts:
        outside[cubes(label[0])] = True
    return parts
