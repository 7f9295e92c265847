"""Letters and lines of engraving beside one another: the ridges they leave, and where they run together."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from ..bench.faces import faced
from ..bench.plan import LAID, PRISM
from ..bench.roles import Role
from ..geometry import frames as fr
from ..geometry.inside import inside_loops
from ..geometry.outlines import Outline, signed_area, trace_all
from ..measures.closest import on_triangle
from ..measures.kinds import Floats
from .digits import below
from .thicknesses import thick_under

if TYPE_CHECKING:
    from manifold3d import Manifold

    from ..measures.places import Place
    from .piece import Piece
    from .plan_solids import PlanSolid

SHALLOW = 0.5  # of the metal: what is cut no deeper leaves ridges beside it, and no walls
LOW = 1.0  # mm, as much where no line states the thickness of the metal, and of raised work
FOOT = 0.02, 0.1  # mm over its foot, between which a raised mark is looked at
READ = 0.5  # of the depth of letters: a texture no deeper leaves them to be read
FINE = 0.01  # mm, chord error of the strokes measured
SIDEWAYS = 0.7  # of a way out of a face, from which another looks through the metal
BROAD = 4.0  # times the least depth: what is wider is a sunk ground, seen however shallow it is
LEANS = 0.9  # of an axis of the piece, which no length on a face is measured along that looks so


@dataclass(frozen=True, eq=False)
class Meeting:
    """A place where two lines of engraving, by feature, are in one another's room: the ``box`` (2, 3) mm
    of what they share, and how long that is on the face of the first."""

    first: int
    second: int
    box: Floats
    long: float


def is_ridge(piece: Piece, thin: Place) -> bool:
    """Whether thin metal is what stands beside strokes of the graver, or is raised work itself, too low
    to be a wall: metal runs in along all its foot."""
    marks = [one for one in thin.pair if piece.is_for(one, Role.ENGRAVING)]
    if not marks:
        return False
    if thin.owner == thin.other_owner:
        return True
    deep = min(float(piece.call(one).get("deep") or 0.0) for one in marks)
    if any(piece.call(one).get("raised") for one in marks):
        return deep <= LOW
    if deep > min(_left(piece, one) for one in marks):
        return False
    return all(_above_floor(piece, one, thin) for one in marks)


def is_at_rim(piece: Piece, thin: Place) -> bool:
    """Whether a ridge is left between a stroke and the edge of its metal, where nothing holds one so thin."""
    marks = [one for one in thin.pair if piece.is_for(one, Role.ENGRAVING)]
    alone = len(marks) == 1 and thin.owner != thin.other_owner
    return alone and below(thin.figure, piece.bound("printer-detail", "least", marks[0]))


def _left(piece: Piece, cut: int) -> float:
    """How deep the metal that a line is cut into may be cut with no wall left beside it, mm."""
    thick = thick_under(piece, piece.call(cut).get("in"))
    return LOW if thick is None else SHALLOW * thick


def _above_floor(piece: Piece, line: int, thin: Place) -> bool:
    """Whether a place lies beside the cuts of a line, not below them, half its own thickness down."""
    spot, out = _face(piece, line, np.array(thin.at))
    high = float((np.array(thin.at) - spot) @ out)
    return high + float(piece.call(line).get("deep") or 0.0) > -thin.figure / 4


def lies_sideways(piece: Piece, thin: Place) -> bool:
    """Whether a wall beside a mark is thin along the face that mark is cut in, not through the metal."""
    at, skin = np.array(thin.at), piece.skin_measures.skin
    mark = next(one for one in thin.pair if piece.is_for(one, Role.ENGRAVING))
    reach = thin.figure
    _, face = skin.grid.near(at[None] - reach, at[None] + reach, np.isin(skin.owner, thin.pair))
    if not len(face):
        return False
    go = on_triangle(np.repeat(at[None], len(face), axis=0), skin.corners[face]) - at
    way = go[int((go * go).sum(axis=1).argmin())]
    return abs(float(way @ _face(piece, mark, at)[1])) < SIDEWAYS * float(np.linalg.norm(way))


def in_one_letter(piece: Piece, line: int, at: Floats) -> bool:
    """Whether a place lies within the hull of one letter of a line, not between two."""
    from manifold3d import CrossSection

    for letter in piece.plan_solids:
        if letter.feature != line:
            continue
        hull = CrossSection.hull_points(np.concatenate(trace_all(letter.figures[0], FINE))).to_polygons()
        for frame in letter.frames:
            own = fr.apply(fr.inverse(frame), at[None])[:, :2]
            if inside_loops([np.array(loop) for loop in hull], own)[0] > 0:
                return True
    return False


def _face(piece: Piece, line: int, at: Floats) -> tuple[Floats, Floats]:
    """The spot of the face nearest to a place where a line of engraving is cut in, and the way out of it."""
    feature = piece.features[line]
    if "path" in feature.offers:  # a stroke, made at one place all along its path
        lines = feature.look("path").lines
        spots = np.concatenate([one.points for one in lines])
        outs = np.concatenate([one.outs for one in lines])
    else:
        frames = np.concatenate([one.frames for one in piece.plan_solids if one.feature == line])
        spots, outs = frames[:, :, 3], frames[:, :, 2]
    nearest = int(np.linalg.norm(spots - at, axis=1).argmin())
    return spots[nearest], outs[nearest]


def meetings(piece: Piece) -> Iterator[Meeting]:
    """Every place where letters share room with other engraving, the letters first."""
    marks = {f.index: _solids(piece, f.index) for f, _ in piece.with_role(Role.ENGRAVING)}
    for line, solids in marks.items():
        letters = piece.call(line).given("letters")
        for other, others in marks.items():
            if not letters or other == line or (other < line and piece.call(other).given("letters")):
                continue
            if piece.is_for(other, Role.TEXTURE) and _deep(piece, other) <= READ * _deep(piece, line):
                continue
            ground = _is_ground(piece, line, other)
            stands = other < line and piece.call(line).get("raised") and not piece.call(other).get("raised")
            shared = [
                _into_wall(a, b, frame)
                if (stands or ground) and frame is not None and not (a ^ b).is_empty() else a ^ b
                for a, frame in solids for b, _ in others
                if not (ground and frame is None) and _apart(a.bounding_box(), b.bounding_box()) < 0
            ]  # fmt: skip
            out = np.abs(piece.features[line].frames[0, :, 2])
            parts = [part for one in shared for part in one.decompose()]
            boxes = [np.array(part.bounding_box()).reshape(2, 3) for part in parts]
            longs = [float(np.max((box[1] - box[0]) * (out < LEANS))) for box in boxes]
            yield from (Meeting(line, other, box, long) for box, long in zip(boxes, longs, strict=True))


def _is_ground(piece: Piece, line: int, other: int) -> bool:
    """Whether marks lie on the face that another line left of their part: a sunk field, a hollow."""
    body = piece.call(line).get("on")
    return body is not None and other < line and other in faced(body).grounds


def _deep(piece: Piece, line: int) -> float:
    return float(piece.call(line).get("deep") or 0.0)


def _apart(one: tuple[float, ...], two: tuple[float, ...]) -> float:
    return max(max(one[k] - two[k + 3], two[k] - one[k + 3]) for k in range(3))


def _into_wall(mark: Manifold, ground: Manifold, frame: Floats) -> Manifold:
    """What of a raised mark that stands at ``frame`` in a ground cut before it runs into the wall of that."""
    up, foot = frame[:, 2], float(frame[:, 2] @ frame[:, 3])
    above = mark.trim_by_plane(tuple(up), foot + FOOT[0]).trim_by_plane(tuple(-up), -foot - FOOT[1])
    return above - ground


def _solids(piece: Piece, line: int) -> list[tuple[Manifold, Floats | None]]:
    """Every mark of a line of engraving as a solid in the piece, and the frame (3, 4) of a flat one."""
    marks = ((one, piece.solid_of(one)) for one in piece.plan_solids if one.feature == line)
    return [
        (solid.transform(frame), frame if one.kind == PRISM else None)
        for one, solid in marks for frame in one.frames
    ]  # fmt: skip


def finest_mark(piece: Piece, line: int) -> tuple[float, PlanSolid] | None:
    """The mark of a line that has the thinnest strokes in the mean, and their width."""
    kinds = (PRISM, LAID, "hole", "through-hole")
    marks = [one for one in piece.plan_solids if one.feature == line and one.kind in kinds]
    found = ((stroke_width(one.figures[0]), one) for one in marks)
    return min(found, key=lambda one: one[0], default=None)


def least_deep(piece: Piece, line: int) -> float:
    """How deep or high marks of a line are at least, to be seen once polished, mm; 0 for a broad ground."""
    call, found = piece.call(line), finest_mark(piece, line)
    what = "raised-height" if call.get("raised") else "cut-depth"
    limit = piece.bound("letters-too-fine", what, line)
    broad = (found[0] if found else call.get("stroke") or 0.0) > BROAD * limit
    return 0.0 if broad or piece.is_for(line, Role.TEXTURE) else limit


def stroke_width(mark: Outline) -> float:
    """Mean width of a mark: twice its area over its whole edge, as of a long thin strip."""
    loops = trace_all(mark, FINE)
    area = sum(signed_area(loop) for loop in loops)
    edge = sum(float(np.linalg.norm(loop - np.roll(loop, 1, axis=0), axis=1).sum()) for loop in loops)
    return 2 * area / edge


__all__ = [
    "Meeting", "finest_mark", "in_one_letter", "is_at_rim", "is_ridge", "least_deep", "lies_sideways",
    "meetings", "stroke_width",
]  # fmt: skip
