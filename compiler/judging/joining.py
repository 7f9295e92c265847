"""What joins a loose body of metal to what it is nearest to."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

import numpy as np

from ...lang.terms import Name
from ..bench.roles import Role
from ..geometry import frames as fr
from .digits import rounded_down, rounded_up
from .joints import Body
from .moves import lead, move
from .nearness import Nearness, between
from .piece import Piece
from .remedies import on_rails
from .sinking import holds

OVERLAP = 0.15  # mm, in which parts are joined
DEEPER = 0.15, 0.3, 0.45, 0.6, 0.8, 1.0  # mm, tried in turn until the two are joined soundly
ENOUGH = 0.02  # mm3, that they share at the least
SOUND = 1.15  # times the share of its section that a part is joined over
SQUARE = 0.98  # cosine, of a stone that looks toward you
ROOT, BEHIND, WIDE = 0.3, 0.9, 1.6  # mm, of a bar behind two settings: in them, behind them, across
FAR = 3.0  # mm, parts farther apart are seldom meant to be one
MOST_COPIES = 12  # of a line, tried all together
AS_LARGE = 0.05  # of a body, by which one alike may differ


def joining(piece: Piece, body: Body, near: Nearness, line: int, toward: str) -> str:
    """Which way and how far a line is moved to be one with what its body is nearest to, or that to it where
    it would go along: tried on the two."""
    if carried := on_rails(piece, line):
        return carried
    written = _as_written(piece, body, line)
    if written is not body:
        body, near = written, nearest(piece, written) or near
    other, second = piece.casting_measures.bodies[near.body], max(near.second, 0)
    own = piece.name_of(line)
    along = piece.source_lines.rests_on(piece.call(second), piece.call(line))
    first = lead(piece, line)
    it = piece.name_of(first)
    movers = ((second, -1.0, line, toward),) if along else ((first, 1.0, second, it),)
    for mover, sign, fixed, said in movers:
        share, joined = SOUND * piece.bound("weak-joint", "least", line), ""
        for deep in DEEPER if near.gap > 0 and len(piece.features[mover].frames) == 1 else ():
            moved = move(piece, mover, sign * (near.gap + deep) * near.way, fixed)
            solid = None if moved is None else body.solid.translate(sign * moved.by)
            if moved is None or solid is None or (solid ^ other.solid).volume() <= ENOUGH:
                continue
            sound = holds(solid, other.solid, near.way, share)
            if sound or not joined:
                onto = own if mover == second else toward
                joined = f"move {said} {moved.in_piece}, so that it overlaps {onto}"
            if sound:
                break
        if joined:
            return joined
    if not along and (said := _drawn_nearer(piece, body, near, line)):
        return f"{said}, so that it overlaps {toward} all round"
    if not along and (said := _all_joined(piece, near, line)):
        return f"move {own} {said}, so that all of it overlaps {toward}"
    each = None if along else move(piece, line, (near.gap + OVERLAP) * near.way, second, near.at)
    far = each.said if each is not None else f"{rounded_up(near.gap + OVERLAP)} toward {toward}"
    return f"move {own} {far}, so that the two overlap"


def _as_written(piece: Piece, body: Body, line: int) -> Body:
    """Of bodies of a line that a mirror copied, that which stands as the line is written: its moves are told
    of that; else the ``body`` itself."""
    feature, solids = piece.features[line], [one for one in piece.plan_solids if one.feature == line]
    copies = [(one, frame) for one in solids if not one.cut for frame in one.frames]
    own = [one for one in copies if fr.mirrored(one[1]) == fr.mirrored(feature.frames[0])]
    if len(feature.frames) != 1 or len(own) != 1 or len(copies) < 2:
        return body
    there = piece.solid_of(own[0][0]).transform(own[0][1])
    mine = [one for one in piece.casting_measures.bodies if line in one.shell.owners]
    return max(mine, key=lambda one: float((one.solid ^ there).volume()))


def bar_behind(piece: Piece, body: Body, near: Nearness, line: int) -> str:
    """The bar to lay behind two settings whose stones leave no room to move them together; "" for others."""
    second, stones = max(near.second, 0), piece.stones
    served = [np.isin(stones.line, sorted(piece.services.lines(one))) for one in (line, second)]
    if piece.casting_measures.castings[body.casting].name or not all(one.sum() == 1 for one in served):
        return ""
    homes = [stones.frames[one][0] for one in served]
    reach = [float(piece.stone_measures.form(int(one.argmax())).rim.max()) for one in served]
    way = homes[1][:, 3] - homes[0][:, 3]
    room = float(np.linalg.norm(way)) - sum(reach)
    looks = min(float(home[2, 2]) for home in homes)
    skin = piece.skin_measures.skin
    metal = {k: piece.services.lines(k) for k in set(skin.owner.tolist())}
    mine = ([k for k in metal if metal[k] == piece.services.lines(one)] for one in (line, second))
    low = sorted(float(skin.part(np.isin(skin.owner, one)).corners[:, :, 2].min()) for one in mine)
    if room > near.gap + OVERLAP or looks < SQUARE or low[1] - low[0] > near.gap:
        return ""
    x, y, _ = (homes[0][:, 3] + homes[1][:, 3]) / 2
    thick = low[1] + ROOT - low[0] + BEHIND
    named = {one.name for one in piece.features}
    turn = float(np.degrees(np.arctan2(way[1], way[0]))) % 180.0
    turned = f", turn {turn:.4g} deg" if turn else ""
    name = next(one for one in ("spine", "back-bar", "bar-behind") if one not in named)
    long = float(np.hypot(*way[:2]))
    return (
        f"lay a bar behind both: write bar {name}: size {long:.2f} x {WIDE} x {thick:.2f} mm, "
        f"at ({x:.2f}, {y:.2f}, {low[0] - BEHIND:.2f} mm){turned}, below both lines"
    )


def _drawn_nearer(piece: Piece, body: Body, near: Nearness, line: int) -> str:
    """What draws a closed row round what it is nearest to in to that: its path's `outset`; "" for others."""
    names = {one.name: one for one in piece.features}
    for one in (line, *sorted(piece.services.lines(line))):
        said = piece.source_lines.of(piece.call(one), "along", ("along",)).clause
        path = names.get(said.value.name) if said is not None and isinstance(said.value, Name) else None
        if path is None or not piece.call(path.index).given("outset"):
            continue
        inward = float(near.way @ (np.array(body.shell.centre) - near.at))
        now = piece.call(path.index).get("outset") - near.gap - OVERLAP
        if path.look("path").lines[0].closed and inward > 0 and now > 0:
            return f"write outset {rounded_down(now)} in the line of {path.name}"
    return ""


def _all_joined(piece: Piece, near: Nearness, line: int) -> str:
    """The one clause that joins every loose copy of a line to what this one is nearest to; nothing where
    none does."""
    bodies = piece.casting_measures.bodies
    solids = [one.solid for one in bodies if line in one.shell.owners and one is not bodies[near.body]]
    if not 1 < len(solids) <= MOST_COPIES or near.gap > FAR:
        return ""
    other = bodies[near.body].solid
    for deep, axis, sign in product(DEEPER, range(3), (1.0, -1.0)):
        way = piece.features[line].frames[0, :, axis]
        moved = move(piece, line, sign * (near.gap + deep) * way)
        if moved is None:
            return ""
        if all((one.translate(moved.by) ^ other).volume() > ENOUGH for one in solids):
            return moved.in_piece
    return ""


def alike(piece: Piece, body: Body, near: Nearness) -> bool:
    """Whether a body and what it is nearest to are made by the same lines, and as large."""
    one, other = body.shell, piece.casting_measures.bodies[near.body].shell
    lines = ({piece.name_of(owner) for owner in shell.owners if owner >= 0} for shell in (one, other))
    return next(lines) == next(lines) and abs(one.volume - other.volume) < AS_LARGE * one.volume


def nearest(piece: Piece, body: Body) -> Nearness | None:
    """Where a loose body comes nearest to what it should be one with; None where there is nothing."""
    measures = piece.casting_measures
    held, bodies = measures.assemblies, measures.bodies
    number = bodies.index(body)
    beside = measures.held_by_its_pin(number) or {k for k, one in enumerate(held) if one == held[number]}
    rest = [k for k, one in enumerate(bodies) if k not in beside and not one.small]
    rest = [k for k in rest if bodies[k].casting == body.casting] or rest
    main = held[measures.mains[body.casting]]
    rest = [k for k in rest if held[k] == main] or rest
    found = (replace(between(body.skin, bodies[k].skin), body=k) for k in rest)
    return min(found, key=lambda near: near.gap, default=None)


def finds_length(piece: Piece, pin: int) -> str | None:
    """The name of the line of a pin, by a part of it, that finds its length on the metal it stands on and was
    told one; None of any other part."""
    use = next(iter(piece.call(pin).within), None)
    if use is None or use.word.take("on") is None or not piece.is_for(pin, Role.PIN):
        return None
    return use.name if "long" in use.arguments and use.arguments["long"].given else None
