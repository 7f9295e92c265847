"""The castings of a piece and its bought parts: their bodies, what links them, how each hangs.

Lengths mm, weights g. A piece without a `casting` block is one casting, without a name.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from ..bench.feature import Feature, Lines
from ..bench.roles import Role
from ..geometry.line import Line
from ..measures.bodies import Shell, labels, pieces, winding
from ..measures.linking import APART, LINKED, PASSED, linked
from ..measures.mass import mass
from ..measures.skin import Skin
from ..metal.kernel import plain
from .carried import hung_in, reached, strand, weight_of
from .eyes import holes_near_edges
from .halves import shut_on
from .hanging import Loop, Rest, at_rest, carrying
from .hook_eyes import hook_for
from .joined_metal import joined_skin, masses
from .nearness import between
from .pairs import near_pairs
from .posts import bows_on
from .ring_mates import climb

if TYPE_CHECKING:
    from manifold3d import Manifold

    from ..measures.kinds import Floats
    from .piece import Piece
    from .posts import Bow

TOUCH = 0.01  # mm, bought metal this near to other metal is taken to be soldered to it
NEAR = 0.5  # mm, bodies farther apart than this hold nothing together
LOOP_STEPS = 48
SAME = 0.01  # mm, rings whose middles lie nearer are one
WRIST = 40.0  # mm across: what is bent to less is no bracelet's
BRACELET = 100.0  # mm a bracelet or an anklet goes across
BENT, ROUND = 0.9, 0.5  # of its length, how far apart the ends of a strand of chain stand that goes part of a
# round, and of one that goes round by itself
LOOKS = 0.95  # cosine to the way out, of what lies round a wrist
ACROSS = np.array([1.0, 0.0, 0.0])
BACKWARD = 0.9  # cosine to the way back of a hole that an ear post goes through
BALANCED = 0.1  # of its height, how near its weight lies to the line of its loops
LINKS = 3  # castings alike from which they are the links of a row
HELD_BY = Role.CLASP, Role.EAR_WIRE, Role.EAR_POST  # what a casting is held by, whatever loops it has


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


class Casting:
    """One casting, or one bought part."""

    def __init__(self, piece: Piece, name: str, numbers: Sequence[int]) -> None:
        self._piece, self.name = piece, name
        self.parts = [piece.parts[k] for k in numbers]
        self.bought = self.parts[0].bought

    @property
    def called(self) -> str:
        """What to call it in a verdict."""
        return self.name or "the piece"

    @cached_property
    def skin(self) -> Skin:
        """The outside of all its metal, each triangle with its feature."""
        piece = self._piece
        if len(self.parts) == len(piece.parts):
            return self._piece.skin_measures.skin
        return joined_skin(self.parts)

    @cached_property
    def bodies(self) -> list[Shell]:
        """Its separate bodies of metal, largest first."""
        return pieces(self.skin)

    @cached_property
    def loops(self) -> list[Loop]:
        """The loops it may hang by: one in thin air is none, nor one that hangs in it."""
        piece = self._piece
        loops = [loop for loop in piece.wear_measures.loops if not is_hung(piece, loop.feature)]
        if len(piece.casting_measures.bodies) == 1:
            return loops
        at = piece.casting_measures.casting_at
        return [loop for loop in loops if at(loop.wire_spot, held=True) is self]

    @cached_property
    def centre(self) -> tuple[float, Floats]:
        """Weight in g and centre of mass (3,) of its metal and stones together."""
        piece = self._piece
        whole = len(piece.casting_measures.castings) == 1
        stones = (
            stone for k, stone in enumerate(piece.wear_measures.stone_masses)
            if whole or piece.casting_measures.casting_at(piece.stones.frames[k][:, 3]) is self
        )  # fmt: skip
        return mass([*masses(piece, self.parts), *stones])

    @cached_property
    def _lies(self) -> bool:
        """Whether it lies on a wrist or a neck as what it is a link of: it has loops on both sides, and
        is one of several alike, or bent to a wrist."""
        middle, rings = self.centre[1], [loop.middle for loop in self.loops]
        both = any((a - middle) @ (b - middle) < 0 for a in rings for b in rings)
        rows = [{loop.feature for loop in one.loops} for one in self._piece.casting_measures.cast]
        alike = rows.count({loop.feature for loop in self.loops}) >= LINKS
        return self._in_a_round or (both and (alike or self._to_a_wrist or self._let_in))

    @property
    def _in_a_round(self) -> bool:
        """Whether a chain goes round a wrist from one of the loops it would hang by, or round a neck to
        another casting, as from ring to bar of a toggle: it lies there with that."""
        measures = self._piece.casting_measures
        links = {k for k in range(len(measures.bodies)) if _of_chain(self._piece, k)}
        begins = [k for loop in self.hangs_by for k in measures.links(loop) if k in links]
        return any(self._comes_round(*strand(measures.joints, links, k)) for k in begins)

    def _comes_round(self, links: list[int], home: int | None) -> bool:
        """Whether the links of a strand of chain that ends in body ``home`` come round there."""
        bodies = self._piece.casting_measures.bodies
        spots = np.array([bodies[k].shell.centre for k in links])
        if len(links) < 2:
            return False
        share = np.linalg.norm(spots[-1] - spots[0]) / np.linalg.norm(np.diff(spots, axis=0), axis=1).sum()
        other = home is not None and self._piece.casting_measures.castings[bodies[home].casting] is not self
        return bool(share < (BENT if np.ptp(spots, axis=0).max() < BRACELET else ROUND * other))

    @property
    def _let_in(self) -> bool:
        """Whether it is let into a chain, its weight on the line of its loops: the chain lies with it."""
        measures = self._piece.casting_measures
        held = [loop for loop in self.loops if any(_of_chain(self._piece, k) for k in measures.links(loop))]
        if len(held) < 2:
            return False
        one, two = held[0].middle[:2], held[-1].middle[:2]
        way = (two - one) / max(float(np.linalg.norm(two - one)), 1e-9)
        across = np.array([-way[1], way[0]])
        high = float(np.ptp(self.skin.corners.reshape(-1, 3)[:, :2] @ across))
        return abs(float((self.centre[1][:2] - one) @ across)) < BALANCED * high

    @property
    def _to_a_wrist(self) -> bool:
        """Whether wire of it follows a line round a wrist, looking away from it, or it is bent to one."""
        owners = np.unique(self.skin.owner[self.skin.owner >= 0]).tolist()
        if any(to_a_wrist(self._piece.features[owner]) is not None for owner in owners):
            return True
        own = (one for one in self._piece.features if one.name.rpartition(".")[0] == self.name)
        bent = (one.look("inside") for one in own if {"inside", "around"} <= one.offers.keys())
        return any(float(inside.value) >= WRIST for inside in bent)

    @cached_property
    def hook(self) -> float | None:
        """Of half of a clasp of hook and eye, how thick the hook is that closes in it, mm."""
        return hook_for(self._piece, self)

    @cached_property
    def hangs_by(self) -> tuple[Loop, ...]:
        """The one loop or the two that carry it; none where all of the highest carry other metal."""
        bears = self._piece.casting_measures.bears
        free = [loop for loop in self.loops if not bears(loop)]
        highest = carrying(self.loops, self.skin)
        return () if all(bears(loop) for loop in highest) else carrying(free, self.skin)

    @cached_property
    def bows(self) -> list[Bow]:
        """The bows of the ear wires it hangs by, as ``bows_on`` tells them."""
        return bows_on(self._piece, self)

    @cached_property
    def rest(self) -> Rest | None:
        """How it hangs by its loops; None for a ring, for what is bought, for a loop alone, for half of a
        clasp, for what hangs in the ear by its post or a hoop, is drawn aside on its ring or pinned on above
        its loops, and where all of the highest carry other metal."""
        rings = {loop.feature for loop in self.loops}
        worn = self._piece.wear_measures.bore is not None
        owners = set(self.skin.owner.tolist())
        bows = self.bows
        held = [role for role in HELD_BY if not bows or role is not Role.EAR_WIRE]
        otherwise = any(self._piece.is_for(one, *held) for one in owners if one >= 0)
        line = line_of(self._piece, self.name)
        aside = line is not None and any(around for _, around, _ in climb(self._piece, line.index))
        if self.bought or worn or otherwise or rings >= owners or self._lies or aside or self.hook:
            return None
        if bows:
            lobes = [(Loop(bow.feature, bow.top, ACROSS, 0.0, 0.0),) for bow in bows]
            hung = [self._at_rest(lobe) for lobe in lobes]
            return max((one for one in hung if one is not None), key=lambda one: one.hang.off, default=None)
        loops = self.hangs_by
        if loops and self.pinned:
            return None
        loops = loops or self._on_a_post
        return self._at_rest(loops)

    def _at_rest(self, loops: tuple[Loop, ...]) -> Rest | None:
        """At rest by some loops: what hangs free in it pulls it straight, and does not turn it over."""
        if not loops:
            return None
        grams, centre, free = self._hanging(loops)
        rest = at_rest(loops, grams, centre, self.skin)
        return rest and replace(rest, share=rest.share * grams / (grams - free))

    @cached_property
    def pinned(self) -> bool:
        """Whether it is worn by its pin: what hangs by its loops hangs below, as a safety chain does."""
        pinned = any(self._piece.is_for(one, Role.PIN) for one in set(self.skin.owner.tolist()) if one >= 0)
        return pinned and all(loop.middle[1] < self.centre[1][1] for loop in self.hangs_by)

    @property
    def jacket(self) -> bool:
        """Whether it hangs on the post of a stud."""
        return bool(self._on_a_post)

    @cached_property
    def _on_a_post(self) -> tuple[Loop, ...]:
        """Of a jacket, without a loop, in a piece with ear posts: the drilled hole it hangs on a post by."""
        piece = self._piece
        if self.loops or not any(piece.with_role(Role.EAR_POST)):
            return ()
        at = piece.casting_measures.casting_at
        eyes = [eye for eye in (Loop(*one) for one in holes_near_edges(piece)) if abs(eye.axis[2]) > BACKWARD]
        mine = [eye for eye in eyes if at(eye.middle + eye.inside / 2 * eye.across[0]) is self]
        return carrying(mine, self.skin)

    def _hanging(self, loops: Sequence[Loop]) -> tuple[float, Floats, float]:
        """Weight and centre of mass (3,) of all that hangs by some loops, without bodies that are joined to
        them by nothing, and how much of it hangs in it by links: that weight is taken to where it bears."""
        piece, measures = self._piece, self._piece.casting_measures
        alone = not measures.loose.isdisjoint(self.skin.owner.tolist())
        here = measures.body_at(loops[0].wire_spot) if measures.joints or alone else None
        grams, centre = self.centre if here is None or not alone else weight_of(piece, [here])
        moment, free = grams * centre, 0.0
        holders = {body for loop in loops for body in measures.links(loop)}
        for bodies, at in hung_in(piece, here, holders) if here is not None else ():
            mine = [k for k in bodies if measures.castings[measures.bodies[k].casting] is self]
            own = weight_of(piece, mine)
            load = weight_of(piece, bodies)[0]
            grams += load - own[0]
            free += load
            moment = moment + load * at - own[0] * own[1]
        shut, centre = weight_of(piece, self._shut_on)
        grams, moment = grams + shut, moment + shut * centre
        return grams, moment / grams, free

    @cached_property
    def _shut_on(self) -> frozenset[int]:
        """The bodies by number of castings without a loop that hinges hold to it, drawn shut, with what is
        soldered to those."""
        measures = self._piece.casting_measures
        names = shut_on(self._piece, self.name) if len(measures.cast) > 1 else set[str]()
        of = [measures.castings[body.casting] for body in measures.bodies]
        start = [k for k, one in enumerate(of) if one.name in names and not one.bought and not one.loops]
        mine = [k for k, one in enumerate(of) if one is self]
        return reached((joint for joint in measures.joints if joint.how == "soldered"), start, mine)


def line_of(piece: Piece, casting: str) -> Feature | None:
    """The line of a casting or of one of its copies, "drops 2" of drops; None of what has none."""
    first, _, number = casting.rpartition(" ")
    names = (casting, first if number.isdigit() else casting)
    found = (one for name in names for one in piece.features if casting and one.name == name)
    line = next(found, None)
    return line if line is None or line.source is None else line.source


def is_hung(piece: Piece, feature: int) -> bool:
    """Whether the line of a loop hangs it in another, so that nothing but what is below hangs by it."""
    return piece.call(feature).given("hangs-in")


def to_a_wrist(feature: Feature) -> Line | None:
    """The line round a wrist that wire follows, looking away from it; None for other metal."""
    line = getattr(feature.surface, "line", None)
    if line is None:
        return None
    away = line.points * (1.0, 0.0, 1.0)
    far = np.linalg.norm(away, axis=1)
    looks = (line.outs * away).sum(axis=1) / np.maximum(far, 1e-9)
    return line if far.min() > WRIST / 2 and looks.min() > LOOKS else None


def castings_of(piece: Piece) -> list[Casting]:
    """Every casting and bought part, in order of the work."""
    found: dict[str, list[int]] = {}
    for number, part in enumerate(piece.parts):
        found.setdefault(part.casting, []).append(number)
    return [Casting(piece, name, numbers) for name, numbers in found.items()]


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
    if _of_chain(piece, owner):
        return False
    middle, (first, second) = line.mean(axis=0), (line[[0, len(line) // 4]] - line.mean(axis=0))
    axis = np.cross(first, second)
    mine = (one for one in joints if one.how == "linked" and link in (one.one, one.two))
    beside = [one.one + one.two - link for one in mine]
    off = [float((bodies[k].shell.centre - middle) @ axis) for k in beside if k != owner]
    return min(off, default=0.0) < 0.0 < max(off, default=0.0)


def _of_chain(piece: Piece, body: int) -> bool:
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
