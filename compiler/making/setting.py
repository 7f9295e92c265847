"""A piece as it looks when it is set: prongs bent over their stones, beads spread, rims rubbed over.

For pictures only: what is cast, weighed and judged is the piece as cast. Each prong keeps its wire; its spare
length is cut and laid along the crown, as a setter does (common practice, no source)."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from ..bench.plan import LATHE, PRISM, ROD, Shape, Step, is_by_hand, simple_steps
from ..bench.roles import Role
from ..bench.stone_solid import stone_solid
from ..geometry import frames as fr
from ..geometry.facing import faced
from ..geometry.line import Line, frozen
from ..geometry.outlines import trace
from ..geometry.parallels import parallel
from ..geometry.smooth import smooth
from ..judging.edges import inside_by
from ..judging.stone_table import outline_of

if TYPE_CHECKING:
    from ..bench.stone_kind import StoneKind
    from ..judging.piece import Piece
    from .result import Built
    from .session import Session

CROWN = 0.67  # how steeply a crown rises from the girdle, nearly: the tangent of 34 degrees
OVER = 0.65  # how far a prong is laid over the girdle, in thicknesses of its wire
BESIDE = 0.9  # a prong holds the stones no farther off than this, in thicknesses of its wire
SPREAD = 1.18  # how much wider a bead is once it is pushed over
LAPPED = 0.36  # mm, how thick the edge is that was rubbed over a stone
LOW = 0.1  # mm over the girdle's middle, where an edge lies on a crown
ASIDE = 1_000_000  # from here on bodies that no line of a text made are numbered
FOLD = 0.22  # mm over the girdle's middle, where the edge of a vee lies on a crown
FOLLOWED = 0.1  # mm between the spots at which it is asked how far an edge goes
LAP = 0.12  # mm, how far it lies over the stone


@dataclass(frozen=True, eq=False)
class Held:
    """A stone beside an upright wire, in the wire's own frame: where along it the girdle's middle lies,
    the unit way to the stone's middle, how far the wire's middle stands off the girdle, how high a bead goes
    up on it: to its table, over half a dome."""

    along: float
    way: np.ndarray
    off: float
    crown: float


def is_worked(piece: Piece) -> bool:
    """Whether what is done after casting, by setter and engraver, changes how a piece looks."""
    by_hand = any(is_by_hand(step) for step in simple_steps(piece.bench.plan().steps))
    return by_hand or any(piece.with_role(Role.PRONG, Role.GRAINS, Role.RIM))


def as_set(built: Built, session: Session | None = None) -> Built:
    """A piece that was made, with the metal it has once its stones are set; ``session`` keeps that of
    earlier ones (another one than that of the metal as cast)."""
    from .session import Session, metal_parts

    piece = built.piece
    if piece is None or not is_worked(piece):
        return built
    parts, _ = metal_parts(piece.bench, session or Session(), built.tolerance, None, set_steps(piece))
    return replace(built, parts=parts)


def set_steps(piece: Piece) -> tuple[Step, ...]:
    """The steps of a piece with its stones set."""
    stones = [(frame, row.setting, row.line) for row in piece.bench.stones() for frame in row.frames]
    steps = piece.bench.plan().steps
    return (*_worked(piece, steps, fr.identity(), stones), *_rubbed(piece, steps))


# Where each stone stands (3, 4), what it is, and the line that laid it.
Stones = Sequence[tuple[np.ndarray, "StoneKind", int]]


def _worked(piece: Piece, steps: Sequence[Step], outer: np.ndarray, stones: Stones) -> Iterator[Step]:
    for step in steps:
        there = fr.compose(outer, step.frames)
        if step.shape.kind == "part":
            inner = tuple(_worked(piece, step.shape.steps, there[:1], stones))
            shape = Shape("part", step.shape.figures, inner)
            yield replace(step, shape=shape)
        elif step.work != "add":
            yield step
        elif step.shape.kind in (ROD, LATHE) and piece.is_for(step.feature, Role.PRONG, Role.GRAINS):
            bent = piece.is_for(step.feature, Role.PRONG)
            yield from _pushed(step, there, _own(piece, step, stones), bent=bent)
        elif step.shape.kind == PRISM and piece.is_for(step.feature, Role.PRONG):
            yield from _folded(step, there, _own(piece, step, stones))
        else:
            yield step


def _own(piece: Piece, step: Step, stones: Stones) -> Stones:
    """The stones that a step's line was made to hold, as the text tells; all where it tells of none."""
    lines = piece.services.lines(step.feature)
    return [one for one in stones if one[2] in lines] if lines else stones


def _pushed(step: Step, there: np.ndarray, stones: Stones, *, bent: bool) -> Iterator[Step]:
    """An upright wire at each of its places, pushed over what it holds; like ones stay one step."""
    wire, long = _wire(step.shape)
    found: dict[str, tuple[Shape, list[np.ndarray]]] = {}
    for own, frame in zip(step.frames, there, strict=True):
        held = _held(frame, wire, long, stones)
        shape = step.shape
        if len(held) == 1 and bent:
            shape = _over(held[0], wire)
        elif held:
            top = max(one.along + max(0.5 * wire, 0.0 if bent else one.crown + 0.15 * wire) for one in held)
            if top < long:
                shape = Shape(ROD, (SPREAD * wire, round(top, 6), "round"))
        found.setdefault(shape.digest(), (shape, []))[1].append(own)
    for shape, frames in found.values():
        yield replace(step, shape=shape, frames=np.stack(frames))


def _folded(step: Step, there: np.ndarray, stones: Stones) -> Iterator[Step]:
    """An upright fold, as a vee is, at each of its places: cut off over the girdle that it stands at, its
    edge laid on the stone."""
    outline, low, high, *rest = step.shape.figures
    fold = trace(outline, 0.02)
    middle = (fold.min(axis=0) + fold.max(axis=0)) / 2
    reach = float(np.linalg.norm(fold - middle, axis=1).max())
    for own, frame in zip(step.frames, there, strict=True):
        top, laid = high, list[Step]()
        for place, kind, _ in stones:
            seen = fr.compose(fr.inverse(frame)[None], place[None])[0]
            along = float(seen[2, 3])
            far = float(np.linalg.norm(seen[:2, 3] - middle))
            if seen[2, 2] < 0.5 or not low < along < high or far > reach + kind.length + kind.width:
                continue
            for line in _edges(kind, kind.crown(), lambda _: None, (False, False, False), FOLD):
                line = line.fine(FOLLOWED)
                flat = fr.apply(seen, line.points)[:, :2]
                for run in _runs(np.linalg.norm(flat - middle, axis=1) < reach - LAPPED / 2):
                    edge = Line(line.points[run], line.outs[run], False)
                    shape = Shape("wire", (frozen(edge), "round", LAPPED, LAPPED))
                    at = fr.compose(own[None], seen[None])  # a body of its own: no seat cuts it
                    laid.append(Step("add", shape, at, ASIDE + step.body, step.metal, None, step.feature))
                    top = min(top, along + FOLD + LAPPED / 2)
        yield replace(step, shape=Shape(PRISM, (outline, low, round(top, 6), *rest)), frames=own[None])
        yield from laid


def _wire(shape: Shape) -> tuple[float, float]:
    """Thickness and length of an upright wire."""
    if shape.kind == ROD:
        return shape.figures[0], shape.figures[1]
    profile = np.array(shape.figures[0], dtype=float)
    return 2 * float(profile[:, 0].max()), float(profile[:, 1].max())


def _held(frame: np.ndarray, wire: float, long: float, stones: Stones) -> list[Held]:
    found = []
    for place, kind, _ in stones:
        seen = fr.compose(fr.inverse(frame)[None], place[None])[0]
        middle, out = seen[:, 3], seen[:, 2]
        if out[2] < 0.5:
            continue
        along = float(middle @ out) / float(out[2])
        way = middle - (0.0, 0.0, along)
        far = float(np.linalg.norm(way))
        if not 0.0 < along < long or far < 1e-6:
            continue
        own = -(seen[:, :3].T @ way)
        off = -float(inside_by(outline_of(kind), own[None, :2])[0])
        if abs(off) < BESIDE * wire:
            found.append(Held(along, way / far, off, kind.laid()))
    return found


def _over(held: Held, wire: float) -> Shape:
    """A wire up to the girdle, then laid along the crown, round at its end."""
    girdle = np.array([0.0, 0.0, held.along])
    up = np.array([0.0, 0.0, 1.0])
    way = held.way - (held.way @ up) * up
    over = OVER * wire
    bend = [
        girdle - 0.1 * wire * up,
        girdle + 0.25 * held.off * way + 0.32 * wire * up,
        girdle + (held.off + over) * held.way + (CROWN * over + 0.26 * wire) * up,
    ]
    path = np.concatenate([np.zeros((1, 3)), smooth(np.round(np.stack(bend), 4), False, 12)])
    line = faced(path, False, fr.identity()[0], None)
    return Shape("wire", (frozen(line), "round", wire, wire, (1.0, 1.0, 0.6), True))


def _rubbed(piece: Piece, steps: Sequence[Step]) -> Iterator[Step]:
    """A rounded edge laid on each stone that a wall or a face is rubbed over, its top level with what was
    rubbed."""
    labels = {step.feature: step.metal for step in simple_steps(steps) if step.work == "add"}
    body = 1 + max((step.body for step in simple_steps(steps)), default=0)
    bezels = {bezel.stone: bezel for bezel in piece.bezels}
    beds = {bed.stone: bed for bed in piece.beds}
    for stone, seat in piece.seated.items():
        kind, told = piece.stones.of(stone), piece.call(seat).figure
        if not piece.is_for(seat, Role.RIM):
            continue
        bezel, bed = bezels.get(stone), beds.get(stone)
        top = bezel.lip if bezel else told("lip") or (bed.sunk if bed and bed.sunk > 0 else kind.crown())
        held = bezel.feature if bezel else bed.body if bed else seat
        metal = labels.get(held) or next((labels[line] for line in sorted(labels)), None)
        across = piece.is_for(seat, Role.CHANNEL), bool(told("cut-away")), stone in piece.barred
        for line in _edges(kind, top, told, across) if metal is not None else ():
            shape = Shape("wire", (frozen(line), "round", LAPPED, LAPPED))
            yield Step("add", shape, piece.stones.frames[stone][None], body, metal or "", None, held)


def _edges(
    kind: StoneKind, top: float, told: Callable[[str], Any], only: tuple[bool, bool, bool], over: float = LOW
) -> list[Line]:
    """The lines that the middle of a rubbed edge follows on a stone, ``over`` mm over its girdle: all
    round, or only along the walls of a channel, its bars, or where a half bezel was left standing."""
    high = min(top - LAPPED / 2, over if kind.pavilion() > 0 else top)
    loops = stone_solid(kind).slice(max(high, 0.01)).to_polygons()
    loop = parallel(np.array(max(loops, key=len)), LAP - LAPPED / 2) if loops else None
    if loop is None:
        return []
    points = np.column_stack([loop, np.full(len(loop), high)])
    line = Line(points, np.tile((0.0, 0.0, 1.0), (len(loop), 1)), True)
    channel, cut, barred = only
    if not channel and not cut:
        return [line]
    beside = 1 if channel != (barred and kind.length <= kind.width * 1.01) or told("sides") else 0
    least = 0.75 * kind.width / 2
    if cut:
        least = told("cut-away") * (kind.length, kind.width)[beside] / 2
    kept = np.abs(loop[:, beside]) >= least
    return [Line(line.points[run], line.outs[run], False) for run in _runs(kept) if len(run) > 2]


def _runs(kept: np.ndarray) -> list[np.ndarray]:
    """The unbroken runs of what is kept of a closed loop, as indices."""
    if kept.all():
        return [np.arange(len(kept))]
    starts = np.flatnonzero(kept & ~np.roll(kept, 1))
    ends = [int(np.flatnonzero(~np.roll(kept, -start))[0]) for start in starts]
    return [(start + np.arange(count)) % len(kept) for start, count in zip(starts, ends, strict=True)]
