"""The text's measures as they stand on the piece: their figures and ranges, the lines that go by
them, and the stretch of the piece each one measures."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from ...lang import tree
from ...lang.outcome import Measured
from ...lang.values import ANGLE, LENGTH, MASS, NUMBER, Quantity, Text
from ..bench.feature import Feature
from ..files.digits import rounded
from ..judging.piece import Piece
from ..measures.kinds import Floats

KINDS = {LENGTH: ("length", "mm"), ANGLE: ("angle", "deg"), MASS: ("mass", "g")}
# What a placing clause moves along: axis of the place it moves from, and which way.
_MOVES = {
    "right": (0, 1.0), "left": (0, -1.0), "up": (1, 1.0), "down": (1, -1.0),
    "out": (2, 1.0), "inward": (2, -1.0),
}  # fmt: skip
_STEPS = ("every", "gap")  # from one copy to the next
ALIKE = 0.03  # of a figure: an extent this near to it is taken to be it
LINES = 3  # stretches shown of one measure


@dataclass(frozen=True)
class Clause:
    """A clause of a line of work that goes by a measure; ``bare``: by nothing else."""

    line: int
    key: str
    bare: bool
    member: int | None = None  # of a size: which of its figures


def figures_told(piece: Piece, path: str, measured: Sequence[Measured]) -> list[dict[str, Any]]:
    """Each measure of the outer block as plain data: ``name``, ``kind``, ``value`` and ``unit`` (mm,
    deg, g, %, or a text), ``least``, ``most``, ``help``, ``line``; ``own`` tells whether the text
    gives it a figure of its own (not one reckoned from others), ``lines`` those that go by it,
    ``stretches`` where it is measured: two spots (3,) mm and the feature."""
    file = piece.trees.get(path)
    lines = file.lines if file is not None else ()
    written = {line.name.name: line for line in lines if isinstance(line, tree.Measure)}
    return [
        _told(piece, path, one, written.get(one.name), list(_clauses(lines, one.name)))
        for one in measured
        if one.span.path == path
    ]


def _told(
    piece: Piece, path: str, one: Measured, line: tree.Measure | None, clauses: list[Clause]
) -> dict[str, Any]:
    told: dict[str, Any] = {"name": one.name, "help": one.help, "line": one.span.line}
    told |= _value(one)
    told["own"] = line is not None and isinstance(line.value, tree.Number | tree.Quoted)
    told["lines"] = sorted({clause.line for clause in clauses})
    told["stretches"] = []
    features = [
        feature for feature in piece.features if _line_of(piece, path, feature.index) in told["lines"]
    ]
    if told["kind"] == "length" and told["value"] > 0:
        found = _stretches(piece, path, clauses, told["value"])
        told["stretches"] = [stretch for _, stretch in zip(range(LINES), found, strict=False)]
    told["at"] = next((rounded(f.frames[0][:, 3], 4) for f in features if len(f.frames)), None)
    return told


def _value(one: Measured) -> dict[str, Any]:
    value = one.value
    if not isinstance(value, Quantity):
        said = value.text if isinstance(value, Text) else str(getattr(value, "name", ""))
        return {"kind": "text", "value": said, "unit": "", "least": None, "most": None}
    kind, unit = KINDS.get(value.dimension, ("number", ""))
    scale = 1.0
    if value.share:
        kind, unit, scale = "share", "%", 100.0
    elif value.dimension not in (*KINDS, NUMBER):
        kind = "other"
    bounds = one.range
    return {
        "kind": kind, "value": round(value.value * scale, 6), "unit": unit,
        "least": None if bounds is None else round(bounds.least.value * scale, 6),
        "most": None if bounds is None else round(bounds.most.value * scale, 6),
    }  # fmt: skip


def _clauses(lines: Sequence[tree.Line], name: str) -> Iterator[Clause]:
    """The clauses of lines of work, those in blocks too, that look a measure up."""
    for line in tree.work_in(lines):
        for clause in line.clauses if isinstance(line, tree.Feature | tree.Group) else ():
            if clause.value is not None and name in tree.names_in(clause.value):
                yield _clause(line.span.line, clause.key.name, clause.value, name)


def _clause(line: int, key: str, value: tree.Expression, name: str) -> Clause:
    if isinstance(value, tree.Sized):
        member = next(k for k, part in enumerate(value.parts) if name in tree.names_in(part))
        return Clause(line, key, _is(value.parts[member], name), member)
    return Clause(line, key, _is(value, name))


def _is(node: tree.Expression, name: str) -> bool:
    """Whether an expression is a measure and nothing else."""
    while isinstance(node, tree.Paren):
        node = node.inner
    return isinstance(node, tree.Name) and node.name == name


# --- where on the piece


def _line_of(piece: Piece, path: str, feature: int) -> int | None:
    """The user's own line of the piece's text that made a feature."""
    call = piece.call(feature)
    span = call.trail[0] if call.trail else call.span
    return span.line if span.path == path else None


def _stretches(piece: Piece, path: str, clauses: Sequence[Clause], value: float) -> Iterator[dict[str, Any]]:
    """Where a length is measured; clauses that say it bare come first."""
    for clause in sorted(clauses, key=lambda one: not one.bare):
        mine = [f for f in piece.features if _line_of(piece, path, f.index) == clause.line and len(f.frames)]
        if not mine:
            continue
        ends = _ends(piece, mine, clause, value)
        if ends is not None:
            yield {"from": rounded(ends[0], 4), "to": rounded(ends[1], 4), "feature": mine[0].index,
                   "exact": clause.bare}  # fmt: skip


def _ends(
    piece: Piece, features: Sequence[Feature], clause: Clause, value: float
) -> tuple[Floats, Floats] | None:
    """The two ends of the stretch that a clause gives the length."""
    first = features[0]
    frame = first.frames[0]
    if clause.key in _MOVES:
        axis, way = _MOVES[clause.key]
        return frame[:, 3] - way * value * frame[:, axis], frame[:, 3]
    if clause.key in _STEPS and len(first.frames) > 1:
        here, there = first.frames[0][:, 3], first.frames[1][:, 3]
        apart = there - here
        size = float(np.linalg.norm(apart))
        return None if size < 1e-9 else (here, here + apart / size * value)
    low, high = _box(piece, features)
    extents = high - low
    named = clause.member if clause.member is not None and clause.member < 3 else None
    order = np.argsort(np.abs(extents - value), kind="stable")
    axis = int(order[0])
    if named is not None and abs(extents[named] - value) <= ALIKE * value:
        axis = named
    elif abs(extents[axis] - value) > ALIKE * value:
        axis = named if named is not None else 0
        middle = (low + high) / 2 if clause.key != "inside" else np.zeros(3)
        low, high = middle - value / 2, middle + value / 2
    start, stop = _side(low, high, axis)
    turn, move = frame[:, :3], frame[:, 3]
    return turn @ start + move, turn @ stop + move


def _side(low: Floats, high: Floats, axis: int) -> tuple[Floats, Floats]:
    """The side of a box along an axis that an onlooker sees first."""
    start = np.array([0.0, high[1], high[2]]) if axis == 0 else np.array([high[0], 0.0, high[2]])
    if axis == 2:
        start = np.array([high[0], low[1], 0.0])
    stop = start.copy()
    start[axis], stop[axis] = low[axis], high[axis]
    return start, stop


def _box(piece: Piece, features: Sequence[Feature]) -> tuple[Floats, Floats]:
    """The limits of the first copy of what a line made, in its own frame: of a stone by its size, of
    metal by the faces it has."""
    first = features[0]
    if first.stones:
        kind = first.kind(0)
        long, wide = (*kind.size, kind.size[0])[:2]
        return np.array([-long / 2, -wide / 2, 0.0]), np.array([long / 2, wide / 2, 0.0])
    frame, numbers = first.frames[0], [one.index for one in features]
    found = []
    for part in piece.parts:
        used = np.zeros(len(part.points), dtype=bool)
        used[part.triangles[np.isin(part.owner, numbers)]] = True
        spots = part.points[used]
        if len(first.frames) > 1 and len(spots):
            own, others = first.frames[0, :, 3], first.frames[1:, :, 3]
            near = ((spots - own) ** 2).sum(axis=1)  # those nearest to the first copy
            for other in others[np.argsort(((others - own) ** 2).sum(axis=1))]:
                kept = near <= ((spots - other) ** 2).sum(axis=1)
                spots, near = spots[kept], near[kept]
        found.append(spots)
    spots = np.concatenate(found) if found else np.zeros((0, 3))
    if not len(spots):
        return np.zeros(3), np.zeros(3)
    own = (spots - frame[:, 3]) @ frame[:, :3]
    return own.min(axis=0), own.max(axis=0)

