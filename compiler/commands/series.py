"""What of a piece is to be made: as it stands, or all that its series lines list."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from . import making, shared


@dataclass(frozen=True)
class Making:
    """One making: settings and metal of its own, and a label for its file names."""

    label: str = ""
    settings: Mapping[str, Any] = field(default_factory=dict)
    metal: str | None = None


def makings(path: str, arguments: argparse.Namespace) -> list[Making]:
    """Every making asked for; a piece with faults is made once, which shows them."""
    if not arguments.series:
        return [Making()]
    from ...lang.faults import is_fatal
    from ..build import check

    settings = shared.settings_of(arguments.set)
    metal = making.metal_name(arguments.metal)
    piece = check(path, settings=settings, metal=metal)
    if is_fatal(piece.faults):
        return [Making()]
    if not piece.series:
        raise shared.Misuse(f"{path} has no series line; leave --series out")
    found: dict[str, Making] = {}
    for series in piece.series:
        for values, alloy in series.settings():
            label = _label(values, alloy)
            found.setdefault(label, Making(label, values, alloy))
    return list(found.values())


def _label(values: Mapping[str, Any], metal: str | None) -> str:
    """What tells a making from the others: "across-2.5mm-gold-750-yellow"."""
    parts = [f"{name}-{_shown(value)}" for name, value in values.items()]
    text = "-".join([*parts, *([metal] if metal else [])])
    return "".join(one if one.isalnum() or one in ".-_" else "-" for one in text)


def _shown(value: Any) -> str:
    """A value of the language in a file name."""
    from ...lang.shown import quantity
    from ...lang.values import Quantity

    if isinstance(value, Quantity):
        return quantity(value, 6).replace(" ", "").replace("%", "pc")
    return str(getattr(value, "text", getattr(value, "name", value)))
