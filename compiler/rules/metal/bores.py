"""The hole for the finger: metal or a stone in it, a ring too large for it, a weight that turns on it; and
what is bored to fit its band."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import TYPE_CHECKING

import numpy as np
from manifold3d import Manifold

from ...bench.feature import Feature
from ...bench.roles import Role
from ...judging.bores import inner_radius
from ...judging.digits import mm, rounded_up
from ...judging.figure_rule import Reading
from ...judging.halves import shut_on
from ...judging.moves import move, told
from ...judging.remedies import written
from ...judging.rule import Mend
from ...judging.services import indices_of

if TYPE_CHECKING:
    from ...judging.bores import Bore
    from ...judging.piece import Piece
    from ...measures.kinds import Floats


SHANK = 1.0  # mm beyond the hole, from where on metal is the head's: house choice, no source
TIP = 0.4  # mm, how near a stone's point may come to the finger: house choice, no source
SINKS = 1.12  # of what the head's weight asks for: metal that goes down into the shank is lost to it
HIGH = 10.0  # mm, heads stand no higher over the finger than about so
NEXT = 0.2  # mm of air kept between a stone that is set lower and the metal under it: house choice, no source
LOW = 0.1  # mm; a head that can be set no lower than so is left: house choice, no source
CLEARED = 1e-3  # of a part, that stands in the finger hole and is cleared: house choice, no source
WRIST = 3.0  # times as far in as into a finger's hole, since a wrist gives: house choice, no source


def blocked_bore(piece: Piece) -> Iterator[Reading]:
    """Metal or a stone in the hole for the finger."""
    from ...judging.bores import standing_in

    bore = piece.wear_measures.hole
    if bore is None:
        yield from _in_an_oval(piece)
        return
    bound = piece.bound("blocked-bore", "most", bore.feature)
    for owner, (deep, at) in sorted(standing_in(piece.skin_measures.skin, bore, bound).items()):
        if piece.features[owner].body is None or (owner == bore.feature and not bore.stated):
            continue  # a cut is no metal; what goes round has only itself to be measured by
        yield Reading(
            owner, deep, at, words={"whose": bore.whose, "wide": mm(2 * bore.radius)},
            cure=partial(_out_of_the_way, piece, bore, owner, deep, np.array(at)),
        )  # fmt: skip


def _in_an_oval(piece: Piece) -> Iterator[Reading]:
    """Metal laid along an oval path round a wrist that stands inside the measure its line says."""
    skin = piece.skin_measures.skin
    for path in piece.features:
        call = piece.call(path.index)
        across = call.get("inside") if path.body is None and call.given("inside") else ()
        if path.about or not isinstance(across, tuple) or len(across) != 2:
            continue
        half = np.array(across)[[0, 1]] / 2
        for owner in (one for one in piece.features if one.body is not None):
            if piece.course(owner.index) != path.index:
                continue
            corners = skin.corners[skin.owner == owner.index].reshape(-1, 3)
            flat = (corners - path.frames[0][:, 3]) @ path.frames[0][:, [0, 2]]
            share = np.maximum(np.linalg.norm(flat / half, axis=1), 1e-9)
            slope = np.linalg.norm(flat / half**2, axis=1) / share
            deep = (1.0 - share) / np.maximum(slope, 1e-9)
            if len(deep):
                k, wide = int(deep.argmax()), f"{across[0]:g} x {across[1]:g} mm"
                yield Reading(
                    owner.index, float(deep[k]), corners[k], words={"whose": "wrist", "wide": wide},
                    scale=WRIST, cure=partial(_laid_out, piece, path.index, float(deep[k])),
                )  # fmt: skip


def _laid_out(piece: Piece, path: int, deep: float, _: float = 0.0) -> str:
    """The outset of a path by which what runs along it stands on its measure."""
    call = piece.call(path)
    out = float(call.get("outset") or 0.0) - float(call.get("inset") or 0.0) + deep
    bare = "; then leave inset out in the line of " + piece.name_of(path) if call.given("inset") else ""
    line = f"in the line of {piece.name_of(path)}{bare}"
    return f"write outset {rounded_up(out)} {line}: its inner side is then the measure"


def _out_of_the_way(piece: Piece, bore: Bore, owner: int, deep: float, at: Floats, _: float) -> str:
    path = piece.course(owner)
    if path is not None and piece.features[path].about:
        return _laid_out(piece, path, deep)
    if owner == bore.feature or "along" in piece.clauses_of(owner):
        return f"lay it farther out: 'outset {rounded_up(deep)}' more on its line, or take thinner wire"
    out = at - bore.middle
    out -= (out @ bore.axis) * bore.axis
    way = told(piece, owner, deep * out / max(float(np.linalg.norm(out)), 1e-9), "outward")
    # One that finds its own foot on metal takes one in figures.
    foot = "on" in piece.clauses_of(owner)
    shorter = "give its foot in mm, where it says on" if foot else "make it shorter"
    return f"move it {way} or {shorter}{_cleared(piece, bore)}"


def _cleared(piece: Piece, bore: Bore) -> str:
    """How a band's hole is cleared; a ring of wire has no such clause."""
    if piece.wear_measures.bore is None:
        return ""
    band, block = written(piece, bore.feature)
    return f", or clear it below its line{block}: bore: of {band}"


def fitted_off(piece: Piece) -> Iterator[Reading]:
    """A body most of which a line of the text's own files away that is to fit its foot to a band: of what
    is seen of it outside the hole for the finger and beside that band, a share."""
    for fit, call in piece.with_role(Role.CUT):
        body, solids = call.get("in"), [one for one in piece.plan_solids if one.feature == fit.index]
        filed = [one for one in solids if one.kind == "round-shank"]
        if call.trail or not isinstance(body, Feature) or not filed:
            continue
        mine = {*indices_of(body)}
        whole = outside = sum(piece.laid(mine), Manifold())
        for hole in piece.standing(one for one in solids if one.kind != "round-shank"):
            outside -= hole
        seen = outside - sum(piece.laid({*indices_of(call.get("of"))}), Manifold())
        lost = seen ^ sum(piece.standing(filed), Manifold())
        stands = {one for one in range(len(piece.features)) for base in mine
                  if piece.source_lines.rests_on(piece.call(one), piece.call(base))}  # fmt: skip
        name, own = body.name if body.index < 0 else piece.name_of(body.index), piece.name_of(fit.index)
        idle = whole.volume() - outside.volume() < CLEARED * outside.volume()
        yield Reading(
            fit.index, float(lost.volume() / max(seen.volume(), 1e-9)), outside.bounding_box()[3:],
            words={"body": name}, others=(*sorted(mine | stands),),
            cure=f"leave {own} out: {name} does not stand in the finger hole" if idle else None,
        )  # fmt: skip


def loose_bore(piece: Piece) -> Iterator[Reading]:
    """A ring laid along a path round a finger that comes out larger than that finger."""
    for feature in piece.features:
        call = piece.call(feature.index)
        if not feature.about or not len(feature.frames):
            continue
        home, axis = feature.frames[0][:, 3], feature.frames[0][:, 1]
        inner = inner_radius(piece.skin_measures.skin, home, axis)
        if inner is None:
            continue
        slack = inner - feature.about / 2
        said = {"inside": mm(2 * inner), "slack": mm(slack), "finger": mm(feature.about)}
        outset = float(call.get("outset") or 0.0) - slack
        yield Reading(feature.index, slack, home, words=said, cure=partial(_nearer, slack, outset))


def _nearer(slack: float, outset: float, bound: float) -> str | tuple[str, Mend]:
    if outset <= -bound:
        return f"bring what runs along it {rounded_up(slack)} nearer"
    return f"write outset {max(outset, 0.0):.2f} mm", Mend("outset", f"{max(outset, 0.0):.2f} mm")


def rolling_ring(piece: Piece) -> Iterator[Reading]:
    """A ring whose weight turns it on the finger, with what hinges hold shut upon it."""
    hole = piece.wear_measures.hole
    names = {casting.name for casting in piece.casting_measures.cast}
    together = any({name} | shut_on(piece, name) >= names for name in names)
    if hole is None or hole.whose != "finger" or not together:
        return
    _, centre = piece.wear_measures.centre
    go = centre - hole.middle
    off = float(np.linalg.norm(go - (go @ hole.axis) * hole.axis))
    said = {"finger": mm(2 * hole.radius)}
    cure = partial(_lighter_head, piece, hole, off)
    yield Reading(hole.feature, off, centre, scale=hole.radius, words=said, cure=cure)


def _lighter_head(piece: Piece, hole: Bore, off: float, bound: float) -> str:
    """What brings the weight of a ring nearer to the finger: its stones set lower, as far as their points
    let them, and else a lighter head or a heavier shank."""
    from ...judging.joined_metal import masses

    other = "hollow the head, or make the shank wider and thicker at the back"
    grams, centre = piece.wear_measures.centre
    up = (centre - hole.middle) / np.linalg.norm(centre - hole.middle)
    skin, stones, ground = piece.skin_measures.skin, piece.stones, hole.radius + SHANK
    high = np.maximum((skin.corners.mean(axis=1) - hole.middle) @ up - ground, 0.0)
    metal = float((skin.normals @ up * skin.areas * high).sum()) * next(iter(masses(piece, piece.parts)))[1]
    over = [k for k, frame in enumerate(stones.frames) if (frame[:, 3] - hole.middle) @ up > ground]
    set_stones = (piece.wear_measures.stone_masses[k] for k in over)
    head = (metal + sum(volume * density for (volume, _), density in set_stones)) / 1000
    lines = {int(stones.line[k]) for k in over}
    lines |= {bed.body for bed in piece.beds if bed.stone in over and bed.body != hole.feature}
    free = [one for one in lines if not any(_goes_along(piece, one, other) for other in lines - {one})]
    if len(free) != 1 or head <= 0:
        return other
    tips = [(stones.frames[k, :, 3] - hole.middle) @ up + piece.stone_measures.form(k).tip for k in over]
    lower = float(rounded_up(SINKS * (off - bound) * grams / head).split()[0])
    most = min(float(min(tips)) - hole.radius - TIP, _room_below(piece, over, -up, free[0]))
    way = move(piece, free[0], -min(lower, most) * up) if min(lower, most) > LOW else None
    if way is None:
        return other
    said = f"move {piece.name_of(free[0])} {way.in_piece}"
    return f"{said}, or {other}" if lower <= most else f"{other}; besides {said}, as low as it goes"


def _room_below(piece: Piece, stones: list[int], way: Floats, line: int) -> float:
    """How far some stones go a way, unit (3,), before one meets metal that does not go along with their line,
    mm; inf where none is in the way."""
    skin, room = piece.skin_measures.skin, np.inf
    stays = [not _goes_along(piece, one.index, line) for one in piece.features]
    for stone in stones:
        points = piece.stone_measures.stones[stone].points
        far, met = skin.grid.cast(points, np.tile(way, (len(points), 1)), leaving=False, reach=HIGH)
        fast = np.append(stays, False)[np.append(skin.owner, -1)[met]]
        room = min(room, float(far[fast].min(initial=np.inf)))
    return room - NEXT


def _goes_along(piece: Piece, line: int, base: int) -> bool:
    return piece.source_lines.rests_on(piece.call(line), piece.call(base))
