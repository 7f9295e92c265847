"""How deep a cut goes where the text gives no depth: to the back of the metal behind it.

Before the plan is carried out, every tool of open depth is given one: straight lines are sent inward over the
tool's whole section, through the metal as it stands at that line of work, and end where the metal does. Metal
and cuts are met line by line (unions and differences of stretches on a line need no boolean of solids), so
this costs no kernel call and is the same for the same work."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..bench.opening import Opening, opened, opening, risen, rising
from ..bench.plan import Shape, Step
from ..geometry import frames as fr
from .chords import Crossings, Lots, balanced, crossings, lots_of
from .memo import Memo, key_of

# Parts nearer to one another than this are soldered: the gap between them is no end of the metal.
SOLDER = 0.1
# A tool comes out this far past the metal at most, in whole steps, and half way to what follows.
MARGIN, STEP, ROOM = 0.1, 0.05, 0.2
EXACT = 4  # digits of a depth that no step fits
# Depths of one line's tools nearer than this are made one.
ALIKE = 0.02

OVER = fr.turned(0, 180.0)  # a place turned over, to look up from it

Look = Callable[[Shape], Opening | None]
Known = Callable[[Shape, float, float], Shape]
# What is to be found of a tool, and the tool once it is: its way in, which where it goes out depends on.
WAYS: tuple[tuple[Look, Known], ...] = (rising, risen), (opening, opened)

Whole = Callable[[Step], tuple[np.ndarray, np.ndarray]]


@dataclass(frozen=True, eq=False)
class Depths:
    """For each stand: where the metal behind it ends (``back``, nan for none), and where the tool
    ends (``floor``), mm below it."""

    back: np.ndarray
    floor: np.ndarray


class Through:
    """Gives tools of open depth theirs. ``whole`` makes points and triangles of a bent part.
    ``idle`` gives the features all of whose tools met no metal."""

    def __init__(self, memo: Memo, tolerance: float, whole: Whole) -> None:
        self.memo, self.tolerance, self.whole = memo, tolerance, whole
        self._met: dict[int, bool] = {}

    @property
    def idle(self) -> list[int]:
        """Features that cut nothing, in the order of work."""
        return [feature for feature, met in self._met.items() if not met]

    def steps(self, steps: Sequence[Step]) -> list[Step]:
        """The steps with every depth known."""
        if not any(map(_has_open, steps)):
            return list(steps)
        done: list[Step] = []
        keys: dict[int, str] = {}
        for run in _runs(steps):
            made = [self._inner(step) for step in run]
            for look, known in WAYS:
                if look(made[0].shape) is not None:
                    made = self._opened(made, look, known, done, keys)
                if not made:
                    break
            for step in made:
                _note(keys, step)
            done += made
        return done

    def _inner(self, step: Step) -> Step:
        """A part with the depths inside it known."""
        if not any(map(_has_open, step.shape.steps)):
            return step
        inside = tuple(self.steps(step.shape.steps))
        return replace(step, shape=Shape(step.shape.kind, step.shape.figures, inside))

    def _opened(
        self, run: list[Step], look: Look, known: Known, before: list[Step], keys: dict[int, str]
    ) -> list[Step]:
        into = run[0].into
        targets = [body for body in keys if into is None or body in into]
        work = key_of(*(keys[body] for body in targets), *(step.content for step in run))
        looks = [one for step in run if (one := look(step.shape)) is not None]
        found = self.memo.take(
            f"through {work} {self.tolerance}", lambda: self._found(run, looks, before, set(targets)),
            lambda _: 0,
        )
        made = [one for step, depths in zip(run, found, strict=True) for one in _parted(step, depths, known)]
        feature = run[0].feature
        self._met[feature] = self._met.get(feature, False) or bool(made)
        return made

    def _found(
        self, run: list[Step], looks: list[Opening], before: list[Step], targets: set[int]
    ) -> list[Depths]:
        mine = [
            step for step in before
            if (step.body in targets if step.work == "add"
                else step.into is None or not targets.isdisjoint(step.into))
        ]  # fmt: skip
        return [
            _depths(look, self._metal(step.frames, look, mine, targets), len(step.frames))
            for step, look in zip(run, looks, strict=True)
        ]

    def _metal(self, stands: np.ndarray, look: Opening, before: list[Step], targets: set[int]) -> Crossings:
        work = _Work(fr.compose(stands, OVER) if look.up else stands, look, self)
        bodies = work.walk(before, fr.identity())
        return work.metal([bodies[body] for body in bodies if body in targets])


class _Work:
    """The order of work as lines through it see it."""

    def __init__(self, stands: np.ndarray, look: Opening, through: Through) -> None:
        self.stands, self.look, self.through = stands, look, through
        self.count = len(stands) * len(look.spots)
        self.tools: list[Crossings] = []
        self.jobs: list[tuple[str, int, tuple[int, ...]]] = []  # add or cut: tool, slots
        self.slots = 0

    def walk(self, steps: Sequence[Step], outer: np.ndarray) -> dict[int, int]:
        """Note the steps as seen from one ``outer`` frame; the slot of each body's metal."""
        bodies: dict[int, int] = {}
        for step in steps:
            frames = fr.compose(outer, step.frames)
            if step.work != "add":
                into = [b for b in bodies if step.into is None or b in step.into]
                self._tool(step.work, step, frames, [bodies[b] for b in into])
                continue
            slot = bodies.setdefault(step.body, self.slots)
            self.slots = max(self.slots, slot + 1)
            if step.shape.kind == "part":
                for frame in frames:
                    inside = self.walk(step.shape.steps, frame[None])
                    self.jobs.append(("join", slot, tuple(inside.values())))
            else:
                self._tool("add", step, frames, [slot])
        return bodies

    def _tool(self, work: str, step: Step, frames: np.ndarray, slots: list[int]) -> None:
        if not slots:
            return
        found = crossings(self._lots(step), frames, self.stands, self.look.spots, -self.look.least)
        if len(found.line):
            self.jobs.append((work, len(self.tools), tuple(slots)))
            self.tools.append(found)

    def _lots(self, step: Step) -> Lots:
        through = self.through

        def make() -> Lots:
            if step.shape.steps:
                return lots_of(*through.whole(step))
            mesh = through.memo.mesh(step.shape, through.tolerance)
            return lots_of(mesh.points, mesh.triangles)

        key = f"lots {step.shape.digest()} {through.tolerance}"
        return through.memo.take(key, make, lambda lots: len(lots.corners))

    def metal(self, slots: list[int]) -> Crossings:
        """Where the lines enter the metal of these slots, and where they leave it."""
        if not self.tools:
            return Crossings(np.zeros(0, np.int64), np.zeros(0), np.zeros(0, np.int64))
        good = np.logical_and.reduce([balanced(tool, self.count) for tool in self.tools])
        which = np.repeat(np.arange(len(self.tools)), [len(tool.line) for tool in self.tools])
        line, depth, into = (
            np.concatenate([getattr(tool, name) for tool in self.tools])
            for name in ("line", "depth", "into")
        )
        order = np.lexsort((depth, line))
        order = order[good[line[order]]]
        which, line, depth, into = which[order], line[order], depth[order], into[order]
        filled = np.zeros((self.slots, len(line)), dtype=bool)  # between a crossing and the next
        for work, index, places in self.jobs:
            if work == "join":
                for place in places:
                    filled[index] |= filled[place]
                continue
            inside = np.cumsum(np.where(which == index, into, 0)) > 0
            for place in places:
                if work == "add":
                    filled[place] |= inside
                else:
                    filled[place] &= inside if work == "keep" else ~inside
        metal = np.logical_or.reduce(filled[slots]) if slots else np.zeros(len(line), bool)
        turn = metal.astype(np.int64) - np.r_[False, metal[:-1]]
        changed = turn != 0
        return Crossings(line[changed], depth[changed], turn[changed])


# -- from stretches of metal to depths -----------------------------------------------------------


def _depths(look: Opening, metal: Crossings, stands: int) -> Depths:
    """How deep the tool goes at each stand."""
    begin, end, line = _stretches(metal)
    past = (end > look.least + 1e-9) & (begin <= look.within)
    begin, end, line = begin[past], end[past], line[past]
    first = np.r_[True, np.diff(line) != 0] if len(line) else np.zeros(0, bool)
    stand = line // len(look.spots)
    back, after = np.full(stands, np.nan), np.full(stands, np.inf)
    for k in range(stands):
        part = slice(*np.searchsorted(stand, [k, k + 1]))
        back[k], after[k] = _end(look, begin[part], end[part], first[part])
    return _floors(back, after)


def _stretches(metal: Crossings) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Where stretches of metal begin and end on each line, gaps that solder fills left out."""
    begin, end = metal.depth[metal.into > 0], metal.depth[metal.into < 0]
    line = metal.line[metal.into > 0]
    apart = np.r_[True, (begin[1:] - end[:-1] >= SOLDER) | (np.diff(line) != 0)][: len(line)]
    last = np.r_[apart[1:], True][: len(line)]
    return begin[apart], end[last], line[apart]


def _end(look: Opening, begin: np.ndarray, end: np.ndarray, first: np.ndarray) -> tuple[float, float]:
    """Where the metal behind one stand ends, and where the next begins: from what is met first
    on each line, all that hangs together over the section."""
    starts, ends = begin[first], end[first]
    if look.needs and (not len(starts) or starts.min() > look.behind):
        return np.nan, np.inf
    if look.every:
        return float(end.max()), np.inf
    back = max(look.least, float(starts.min())) if look.needs else look.least
    for start, stop in sorted(zip(starts.tolist(), ends.tolist(), strict=True)):
        if start > back:
            break
        back = max(back, stop)
    if back > look.most:  # nobody drills so far: it is left blind
        return look.least, look.least
    later = begin[begin > back]
    return back, float(later.min()) if len(later) else np.inf


def _floors(back: np.ndarray, after: np.ndarray) -> Depths:
    """Depths that are alike are made one; each ends past the metal, and short of the next."""
    floor = np.full(len(back), np.nan)
    back = back.copy()
    left = ~np.isnan(back)
    while left.any():
        deepest = back[left].max()
        alike = left & (back > deepest - ALIKE)
        if after[alike].min() < deepest + ROOM:  # tight: each as it needs
            alike = left & (back > deepest - 1e-6)
        room = after[alike].min() - deepest
        back[alike] = np.round(deepest, EXACT)
        if room > ROOM:
            floor[alike] = np.round(np.ceil((deepest + MARGIN) / STEP - 1e-6) * STEP, EXACT)
        else:
            floor[alike] = np.round(deepest + max(room, 0.0) / 2, EXACT)
        left &= ~alike
    return Depths(back, floor)


# -- steps ---------------------------------------------------------------------------------------


def _has_open(step: Step) -> bool:
    return _is_unknown(step) or any(map(_has_open, step.shape.steps))


def _is_unknown(step: Step) -> bool:
    return any(look(step.shape) is not None for look, _ in WAYS)


def _runs(steps: Sequence[Step]) -> Iterator[list[Step]]:
    """Steps one by one, but all tools of open depth of one line together."""
    run: list[Step] = []
    for step in steps:
        open_ = _is_unknown(step)
        if run and not (open_ and step.feature == run[0].feature and step.into == run[0].into):
            yield run
            run = []
        run.append(step)
        if not open_:
            yield run
            run = []
    if run:
        yield run


def _note(keys: dict[int, str], step: Step) -> None:
    """Keep what each body has become, as a hash."""
    if step.work == "add":
        keys[step.body] = key_of(keys.get(step.body, ""), step.content)
        return
    for body in keys:
        if step.into is None or body in step.into:
            keys[body] = key_of(keys[body], step.content)


def _parted(step: Step, depths: Depths, known: Known) -> Iterator[Step]:
    pairs = np.stack([depths.back, depths.floor], axis=1)
    done: set[tuple[float, float]] = set()
    for back, floor in pairs.tolist():
        if np.isnan(back) or (back, floor) in done:
            continue
        done.add((back, floor))
        chosen = (pairs == (back, floor)).all(axis=1)
        yield replace(step, shape=known(step.shape, back, floor), frames=step.frames[chosen])
