"""halves-apart: two halves of a hinge, a clasp or a catch that do not stand at one place; idle-catch: a catch
whose halves, drawn shut, do not hold one another."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from ....lang import tree
from ...bench.roles import Role
from ...judging.bound import Bound
from ...judging.digits import above, mm, rounded_down, rounded_up
from ...judging.figure_rule import Reading
from ...judging.halves import Half, bodies_named, halves_of, hollow_of, is_hinge, pairs, room_of, walled
from ...judging.moves import TURNS, told
from ...judging.rule import Level

if TYPE_CHECKING:
    from manifold3d import Manifold

    from ...judging.piece import Piece
    from ...measures.kinds import Floats

SAME = 0.01  # mm, halves nearer stand at one place, and can be askew alone
TURNING = [key for key, _ in TURNS]
TOUCH = 0.3  # mm, castings drawn as they meet are as near; others lie apart, each by itself
AJAR = 1.5  # mm, nearer the halves of a catch stand apart by a slip, not because the piece is drawn open
LIFTS = np.arange(0.1, 1.25, 0.1)  # mm, that a catch is opened by
ROUND = 0.3  # mm, the metal round a catch that may hold it
ASIDE = np.arange(0.02, 3.0, 0.02)  # mm, that a lip may stand off the wall it is to snap into
PLAY = 0.1  # mm, as far as a lip that fits stands off that
FITS = 0.06  # mm, from a lip to the wall it snaps into
NOTHING = 1e-6  # mm3
# House choice, no source.
ASKEW = 20.0  # degrees between a tongue and the arc its hinge swings it on, past which its end meets the wall


def check(piece: Piece) -> Iterator[Reading]:
    halves = list(halves_of(piece))
    bound = piece.bound("halves-apart", "most")
    apart = pairs(halves)
    bounds = {(a, b): _play(piece, halves[a], bound) for a, b in apart}
    together = [pair for pair, off in apart.items() if not above(off, bounds[pair])]
    met = {half for pair in together for half in pair}
    for (a, b), off in sorted(apart.items(), key=lambda one: one[1]):
        one, two = halves[a], halves[b]
        if {a, b} & met or not _meet(piece, one.casting, two.casting):
            continue
        # What one pair of halves joins may stand open at another; no pin goes through a hinge that does.
        castings = {one.casting, two.casting}
        joints = [halves[pair[0]] for pair in together if {halves[k].casting for k in pair} == castings]
        ajar = off > AJAR and all(_turns_to(joint, one, two) for joint in joints)
        if joints and ajar and not is_hinge(one):
            continue
        met |= {a, b}
        yield _told(piece, one, two, off, bounds[a, b])
    for a, b in together:
        for hinge, _ in together:
            if is_hinge(halves[hinge]) and halves[hinge].casting in (halves[a].casting, halves[b].casting):
                yield from _askew(piece, halves[a], halves[b], halves[hinge])
    for (a, b), off in sorted(apart.items(), key=lambda one: one[1]):
        if not {a, b} & met and Role.CLASP in halves[a].finding.roles:  # may be drawn open
            met |= {a, b}
            yield _told(piece, halves[a], halves[b], off, bound, Level.HINT)


def _askew(piece: Piece, one: Half, two: Half, hinge: Half) -> Iterator[Reading]:
    """A tongue that does not lie along the arc its hinge swings it on: it runs into a wall of its box."""
    within = piece.call(one.feature).within
    long = next((use.arguments["long"] for use in reversed(within) if "long" in use.arguments), None)
    if long is None or Role.CLASP not in one.finding.roles:
        return
    way = one.frame[:, 0]
    away = one.at - way * float(long.value) / 2 - hinge.at
    away -= hinge.frame[:, 0] * float(away @ hinge.frame[:, 0])
    radius = max(float(np.linalg.norm(away)), SAME)
    askew = float(np.degrees(np.arcsin(min(abs(float(way @ away)) / radius, 1.0))))
    bows = float(long.value) ** 2 / 8 / radius
    names = {"first": piece.name_of(one.feature), "second": piece.name_of(two.feature)}
    others = (one.feature, hinge.feature)
    if above(askew, ASKEW):
        swung = names | {"pivot": piece.name_of(hinge.feature)}
        yield Reading(two.feature, askew, one.at, find="askew", bound=ASKEW, words=swung, others=others)
        return
    yield Reading(
        two.feature, bows, one.at, find="bowed", words=names, others=others,
        cure=lambda bound: "; then ".join(
            f"write long {rounded_down(math.sqrt(8 * radius * bound))} in the line of {name}"
            for name in names.values()
        ),
    )  # fmt: skip


def _play(piece: Piece, half: Half, bound: Bound) -> Bound:
    """How far its other half may stand off: of a hinge no farther than its pin has play."""
    play = piece.call(half.feature).figure("gap") if is_hinge(half) else None
    return bound if play is None else Bound(min(bound, play), bound.limit)


def _turns_to(joint: Half, one: Half, two: Half) -> bool:
    """Whether two halves come together as their castings turn about a hinge: as far from its axis both."""
    away = np.stack([half.at - joint.at for half in (one, two)])
    away -= np.outer(away @ joint.frame[:, 0], joint.frame[:, 0])
    return not is_hinge(joint) or abs(float(np.subtract(*np.linalg.norm(away, axis=1)))) < TOUCH


def idle_catch(piece: Piece) -> Iterator[Reading]:
    halves = list(halves_of(piece))
    for (a, b), off in pairs(halves).items():
        one, two = halves[a], halves[b]
        shut = not above(off, piece.bound("halves-apart", "most"))
        if not shut or is_hinge(one) or Role.CLASP in one.finding.roles:
            continue
        fixed, moved = (_beside_catch(piece, half, one, two) for half in (one, two))
        way, across = one.frame[:, 2], one.frame[:, 0]
        held = max(_along(fixed ^ moved.translate(lift * way), across) for lift in LIFTS)
        yield Reading(
            two.feature, held, two.at, others=(one.feature,),
            words={"held": f"{mm(held)} of bump behind the wall" if held else "the bump meets no wall"},
            cure=partial(_to_hold, piece, fixed, moved, one, two),
        )  # fmt: skip


def _to_hold(piece: Piece, fixed: Manifold, moved: Manifold, one: Half, two: Half, _: float) -> str:
    """What lets a lip snap into the wall of the other half, of two halves with the metal beside them."""
    across, halves = one.frame[:, 0], sorted((one, two), key=lambda half: _is_dimple(piece, half))
    sides = ((far, side) for far in ASIDE for side in (far, -far))
    met = (far for far, side in sides if (fixed ^ moved.translate(side * across)).volume() > NOTHING)
    aside = next(met, 0.0)
    if aside <= PLAY:
        named = " and ".join(piece.name_of(half.feature) for half in (one, two))
        hold = f"in the lines of {named} leave bump and gap out: such as hold are taken"
        return f"{hold}; or make reach larger in both"
    wall, other = (
        walled(piece, hollow_of(piece, half), by)
        for half, by in zip(halves, (FITS - aside, aside - FITS), strict=True)
    )
    return (
        f"the lip stands {mm(aside)} off the wall it is to snap into: {other or wall}; or {wall}" if wall else
        f"the lip stands {mm(aside)} off the wall it is to snap into: make the hollow of its own half "
        f"{rounded_up(aside - FITS)} wider on that side, or the wall of the other half as much thicker"
    )


def _is_dimple(piece: Piece, half: Half) -> bool:
    """Whether a half is the one that the lip snaps into."""
    use = next(one for one in piece.call(half.feature).within if Role.HALF in one.word.roles)
    return "other" in use.arguments and bool(use.arguments["other"].value)


def _beside_catch(piece: Piece, half: Half, *both: Half) -> Manifold:
    """The metal of the casting of a half round the faces that both halves made."""
    from manifold3d import Manifold

    from ...metal.kernel import join

    spots = np.concatenate([spot for one in both for spot in _faces(piece, one)])
    low, high = spots.min(axis=0) - ROUND, spots.max(axis=0) + ROUND
    room = Manifold.cube(high - low).translate(low)
    return join([body.solid ^ room for body in bodies_named(piece, half.casting)])


def _faces(piece: Piece, half: Half) -> Iterator[Floats]:
    """Corners (n, 3) of what a half made, of each body of its casting; the place it stands at."""
    yield half.at[None, :]
    name = piece.features[half.feature].name.rpartition(".")[0]
    made = [one.index for one in piece.features if one.name.startswith(f"{name}.")]
    for body in bodies_named(piece, half.casting):
        yield body.skin.corners[np.isin(body.skin.owner, made)].reshape(-1, 3)


def _along(solid: Manifold, way: Floats) -> float:
    """How long a solid is along a way, mm; nothing is 0."""
    if solid.volume() < NOTHING:
        return 0.0
    return float(np.ptp(np.asarray(solid.to_mesh64().vert_properties)[:, :3] @ way))


def _told(
    piece: Piece, one: Half, two: Half, off: float, bound: Bound, level: Level | None = None
) -> Reading:
    return Reading(
        two.feature, off, two.at, bound=bound, others=(one.feature,), level=level,
        cure=f"{_turned(piece, one, two) or _remedy(piece, one, two)}; or stand both at one place, a line "
        "'spots' above both castings",
    )  # fmt: skip


def _turned(piece: Piece, one: Half, two: Half) -> str:
    """What lays the axes of two halves of a hinge at one place along one another, where the line of either
    turns it: both turned alike, or neither; "" of others."""
    if np.linalg.norm(one.at - two.at) > SAME:
        return ""
    lines, ways = piece.source_lines, []
    for half, other in ((two, one), (one, two)):
        line = lines.of(piece.call(half.feature), None, ()).line
        name, mate = (piece.name_of(this.feature) for this in (half, other))
        for clause in line.clauses if line is not None else ():
            key, value = clause.key.name, clause.value
            if key in TURNING:
                ways.append(f"leave '{key}' out in the line of {name}")
                if isinstance(value, tree.Number):
                    ways.append(f"say '{key} {value.value:g} deg' in the line of {mate}")
    return "; or ".join(ways) or "turn one of them, or its casting, till their axes lie along one another"


def _remedy(piece: Piece, one: Half, two: Half) -> str:
    """How they come together on metal of both: the one moved to the other, or both to half way."""
    for half, other in ((two, one), (one, two)):
        if _beside(piece, half.casting, other.at):
            return f"move {_moved(piece, half, other.at)}"
    middle = (one.at + two.at) / 2
    return f"move {_moved(piece, two, middle)}, and {_moved(piece, one, middle)}"


def _moved(piece: Piece, half: Half, spot: Floats) -> str:
    return f"{piece.name_of(half.feature)} {told(piece, half.feature, spot - half.at, 'to the other')}"


def _beside(piece: Piece, casting: str, spot: Floats) -> bool:
    """Whether a spot lies as near the room that a casting takes as halves put together."""
    low, high = room_of(piece, casting)
    return bool((spot > low - TOUCH).all() and (spot < high + TOUCH).all())


def _meet(piece: Piece, *castings: str) -> bool:
    """Whether the metal of two castings comes as near as that of halves put together."""
    ones, others = (bodies_named(piece, name) for name in castings)
    return any(a.meets(b, TOUCH) and a.gap(b, TOUCH) < TOUCH for a in ones for b in others)
