"""Short cautions for work that can hurt someone, and when UK law asks for a hallmark.

Data: ``tables/cautions.tsv`` and ``tables/hallmarks.tsv``, a source per row. The texts are
reminders: local codes, the makers' safety sheets and licensed practice come first."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from .alloys import FAMILIES, Alloy
from .rows import TableError, by_name, number, read_rows

STEPS = "print", "invest", "burn-out", "pour", "break-out", "pickle", "solder"
"""Work that may call for a caution: resin printing to soldering."""

ANY = "*"


@dataclass(frozen=True)
class Caution:
    """One caution as sheets print it."""

    key: str
    title: str
    text: str
    source: str
    steps: tuple[str, ...]  # Work that calls for it; ``*`` for whatever is done
    metals: tuple[str, ...]  # Families, ``nickel``, ``zinc``, or ``*`` for any metal


def cautions_for(alloy: Alloy | None, steps: Collection[str]) -> tuple[Caution, ...]:
    """The cautions for doing ``steps`` (from STEPS) with a metal, in table order.

    With no alloy only the cautions that hold for any metal come back. Raises ValueError
    for a step outside STEPS: a bug of ours."""
    unknown = [step for step in steps if step not in STEPS]
    if unknown:
        raise ValueError(f"no such step: {unknown}")
    traits = {ANY} | (_traits(alloy) if alloy else set())
    wanted = {ANY, *steps}
    return tuple(
        caution
        for caution in CAUTIONS.values()
        if wanted.intersection(caution.steps) and traits.intersection(caution.metals)
    )


def _traits(alloy: Alloy) -> set[str]:
    """What a metal is, in the words the cautions table uses."""
    found = {alloy.family}
    if alloy.nickel:
        found.add("nickel")
    # Casters' bronze and brass mostly hold zinc even where no recipe is published.
    if "Zn" in alloy.composition or alloy.family in ("bronze", "brass"):
        found.add("zinc")
    return found


def uk_hallmark(alloy: Alloy, mass: float) -> str:
    """Whether UK law asks for a hallmark on ``mass`` g of metal, stones left out.

    ``base metal``, ``exempt``, ``at or near the limit`` (within 1 %: texts differ on the
    figure itself, and a printed mass is no weighing) or ``needs a hallmark``."""
    below = _EXEMPT.get(alloy.family)
    if below is None:
        return "base metal"
    if abs(mass - below) <= 0.01 * below:
        return "at or near the limit"
    return "exempt" if mass < below else "needs a hallmark"


def _cautions() -> Mapping[str, Caution]:
    """tables/cautions.tsv by key, in table order."""
    found = by_name("cautions", Caution)
    for caution in found.values():
        if not {ANY, *STEPS}.issuperset(caution.steps) or not caution.steps:
            raise TableError(f"cautions: {caution.key} has an unknown step")
        if not {ANY, "nickel", "zinc", *FAMILIES}.issuperset(caution.metals):
            raise TableError(f"cautions: {caution.key} has an unknown metal")
    return found


def _exempt() -> Mapping[str, float]:
    """Mass in g below which a family needs no UK hallmark."""
    rows = read_rows("hallmarks")
    return MappingProxyType({row["family"]: number(row, "exempt_below") for row in rows})


CAUTIONS: Mapping[str, Caution] = _cautions()
"""Cautions by key, in the order sheets print them."""

_EXEMPT = _exempt()
