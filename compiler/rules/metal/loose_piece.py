"""loose-piece: metal that is not joined to the rest, and rings that link nothing."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from ....lang.terms import Name
from ...bench.feature import Places
from ...bench.roles import Role
from ...bench.worked import STRAIGHT
from ...geometry import frames as fr
from ...geometry.inside import inside_loops
from ...geometry.outlines import signed_area, trace_all
from ...judging.digits import mm, rounded_up
from ...judging.figure_rule import Cure, Reading
from ...judging.joining import FAR, OVERLAP, alike, bar_behind, finds_length, joining, nearest
from ...judging.joints import Body
from ...judging.moves import of_one_line
from ...judging.piece import Piece
from ...judging.remedies import behind_its_setting, on_floor
from ...judging.rule import Mend
from ...measures.kinds import Floats

WAYS = 8  # directions in which metal must stand round a part for it to stand in a hole
SUNK = 0.8  # mm, both ends of a bridge together, in the metal round a hole
DEEP, LAYERS = 0.9, 7  # mm above and below its place, looked out at so many heights
REACH = 30.0  # mm, how far
SPARE = 0.1  # mm, a stay in letters is wider than the least wall
SLIM = 0.6  # of the part it joins, a stay is no wider
BESIDE = 0.1  # mm, a part so near to a cut stood in what it took away


def check(piece: Piece) -> Iterator[Reading]:
    if len(piece.casting_measures.bodies) < 2:
        return
    bodies, castings = piece.casting_measures.bodies, piece.casting_measures.castings
    held = piece.casting_measures.assemblies
    cast = {held[k] for k, one in enumerate(bodies) if not castings[one.casting].bought}
    # What stands in no block, as a ring of each of a pair, may hang in any that has one.
    named = {held[k] for k in piece.casting_measures.mains if castings[bodies[k].casting].name} & cast
    for number, body in enumerate(bodies):
        casting = castings[body.casting]
        if body.small:  # see unattached-bead
            continue
        main = held[piece.casting_measures.mains[body.casting]]
        home = cast if casting.bought else {main} if casting.name else {main, *named}
        if held[number] not in home or piece.casting_measures.held_by_its_pin(number):
            yield _loose(piece, body)


def _loose(piece: Piece, body: Body) -> Reading:
    owners = [owner for owner in body.shell.owners if owner >= 0]
    added = [owner for owner in owners if piece.features[owner].body is not None] or owners or [0]
    casting = piece.casting_measures.castings[body.casting]
    if told_of := _cut_apart(piece, body) or _letter(piece, body, added):
        return told_of
    ring = all(piece.features[owner].opening is not None for owner in added)
    count = len([one for one in piece.casting_measures.bodies if one.casting == body.casting])
    others = f"{count} separate bodies in {casting.called}" if count > 1 else "a body of its own"
    hole = (0.0, 0.0) if ring else _hole_round(piece, body, piece.features[added[0]].frames[0])
    if not hole[0] and (cut := _cut_away(piece, body, added[0])):
        return cut
    near = nearest(piece, body)
    chain = added[0] in piece.chains
    name, find, remedy = added[0], "", "move it so that it overlaps its neighbour by 0.1 mm or more"
    apart = "what is cast by itself stands in a 'casting' block of its own"
    if near is not None:
        name = near.first if near.first in added else name
        toward = piece.name_of(max(near.second, 0))
        others += f", {mm(near.gap)} from {toward}"
        remedy = joining(piece, body, near, name, toward) or remedy
    if behind := behind_its_setting(piece, added[0], piece.features[added[0]].frames[0, :, 3]):
        remedy = f"stand it behind what holds the stone: {behind.said}"
    elif chain:
        find = "chain"
    elif strung := _from_loop_to_loop(piece, added[0]):
        remedy = strung
    elif ring:
        far = near is None or near.gap > FAR
        hung = "so that it passes through another ring ('hangs-in' its line finds its place there)"
        remedy = f"move it {hung}" if far else f"{remedy}, or {hung.partition(' (')[0]}"
        at = piece.call(name).get("at")
        if isinstance(at, Places) and at.on_face and not piece.call(name).within:
            remedy = f"write bail {piece.name_of(name)}; it is rooted there and stands up; or {remedy}"
    elif hole[0]:
        find = "post-in-hole" if piece.is_for(added[0], Role.EAR_POST) else "in-hole"
    elif finds_length(piece, added[0]) is not None:
        find = "pin"
    elif near is not None and alike(piece, body, near):
        remedy = f"{apart}: write 'casting' above its lines and say the copies there"
    elif not casting.bought:
        far = near is not None and near.gap > FAR and not casting.name
        remedy = (bar_behind(piece, body, near, name) if near is not None else "") or remedy
        remedy = f"{apart}; else {remedy}" if far else f"{remedy}; {apart}"
    return Reading(
        name, float(count), body.shell.centre, find=find, bound=1.0, cure=None if find else (remedy, behind),
        words={"is": "links nothing" if ring else "is not joined to the rest of the metal", "others": others,
               "volume": f"{body.shell.volume:.3g}", "hole": mm(hole[0]), "bar": rounded_up(hole[1] + SUNK)},
        others=() if near is None or near.second < 0 or chain else (near.second,),
    )  # fmt: skip


def _from_loop_to_loop(piece: Piece, wire: int) -> str:
    """Where the line of a bought wire, as the silk of a strand, is to begin and end: in the loops of a clasp;
    "" for other metal, and without a clasp."""
    line = getattr(piece.features[wire].surface, "line", None)
    if not piece.call(wire).get("bought") or line is None or line.closed:
        return ""
    sides: dict[bool, str] = {}
    for _, call in piece.with_role(Role.CLASP):
        use = next(one for one in call.within if Role.CLASP in one.word.roles)
        half, tongue = use.name.rpartition(".")[0], use.arguments.get("tongue")
        if half and use.arguments["loop"].given if "loop" in use.arguments else False:
            sides[tongue is not None and bool(tongue.value)] = half
    if len(sides) < 2:
        return ""
    said = piece.source_lines.of(piece.call(wire), "along", ("along",)).clause
    path = f"path {said.value.name}: " if said is not None and isinstance(said.value, Name) else ""
    return (
        "it stops short of the clasp: draw its line from loop to loop of that, which stands above it at a "
        f"spot of its own, as in '{path}through left of {sides[False]} over (0, -60 mm) to right of "
        f"{sides[True]}'"
    )


def _letter(piece: Piece, body: Body, owners: list[int]) -> Reading | None:
    """What is told of a letter of a plate that stands alone, or of a part of it."""
    call = piece.call(owners[0])
    if len(owners) > 1 or not call.given("letters") or call.get("raised"):
        return None
    from ...words.lettering import typeset

    spot, name = np.array(body.shell.centre), piece.name_of(owners[0])
    frames, spacing = piece.features[owners[0]].frames, call.get("spacing", 0.0)
    frame = frames[int(np.linalg.norm(frames[:, :, 3] - spot, axis=1).argmin())]
    own = fr.apply(fr.inverse(frame), body.skin.corners.reshape(-1, 3))
    setting = typeset(piece.bench, call, call.get("tall"), spacing)
    middle = own[:, 0].min() / 2 + own[:, 0].max() / 2 + setting.wide / 2
    k = int(np.argmin([abs(one.middle - middle) for one in setting.letters]))
    sign, loops = call.get("letters")[k], [np.array(one) for one in setting.letters[k].loops]
    parts = sum(signed_area(loop) > 0 for loop in loops)
    if parts > 1 and not call.given("joined"):
        wide = min(piece.bound("thin-wall", "least", owners[0]) + SPARE, SLIM * float(np.ptp(own[:, 0])))
        part, stay = ("the dot" if sign in "ij" else "a part"), rounded_up(wide)
        told_of = f"{part} of the {sign} of {name} stands alone"
        cure: Cure = f"write joined {stay}: a stay so wide joins it", Mend("joined", stay, "exact")
    else:
        near = nearest(piece, body)
        nearer = mm(spacing - near.gap - OVERLAP) if near else ""
        told_of = f"the {sign} of {name} touches no other letter"
        closer = f"write spacing {nearer} in the line of {name}; or " if nearer else ""
        bar = rounded_up(piece.bound("thin-wall", "advised", owners[0]) + SPARE)
        cure = f"{closer}write joined {bar} in the line of {name}; or write underline {bar}"
    return Reading(
        owners[0], body.shell.volume, body.shell.centre, find="letter", words={"letter": told_of}, cure=cure
    )


def _cut_apart(piece: Piece, body: Body) -> Reading | None:
    """What is told of a body that was one with the main one, until a cut took them apart."""
    measures = piece.casting_measures
    main = measures.bodies[measures.mains[body.casting]]
    both = sorted(set(body.shell.owners) & set(main.shell.owners) - {-1})
    bodies = [one for one in both if piece.features[one].body is not None]
    where: dict[int, set[tuple[int, ...]]] = {}  # what a copy stands for is in two bodies without a cut
    for solid in piece.plan_solids:
        where.setdefault(solid.feature, set()).add(solid.parts)
    made = [one for one in bodies if len(piece.features[one].frames) == 1 and len(where.get(one, ())) < 2]
    cuts = [one for one in both if piece.is_for(one, Role.CUT)]
    if body is main or not made or not cuts:
        return None
    return Reading(
        cuts[-1], body.shell.volume, body.shell.centre, find="cut-apart", others=(made[0],),
        cure=_bridge(piece, body, cuts[-1]),
    )  # fmt: skip


def _bridge(piece: Piece, body: Body, cut: int) -> str | None:
    """What keeps the inside of an O, D or A in its place; None where it is no such thing that falls out."""
    if not piece.call(cut).given("letters"):
        return None
    for letter in piece.plan_solids:
        loops = trace_all(letter.figures[0]) if letter.feature == cut else []
        holes = [loop for loop in loops if signed_area(loop) < 0]
        for frame in letter.frames if holes else ():
            at = fr.apply(fr.inverse(frame), np.array([body.shell.centre]))[0, :2]
            if any((loop.min(axis=0) < at).all() and (at < loop.max(axis=0)).all() for loop in holes):
                bar = rounded_up(piece.bound("thin-wall", "least", cut))
                return f"say 'bridge {bar}': bars so wide are left to what stands inside an O, D or A"
    return None


def _cut_away(piece: Piece, body: Body, part: int) -> Reading | None:
    """What is told of a part that stands where a cut took the metal away."""
    measures = piece.casting_measures
    main = measures.bodies[measures.mains[body.casting]]
    own_room = set(of_one_line(piece, part))  # as that of the other half's knuckles
    for tool in piece.plan_solids:
        if not tool.cut or tool.kind not in STRAIGHT or tool.feature not in main.shell.owners:
            continue
        if tool.feature in body.shell.owners or tool.feature in own_room:
            continue  # what it cut there, too, was there
        loops = trace_all(tool.figures[0])
        corners = np.concatenate(loops)
        low, high = corners.min(axis=0), corners.max(axis=0)
        for frame in tool.frames:
            own = fr.apply(fr.inverse(frame), body.skin.points)[:, :2]
            if (own.min(axis=0) < low - FAR).any() or (own.max(axis=0) > high + FAR).any():
                continue  # what reaches far past it was made apart
            within = inside_loops(loops, own)
            if within.max() > -BESIDE and within.min() > -FAR:
                cut, name = piece.name_of(tool.feature), piece.name_of(part)
                stand = on_floor(piece, tool.feature, part)
                mine, other = (part, tool.feature) if stand else (tool.feature, part)
                return Reading(
                    mine, body.shell.volume, body.shell.centre, find="cut-away", others=(other,),
                    words={"cut": cut, "name": name}, cure=stand or None,
                    keys=("along", "at") if stand else ("in",),
                )  # fmt: skip
    return None


def _hole_round(piece: Piece, body: Body, frame: Floats) -> tuple[float, float]:
    """How wide the hole is in which a part stands, mm, at its narrowest and along x of its ``frame``;
    zeros where the other metal does not go all round it."""
    turn = np.arange(WAYS) * 2 * np.pi / WAYS
    ways = np.stack((np.cos(turn), np.sin(turn), np.zeros(WAYS)), axis=1) @ frame[:, :3].T
    levels = frame[:, 3] + np.outer(np.linspace(-DEEP, DEEP, LAYERS), frame[:, 2])
    rays = np.repeat(levels, WAYS, axis=0), np.tile(ways, (LAYERS, 1))
    far = np.full(WAYS, np.inf)
    for other in piece.casting_measures.bodies:
        if other is not body:
            off, met = other.skin.grid.cast(*rays, leaving=False, reach=REACH)
            into = (met >= 0) & ((rays[1] * other.skin.normals[met]).sum(axis=1) < 0)  # from without
            far = np.minimum(far, np.where(into, off, np.inf).reshape(LAYERS, WAYS).min(axis=0))
    own = fr.apply(fr.inverse(frame), body.skin.corners.reshape(-1, 3))
    own = own[np.abs(own[:, 2]) < DEEP]
    sector = np.rint(np.arctan2(own[:, 1], own[:, 0]) * WAYS / (2 * np.pi)).astype(int) % WAYS
    inside = np.hypot(own[:, 0], own[:, 1]) <= far[sector]  # a bar along an oval hole is long
    if not len(own) or not np.isfinite(far).all() or not inside.all():
        return 0.0, 0.0
    return 2 * float(far.min()), 2 * float(max(far[0], far[WAYS // 2]))
