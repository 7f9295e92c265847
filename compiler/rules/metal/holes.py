"""Holes that break out at a side, cross a stone, or go on into the wall behind."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ...bench.feature import Feature, Places
from ...bench.roles import Role
from ...geometry import frames as fr
from ...geometry.inside import inside_loops
from ...geometry.outlines import trace, trace_all
from ...judging.behind_holes import off_holes
from ...judging.digits import below, mm, rounded_up, share
from ...judging.figure_rule import Reading
from ...judging.holed import may_be_holed, off_the_holes
from ...judging.remedies import written
from ...judging.seats import closed, may_close, on_wire
from ...judging.stone_table import pavilion_of
from ...measures.arcs import circular_runs
from .over_edge import hidden, lying_pins

if TYPE_CHECKING:
    from ...judging.bores import Bore
    from ...judging.piece import Piece
    from ...measures.kinds import Floats


COUNT = 120  # spots of an edge that are looked at
OPEN, NOTCH = 5.0, 150.0  # degrees of 360; open by less may be rounding, by more it is a notch that is meant
AT_WALL = 0.02  # mm
MOST = 200  # holes of one line, past which they are a pattern


def broken_hole(piece: Piece) -> Iterator[Reading]:
    """A straight hole, drilled or sawn, that breaks out through the rim of its metal."""
    skin = piece.skin_measures.skin
    for feature, call in piece.with_role(Role.HOLE, Role.OPENS):
        tools = [one for one in piece.plan_solids if one.feature == feature.index and one.kind in KINDS]
        many = sum(len(tool.frames) for tool in tools) > MOST
        if call.trail or call.given("deep") or call.given("letters") or many:
            continue  # a word knows where it cuts; letters: see letters-off-face
        wall = skin.corners[skin.owner == feature.index]
        for tool in tools if len(wall) else ():
            if not tool.cut:
                continue
            edge = _spread(trace_all(tool.figures[0])[0])
            for frame in tool.frames:
                own = fr.apply(fr.inverse(frame), wall.reshape(-1, 3)).reshape(-1, 3, 3)
                own = own[(np.abs(own[:, :, :2]) < np.abs(edge).max(axis=0) + AT_WALL).all(axis=(1, 2))]
                gap, middle, way = _gap(own[:, :, :2], edge)
                if not len(own) or not gap > OPEN:
                    continue
                if gap >= NOTCH:
                    yield from _on_the_rim(piece, feature, gap, 2 * float(np.abs(edge).max()), frame)
                    continue
                high = float(own[:, :, 2].min() + own[:, :, 2].max()) / 2
                start = fr.apply(frame, np.array([(*middle, high)]))[0]
                into = _other_cut(piece, feature.index, start)
                out = skin.grid.cast(start[None], (frame[:, :2] @ way)[None], leaving=False)[1][0] < 0
                # Of two openings the later line breaks into the other.
                if out if into is None else into < feature.index:
                    yield _broken(piece, feature.index, gap, start, into)
    yield from _light_holes(piece)


RAYS, SIDEWAYS = 72, -0.3  # round a light hole; a face that looks so much away from the finger is no bore
EASED = 0.35  # mm, no rounded inside of a band falls away farther
BESIDE, FEW = 0.03, 0.03  # mm outside its wall, and the share of it that may be rounding


def _light_holes(piece: Piece) -> Iterator[Reading]:
    """A light hole in a ring that comes out of its side, over the edge of the finger's hole."""
    skin, bores = piece.skin_measures.skin, {one.feature: one for one in piece.wear_measures.holes}
    turn, told = np.arange(RAYS) * 2 * np.pi / RAYS, set[int]()
    for stone, seat in sorted(piece.seated.items()):
        into = piece.call(seat).get("in")
        bore = bores.get(into.index) if isinstance(into, Feature) else None
        if bore is None or seat in told or closed(piece, seat):
            continue
        kind, frame = piece.stones.of(stone), piece.stones.frames[stone]
        hole = piece.call(seat).get("hole") or 0.5
        around = (hole * kind.width / 2 + BESIDE) * np.stack([np.cos(turn), np.sin(turn)], axis=1)
        low = np.full((RAYS, 1), -(1 - hole) * pavilion_of(kind) - 0.1)
        start, way = fr.apply(frame, np.hstack([around, low])), np.repeat(-frame[None, :, 2], RAYS, axis=0)
        far, met = skin.grid.cast(start, way, leaving=False)
        there = (met >= 0) & ((skin.normals[met] * way).sum(axis=1) > 0)  # that began in metal
        out = start + np.where(there, far, 0.0)[:, None] * way - bore.middle
        out -= (out @ bore.axis)[:, None] * bore.axis
        off = np.linalg.norm(out, axis=1)
        looks = (skin.normals[met] * out).sum(axis=1) / np.maximum(off, 1e-9)
        aside = there & (skin.owner[met] == bore.feature) & ((looks > SIDEWAYS) | (off > bore.radius + EASED))
        if FEW * RAYS < aside.sum() < there.sum():
            told.add(seat)
            yield _out_of_the_side(piece, stone, seat, float(aside.mean()), hole)


def _other_cut(piece: Piece, hole: int, spot: Floats) -> int | None:
    """The other opening in which a spot lies, seen along that."""
    for tool in piece.plan_solids:
        if tool.cut and tool.kind in KINDS and tool.feature != hole and tool.bent is None:
            loops = trace_all(tool.figures[0])
            own = np.array([fr.apply(fr.inverse(frame), spot[None])[0] for frame in tool.frames])
            if len(own) and (inside_loops(loops, own[:, :2]) > 0).any():
                return tool.feature
    return None


def _on_the_rim(piece: Piece, hole: Feature, gap: float, wide: float, frame: Floats) -> Iterator[Reading]:
    """What is told of a drilled hole laid at an end of its metal, so that its middle lies on the rim."""
    at = piece.call(hole.index).get("at")
    if not (isinstance(at, Places) and at.ends and at.own and piece.is_for(hole.index, Role.HOLE)):
        return
    inward = wide / 2 + max(piece.bound("thin-wall", "advised", one) for one in at.own)
    yield Reading(
        hole.index, gap, frame[:, 3], find="rim",
        words={"metal": piece.name_of(min(at.own)), "edge": _edge(gap)},
        cure=f"write left {rounded_up(inward)} in the line of {piece.name_of(hole.index)}",
    )  # fmt: skip


def _edge(gap: float) -> str:
    return f"{gap:.0f} degrees of it have no metal round them"


def _broken(piece: Piece, hole: int, gap: float, spot: Floats, into: int | None) -> Reading:
    """What is told of a hole that breaks out at a spot (3,): through the rim, or ``into`` another, as two
    that are meant for one may."""
    edge = f"{share(gap / 360.0)} of its edge has no metal beside it"
    if piece.is_for(hole, Role.HOLE):
        edge = _edge(gap)
    return Reading(
        hole, gap, spot, find="" if into is None else "into", words={"edge": edge},
        others=() if into is None else (into,),
    )  # fmt: skip


def _out_of_the_side(piece: Piece, stone: int, seat: int, part: float, hole: float) -> Reading:
    name = piece.name_of(seat)
    blind = f"add 'blind' to the line of {name}: it is closed below; or " if may_close(piece, seat) else ""
    return Reading(
        seat, part, stone, find="side", others=(int(piece.stones.line[stone]),),
        words={"which": str(stone + 1), "blind": blind, "hole": f"{hole:.0%}"},
    )  # fmt: skip


def _spread(loop: Floats) -> Floats:
    """Spots (n, 2) evenly along a closed loop (m, 2)."""
    ends = np.concatenate([loop, loop[:1]])
    far = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(ends, axis=0), axis=1))])
    at = (np.arange(COUNT) + 0.5) / COUNT * far[-1]
    return np.stack([np.interp(at, far, ends[:, k]) for k in (0, 1)], axis=1)


def _gap(walls: Floats, edge: Floats) -> tuple[float, Floats, Floats]:
    """The longest run of an edge's spots (n, 2) without wall, in degrees of 360 for all of it, its middle and
    the way out there, from the wall's triangles (m, 3, 2) as they are seen along the hole."""
    start, go = walls, np.roll(walls, -1, axis=1) - walls
    size = np.maximum((go * go).sum(axis=2), 1e-12)
    seen = edge[:, None, None] - start[None]
    along = np.clip((seen * go).sum(axis=3) / size, 0.0, 1.0)
    off = np.linalg.norm(seen - along[..., None] * go, axis=3)
    bare = off.min(axis=(1, 2), initial=np.inf) > AT_WALL
    _, first, run = circular_runs(bare[None])
    if not len(run) or (len(run) > 1 and np.sort(run)[-2] * 360.0 / len(edge) > OPEN):
        return 0.0, edge[0], edge[0]  # whole, or from rim to rim
    longest = int(np.argmax(run))
    k = int(first[longest] + run[longest] // 2) % len(edge)
    ahead, behind = edge[(k + 1) % len(edge)], edge[k - 1]
    way = np.array((ahead[1] - behind[1], behind[0] - ahead[0]))
    return 360.0 * float(run[longest]) / len(edge), edge[k], way / np.linalg.norm(way)


KINDS = "hole", "prism"  # of a depth that is found, and of one that is told


CROSSING = Role.WIRE, Role.FINDING, Role.BEAD
NO_ROOM = (
    "no place behind the piece has room for its feet beside the light holes: let the stones of {row} begin "
    "and end farther in, as by 'stretch' in the line of their path, so that its feet stand past them"
)
NEAR = 4.0  # mm below a culet; farther off it is the other side of a ring, or another part


def crossing_of(piece: Piece) -> set[int]:
    """Wire, findings and loops that are judged by how much of a light hole they leave free."""
    found = {f.index for f in piece.features if f.opening is not None}
    found |= {f.index for f, _ in piece.with_role(*CROSSING)}
    found -= piece.sets.holders
    # A post or a stem stands where the weight is, behind the stone or not; the feet of a lying pin may move.
    found -= {f.index for f, _ in piece.with_role(Role.EAR_POST, Role.PIN)}
    if piece.wear_measures.hole is not None:  # a shank of wire, under its head
        found.discard(piece.wear_measures.hole.feature)
    return found


def crossed_hole(piece: Piece) -> Iterator[Reading]:
    """Wire or a finding behind a light hole."""
    from ...measures.light import share_crossed

    feet = {one: mine for mine in lying_pins(piece) for one in mine}
    crossing = crossing_of(piece) | feet.keys()
    holes = [(s, k) for s, k in sorted(piece.seated.items()) if not closed(piece, k)]
    if not crossing or not holes:
        return
    kinds = [piece.stones.of(stone) for stone, _ in holes]
    wide = [
        kind.width * (piece.call(seat).get("hole") or 0.5)
        for kind, (_, seat) in zip(kinds, holes, strict=True)
    ]
    flags = piece.skin_measures.flags(crossing)
    frames = piece.stones.frames[[stone for stone, _ in holes]]
    shares, owners = share_crossed(
        piece.skin_measures.skin, flags, frames,
        np.array([pavilion_of(kind) for kind in kinds]), np.array(wide) / 2, NEAR,
    )  # fmt: skip
    for (stone, seat), crossed, owner, hole in zip(
        holes, shares.tolist(), owners.tolist(), wide, strict=True
    ):
        bound = piece.bound("crossed-hole", "least", seat)
        if below(1 - crossed, bound):
            if on_wire(piece, seat, owner):
                yield Reading(seat, 1 - crossed, stone, find="cup", bound=bound)
                continue
            through, of, block = written(piece, owner, int(piece.stones.line[stone]))
            remedy = f"move it aside, or so far back that {mm(hole / 2)} stay free between"
            if owner in feet:
                behind = hidden(piece, feet[owner])
                remedy = off_holes(piece, feet[owner], frames, np.array(wide) / 2, behind)
                remedy = remedy or NO_ROOM.format(row=piece.name_of(int(piece.stones.line[stone])))
            elif not may_be_holed(piece, owner, hole, int(piece.stones.line[stone])):
                remedy = f"{off_the_holes(piece, owner)}, or {remedy.removeprefix('move it aside, or ')}"
            else:
                remedy += (
                    f"; or write pierce light: round {mm(hole)}, at {of}, in {through}, below all these "
                    f"lines{block}: it opens the hole"
                )
            yield Reading(
                owner, 1 - crossed, stone, bound=bound, cure=remedy, words={"which": str(stone + 1)},
                others=(int(piece.stones.line[stone]),),
            )  # fmt: skip


WIDE = 0.5  # of the radius of the finger's hole, a way through it so long crosses it


def far_wall(piece: Piece) -> Iterator[Reading]:
    """A hole that goes on through the finger's hole, into the other side of a ring."""
    bore, skin = piece.wear_measures.hole, piece.skin_measures.skin
    mine = {f.index for f, call in piece.with_role(Role.CUT) if not call.trail and not call.get("through")}
    for tool in piece.plan_solids if bore is not None and mine else ():
        if not tool.cut or tool.kind not in KINDS or tool.feature not in mine or tool.bent is not None:
            continue  # what is cut in the flat meets no other side
        assert bore is not None
        wall = skin.corners[skin.owner == tool.feature].reshape(-1, 3)
        wide = 1.01 * float(np.linalg.norm(trace(tool.figures[0]), axis=1).max())
        for frame in tool.frames:
            near, past = _across(bore, frame)
            if near is None:
                continue
            own = fr.apply(fr.inverse(frame), wall)
            along = np.flatnonzero(np.hypot(own[:, 0], own[:, 1]) < wide)
            # Where the other side has a place of its own, it is cut from there.
            apart = np.linalg.norm(wall[along, None] - tool.frames[None, :, :, 3], axis=2).min(axis=1)
            deep = -own[along[np.linalg.norm(own[along], axis=1) < apart + 1e-6], 2]
            if len(deep) and deep.max() > past:
                yield _too_near(tool.feature, bore, frame, deep, near)
                break


def _too_near(cut: int, bore: Bore, frame: Floats, deep: Floats, near: float) -> Reading:
    held = deep[deep <= near]
    remedy = "leave this line out, there is no metal at its place for it to cut"
    if len(held):
        remedy = f"say 'deep {rounded_up(float(held.max()) + 0.1)}'"
    end = float(deep.max())
    return Reading(
        cut, end, frame[:, 3] - end * frame[:, 2], bound=near, others=(bore.feature,),
        words={"hole": mm(2 * bore.radius), "remedy": remedy},
    )  # fmt: skip


def _across(bore: Bore, frame: Floats) -> tuple[float | None, float]:
    """How far below a place its axis goes into the hole for the finger and leaves it again; None where
    it begins in that hole, or does not cross it."""
    go, way = frame[:, 3] - bore.middle, -frame[:, 2]
    go, way = (one - (one @ bore.axis) * bore.axis for one in (go, way))
    square, half = float(way @ way), float(go @ way)
    root = half * half - square * (float(go @ go) - bore.radius**2)
    if square < 1e-6 or root <= 0:
        return None, 0.0
    near, past = ((-half + sign * root**0.5) / square for sign in (-1.0, 1.0))
    return (near, past) if near > -0.1 and past - near > WIDE * bore.radius else (None, 0.0)
