"""What a piece weighs: in its own metals, in every alloy of the table, and its stones."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from math import fsum

from ...lang.faults import Fault
from ...lang.values import UNITS
from ...stdlib.alloys import ALLOYS, Alloy, find_alloy
from ...stdlib.gems import GEMS
from ..bench.roles import FigureOf, Role
from ..judging.figures import figure
from ..metal.part import Part, in_row
from .result import Built, Stone

# What a customer most often asks the price in, one of each kind (common practice, no source).
USUAL = (
    "silver-925", "gold-585-yellow", "gold-750-yellow", "platinum-950", "palladium-950",
    "bronze",
)  # fmt: skip
GRAMS_PER_DENSE_MM3 = 0.001  # 1 mm3 at 1 g/cm3


@dataclass(frozen=True)
class PartWeight:
    """One metal of one casting: volume mm3 and weight g, each with the most it is off; ``mesh_volume`` is
    that of the triangles alone, whose chords lie within curved faces.

    ``casting`` is "" for the piece's own; of a bought part it names that, and ``count`` tells how many there
    are of it in all."""

    metal: str
    title: str
    density: float
    volume: float
    volume_error: float
    mesh_volume: float
    grams: float
    grams_error: float
    casting: str = ""
    count: int = 1

    @property
    def own_name(self) -> str:
        """What a bought part is called by its own line, whatever it is part of: "post" of "left.post", and
        "ear-post" of "ear-post 2", which has no name of its own."""
        return re.sub(r" \d+$", "", self.casting.rpartition(".")[2])


@dataclass(frozen=True)
class AlloyWeight:
    """The whole piece made in one alloy, g; parts in another metal than the piece's stay so."""

    name: str
    title: str
    family: str
    density: float
    grams: float
    grams_error: float


@dataclass(frozen=True)
class StoneWeight:
    """Stones alike in cut, size (mm) and gem; carats by the formula (or the scales, if ``weighed``)
    and by volume."""

    cut: str
    size: tuple[float, ...]
    gem: str
    count: int
    carats_each: float
    carats: float
    carats_volume_each: float
    carats_volume: float
    weighed: bool = False

    @property
    def is_metal(self) -> bool:
        """Whether they are coins, which no sum of carats counts."""
        return GEMS[self.gem].is_metal


@dataclass(frozen=True)
class Weights:
    """All weights of a piece.

    ``grams`` is the cast metal as written (every part in its own metal), ``grams_error`` how far faceting can
    put it off; what is ``bought`` is weighed apart. The density of an alloy, which differs by recipe and
    maker, is taken as the table has it."""

    metal: str
    grams: float
    grams_error: float
    parts: tuple[PartWeight, ...]
    alloys: tuple[AlloyWeight, ...]
    stones: tuple[StoneWeight, ...]
    carats: float
    carats_volume: float
    bought: tuple[PartWeight, ...] = ()

    @property
    def rows(self) -> list[list[PartWeight]]:
        """The castings of one row that weigh alike together, in the order of the text."""
        found: dict[tuple[str, str, float], list[PartWeight]] = {}
        for part in self.parts:
            row = in_row(part.casting)[0], part.metal, round(part.grams, 2 if part.grams >= 0.1 else 3)
            found.setdefault(row, []).append(part)
        return list(found.values())

    @property
    def metals(self) -> list[tuple[str, float, float]]:
        """Each cast metal with its weight in all castings, g, and the most that is off."""
        found: dict[str, list[PartWeight]] = {}
        for part in self.parts:
            found.setdefault(part.metal, []).append(part)
        return [
            (metal, fsum(p.grams for p in parts), fsum(p.grams_error for p in parts))
            for metal, parts in found.items()
        ]

    @property
    def carats_by(self) -> str:
        """How the stones' carats are known, as it is shown."""
        known = {row.weighed for row in self.stones if not row.is_metal}
        return "formula and scales" if len(known) > 1 else "the scales" if True in known else "formula"

    @property
    def stone_grams(self) -> float:
        """Weight of all stones in g, by the formulas (1 ct = 0.2 g)."""
        return self.carats * UNITS["ct"][1]


def weigh(built: Built) -> tuple[Weights | None, list[Fault]]:
    """Weights of ``built``; None when there is no metal. Fault: ``metal-not-in-table``."""
    if not built.parts:
        return None, []
    built.adopt_tables()
    parts: list[PartWeight] = []
    bought: list[PartWeight] = []
    faults: list[Fault] = []
    for part in built.parts:
        alloy = find_alloy(part.metal)
        if alloy is None:
            faults.append(_not_in_table(part.metal))
        else:
            (bought if part.bought else parts).append(_part(part, alloy))
    if faults:
        return None, faults
    stones = _stones(built.stones)
    own = _in_own(parts, built.metal)
    return (
        Weights(
            metal=built.metal, grams=fsum(part.grams for part in parts),
            grams_error=fsum(part.grams_error for part in parts), parts=tuple(parts),
            alloys=tuple(_in_alloy(parts, own, alloy) for alloy in ALLOYS.values()), stones=stones,
            carats=fsum(row.carats for row in stones if not row.is_metal),
            carats_volume=fsum(row.carats_volume for row in stones if not row.is_metal), bought=tuple(bought),
        ),
        [],
    )


def saved_by_hollowing(built: Built, weights: Weights) -> float:
    """How much less metal is cast, g, than with the `hollow` lines left out; 0 where there is none."""
    opens = built.piece.with_role(Role.OPENS) if built.piece is not None else ()
    lines = {one.index for one, call in opens if figure(call, FigureOf.ROOF)}
    if built.piece is None or not lines:
        return 0.0
    from ..bench.plan import cast_steps
    from ..bench.step_lists import without
    from .session import Session, metal_parts

    bench = built.piece.bench
    steps = tuple(without(cast_steps(bench.plan().steps), lines))
    parts, _ = metal_parts(bench, Session(), built.tolerance, None, steps)
    cast = [(part, find_alloy(part.metal)) for part in parts if not part.bought]
    return fsum(_part(part, alloy).grams for part, alloy in cast if alloy is not None) - weights.grams


def in_other_metals(weights: Weights, names: Sequence[str] | None = None) -> list[AlloyWeight]:
    """The piece in the alloys ``names`` besides its own; usually one of each kind, and the
    other colours of its own fineness."""
    own = find_alloy(weights.metal)
    if names is None:
        names = [name for name, alloy in ALLOYS.items() if name in USUAL or _alike(alloy, own)]
    skipped = own.name if own else weights.metal
    return [row for row in weights.alloys if row.name in names and row.name != skipped]


def _alike(one: Alloy, other: Alloy | None) -> bool:
    """Whether two alloys carry the same mark: the colours of one fineness."""
    return (
        other is not None
        and one.fineness > 0
        and (one.family, one.fineness) == (other.family, other.fineness)
    )


def _part(part: Part, alloy: Alloy) -> PartWeight:
    """One part in its own metal, or as it is said to weigh."""
    dense, count = alloy.density * GRAMS_PER_DENSE_MM3, _count(part) if part.bought else 1
    return PartWeight(
        metal=part.metal, title=alloy.title, density=alloy.density, volume=part.volume,
        volume_error=part.error, mesh_volume=part.mesh_volume,
        grams=part.weighs * count if part.weighs is not None else part.volume * dense,
        grams_error=0.0 if part.weighs is not None else part.error * dense, casting=part.casting, count=count,
    )


def _count(part: Part) -> int:
    """How many separate bodies there are of a bought part."""
    from ..measures.bodies import pieces
    from ..measures.skin import Skin

    return len(pieces(Skin(part.points, part.triangles, part.owner)))


def _in_own(parts: Sequence[PartWeight], metal: str) -> list[PartWeight]:
    """The parts that are of the piece's own ``metal``; one that stands alone is."""
    main = find_alloy(metal)
    own = main.name if main else metal
    named = [find_alloy(part.metal) for part in parts]
    return [
        part for part, alloy in zip(parts, named, strict=True)
        if len(parts) == 1 or (alloy is not None and alloy.name == own)
    ]  # fmt: skip


def _in_alloy(parts: Sequence[PartWeight], own: Sequence[PartWeight], alloy: Alloy) -> AlloyWeight:
    """The piece with ``alloy`` for the metal of its ``own`` parts."""
    grams, errors = [], []
    for part in parts:
        density = alloy.density if part in own else part.density
        grams.append(part.volume * density * GRAMS_PER_DENSE_MM3)
        errors.append(part.volume_error * density * GRAMS_PER_DENSE_MM3)
    return AlloyWeight(alloy.name, alloy.title, alloy.family, alloy.density, fsum(grams), fsum(errors))


def _stones(stones: Sequence[Stone]) -> tuple[StoneWeight, ...]:
    """Stones counted by kind, kinds in the order their first one has in the text."""
    kinds: dict[tuple[str, tuple[float, ...], str, bool, float], list[Stone]] = {}
    for stone in stones:
        size = tuple(round(float(figure), 4) for figure in stone.size)
        key = stone.cut, size, stone.gem, stone.weighed, round(stone.carats, 6)
        kinds.setdefault(key, []).append(stone)
    return tuple(
        StoneWeight(
            cut, size, gem, len(alike), fsum(one.carats for one in alike) / len(alike),
            fsum(one.carats for one in alike), fsum(one.carats_volume for one in alike) / len(alike),
            fsum(one.carats_volume for one in alike), weighed,
        )
        for (cut, size, gem, weighed, _), alike in kinds.items()
    )


def _not_in_table(metal: str) -> Fault:
    """The fault for a metal the table of alloys does not have."""
    return Fault(
        "metal-not-in-table", f"{metal} is not in the table of alloys, so its weight is not known",
        seen=metal, remedy="choose a metal that 'posy weigh' lists",
    )
