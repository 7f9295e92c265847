"""A piece as the rules see it: features, stones, metal and limits, measured once on demand."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from ..lang.bench import Call
from ..stdlib.limits import Limit, limit
from .bench import PieceBench, StoneSet
from .feature import Feature
from .result import Part

if TYPE_CHECKING:
    from manifold3d import Manifold

    from .measures.skin import Skin


@dataclass
class Piece:
    """The laid-out piece. ``house`` holds limits of bench.toml by (rule, what).

    ``parts``/``solids`` are empty before metal. Lengths mm, weights g.
    """

    bench: PieceBench
    house: Mapping[tuple[str, str], float] = field(default_factory=dict)
    parts: tuple[Part, ...] = ()
    solids: Mapping[str, Manifold] = field(default_factory=dict)

    # -- the text's side ---------------------------------------------------------------------

    @property
    def features(self) -> list[Feature]:
        """All features in order."""
        return self.bench.features

    def call(self, feature: int) -> Call:
        """The checked line that made a feature."""
        return self.bench.lines[feature]

    def of_word(self, *words: str) -> Iterator[tuple[Feature, Call]]:
        """Features made by any of the core ``words``, with their lines, in order."""
        for feature, call in zip(self.features, self.bench.lines, strict=True):
            if call.word.name in words:
                yield feature, call

    def made_for(self, feature: Feature) -> str | None:
        """The user-level word a feature was made by ("prong" for a rod inside the word prong)."""
        trail = self.call(feature.index).words
        return trail[0] if trail else None

    @property
    def stones(self) -> list[StoneSet]:
        """All stones, by line."""
        return self.bench.stones()

    # -- limits --------------------------------------------------------------------------------

    def metal_of(self, feature: Feature | None) -> str:
        """The alloy a feature is of; the piece's own without one."""
        if feature is None:
            return self.bench.metal
        return self.call(feature.index).get("metal") or self.bench.metal

    def family(self, feature: Feature | None = None) -> str:
        """Alloy family, as in the limits table."""
        from ..stdlib.alloys import ALLOYS

        return ALLOYS[self.metal_of(feature)].family

    def limit(self, rule: str, what: str, feature: Feature | None = None) -> Limit:
        """The limit in force: the house's, else the family's, else everybody's."""
        found = limit(rule, what, self.family(feature))
        own = self.house.get((rule, what))
        if own is None:
            return found
        return Limit(**{**_fields(found), "figure": own, "source": "bench.toml"})

    # -- the metal's side ------------------------------------------------------------------------

    @cached_property
    def metal(self) -> Manifold:
        """All metal as one solid (alloys joined)."""
        from .kernel import join

        return join(list(self.solids.values()))

    @cached_property
    def skin(self) -> Skin:
        """The surface of all parts, each triangle with its feature."""
        from .measures.skin import Skin

        points, triangles, owner, start = [], [], [], 0
        for part in self.parts:
            points.append(part.points)
            triangles.append(part.triangles + start)
            owner.append(part.owner)
            start += len(part.points)
        return Skin(np.concatenate(points), np.concatenate(triangles), np.concatenate(owner))

    @cached_property
    def stone_solids(self) -> list[tuple[StoneSet, np.ndarray, Manifold]]:
        """Each stone as a solid in the piece: (its line's set, its frame (3, 4), solid)."""
        from .stones import stone_solid

        return [
            (group, frame, stone_solid(group.setting).transform(frame))
            for group in self.stones
            for frame in group.frames
        ]

    @cached_property
    def weight(self) -> float:
        """All metal, g."""
        from ..stdlib.alloys import ALLOYS

        return sum(part.volume * ALLOYS[part.metal].density / 1000 for part in self.parts)


def _fields(found: Limit) -> dict[str, Any]:
    return {name: getattr(found, name) for name in found.__dataclass_fields__}
