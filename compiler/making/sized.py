"""A piece, or one of its parts, as long as is wanted: by the factor that makes it so, tried on its metal."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ...lang.values import LENGTH, factors_to
from ..bench.roles import Role
from ..bench.things import indices
from .result import Built, FeatureInfo

_UNITS = factors_to(LENGTH)
_SAID = re.compile(
    r"(?:(?P<part>[\w.-]+) +)??(?:(?P<way>tall|wide) +)?"
    rf"(?P<figure>\d+(?:\.\d+)?) *(?P<unit>{'|'.join(_UNITS)})"
)
_WAYS = {"wide": 0, "tall": 1}
_CUT = frozenset((Role.CUT, Role.SEAT))  # roles of lines that leave faces, no metal
_FINDINGS = frozenset((
    Role.FINDING, Role.EAR_POST, Role.EAR_WIRE, Role.PIN, Role.BACK_BAIL, Role.STRAP, Role.CLASP, Role.SPRUE,
))  # fmt: skip
TRIES = 5
NEAR = 0.02  # mm


@dataclass(frozen=True)
class Length:
    """A length wanted, mm: of a part by name ("" for all of the metal but findings, where there is other), on
    its longest side or one way."""

    part: str
    way: str
    mm: float

    def of(self, built: Built) -> float | None:
        """How long that is now, mm, without what is bought; None where there is no such metal."""
        cast = [part for part in built.parts if not part.bought]
        lines = self._lines(built)
        sized = [k for k in lines if not self.part and not built.features[k].roles & _FINDINGS]
        for chosen in (sized, lines):
            spots = [part.points[np.unique(part.triangles[np.isin(part.owner, chosen)])] for part in cast]
            points = np.concatenate([np.zeros((0, 3)), *spots])
            if len(points):
                sides = np.ptp(points, axis=0)
                return float(sides[_WAYS[self.way]] if self.way else sides.max())
        return None

    def _lines(self, built: Built) -> list[int]:
        """The lines of that part; of copies, those of what they are of."""
        names, inside = [feature.name for feature in built.features], f"{self.part}."
        chosen = {k for k, name in enumerate(names) if not self.part or f"{name}.".startswith(inside)}
        for feature in built.piece.bench.features if built.piece is not None else ():
            if feature.index in chosen and feature.source is not None:
                chosen |= indices(feature.source)
        return sorted(chosen)

    def left_out(self, built: Built) -> list[str]:
        """The names of the findings that are not counted in it."""
        if self.part:
            return []
        found = _cast(built)
        if all(one.roles & (_FINDINGS | _CUT) for one in found):
            return []
        return list(dict.fromkeys(one.name.partition(".")[0] for one in found if one.roles & _FINDINGS))


def metal_names(built: Built) -> list[str]:
    """The names of the lines whose metal is cast, in their order: a length may be of any of them."""
    return list(dict.fromkeys(one.name.partition(".")[0] for one in _cast(built) if not one.roles & _CUT))


def _cast(built: Built) -> list[FeatureInfo]:
    owners = {int(k) for part in built.parts if not part.bought for k in np.unique(part.owner) if k >= 0}
    return [built.features[k] for k in sorted(owners)]


def length_of(said: str) -> Length | None:
    """The length that "32 mm", "tall 32 mm" or "cross tall 32 mm" says; None for what says none."""
    found = _SAID.fullmatch(said.strip())
    if found is None:
        return None
    figure = float(found["figure"]) * _UNITS[found["unit"]]
    return Length(found["part"] or "", found["way"] or "", figure) if figure > 0 else None


def factor_for(wanted: Length, first: Built, changed: Callable[[float], Built]) -> float | None:
    """The factor by which ``changed`` makes a piece that is as long as ``wanted``, as near as is found; what
    stays as it is, walls and loops, makes it less than the one length over the other."""
    now = wanted.of(first)
    if now is None:
        return None
    tried = {1.0: now}
    factor = wanted.mm / now
    for _ in range(TRIES):
        long = wanted.of(changed(factor))
        if long is None:
            return None
        tried[factor] = long
        if abs(long - wanted.mm) < NEAR:
            break
        one, two = sorted(tried, key=lambda each: abs(tried[each] - wanted.mm))[:2]
        slope = (tried[one] - tried[two]) / (one - two)
        factor = one + (wanted.mm - tried[one]) / slope if slope > 0 else factor * wanted.mm / long
        if factor <= 0 or factor in tried:
            break
    return min(tried, key=lambda each: abs(tried[each] - wanted.mm))
