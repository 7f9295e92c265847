"""letters-off-face: letters or lines that run past the metal they are cut in or stand on, or into others."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

import numpy as np

from ...bench.along import part_of
from ...bench.feature import Feature
from ...bench.plan import PRISM
from ...bench.roles import Role
from ...geometry import frames as fr
from ...geometry.inside import inside_loops
from ...geometry.outlines import trace
from ...geometry.surfaces import Flat
from ...judging.digits import above, rounded_down, rounded_past, rounded_up
from ...judging.figure_rule import Reading
from ...judging.mark_faces import APART, BELOW, ends_on_face, past_face, runs_across
from ...judging.mark_places import edge_of, laid_of
from ...judging.marks import READ, Meeting, is_ridge, meetings
from ...judging.marks_over import into_others
from ...judging.remedies import on_floor
from ...judging.rule import Mend
from ...judging.stone_table import outline_of, reach_of
from ...judging.strokes_aside import nicks
from ...measures.closest import nearest

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ....lang.bench import Call
    from ...geometry.line import Line
    from ...judging.piece import Piece

FINE = 0.03  # mm, chord error of the edges looked along
SUNK = 0.25  # share of a letter's edges that lies in the metal, with which it cannot be read
TINY = 1e-6  # per cent
STEP = 0.05  # mm between the spots looked at along a stroke
LET_IN = 1.0  # mm above or below a girdle, what runs there runs in the metal that holds it
SAME_EDGE = 1e-3  # mm, how near a spot is to the rim of a face as to the hole that ends there


def check(piece: Piece) -> Iterator[Reading]:
    met = list(meetings(piece))
    for one in met:
        yield _between(piece, (one.first, one.second), "into", one.long, one.box.mean(axis=0))
    yield from _beside(piece, {frozenset((one.first, one.second)) for one in met})
    yield from into_others(piece)
    yield from _past_rim(piece, met)
    yield from _strokes_past(piece)
    yield from (one for one in nicks(piece) if _hole(piece, one.feature, one.at) is None)
    yield from _over_stones(piece)
    yield from _buried(piece)


def _beside(piece: Piece, met: set[frozenset[int]]) -> Iterator[Reading]:
    """Letters with hardly any metal between them and another line."""
    for thin in piece.skin_measures.thin:
        first, second = sorted(thin.pair, key=lambda one: not piece.call(one).given("letters"))
        both = first != second and all(piece.is_for(one, Role.ENGRAVING) for one in thin.pair)
        both &= bool(piece.call(first).given("letters"))  # veins may run as close as one likes
        if both and set(thin.pair) not in met and is_ridge(piece, thin):
            bound = piece.bound("letters-too-fine", "raised-width", first)
            yield _between(piece, (first, second), "close", thin.figure, thin.at, bound)


def _between(
    piece: Piece, pair: tuple[int, int], find: str, figure: float, at: Iterable[float], bound: float = 0.0
) -> Reading:
    what = _kind(piece, pair[0])
    return Reading(
        pair[0], figure, at, find=find, bound=bound, others=pair, cure=_parted(piece, *pair, what),
        words={"what": what, "line": piece.name_of(pair[1])},
    )  # fmt: skip


def _parted(piece: Piece, line: int, other: int, what: str) -> str:
    """What keeps a line of letters from another; a texture goes over them when it is shallow."""
    if piece.is_for(other, Role.TEXTURE):
        shallow = rounded_down(READ * float(piece.call(line).get("deep") or 0.0))
        return f"say 'deep {shallow}' at {piece.name_of(other)}: the {what} are read below it"
    away = f"move one of them away from the other, or make the {what} smaller"
    size, tall = _clear_of(piece, line, other), piece.features[line].look("tall")
    return f"say 'tall {rounded_down(size * tall.value)}', or {away}" if size else away


def _clear_of(piece: Piece, line: int, other: int) -> float:
    """The share of their size at which letters that stand where they are keep off the strokes of another
    line, as far as a ridge is thick; 0 for none."""
    call, strokes = piece.call(line), piece.features[other].offers
    if not call.given("letters") or call.given("along") or "path" not in strokes:
        return 0.0
    paths = np.concatenate([one.fine(APART).points for one in piece.features[other].look("path").lines])
    ridge = piece.bound("letters-too-fine", "raised-width", line)
    return laid_of(piece, line).clear_of(paths, float(piece.call(other).get("stroke")) / 2 + ridge)


def _kind(piece: Piece, line: int) -> str:
    return "letters" if piece.call(line).given("letters") else "lines"


def _past_rim(piece: Piece, met: list[Meeting]) -> Iterator[Reading]:
    """Marks that run past the rim, where they do not run into others."""
    skin = piece.skin_measures.skin
    for feature, call in piece.with_role(Role.ENGRAVING):
        marks = [one for one in piece.plan_solids if one.feature == feature.index and one.kind == PRISM]
        if not marks or call.get("bought"):
            continue
        bound = piece.bound("letters-off-face", "most", feature)
        laid = laid_of(piece, feature.index)
        grounds, low, raised = laid.grounds, laid.low, laid.raised
        boxes = [one.box for one in met if feature.index in (one.first, one.second)]
        found = [
            past_face(skin, frame, edge, ground, low, raised, boxes)
            for frame, edge, ground in zip(laid.frames, laid.edges, grounds, strict=True)
        ]
        worst = max(range(len(found)), key=lambda k: found[k][0])
        past, at = found[worst]
        figure = not raised and not call.given("letters") and not call.given("along")
        cut = (skin, laid.frames[worst], laid.edges[worst], grounds[worst], low)
        if above(past, bound) and not (figure and runs_across(*cut)):
            what = _kind(piece, feature.index)
            rim = float(piece.bound("thin-wall", "least", feature))
            inset = laid.inset(past + rim)
            fitting = None if call.given("along") else laid.fitting(rim)
            made = feature.look("tall")
            tall = None if made is None else made.value
            size = math.floor(10 * fitting * tall) / 10 if tall and fitting else None
            bent = any(one.bent for one in laid.marks)  # they went round with their face
            along, round_it = "" if bent else _follow(call), laid.elsewhere(rim)
            hole = _hole(piece, feature.index, at)
            own = piece.name_of(feature.index)
            fit = f"write tall {size:g} mm in the line of {own}" if size and hole is None else laid.smaller()
            stand = on_floor(piece, hole, feature.index) if hole is not None else ""
            moved = "" if round_it or stand or inset else laid.moved(rim)
            if hole is not None:
                far = rounded_past(past + rim)
                fit = f"move {piece.name_of(hole)} {far} farther off the {what}, or {fit}"
            cure = (
                (f"say 'centred {round_it}': there the face is whole", Mend("centred", round_it)) if round_it
                else (stand, None) if stand
                else (f"say 'inset {inset}'", Mend("inset", inset)) if inset
                else (f"move {piece.name_of(feature.index)} {moved}; or {along}{fit}", None) if moved
                else (along + fit, Mend("tall", f"{size:g} mm", "most") if size and not along else None)
            )
            yield Reading(
                feature.index, past, at, find="rim" if hole is None else "hole", cure=cure,
                words={"what": what}, others=() if hole is None else (hole,),
            )  # fmt: skip


def _strokes_past(piece: Piece) -> Iterator[Reading]:
    """Strokes of the text's own lines that run on past the metal, but into a hole."""
    skin = piece.skin_measures.skin
    for feature, call in piece.with_role(Role.ENGRAVING):
        if not (call.given("along") and call.given("stroke")) or call.trail or call.get("raised"):
            continue
        bound = piece.bound("letters-off-face", "stroke", feature)
        past: list[tuple[float, np.ndarray]] = []
        for line in feature.look("path").lines:
            on = None if line.closed else ends_on_face(skin, line, call.get("deep"))
            if on is not None:
                past += zip((on[0], line.length() - on[1]), on[2], strict=True)
        past = [(far, at) for far, at in past if above(far, bound)]
        past = [(far, at) for far, at in past if _hole(piece, feature.index, at) is None]
        if past:
            worst, at = max(past, key=lambda one: one[0])
            rim, lines = piece.bound("thin-wall", "least", feature), feature.look("path").lines
            said = _stretch(call, lines, [at for _, at in past], rim)
            cure = f"say 'stretch {said}' in its line; or make its path shorter" if said else None
            yield Reading(feature.index, worst, at, find="stroke", cure=cure)


def _over_stones(piece: Piece) -> Iterator[Reading]:
    """Strokes that go right over a stone let into the face, whose rim or grains they cut through."""
    lines = piece.stones.line
    for feature, call in piece.with_role(Role.ENGRAVING):
        if not (call.given("along") and call.given("stroke")) or call.trail:
            continue
        if call.get("raised") or call.given("filled"):
            continue
        half, told_of = float(call.get("stroke")) / 2, set[int]()
        paths = feature.look("path").lines
        for line, k, inside, at, ends in ((one, *met) for one in paths for met in _crossed(piece, one, half)):
            if k in told_of:
                continue
            told_of.add(k)
            begins = line.share_at(ends[0]) < 1 - line.share_at(ends[1])
            rim = piece.bound("thin-wall", "least", feature)
            kept = _stretch(call, [line], [ends[int(begins)]], rim, begins)
            told = f"; or say 'stretch {kept}' in its line, and let another go on behind it" * bool(kept)
            yield Reading(
                feature.index, inside, at, find="across", others=(int(lines[k]),),
                cure=_spared(piece, feature.index, int(lines[k])) + told,
            )  # fmt: skip


def _spared(piece: Piece, stroke: int, stones: int) -> str:
    """What has a stroke leave out the stones of another line."""
    name, own = piece.name_of(stones), piece.name_of(stroke)
    first = f"put the line of {name} above that of {own} and " * (stones > stroke)
    return f"{first}say 'clear-of {name}' in the line of {own}"


def _crossed(piece: Piece, line: Line, half: float) -> Iterator[tuple[int, float, np.ndarray, np.ndarray]]:
    """The stones that a stroke ``half`` mm to either side of its line goes over, how far within the girdle
    and where, and the spots (2, 3) where it comes to it and leaves it; not those it stands off, or begins at
    as a ray does."""
    stones, fine = piece.stones, line.fine(STEP)
    spots, at = fine.points, stones.frames[:, :, 3]
    far = np.maximum(spots.min(axis=0) - at, at - spots.max(axis=0)).max(axis=1, initial=-np.inf)
    near = far < LET_IN + np.array([reach_of(stones.of(k)) for k in range(len(at))])
    for k in np.flatnonzero(near).tolist():
        seen = fr.apply(fr.inverse(stones.frames[k]), spots)
        inside = inside_loops([trace(outline_of(stones.of(k)), FINE)], seen[:, :2]) + half
        over = (inside > 0) & (fine.outs @ stones.frames[k, :, 2] > 0) & (np.abs(seen[:, 2]) < LET_IN)
        if over.any() and (line.closed or not (over[0] or over[-1])):
            worst = int(np.where(over, inside, 0.0).argmax())
            yield k, float(inside[worst]), spots[worst], spots[np.flatnonzero(over)[[0, -1]]]


def _stretch(
    call: Call, lines: Sequence[Line], ends: list[np.ndarray], rim: float, begins: bool | None = None
) -> str:
    """Which stretch of its path a line of strokes is to go along, to end ``rim`` mm inside the spots (3,) at
    which it leaves the metal, as in '3 % to 97 %', where it ``begins`` or ends, or is nearer to; "" where
    none is left, or along a closed path. The longest of the ``lines`` runs on as the path does."""
    path, low, high = max(lines, key=lambda one: one.length()), 0.0, 1.0
    for at in ends:
        share, spare = path.share_at(at), rim / path.length()
        first = share < 0.5 if begins is None else begins
        low, high = (max(low, share + spare), high) if first else (low, min(high, share - spare))
    if path.closed or low >= high:
        return ""
    first_share, last_share = part_of(call, False) or (0.0, 1.0)
    low, high = (100 * (first_share + (last_share - first_share) * share) for share in (low, high))
    return f"{math.ceil(low - TINY)} % to {math.floor(high + TINY)} %"


def _hole(piece: Piece, mark: int, at: np.ndarray) -> int | None:
    """The line of the stones, or of the cut, whose hole a spot (3,) of a mark lies over; None where it lies
    past the rim of its metal."""
    skin, cuts = piece.skin_measures.skin, piece.with_role(Role.SEAT, Role.LIGHT_HOLE, Role.HOLE, Role.CUT)
    bored = np.isin(skin.owner, [f.index for f, _ in cuts if f.index != mark])
    if not bored.any():
        return None
    holes, rest = skin.part(bored), skin.part(~bored & (skin.owner != mark))
    far, face = nearest(holes, at)
    if far > nearest(rest, at)[0] + SAME_EDGE:
        return None
    owner = int(holes.owner[face])
    held = piece.call(owner).get("for")
    return held.index if isinstance(held, Feature) else owner


def _buried(piece: Piece) -> Iterator[Reading]:
    """Raised marks a good part of which does not come out of the metal."""
    skin = piece.skin_measures.skin
    for mark in piece.plan_solids:
        if mark.kind != PRISM or mark.cut or not piece.is_for(mark.feature, Role.ENGRAVING):
            continue
        bound, high = piece.bound("letters-off-face", "most", mark.feature), float(mark.figures[2])
        for k in range(len(mark.frames)):
            ground = mark.stood(k, edge_of(mark))
            up = ground[:, :, 2]
            far, met = skin.grid.cast(ground[:, :, 3] + (high - BELOW) * up, up, leaving=False)
            inside = (met >= 0) & ((up * skin.normals[met]).sum(axis=1) > 0)
            deep = np.where(inside, far - BELOW, 0.0)
            if (deep > bound).mean() > SUNK:
                worst, what = float(deep.max()), _kind(piece, mark.feature)
                said = {"what": what, "up": rounded_up(worst + high)}
                at = ground[deep.argmax(), :, 3]
                yield Reading(mark.feature, worst, at, find="buried", words=said)


def _follow(call: Call) -> str:
    """What lets marks go along a face that is not flat, if they do not yet; or nothing."""
    body = call.get("in")
    flat = not isinstance(body, Feature) or body.surface is None or isinstance(body.surface, Flat)
    if flat or call.given("along") or call.given("on"):
        return ""
    name = body.name.rpartition(".")[2]
    return f"put on {name} in the place of at, and they go along its face, as deep all over; or "
