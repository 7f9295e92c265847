"""Loops and rings in the metal: slack, tight, captive, shut."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from ...bench.feature import Places
from ...bench.hung import STAND, asked
from ...bench.linked import link_wires
from ...bench.roles import Role
from ...bench.slid import along
from ...geometry import frames as fr
from ...judging.digits import above, below, mm, rounded_up
from ...judging.figure_rule import Reading
from ...judging.halves import opened
from ...judging.joints import ring_lines
from ...judging.nearness import between
from ...judging.remedies import farther_apart
from ...judging.rule import Mend

if TYPE_CHECKING:
    from ...bench.feature import Feature
    from ...judging.castings import Casting
    from ...judging.hanging import Loop
    from ...judging.joints import Body
    from ...judging.nearness import Nearness
    from ...judging.piece import Piece
    from ...measures.kinds import Floats
    from ...measures.skin import Skin

INSIDE = "loop", "inside"  # the clause that says the inside of a loop
BOTH = ", and in that of the other half"
LARGER, STEP = 30, 0.1  # sizes tried, mm apart
ASLANT = 0.1  # of a unit, how far the hole of a loop looks off that lies aslant to a chain
FEET = 0.7  # cosine, the feet of letters look to a loop within 45 degrees of it


def letters_upside_down(piece: Piece) -> Iterator[Reading]:
    """Letters whose feet look to what the piece hangs by, and stones that 'up' moved away from it."""
    for feature, call in piece.with_role(Role.ENGRAVING):
        if not call.given("letters") or call.given("along") or call.get("reversed"):
            continue
        over = _upended(piece, feature)
        if len(over):
            turn = f"{(float(call.get('turn') or 0.0) + 180.0) % 360.0:g} deg"
            hung = "loop it hangs by" if piece.wear_measures.loops else "hinge, once it is shut"
            yield Reading(
                feature.index, float(len(over)), over[0, :, 3], words={"above": hung, "turn": turn},
                mend=Mend("turn", turn),
            )  # fmt: skip
    for line in np.unique(piece.stones.line).tolist():
        yield from _moved_down(piece, line)


def _moved_down(piece: Piece, line: int) -> Iterator[Reading]:
    """Stones at a face that 'up' moved down."""
    feature, call = piece.features[line], piece.call(line)
    at, up = call.get("at"), call.get("up") if "up" in piece.clauses_of(line) else None
    face = call.given("on") or (isinstance(at, Places) and not at.ends and not at.of_line)
    if not face or call.get("turn") or not up or up < 0:
        return
    over = _upended(piece, feature)
    if len(over):
        yield Reading(line, float(up), over[0, :, 3], find="moved", words={"up": mm(up)})


def _upended(piece: Piece, feature: Feature) -> Floats:
    """Those places (n, 3, 4) of a feature whose y looks away from a loop that lies straight above or below;
    on the outside of a lid that lies open, as they are when it is shut, and where there is no loop from its
    hinge, that is behind."""
    loops = np.array([loop.middle for loop in piece.wear_measures.loops]).reshape(-1, 3)
    frames = feature.frames
    hinge = opened(piece, feature.name.partition(".")[0]) if (frames[:, 2, 2] < -FEET).all() else None
    if hinge is not None:
        loops = loops if len(loops) else hinge[None, :, 3]
        own = fr.compose(fr.inverse(hinge)[None], frames)
        frames = fr.compose(hinge[None], fr.compose(fr.turned(0, 180.0), own))
    go = loops[None] - frames[:, None, :, 3]
    cosine = np.einsum("nkj,nj->nk", go, frames[:, :, 1]) / np.linalg.norm(go, axis=2)
    return np.asarray(frames[cosine.max(axis=1, initial=-1.0 if len(loops) else 1.0) < -FEET])


def slack_loop(piece: Piece) -> Iterator[Reading]:
    """One of two loops carries nothing."""
    for _, rest in piece.casting_measures.rests:
        if len(rest.loops) < 2:
            continue
        loads = [rest.hang.shares[0], rest.hang.shares[1]]
        loop = rest.loops[loads.index(min(loads))]
        yield Reading(loop.feature, min(loads), loop.middle)


def tight_link(piece: Piece) -> Iterator[Reading]:
    """Linked parts without play."""
    for joint in piece.casting_measures.joints:
        one, two = piece.casting_measures.bodies[joint.one], piece.casting_measures.bodies[joint.two]
        if joint.how == "soldered" or one.casting == two.casting:
            continue  # of one casting, see closing-gap
        near = between(two.skin, one.skin)
        mine, other = max(near.first, 0), max(near.second, 0)
        bound = piece.bound("tight-link", "least", mine)
        play = one.gap(two, 1.1 * bound)
        if below(play, bound):
            rings = all(piece.features[one].opening is not None for one in (mine, other))
            inside = piece.call(mine).get("inside")
            mend = rings and isinstance(inside, float)
            yield Reading(
                mine, play, near.at, find="rings" if rings else "", words={"in": piece.name_of(other)},
                cure="make its inside larger, or its wire thinner" if rings
                else _larger(piece, mine, other, near.at, bound)
                or _off(piece, two, one, near, 1.05 * bound + 0.01),
                mend=Mend("inside", rounded_up(inside + 2.1 * (bound - play)), "least") if mend else None,
            )  # fmt: skip
    for loop, hole, room in piece.casting_measures.in_holes:
        across = piece.call(hole).figure("across") or 0.0
        yield Reading(
            loop.feature, room, loop.middle, find="hole", others=(hole,),
            words={"room": mm(max(room, 0.0)), "wire": mm(loop.wire), "across": mm(across)},
            cure=partial(_drilled, piece, hole, across, room),
        )  # fmt: skip
    for first, second, spot in piece.casting_measures.fused:
        names = piece.name_of(first), piece.name_of(second)
        whose = f"the links of {names[0]}" if names[0] == names[1] else " and ".join(names)
        yield Reading(
            second, 0.0, spot, find="fused", bound=piece.bound("tight-link", "least", second),
            words={"whose": whose}, others=(first,),
        )  # fmt: skip


def _drilled(piece: Piece, hole: int, across: float, room: float, bound: float) -> tuple[str, Mend]:
    wider = Mend("across", rounded_up(across + 2 * (bound - room)), "least", hole)
    return f"drill {piece.name_of(hole)} wider, or take thinner wire", wider


def _larger(piece: Piece, mine: int, other: int, at: Floats, bound: float) -> str:
    """The inside of a loop in which an end link of a chain swings, its outer end where it is, or the loops'
    wire that the chain's links are to go round; "" of others."""
    clasp = piece.is_for(mine, Role.CLASP) or piece.is_for(other, Role.CLASP)
    chain, loop = sorted((mine, other), key=lambda one: one not in piece.chains)
    use = next(iter(piece.call(loop).within), None)
    mates = [one for one in piece.wear_measures.loops if use in piece.call(one.feature).within[:1]]
    loops = [one for one in mates if one.feature == loop] or mates
    key = next((k for k in INSIDE if use is not None and use.word.take(k) is not None), "")
    if chain not in piece.chains or not loops or use is None:
        return ""
    here = min(loops, key=lambda one: float(np.linalg.norm(one.middle - at)))
    stands = piece.features[here.feature]
    if ASLANT < abs(here.axis[2]) < 1.0 - ASLANT and stands.may_stand and not stands.on_edge:
        return f"say '{STAND}' in the line of {asked(stands.may_stand)}"
    wires = [(line, thick) for _, line, thick in link_wires([piece.features[chain]])]
    line, thick = min(wires, key=lambda one: float(np.linalg.norm(one[0].points - here.middle, axis=1).min()))
    spots = along(line.points)
    pulled = here.pulled(spots.mean(axis=0) - here.middle) - here.middle
    one, two = here.across
    turn = np.linspace(0.0, 2 * np.pi, 8 * LARGER, endpoint=False)[:, None]
    for inside in here.inside + np.arange(1, LARGER if key else 1) * STEP:
        middle = here.middle - pulled * (inside / here.inside - 1.0)
        ring = middle + (inside + here.wire) / 2 * (np.cos(turn) * one + np.sin(turn) * two)
        apart = np.linalg.norm(ring[:, None] - spots[None], axis=2).min()
        if apart - (here.wire + thick) / 2 > 1.05 * bound:
            said = f"write {key} {mm(np.ceil(inside * 10 - 1e-6) / 10)} in the line of {asked(use.name)}"
            return said + BOTH * clasp
    links = next(iter(piece.call(chain).within), None)
    wire = None if links is None else links.arguments.get("loop-wire")
    if links is None or wire is None or (wire.given and wire.value >= here.wire):
        return ""
    if mm(wire.value) != mm(here.wire):
        return f"write loop-wire {mm(here.wire)} in the line of {links.name}"
    wide = links.arguments.get("wide")  # of links that have one, found from the loops' wire
    if wide is None or wide.given or links.arguments["kind"].value != "cable":
        return ""
    return f"write wide {rounded_up(wide.value + 2 * bound + STEP)} in the line of {links.name}"


def _off(piece: Piece, body: Body, other: Body, near: Nearness, room: float) -> str:
    """The move that gives a link its play, tried on the two."""
    from ...judging.clearing import off_body

    first, second = max(near.first, 0), max(near.second, 0)
    names = piece.name_of(first), piece.name_of(second)
    for chain, loop in ((first, second), (second, first)):
        if said := _hung_instead(piece, chain, loop):
            return said
    block = names[0].partition(".")[0]
    if block == names[1].partition(".")[0]:
        return farther_apart(piece, block, room - near.gap)
    if said := _level(piece, (first, second), near, room):
        return said
    clasp = any(piece.is_for(one, Role.CLASP) for one in (first, second))
    if clasp and not piece.chains.isdisjoint((first, second)):  # moved off it, it would close nothing
        return "take a larger clasp, or a chain of thinner wire"
    for k, one, two, mine, fixed, way in (
        (0, body, other, first, second, -near.way), (1, other, body, second, first, near.way),
    ):  # fmt: skip
        if said := off_body(piece, one, two, mine, fixed, way, room):
            return f"move {names[k]} {said}, off {names[1 - k]}"
    return f"set {names[0]} {rounded_up(room)} farther from {names[1]}"


def _level(piece: Piece, two: tuple[int, int], near: Nearness, room: float) -> str:
    """The move that brings a block whose loops stand beside a chain level with it; "" of other links."""
    from ...judging.clearing import across_chain

    chain, loop = sorted(two, key=lambda one: one not in piece.chains)
    name = piece.name_of(loop).partition(".")[0]
    block = next((one.index for one in piece.features if one.name == name and one.index != loop), None)
    lines = [line.points for _, line, _ in link_wires([piece.features[chain]])]
    if block is None or not lines:
        return ""
    points = min(lines, key=lambda one: float(np.linalg.norm(one - near.at, axis=1).min()))
    run = np.linalg.svd(points - points.mean(axis=0), full_matrices=False)[2][0]
    moved = across_chain(piece, block, chain, run, room)
    return moved and f"move {name} {moved}, level with {piece.name_of(chain)}"


def _hung_instead(piece: Piece, chain: int, loop: int) -> str:
    """What hangs a chain that was laid along a path at a loop, in that; "" for any other."""
    use = next(iter(piece.call(chain).within), None)
    if use is None or chain not in piece.chains or use.word.take("hangs-in") is None:
        return ""
    line, along = piece.source_lines.of(piece.call(chain), None, ()).line, use.arguments.get("along")
    said = {clause.key.name for clause in line.clauses} if line is not None else set()
    if along is None or not {"at", "along"} <= said:
        return ""
    long = rounded_up(sum(line.length() for line in along.value.lines))
    hung = f"say 'hangs-in {piece.name_of(loop)}' in place of 'at', and 'long {long}' in place of 'along'"
    return f"{hung}: its first link then goes through the loop, each strand through its own"


def captive_ring(piece: Piece) -> Iterator[Reading]:
    """A loose ring round another casting that is wider on both sides of it."""
    cast = piece.casting_measures.cast
    rings = piece.with_role(Role.SHANK) if len(cast) > 1 else ()
    for ring, _ in rings:
        mine = next((one for one in cast if ring.index in one.skin.owner), None)
        for other in cast if mine is not None else ():
            if mine is not None and other is not mine and (found := _held(piece, ring, mine, other)):
                yield found


def _held(piece: Piece, ring: Feature, mine: Casting, other: Casting) -> Reading | None:
    """What is told of a ring that cannot go over what stands within it, whole."""
    own, on_own = _round(ring, mine.skin.corners[mine.skin.owner == ring.index].reshape(-1, 3))
    off, along = _round(ring, other.skin.corners.reshape(-1, 3))
    inside, low, high = float(own.min()), float(on_own.min()), float(on_own.max())
    sides, within = along.reshape(-1, 3), (off.reshape(-1, 3) < inside).all(axis=1)
    through = (sides.min(axis=1) < high) & (sides.max(axis=1) > low) & within
    beyond = [float(off[one].max(initial=0.0)) for one in (along <= low, along >= high)]
    if not through.any() or not above(min(beyond), inside):
        return None
    edge = int(other.skin.owner[int(np.where(along >= high, off, 0.0).argmax()) // 3])
    held = piece.name_of(edge) if edge >= 0 else other.called
    return Reading(
        ring.index, inside, ring, bound=min(beyond),
        words={"held": held, "inside": mm(2 * inside), "pass": mm(2 * min(beyond))},
    )  # fmt: skip


def _round(ring: Feature, spots: Floats) -> tuple[Floats, Floats]:
    """How far spots (n, 3) lie from the axis of a ring, and where along it."""
    frame = ring.frames[0]
    from_middle = spots - frame[:, 3]
    along = from_middle @ frame[:, 1]
    return np.linalg.norm(from_middle - along[:, None] * frame[:, 1], axis=1), along


def empty_loop(piece: Piece) -> Iterator[Reading]:
    """The loop of a clasp that no chain goes through, where there is one."""
    if not any(piece.is_for(one, Role.FINDING) for one in piece.chains):
        return
    loops = [loop for loop in piece.wear_measures.loops if piece.is_for(loop.feature, Role.CLASP)]
    for loop in loops:
        if piece.casting_measures.links(loop):
            continue
        far = [
            float(np.linalg.norm(line - loop.middle, axis=1).min())
            for feature, line in ring_lines(piece) if not piece.is_for(feature, Role.CLASP)
        ]  # fmt: skip
        yield Reading(
            loop.feature, min(far, default=0.0), loop.middle, bound=(loop.inside + loop.wire) / 2,
            words={"let": _let_in(loops)},
        )  # fmt: skip


def _let_in(loops: list[Loop]) -> str:
    """How a clasp of two loops is let into a chain that leaves room for it."""
    if len(loops) != 2:
        return ""
    one, two = loops
    over = float(np.linalg.norm(one.middle - two.middle)) + (one.inside + two.inside) / 2
    over += one.wire + two.wire
    return f"; a 'station-chain' leaves it 'room {mm(over)}' at its station"


MOST = 0.5  # of the metal besides a loop; one with more of it inside is a frame


def blocked_loop(piece: Piece) -> Iterator[Reading]:
    """Metal in the opening of a loop."""
    from ...judging.hanging import free_opening, opens_on_both_sides

    through = {loop.feature for loop, _, _ in piece.casting_measures.in_holes}
    for loop in piece.wear_measures.loops:
        if loop.feature in through:
            continue  # what stands in it is what it goes through: see tight-link
        bound = piece.bound("blocked-loop", "least", loop.feature) * loop.inside
        skin = piece.casting_measures.seen_by(loop)
        casting = piece.casting_measures.casting_of(loop)
        if _frames(loop, casting.skin if casting is not None else skin):
            continue
        free = free_opening(loop, skin)
        if casting is not None and casting.hook and free > casting.hook:
            continue  # it goes in there
        if not below(free, bound) and not opens_on_both_sides(loop, skin):
            yield Reading(
                loop.feature, 0.0, loop.middle, find="flat", bound=bound, words={"wire": mm(loop.wire)}
            )
        if below(free, bound):
            name = _standing(piece, loop, skin)
            yield Reading(
                loop.feature, free, loop.middle, bound=bound, cure=_out_of(piece, loop, skin, bound, name),
                words={"what": name or "metal", "inside": mm(loop.inside)},
            )  # fmt: skip


def _out_of(piece: Piece, loop: Loop, skin: Skin, bound: float, name: str) -> str:
    from ...judging.clearing import clear_opening

    if said := clear_opening(piece, loop, skin, bound):
        return f"move {piece.name_of(loop.feature)} {said}, or make its inside larger"
    out = f"farther out of {name}" if name else "farther out"
    return f"move the loop {out}, sink it less, or make its inside larger"


def _frames(loop: Loop, skin: Skin) -> bool:
    """Whether a loop goes round most of the other metal, as a frame does round what it holds: what hangs by
    an eye lies outside it."""
    other = skin.owner != loop.feature
    off = np.linalg.norm(skin.corners[other].mean(axis=1) - loop.middle, axis=1)
    areas = skin.areas[other]
    return bool(areas[off < (loop.inside + loop.wire) / 2].sum() > MOST * areas.sum())


def _standing(piece: Piece, loop: Loop, skin: Skin) -> str:
    """The line whose metal comes nearest to the middle of a loop's opening."""
    from ...measures.closest import on_triangle

    half = loop.inside / 2
    face = skin.grid.near(loop.middle[None] - half, loop.middle[None] + half)[1]
    face = face[(skin.owner[face] >= 0) & (skin.owner[face] != loop.feature)]
    if not len(face):
        return ""
    spots = on_triangle(np.tile(loop.middle, (len(face), 1)), skin.corners[face])
    nearest = int(np.linalg.norm(spots - loop.middle, axis=1).argmin())
    return piece.name_of(int(skin.owner[face[nearest]]))
