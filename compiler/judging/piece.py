"""A piece as the rules see it: features, stones, metal and limits, measured once on demand."""

from __future__ import annotations

from collections.abc import Callable, Container, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from importlib import import_module
from itertools import accumulate
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from ...lang.bench import Call
from ...lang.faults import Span
from ...lang.lexicon import Lexicon
from ...lang.outcome import Waiver
from ...lang.tree import File
from ...stdlib.alloys import ALLOYS, Alloy
from ...stdlib.limits import Limit, limit
from ..bench.feature import Feature
from ..bench.linked import is_chain
from ..bench.piece_bench import PieceBench
from ..bench.plan import Shape
from ..bench.roles import Role
from ..bench.stone_rows import StoneSet
from ..geometry import frames as fr
from ..house.house import NO_HOUSE, House
from ..metal.part import Part
from .beds import beds_of
from .bezels import bezels_of, is_cup
from .bound import Bound
from .feature_sets import FeatureSets
from .gaps import gaps_of
from .grips import Grip, best_of, by_stone, grips_of
from .plan_solids import PlanSolid, plan_solids
from .prongs import prongs_of, rods_of
from .seats import seats_of, shut_of
from .services import Services
from .source_lines import SourceLines
from .stone_table import Stones, stone_table
from .thicknesses import roofs_of

if TYPE_CHECKING:
    from manifold3d import Manifold

    from ..measures.skin import Skin
    from ..shapes.mesh import SolidMesh
    from .casting_measures import CastingMeasures
    from .claw_homes import ClawHomes
    from .pours import Pour, Print
    from .skin_measures import SkinMeasures
    from .stone_measures import StoneMeasures
    from .wear_measures import WearMeasures

# A band wider inside than this goes over the hand, not on a finger, mm.
BANGLE = 30.0


def made_anew(shape: Shape, tolerance: float) -> SolidMesh:
    """The mesh of a simple shape."""
    from ..shapes.makers import make

    return make(shape.kind, shape.figures, tolerance)


def _later(path: str) -> Any:
    """The measures called so, their module loaded when they are first asked for."""
    module, _, kind = path.partition(".")
    return cached_property(lambda piece: getattr(import_module(f".{module}", __package__), kind)(piece))


@dataclass
class Piece:
    """The laid-out piece. ``house`` holds the limits of bench.toml.

    ``parts`` are empty before metal. ``trees`` are the texts it was read from, by path, ``words`` the records
    of words by name (for remedies that change the text). Lengths mm, weights g. ``tolerance`` is the chord
    tolerance of the metal; ``mesh_of`` gives the mesh of a shape at a tolerance, as the metal was made of;
    ``pours`` and ``prints`` how its castings froze and print, where that was reckoned; ``left_out`` the
    user's lines that came to nothing, None where not all were looked at."""

    bench: PieceBench
    house: House = NO_HOUSE
    parts: tuple[Part, ...] = ()
    trees: Mapping[str, File] = field(default_factory=dict)
    words: Lexicon = field(default_factory=Lexicon)
    waivers: tuple[Waiver, ...] = ()
    tolerance: float = 0.005
    mesh_of: Callable[[Shape, float], SolidMesh] = made_anew
    pours: tuple[Pour, ...] = ()
    prints: tuple[Print, ...] = ()
    left_out: tuple[Span, ...] | None = ()
    _limits: dict[tuple[str, str, str], Bound] = field(default_factory=dict, init=False, repr=False)
    _with_role: dict[tuple[Role, ...], list[tuple[Feature, Call]]] = field(
        default_factory=dict, init=False, repr=False
    )
    _families: dict[int | None, str] = field(default_factory=dict, init=False, repr=False)

    # -- the text's side ---------------------------------------------------------------------

    @property
    def features(self) -> list[Feature]:
        """All features in order."""
        return self.bench.features

    def call(self, feature: int) -> Call:
        """The checked line that made a feature."""
        return self.bench.lines[feature]

    def name_of(self, feature: int) -> str:
        """The name of the user's own line that made a feature, with those of the blocks it stands in."""
        call = self.call(feature)
        if not call.trail:
            return call.name
        parts = call.name.split(".")
        line = self.source_lines.heads.get(call.trail[0])
        own = line.name.name if line is not None and line.name is not None else parts[0]
        return ".".join(parts[: parts.index(own) + 1]) if own in parts else parts[0]

    @cached_property
    def roles(self) -> list[frozenset[str]]:
        """What the metal or the work of each feature is for."""
        return [call.roles for call in self.bench.lines]

    def is_for(self, feature: int, *roles: Role) -> bool:
        """Whether a feature has any of the ``roles``."""
        return not self.roles[feature].isdisjoint(roles)

    def with_role(self, *roles: Role) -> Sequence[tuple[Feature, Call]]:
        """Features that have any of the ``roles``, with their lines, in order."""
        known = self._with_role.get(roles)
        if known is None:
            lines = zip(self.features, self.bench.lines, self.roles, strict=True)
            known = [(feature, call) for feature, call, own in lines if not own.isdisjoint(roles)]
            self._with_role[roles] = known
        return known

    def clauses_of(self, feature: int) -> frozenset[str]:
        """The names of the clauses that the user's own line for a feature has."""
        line = self.source_lines.of(self.call(feature), None, ()).line
        return frozenset(clause.key.name for clause in line.clauses) if line else frozenset()

    def course(self, feature: int) -> int | None:
        """The path of the text that a feature's own line names in its clause 'along'; None for another."""
        call = self.call(feature)
        line = self.source_lines.of(call, None, ()).line
        along = next((one.value for one in line.clauses if one.key.name == "along"), None) if line else None
        name = getattr(along, "name", None)
        own = call.within[0].name if call.within else call.name
        blocks = ["", *accumulate(f"{one}." for one in own.split(".")[:-1])]
        full = [f"{block}{name}" for block in reversed(blocks)]  # the innermost first
        found = [f for f in self.features if f.body is None and f.name in full and "path" in f.offers]
        return min(found, key=lambda f: full.index(f.name)).index if found else None

    def can_say(self, feature: int, key: str) -> bool:
        """Whether the user's own line for a feature has a clause of that name, or could have."""
        line = self.source_lines.of(self.call(feature), None, ()).line
        return line is not None and self.source_lines.can_say(line, key)

    # -- measures, each loaded when it is first asked for ------------------------------------

    # Which stone each claw was made for; what is measured of castings, skin, stones, and the piece as worn.
    claw_homes: ClassVar[cached_property[ClawHomes]] = _later("claw_homes.ClawHomes")
    casting_measures: ClassVar[cached_property[CastingMeasures]] = _later("casting_measures.CastingMeasures")
    skin_measures: ClassVar[cached_property[SkinMeasures]] = _later("skin_measures.SkinMeasures")
    stone_measures: ClassVar[cached_property[StoneMeasures]] = _later("stone_measures.StoneMeasures")
    wear_measures: ClassVar[cached_property[WearMeasures]] = _later("wear_measures.WearMeasures")

    # -- what lies on the bench ----------------------------------------------------------------

    beds = cached_property(beds_of)
    bezels = cached_property(bezels_of)
    gaps = cached_property(gaps_of)
    roofs = cached_property(roofs_of)
    seated = cached_property(seats_of)
    services = cached_property(Services)
    sets = cached_property(FeatureSets)
    shut = cached_property(shut_of)
    source_lines = cached_property(lambda piece: SourceLines(piece.trees, piece.words))
    rods = cached_property(lambda piece: rods_of(piece.plan_solids, piece.services.bare_copies))
    # Every rod beside a stone, but for findings and what was made for other stones.
    prongs = cached_property(lambda piece: prongs_of(piece.stones, piece.rods, piece.services.may_hold))
    best_grips = cached_property(lambda piece: best_of(piece.grips))
    grips_by_stone = cached_property(lambda piece: by_stone(piece.grips))
    _all_grips = cached_property(grips_of)

    @property
    def stone_sets(self) -> list[StoneSet]:
        """All stones, by line."""
        return self.bench.stones()

    @cached_property
    def stones(self) -> Stones:
        """All stones side by side."""
        return stone_table(self.bench.stones())

    @cached_property
    def chains(self) -> frozenset[int]:
        """The features that have links that things hang in."""
        return frozenset(one.index for one in self.features if is_chain(one))

    @cached_property
    def plan_solids(self) -> list[PlanSolid]:
        """Every single solid as laid out, copies and groups opened up."""
        return list(plan_solids(self.bench.plan().steps))

    def points_of(self, solid: PlanSolid) -> np.ndarray:
        """Corners of a single solid in its own axes, (n, 3)."""
        return self.mesh_of(Shape(solid.kind, solid.figures), self.tolerance).points

    def laid_before(self, line: int) -> list[tuple[np.ndarray, np.ndarray]]:
        """The metal that was there before a line: frames and triangles."""
        return self.laid_corners(one for one in self.plan_solids if one.feature < line)

    def laid_corners(self, solids: Iterable[PlanSolid]) -> list[tuple[np.ndarray, np.ndarray]]:
        """The metal of some solids as laid out, each copy by itself: frames and triangles (n, 3, 3)."""
        meshes = (
            (one.frames, self.mesh_of(Shape(one.kind, one.figures), self.tolerance))
            for one in solids if not one.cut
        )  # fmt: skip
        return [(at, fr.apply(at, mesh.points)[mesh.triangles]) for frames, mesh in meshes for at in frames]

    def solid_of(self, solid: PlanSolid) -> Manifold:
        """A single solid in its own axes, for the kernel."""
        from ..metal.kernel import plain

        mesh = self.mesh_of(Shape(solid.kind, solid.figures), self.tolerance)
        return plain(mesh.points, mesh.triangles)

    def standing(self, solids: Iterable[PlanSolid]) -> list[Manifold]:
        """Single solids where their copies stand, for the kernel."""
        return [self.solid_of(one).transform(frame) for one in solids for frame in one.frames]

    def laid(self, features: Container[int]) -> list[Manifold]:
        """The metal of some features as laid out, each copy by itself, for the kernel."""
        return self.standing(one for one in self.plan_solids if one.feature in features and not one.cut)

    @cached_property
    def rings(self) -> tuple[Feature, ...]:
        """The shanks of finger rings (a bangle's band is none)."""
        shanks = ((f, f.look("inside")) for f, _ in self.with_role(Role.SHANK))
        return tuple(f for f, inside in shanks if inside is None or inside.value < BANGLE)

    @cached_property
    def grips(self) -> list[Grip]:
        """Every prong at every stone it touches or nearly touches."""
        return [grip for grip in self._all_grips if not self.is_for(grip.feature, Role.GRAINS)]

    @cached_property
    def grains(self) -> list[Grip]:
        """Every raised bead at every stone it touches or nearly touches."""
        return [grip for grip in self._all_grips if self.is_for(grip.feature, Role.GRAINS)]

    @cached_property
    def beaded(self) -> frozenset[int]:
        """Stones that raised beads hold."""
        return frozenset(grain.stone for grain in self.grains if grain.bite > 0)

    @cached_property
    def shared(self) -> frozenset[int]:
        """Stones that share a prong with a neighbour."""
        return frozenset(k for gap in self.gaps if gap.shares for k in (gap.first, gap.second))

    @cached_property
    def barred(self) -> frozenset[int]:
        """Stones that stand between the bars of a channel, their ends open."""
        seats = {seat for seat in self.seated.values() if self.is_for(seat, Role.CHANNEL)}
        seats = {seat for seat in seats if self.call(seat).figure("bars")}
        return frozenset(stone for stone, seat in self.seated.items() if seat in seats)

    @cached_property
    def cups(self) -> frozenset[int]:
        """Bodies made round one stone: collets, tubes, bezels."""
        return frozenset(bed.body for bed in self.beds if is_cup(self, bed))

    @cached_property
    def walled(self) -> frozenset[int]:
        """Stones that a wall or raised beads hold, besides prongs or without them."""
        return self.beaded | {bezel.stone for bezel in self.bezels}

    # -- limits --------------------------------------------------------------------------------

    def metal_of(self, feature: Feature | int | None = None) -> str:
        """The alloy a feature is of; the piece's own without one."""
        if feature is None:
            return self.bench.metal
        index = feature if isinstance(feature, int) else feature.index
        return self.call(index).get("metal") or self.bench.metal

    def alloy(self, feature: Feature | int | None = None) -> Alloy:
        """The alloy a feature is of, in full."""
        return ALLOYS[self.metal_of(feature)]

    def family(self, feature: Feature | int | None = None) -> str:
        """Alloy family, as in the limits table."""
        index = feature.index if isinstance(feature, Feature) else feature
        known = self._families.get(index)
        if known is None:
            known = self._families[index] = self.alloy(index).family
        return known

    def limit(self, rule: str, what: str, feature: Feature | int | None = None) -> Limit:
        """The limit in force: the house's, else the family's, else everybody's."""
        return self.bound(rule, what, feature).limit

    def _limit(self, rule: str, what: str, family: str) -> Limit:
        found = limit(rule, what, family)
        own = self.house.figure(rule, what, family)
        if own is None:
            return found
        return replace(found, figure=own, source=self.house.name)

    def bound(self, rule: str, what: str, feature: Feature | int | None = None) -> Bound:
        """The figure of the limit in force."""
        asked = rule, what, self.family(feature)
        known = self._limits.get(asked)
        if known is None:
            found = self._limit(*asked)
            known = self._limits[asked] = Bound(found.figure, found)
        return known

    # -- the metal's side --------------------------------------------------------------------

    @cached_property
    def metal(self) -> Manifold:
        """All metal as one solid (alloys joined)."""
        from .joined_metal import joined_solid

        return joined_solid(self.parts)

    @cached_property
    def skin(self) -> Skin:
        """The surface of all parts, each triangle with its feature."""
        from .joined_metal import skins_of

        return skins_of(self.parts)

    @cached_property
    def stone_solids(self) -> list[tuple[StoneSet, np.ndarray, Manifold]]:
        """Each stone as a solid in the piece: (its line's set, its frame (3, 4), solid)."""
        from ..bench.stone_solid import stone_solid

        return [
            (group, frame, stone_solid(group.setting).transform(frame))
            for group in self.stone_sets
            for frame in group.frames
        ]

    @cached_property
    def weight(self) -> float:
        """All metal, g."""
        return sum(part.volume * ALLOYS[part.metal].density / 1000 for part in self.parts)
