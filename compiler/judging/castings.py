"""The castings of a piece and its bought parts: what they weigh, what carries them, how each hangs.

Lengths mm, weights g. A piece without a `casting` block is one casting, without a name."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from ..bench.feature import Feature
from ..bench.roles import Role
from ..geometry.line import Line
from ..measures.bodies import pieces
from ..measures.mass import mass
from ..measures.skin import Skin
from .carried import hung_in, reached, strand, weight_of
from .eyes import holes_near_edges
from .halves import shut_on
from .hanging import Loop, Rest, at_rest, carrying
from .hook_eyes import hook_for
from .joined_metal import joined_skin, masses
from .joints import of_chain
from .posts import bows_on
from .ring_mates import climb

if TYPE_CHECKING:
    from ..measures.kinds import Floats
    from .piece import Piece

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

    bodies = cached_property(lambda self: pieces(self.skin))

    @cached_property
    def loops(self) -> list[Loop]:
        """The loops it may hang by: one in thin air is none, nor one that hangs in it."""
        piece = self._piece
        loops = [loop for loop in piece.wear_measures.loops if not is_hung(piece, loop.feature)]
        if len(piece.casting_measures.bodies) == 1:
            return loops
        return [loop for loop in loops if piece.casting_measures.casting_of(loop) is self]

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
        links = {k for k in range(len(measures.bodies)) if of_chain(self._piece, k)}
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
        held = [loop for loop in self.loops if any(of_chain(self._piece, k) for k in measures.links(loop))]
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

    hook = cached_property(lambda self: hook_for(self._piece, self))

    @cached_property
    def hangs_by(self) -> tuple[Loop, ...]:
        """The one loop or the two that carry it; none where all of the highest carry other metal."""
        bears = self._piece.casting_measures.bears
        free = [loop for loop in self.loops if not bears(loop)]
        highest = carrying(self.loops, self.skin)
        return () if all(bears(loop) for loop in highest) else carrying(free, self.skin)

    bows = cached_property(lambda self: bows_on(self._piece, self))

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


