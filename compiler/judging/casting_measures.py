"""The castings and bought parts of a piece, their bodies, and what holds those together.

Each is worked out the first time a rule asks for it. Lengths mm."""

from __future__ import annotations

from functools import cached_property

import numpy as np

from ...stdlib.alloys import ALLOYS
from ..bench.roles import Role
from ..bench.things import indices
from ..measures.closest import nearest
from ..measures.kinds import Floats, Ints
from ..measures.mass import Part, mass
from ..measures.rays import within
from ..measures.skin import Skin, side_by_side
from .carried import reached
from .castings import Casting, castings_of, line_of
from .eyes import tight_holes
from .halves import hinged
from .hanging import Loop, Rest
from .joints import Body, Joint, bodies_of, fused_rings, held_with, joints_of
from .piece import Piece

FIT = 0.03  # mm, the wall of a hole lies this near to the pin in it: two curves cut into chords
ALONG, ROUND = 0.05, 0.3  # of the area touched: less looks along the pin, more across it either way
ONE_SIDED = 0.2  # of the area touched may look one way only: a pin is held from all sides


class CastingMeasures:
    """The castings of one piece."""

    def __init__(self, piece: Piece) -> None:
        self.piece = piece

    castings = cached_property(lambda self: castings_of(self.piece))

    @property
    def cast(self) -> list[Casting]:
        """The castings alone."""
        return [one for one in self.castings if not one.bought]

    bodies = cached_property(lambda self: bodies_of(self.piece))
    joints = cached_property(lambda self: joints_of(self.piece))

    @cached_property
    def held(self) -> list[Joint]:
        """``joints``, and the largest bodies of castings that a hinge joins: one hangs by the other."""
        cast = {part: self.castings[part] for part in self.mains if not self.castings[part].bought}
        of = {casting.name: self.mains[part] for part, casting in cast.items()}
        ends = {(one.casting, two.casting) for one, two, _ in hinged(self.piece)}
        known = sorted((of[one], of[two]) for one, two in ends if one in of and two in of)
        return [*self.joints, *(Joint(one, two, "hinged") for one, two in known if one < two)]

    @cached_property
    def pins(self) -> frozenset[int]:
        """The bought bodies that a hole of other metal holds all round: riveted, not soldered."""
        return frozenset(
            pin for joint in self.joints if joint.how == "soldered"
            for pin, other in ((joint.one, joint.two), (joint.two, joint.one))
            if self.castings[self.bodies[pin].casting].bought
            and _in_hole(self.bodies[pin], self.bodies[other])
        )  # fmt: skip

    @cached_property
    def fused(self) -> list[tuple[int, int, Floats]]:
        """Rings that pass through one another and cannot swing: findings, and others that hold to
        each other by hardly any metal."""
        piece = self.piece
        weak = {frozenset((one.feature, one.other)) for one in piece.skin_measures.weak_joints}
        return [
            found for found in fused_rings(piece)
            if all(piece.is_for(line, Role.FINDING) for line in found[:2]) or frozenset(found[:2]) in weak
        ]  # fmt: skip

    @cached_property
    def in_holes(self) -> list[tuple[Loop, int, float]]:
        """Loops that go through drilled holes: the hole's feature, and the room round the wire, mm."""
        return list(tight_holes(self.piece, self.piece.wear_measures.loops))

    @cached_property
    def assemblies(self) -> list[int]:
        """For each of ``bodies`` the least number of those it hangs together with."""
        return held_with(self.joints, len(self.bodies))

    @cached_property
    def loose(self) -> frozenset[int]:
        """The features of cast bodies that are joined to none of the largest of their casting."""
        held = self.assemblies
        return frozenset(
            owner for k, body in enumerate(self.bodies)
            if not body.small and held[k] != held[self.mains[body.casting]] for owner in body.shell.owners
        )  # fmt: skip

    def held_by_its_pin(self, number: int) -> frozenset[int]:
        """All that a cast body of a finding holds together with, by number, where nothing but a pin or a
        rivet bought with that finding joins it to the rest; nothing of other bodies, and of the half of a
        finding that is a casting by itself."""
        mine = self._findings[number]
        own = {k for k, made_by in enumerate(self._findings) if made_by and made_by == mine}
        bought = {k for k in own if self.castings[self.bodies[k].casting].bought}
        if not bought or number in bought or number in self.mains.values():
            return frozenset()
        beside = reached(self.joints, [number], bought)
        return beside | bought if beside <= own else frozenset()

    @cached_property
    def _findings(self) -> list[str]:
        """For each of ``bodies`` the line of the one finding that made all of it; "" of other metal."""
        return [self._finding(body) for body in self.bodies]

    def _finding(self, body: Body) -> str:
        owners = (owner for owner in body.shell.owners if owner >= 0)
        calls = [self.piece.call(one) for one in owners if self.piece.features[one].body is not None]
        uses = [next((use for use in call.within if Role.FINDING in use.word.roles), None) for call in calls]
        names = {use.name if use is not None else "" for use in uses}
        return names.pop() if len(names) == 1 else ""

    @cached_property
    def mains(self) -> dict[int, int]:
        """The largest body of each casting that is no bead, by number."""
        mains: dict[int, int] = {}
        for number, body in enumerate(self.bodies):
            if not body.small:
                mains.setdefault(body.casting, number)
        return mains

    def body_at(self, spot: Floats) -> int | None:
        """The body, by number, whose metal is nearest to a spot; None without bodies but beads."""
        if all(body.small for body in self.bodies):
            return None
        skin, bodies = self._large
        return int(bodies[nearest(skin, spot)[1]])

    @cached_property
    def _large(self) -> tuple[Skin, Ints]:
        """The skin of all bodies but beads, and of each of its faces the body by number."""
        large = [k for k, body in enumerate(self.bodies) if not body.small]
        skins = [self.bodies[k].skin for k in large]
        return side_by_side(skins), np.repeat(large, [len(skin.triangles) for skin in skins])

    def seen_by(self, loop: Loop) -> Skin:
        """The skin of all metal but what goes through a loop as links do, and what is bought: that hangs
        in a loop, it does not fill it."""
        here = self.body_of(loop) if self.joints else None
        hung = {two for two, _ in self._linked_to(here)} | {
            k for k, body in enumerate(self.bodies)
            if self.castings[body.casting].bought and loop.feature not in body.shell.owners
        }  # fmt: skip
        if not hung:
            return self.piece.skin_measures.skin
        return side_by_side([b.skin for k, b in enumerate(self.bodies) if k not in hung])

    def bears(self, loop: Loop) -> bool:
        """Whether other metal hangs by a loop, which then is not what its own metal hangs by: all
        that goes through it lies lower and is not what its casting hangs in, and it is no link itself."""
        here, links = self._links(loop)
        rings = {one.feature for one in self.piece.wear_measures.loops}
        if here is None or not links or rings >= set(self.bodies[here].shell.owners):
            return False
        line = line_of(self.piece, self.castings[self.bodies[here].casting].name)
        holder = None if line is None else self.piece.call(line.index).get("hangs-in")
        above = set() if holder is None else indices(holder)
        through = [self.bodies[k].shell for k in links]
        return all(one.centre[1] < loop.middle[1] and above.isdisjoint(one.owners) for one in through)

    def links(self, loop: Loop) -> dict[int, Joint]:
        """The bodies by number that go through a loop as links do, and how."""
        return self._links(loop)[1]

    def _links(self, loop: Loop) -> tuple[int | None, dict[int, Joint]]:
        """The body of a loop by number, and those that go through it as links do."""
        here = self.body_of(loop) if self.joints else None
        return here, {two: joint for two, joint in self._linked_to(here) if joint.goes_through(loop, here)}

    def body_of(self, loop: Loop) -> int | None:
        """The body of a loop by number: where it touches what it hangs in, the one with its own metal."""
        near = self.body_at(loop.wire_spot)
        if near is None or loop.feature in self.bodies[near].shell.owners:
            return near
        own = [k for k, body in enumerate(self.bodies) if loop.feature in body.shell.owners]
        far = [float(np.linalg.norm(self.bodies[k].skin.points - loop.wire_spot, axis=1).min()) for k in own]
        return own[int(np.argmin(far))] if own else near

    def _linked_to(self, here: int | None) -> list[tuple[int, Joint]]:
        """The bodies by number that hold to one as links do, and how."""
        return [
            (joint.one + joint.two - here, joint) for joint in self.joints
            if here is not None and here in (joint.one, joint.two) and joint.how != "soldered"
        ]  # fmt: skip

    @cached_property
    def weights(self) -> list[tuple[float, Floats]]:
        """Weight in g and centre of mass (3,) of each of ``bodies`` with its stones."""
        stones: dict[int | None, list[Part]] = {}
        for stone, frame in zip(self.piece.wear_measures.stone_masses, self.piece.stones.frames, strict=True):
            stones.setdefault(self.body_at(frame[:, 3]), []).append(stone)
        return [
            mass([((body.shell.volume, body.shell.centre), self._density(body)), *stones.get(number, ())])
            for number, body in enumerate(self.bodies)
        ]

    def _density(self, body: Body) -> float:
        """Density of a body's metal, g/cm3."""
        parts = self.castings[body.casting].parts
        own = (part for part in parts if np.isin(list(body.shell.owners), part.owner).any())
        return ALLOYS[next(own, parts[0]).metal].density

    def casting_at(self, spot: Floats) -> Casting | None:
        """The casting whose metal is nearest to a spot."""
        here = self.body_at(spot)
        return None if here is None else self.castings[self.bodies[here].casting]

    def casting_of(self, loop: Loop) -> Casting | None:
        """The casting that a loop is of, whatever stands in its wire; None where its metal there is loose."""
        here = self.body_of(loop)
        if here is None:
            return None
        number = self.bodies[here].casting
        loose = self.assemblies[here] != self.assemblies[self.mains[number]]
        return None if loose else self.castings[number]

    @cached_property
    def rests(self) -> list[tuple[Casting, Rest]]:
        """How each casting that hangs by loops comes to rest."""
        return [(one, one.rest) for one in self.castings if one.rest is not None]


def _in_hole(pin: Body, other: Body) -> bool:
    """Whether the faces of another body that touch a bought one are the wall of a hole round it."""
    skin, middles = other.skin, other.skin.corners.mean(axis=1)
    low, high = pin.skin.box
    faces = np.flatnonzero(((middles > low - FIT) & (middles < high + FIT)).all(axis=1))
    faces = faces[within(pin.skin, middles[faces], FIT)]
    area, looks, spots = skin.areas[faces], skin.normals[faces], middles[faces]
    if not area.sum() > 0:
        return False
    share = area / area.sum()
    along, across, _ = np.linalg.eigvalsh(np.einsum("n,ni,nj->ij", share, looks, looks))
    inward = share @ ((share @ spots - spots) * looks).sum(axis=1)
    return bool(along < ALONG and across > ROUND and np.linalg.norm(share @ looks) < ONE_SIDED and inward > 0)
