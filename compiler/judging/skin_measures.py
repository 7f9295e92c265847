"""What is measured on the skin of a piece's metal: walls, slits, bodies, hollows, wires, edges.

Each figure is taken the first time a rule asks for it. Lengths mm, angles degrees."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import replace
from functools import cached_property

import numpy as np

from ...lang.bench import Call
from ..bench.roles import FigureOf, Role
from ..measures.bodies import Shell, voids
from ..measures.closest import nearest
from ..measures.drainage import Chamber, drainage
from ..measures.edges import SharpEdge, anywhere, sharp_edges
from ..measures.kinds import Flags, Floats, Ints, place_of
from ..measures.places import Place, Thickness
from ..measures.rays import Spots, room_at, spots_on, straight_in
from ..measures.skin import Skin
from ..measures.slender import FLAT, Slender, slender
from ..measures.thickness import Known, thickness
from .crevices import crevices, grooves, is_relief
from .digits import below
from .figures import figures
from .joined_metal import joined_skin
from .pairs import near_pairs
from .piece import Piece
from .skin_edges import edges_on_skin
from .thicknesses import thicknesses_of
from .tolerances import FACETED, SAME, SMALL_GAP, SMALL_WALL, WIRE_LIMIT
from .weak_joints import WeakJoint, hidden_of, solid_faces, weak_joints_of
from .wire_ties import wire_ties

CUT_OUT = 1.15  # of the wire round a joint, so that what lies on both sides is not taken for one
BALLS_APART, MOST_BALLS = 0.8, 300  # mm, spots on a feature from which the thickest metal is sought
TOGETHER = 16  # balls taken at a time
EVEN = 0.9998  # faces within about a degree of parallel
AS_TOLD = 0.01  # mm, chords on both sides of a wall make it so much thinner than told
MOST_SPOTS = 4_500
POINT = 4.0  # mm2 of both faces, where a point is thinner than a wall may be
SLIVER = 0.01  # mm, height of a face that has no way of its own
SHORT = 2.5  # mm; a sharp edge no longer is a point, as that of a star: metal stands behind it on both sides
SLIT = 20.0  # degrees, the faces of a slit oppose within this


class SkinMeasures:
    """All that is measured on the skin of one piece."""

    def __init__(self, piece: Piece) -> None:
        self.piece, self.sets = piece, piece.sets

    def flags(self, indices: Iterable[int]) -> Flags:
        """Which faces of the skin belong to any of the features, (m,)."""
        return np.asarray(np.isin(self.skin.owner, sorted(indices)))

    @cached_property
    def skin(self) -> Skin:
        """The outside of all metal together, each triangle with its feature."""
        return joined_skin(self.piece.parts, lambda: self.piece.metal)

    @cached_property
    def voids(self) -> list[Shell]:
        """Hollows without any opening."""
        thin = 2 * self.piece.tolerance  # between faces of two alloys that are one on paper
        return [void for casting in self.piece.casting_measures.cast for void in voids(casting.skin, thin)]

    @cached_property
    def thin(self) -> tuple[Place, ...]:
        """Walls thinner than any limit on them, thinnest first; each alloy by itself, as it is
        cast by itself."""
        kinds: dict[str, int | None] = {self.piece.family(f): f for f in sorted(self.sets.walls)}
        kinds = kinds or {"": None}
        bound = max(
            self.piece.bound("thin-wall", what, feature)
            for feature in kinds.values()
            for what in ("least", "advised")
        )
        found: list[Place] = []
        for skin in self._skins:
            slivers = _slivers(skin)
            walls = np.isin(skin.owner, sorted(self.sets.walls)) & ~slivers
            most = MOST_SPOTS // len(self.piece.parts)
            known = self._known(skin, slivers)
            places = thickness(
                skin.in_view(walls), bound, beyond=False, most_spots=most, known=known, least_area=SMALL_WALL,
            ).places  # fmt: skip
            found += (place for place in places if not self._is_point(skin, place))
        return tuple(sorted(found, key=lambda place: (place.figure, place.at)))

    def _is_point(self, skin: Skin, place: Place) -> bool:
        """Whether metal is thin there as it comes to a point, which widens at once: see feather-edge."""
        one, two = skin.normals[[place.triangle, place.other_triangle]]
        wedge = np.degrees(np.arccos(np.clip(-(one @ two), -1.0, 1.0)))
        return place.area < POINT and wedge + FACETED > self.piece.bound("feather-edge", "point", place.owner)

    def _known(self, skin: Skin, slivers: Flags) -> Known:
        """Rays that need no closer look: those across even metal as thick as a line of theirs states, which
        is told from the text, and those that end on a bead, a prong, a seat or a sliver."""
        stated: dict[int, list[float]] = {}
        for one in thicknesses_of(self.piece):
            stated.setdefault(one.feature, []).append(one.figure)

        sets = self.sets
        small = slivers | np.isin(skin.owner, sorted(sets.small | sets.seats | sets.holders))

        def known(spots: Spots, met: Ints, far: Floats, least: Floats, square: Floats) -> Flags:
            start = spots.triangle
            told = np.zeros(len(met), dtype=bool)
            for feature, thicknesses in stated.items():
                mine = (skin.owner[start] == feature) | (skin.owner[met] == feature)
                for figure in thicknesses:
                    same = (square > EVEN) & (np.abs(far - figure) < AS_TOLD)
                    same |= (far < figure + SAME) & (least > figure - SAME)
                    told |= mine & same
            return told | small[met]

        return known

    def is_so_thin(self, feature: int, figure: float) -> bool:
        """Whether its alloy ends anywhere, straight in from a face of a feature, no farther than ``figure``
        mm; yes of one that shows none."""
        ends = [np.zeros(0)]
        for skin in self._skins:
            spots = spots_on(skin.in_view(skin.owner == feature), BALLS_APART, MOST_BALLS)
            ends.append(straight_in(skin, spots)[0])
        return not figure + AS_TOLD <= float(np.concatenate(ends).min(initial=np.inf)) < np.inf

    @cached_property
    def _skins(self) -> list[Skin]:
        """The outside of each alloy by itself."""
        if len(self.piece.parts) == 1:
            return [self.skin]
        return [Skin(part.points, part.triangles, part.owner) for part in self.piece.parts]

    def thickest(self, feature: int) -> tuple[float, tuple[float, float, float]]:
        """The diameter of a large ball within the metal under the faces of a feature, mm, and its
        middle: the largest there is between two faces that are opposite."""
        mine = self.skin.in_view(self.skin.owner == feature)
        spots = spots_on(mine, BALLS_APART, MOST_BALLS)
        far, met, _ = straight_in(mine, spots)
        order = np.flatnonzero(met >= 0)
        order = order[np.argsort(-far[order], kind="stable")]
        best, at = 0.0, (0.0, 0.0, 0.0)
        while len(order) and far[order[0]] > best:  # no ball is wider than the metal straight in
            some, order = order[:TOGETHER], order[TOGETHER:]
            half = 0.5 * far[some]
            middles = spots.at[some] + half[:, None] * spots.inward[some]
            wide = 2 * room_at(self.skin, middles, half + 1e-6)
            if wide.max() > best:
                best, at = float(wide.max()), place_of(middles[int(wide.argmax())])
        return best, at

    @cached_property
    def gaps(self) -> Thickness:
        """Slots and crevices narrower than the limit, as thickness of the air; reliefs and those between
        beads left out."""
        found = [self._gaps_in(casting.skin) for casting in self.piece.casting_measures.cast]
        if len(found) == 1:
            return found[0]
        return replace(found[0], places=tuple(place for one in found for place in one.places))

    def _gaps_in(self, skin: Skin) -> Thickness:
        air = skin.inside_out()
        hidden = np.isin(skin.owner, sorted([*self.sets.beads, *self.sets.seats]))
        shown = air.in_view(~hidden)
        limit = self.piece.bound("closing-gap", "least")
        found = thickness(
            shown, limit, SLIT, knives=False, beyond=False, most_spots=MOST_SPOTS,
            known=crevices(skin, limit), least_area=SMALL_GAP,
        )  # fmt: skip
        return replace(found, places=tuple(one for one in found.places if not is_relief(air, one, limit)))

    @cached_property
    def grooves(self) -> list[Place]:
        """Narrow wedges of air between two features that meet."""
        limit = float(self.piece.bound("closing-gap", "least"))
        skins = (one.skin for one in self.piece.casting_measures.cast)
        return [place for skin in skins for place in grooves(skin, skin.inside_out(), limit)]

    @cached_property
    def slender(self) -> list[Slender]:
        """Long thin runs of metal, from one joint with other metal or another wire to the next."""
        found = self.piece.with_role(Role.WIRE)
        wires = {
            f.index: call for f, call in found
            if f.index not in self.sets.holders and not call.get("bought")
        }  # fmt: skip
        told = [
            run for body, wide in self._narrow_bodies()
            for run in self._slender_of([body], wide, 1.1 * wide)
        ]  # fmt: skip
        if wires:
            ties = wire_ties(self.piece, wires)
            wide = max(_across(call) for call in wires.values())
            told += self._slender_of(wires, wide, min(WIRE_LIMIT, 1.1 * wide), ties)
        return sorted(told, key=lambda run: (-run.ratio, run.at))

    def _slender_of(
        self, features: Collection[int], wide: float, thin: float, ties: Floats | None = None
    ) -> list[Slender]:
        """Those of features about ``wide`` mm across at most, where thinner than ``thin`` mm; they end at
        other metal and at ``ties`` (n, 3)."""
        mine = self.flags(features)

        def tied(at: Floats) -> Flags:
            flags = np.zeros(len(at), dtype=bool)
            if ties is not None:
                flags[near_pairs(at, ties, CUT_OUT * wide)[0]] = True
            flags[self.skin.grid.near(at - 0.7 * wide, at + 0.7 * wide, ~mine)[0]] = True
            return flags

        ratio = min(float(self.piece.bound("slender", "most", one)) for one in features)
        return slender(self.skin.in_view(mine), thin, ratio, tied)

    def _narrow_bodies(self) -> Iterator[tuple[int, float]]:
        """Bodies whose box is long and narrow, and how wide it is, mm."""
        bodies = self.sets.walls - self.sets.holders
        for feature, _ in self.piece.with_role(Role.BODY):
            mine = self.flags([feature.index])
            if feature.index not in bodies or self.piece.is_for(feature.index, Role.SHANK) or not mine.any():
                continue
            spots = self.skin.points[np.unique(self.skin.triangles[mine])]
            spots = spots - spots.mean(axis=0)
            long, wide, thick = np.ptp(spots @ np.linalg.svd(spots, full_matrices=False)[2].T, axis=0)
            ratio = float(self.piece.bound("slender", "most", feature))
            if thick < WIRE_LIMIT and wide < FLAT * thick and long > ratio * thick:
                yield feature.index, float(wide)

    @cached_property
    def chambers(self) -> list[Chamber]:
        """Hollows with a narrow way out: sought in coarse cubes, measured in finer ones."""
        widest = max(self.piece.bound("undrained-hollow", what) for what in ("hole", "hole-large"))
        shut = sum(1 for _ in self.piece.with_role(Role.BODY)) > 1
        if not any(self.piece.with_role(Role.CUPPED, *((Role.OPENS,) if shut else ()))):
            return []  # one body hollowed from outside has no neck
        return [
            chamber
            for casting in self.piece.casting_measures.cast
            if drainage(casting.skin, 1.35 * widest, widest / 6)
            for chamber in drainage(casting.skin, widest)
        ]

    @cached_property
    def weak_joints(self) -> list[WeakJoint]:
        """Parts that hold to others by little metal."""
        return weak_joints_of(self.piece, self.skin, *self.solid_faces)

    solid_faces = cached_property(lambda self: solid_faces(self.piece, self.skin))

    @cached_property
    def hidden(self) -> list[tuple[int, int, int]]:
        """Features of the user's own lines of which solids are nowhere on the skin: (feature, how
        many of them, of how many)."""
        solid, features = self.solid_faces
        return hidden_of(self.piece, self.skin, solid, features)

    edges = cached_property(lambda self: edges_on_skin(self.piece))

    @cached_property
    def feathers(self) -> list[SharpEdge]:
        """Edges anywhere sharper than 'feather-edge' asks, those of seats, beads and prongs left out."""
        angle = float(self.piece.bound("feather-edge", "least"))
        strokes = (f.index for f, _ in self.piece.with_role(Role.ENGRAVING))  # see letters-too-fine
        fine = self.flags({*self.sets.small, *self.sets.seats, *self.sets.holders, *strokes})
        every = sharp_edges(self.skin, anywhere, angle, beside=fine)
        return [edge for edge in every if below(edge.angle + FACETED, self.feather_bound(edge)[1])]

    def feather_bound(self, edge: SharpEdge) -> tuple[int, float]:
        """Whose edge it is, and the least angle of metal it may have, degrees."""
        owner = next((one for one in edge.owners if one >= 0), 0)
        what = "point" if edge.length <= SHORT else "least"
        return owner, float(self.piece.bound("feather-edge", what, owner))

    def owner_near(self, at: tuple[float, float, float]) -> int:
        """The feature of the face nearest to a place."""
        return max(0, int(self.skin.owner[nearest(self.skin, np.array(at))[1]]))


def _across(call: Call) -> float:
    """The greatest thickness a wire is stated to have, mm."""
    found = figures(call, FigureOf.SECTION, FigureOf.WIRE)
    sizes = (max(size) if isinstance(size, tuple) else size for _, _, size in found)
    return max(map(float, sizes), default=WIRE_LIMIT)


def _slivers(skin: Skin) -> Flags:
    """Which faces are no higher than the chords stand off the true surface: on a curve such a face
    may look anywhere. (m,)"""
    corner = skin.corners
    sides = corner - np.roll(corner, -1, axis=1)
    longest = np.sqrt((sides * sides).sum(axis=2).max(axis=1))
    return np.asarray(2 * skin.areas < SLIVER * longest)
