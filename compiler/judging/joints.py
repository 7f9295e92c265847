"""The bodies of metal of a piece, and what holds them together: solder, links and threads. Lengths mm."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from ..bench.feature import Lines
from ..measures.bodies import Shell, labels, winding
from ..measures.linking import APART, LINKED, PASSED, linked
from ..measures.skin import Skin
from ..metal.kernel import plain
from .hanging import Loop
from .nearness import between
from .pairs import near_pairs

if TYPE_CHECKING:
    from manifold3d import Manifold

    from ..measures.kinds import Floats
    from .piece import Piece

TOUCH = 0.01  # mm, bought metal this near to other metal is taken to be soldered to it
NEAR = 0.5  # mm, bodies farther apart than this hold nothing together
LOOP_STEPS = 48
SAME = 0.01  # mm, rings whose middles lie nearer are one


@dataclass(frozen=True, eq=False)
class Body:
    """One separate body of metal: the casting it is of by number, its shell, its skin, and whether
    it is only beads or prongs."""

    casting: int
    shell: Shell
    skin: Skin
    small: bool

    @cached_property
    def solid(self) -> Manifold:
        """The body as a solid of the kernel."""
        return plain(self.skin.points, self.skin.triangles)

    def meets(self, other: Body, reach: float = 0.0) -> bool:
        """Whether the boxes of two bodies come within ``reach`` of each other."""
        (low, high), (under, over) = self.skin.box, other.skin.box
        return bool((low <= over + reach).all() and (under <= high + reach).all())

    def gap(self, other: Body, reach: float) -> float:
        """How far apart two bodies stand, mm, at most ``reach``; looking farther costs steeply more."""
        return float(self.solid.min_gap(other.solid, reach))


@dataclass(frozen=True)
class Joint:
    """Two bodies by number that hold together: soldered, linked or threaded; of the last two the rings that
    the other goes through, each with its body and its centre line (n, 3)."""

    one: int
    two: int
    how: str
    rings: tuple[tuple[int, Floats], ...] = ()

    def goes_through(self, loop: Loop, body: int | None) -> bool:
        """Whether the other body goes through this loop of a ``body``, not through another of its loops: a
        hole it goes through by its ring."""
        own = [line.mean(axis=0) for one, line in self.rings if one == body]
        if own:
            return any(np.linalg.norm(middle - loop.middle) < SAME for middle in own)
        reach = loop.inside / 2 + loop.wire
        return any(np.linalg.norm(line - loop.middle, axis=1).min() < reach for _, line in self.rings)


def bodies_of(piece: Piece) -> list[Body]:
    """All bodies of all castings and bought parts, those of a casting largest first."""
    found = []
    for number, casting in enumerate(piece.casting_measures.castings):
        shell_of, shells = labels(casting.skin), casting.bodies
        for shell in shells:
            mine = shell_of == shell.number
            owners = {owner for owner in shell.owners if owner >= 0}
            skin = casting.skin.part(mine)
            found.append(Body(number, shell, skin, bool(owners) and owners <= piece.sets.small))
    return found


def joints_of(piece: Piece) -> list[Joint]:
    """What holds together of the bodies that are no beads."""
    bodies = piece.casting_measures.bodies
    large = [k for k, body in enumerate(bodies) if not body.small]
    rings: dict[int, list[Floats]] = {k: [] for k in large}
    if len(large) < 2:
        return []
    for _, line in ring_lines(piece):
        owner = next((k for k in large if _holds(bodies[k], line)), None)
        if owner is not None:
            rings[owner].append(line)
    found: list[Joint] = []
    for place, a in enumerate(large):
        for b in large[place + 1 :]:
            if bodies[a].meets(bodies[b], NEAR):
                found += _joint(piece, a, b, rings)
    return [one for one in found if one.how != "passed" or _runs_on(piece, one, found)]


def _runs_on(piece: Piece, joint: Joint, joints: list[Joint]) -> bool:
    """Whether the link of a chain that goes through a ring and back again hangs in links on both sides of it:
    the chain runs through the ring."""
    bodies = piece.casting_measures.bodies
    owner, line = joint.rings[0]
    link = joint.one + joint.two - owner
    if of_chain(piece, owner):
        return False
    middle, (first, second) = line.mean(axis=0), (line[[0, len(line) // 4]] - line.mean(axis=0))
    axis = np.cross(first, second)
    mine = (one for one in joints if one.how == "linked" and link in (one.one, one.two))
    beside = [one.one + one.two - link for one in mine]
    off = [float((bodies[k].shell.centre - middle) @ axis) for k in beside if k != owner]
    return min(off, default=0.0) < 0.0 < max(off, default=0.0)


def of_chain(piece: Piece, body: int) -> bool:
    """Whether a body by number is a link of a chain."""
    return not piece.chains.isdisjoint(piece.casting_measures.bodies[body].shell.owners)


def _joint(piece: Piece, a: int, b: int, rings: dict[int, list[Floats]]) -> Iterator[Joint]:
    one, two = piece.casting_measures.bodies[a], piece.casting_measures.bodies[b]
    every = [(a, line, two) for line in rings[a]] + [(b, line, one) for line in rings[b]]
    ways = [(linked(line, body.skin), owner, line) for owner, line, body in every if _over(line, body)]
    way = max((one for one, _, _ in ways), default=APART)
    if way == PASSED:
        owner, line = next((owner, line) for found, owner, line in ways if found == PASSED)
        yield Joint(a, b, "passed", ((owner, line),))
        way = APART
    castings = piece.casting_measures.castings
    bought = castings[one.casting].bought or castings[two.casting].bought
    if way == APART and not (bought and one.meets(two, TOUCH)):
        return
    through = bought and way == LINKED and any(
        linked(line, _closed(ring)) == LINKED for line in rings[a] for ring in rings[b]
    )
    # Links of a chain drawn taut leave a ring of charms less room than they do as worn.
    both = all(castings[body.casting].bought for body in (one, two)) and bool(rings[a] and rings[b])
    touch = bought and not (through or both) and one.gap(two, 2 * TOUCH) <= TOUCH
    if touch and not _link_at_loop(piece, one, two):
        yield Joint(a, b, "soldered")
    elif touch or way != APART:
        met = tuple((owner, line) for found, owner, line in ways if found == way)
        yield Joint(a, b, "linked" if way == LINKED else "threaded", met)


def _link_at_loop(piece: Piece, one: Body, two: Body) -> bool:
    """Whether a link of a chain stands in the wire of a loop: nobody solders it there."""
    near = between(two.skin, one.skin)
    ends = [k for k in (near.first, near.second) if k >= 0]
    return not piece.chains.isdisjoint(ends) and any(piece.features[k].opening is not None for k in ends)


def fused_rings(piece: Piece) -> Iterator[tuple[int, int, Floats]]:
    """Rings of cast metal that pass through one another and are one body all the same: their
    features, and the spot where they come nearest (3,)."""
    rings = list(ring_lines(piece)) if len(piece.parts) else []
    middles = np.array([line.mean(axis=0) for _, line in rings]).reshape(-1, 3)
    reach = max((float(np.ptp(line, axis=0).max()) for _, line in rings), default=0.0)
    cast = [b for b in piece.casting_measures.bodies if not piece.casting_measures.castings[b.casting].bought]
    for a, b in zip(*(ends.tolist() for ends in near_pairs(middles, middles, reach)), strict=True):
        one, two = rings[a][1], rings[b][1]
        through = a < b and linked(one, _closed(two)) == LINKED
        if through and any(_holds(body, one, all) and _holds(body, two, all) for body in cast):
            apart = np.linalg.norm(one[:, None] - two[None], axis=2)
            i, j = np.unravel_index(int(np.argmin(apart)), apart.shape)
            yield rings[a][0], rings[b][0], (one[i] + two[j]) / 2


def _closed(line: Floats) -> Skin:
    """A closed line (n, 3) as the skin of a wire of no thickness."""
    points = np.arange(len(line))
    after = np.roll(points, -1)
    return Skin(line, np.stack((points, after, after), axis=1), np.zeros(len(line), dtype=np.int64))


def ring_lines(piece: Piece) -> Iterator[tuple[int, Floats]]:
    """The feature and the centre line (n, 3) of every closed wire: loops, and wire along closed lines."""
    turn = np.linspace(0.0, 2 * np.pi, LOOP_STEPS, endpoint=False)
    flat = np.stack((np.cos(turn), np.sin(turn)), axis=1)
    for loop in piece.wear_measures.loops:
        radius = (loop.inside + loop.wire) / 2
        yield loop.feature, loop.middle + radius * (flat @ np.stack(loop.across))
    for feature in piece.features:
        if feature.body is None or feature.opening is not None or "path" not in feature.offers:
            continue
        path = feature.look("path")
        if isinstance(path, Lines):
            yield from ((feature.index, line.points) for line in path.lines if line.closed)


def _holds(body: Body, line: Floats, share: Callable[[Iterable[bool]], bool] = any) -> bool:
    """Whether a centre line runs in the metal of a body, at any of some spots or at all."""
    low, high = body.skin.box
    spots = line[:: max(1, len(line) // 4)]
    inside = np.asarray(((spots >= low) & (spots <= high)).all(axis=1))
    return share(
        within and winding(body.skin.corners, spot) > 0.5 for within, spot in zip(inside, spots, strict=True)
    )


def _over(line: Floats, body: Body) -> bool:
    low, high = body.skin.box
    return bool((line.min(axis=0) <= high).all() and (line.max(axis=0) >= low).all())


def held_with(joints: Sequence[Joint], count: int) -> list[int]:
    """For each of ``count`` bodies the least number of those it hangs together with."""
    root = list(range(count))

    def top(k: int) -> int:
        while root[k] != k:
            k = root[k]
        return k

    for joint in joints:
        one, two = sorted((top(joint.one), top(joint.two)))
        root[two] = one
    return [top(k) for k in range(count)]
