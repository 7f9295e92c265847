"""The placing clauses common to all features that have a place: rows of placing.json."""

from __future__ import annotations

import json
from importlib import resources
from types import MappingProxyType
from typing import Any

from .words import Take

# Where the copies stand, how they are laid out: one of each at most.
GROUNDS = "at", "under", "on", "along", "upon"
LAID_OUT = "on", "along", "upon"  # these find places for a word that needs some
_PATTERNS = "row", "circle", "grid"
# What to do with two of them that are said together, where one can be said elsewhere.
KEEP_BOTH = {
    frozenset(("on", "along")):
        "leave 'on' out here, and say it in the line of the path: what goes along that lies where it lies",
    frozenset(("at", "along")):
        "leave 'at' out here, and say in the line of the path what that lies on, as in 'on medal'",
}  # fmt: skip


def _take(row: dict[str, Any]) -> Take:
    """A clause of its row, beside which none of its own kind can stand, but those it stands ``beside``."""
    beside = row.pop("beside", ())
    alone = next((names for names in (GROUNDS, _PATTERNS) if row["name"] in names), ())
    others = (name for name in alone if name != row["name"] and name not in beside)
    return Take.of({**row, "not_with": [*row.get("not_with", ()), *others]})


# `every` is a size of one member (the pitch) or two (right, up); `row` and `circle` count.
PLACING: tuple[Take, ...] = tuple(
    map(_take, json.loads(resources.files(__package__).joinpath("placing.json").read_text("utf-8")))
)
PLACING_BY_NAME = MappingProxyType({take.name: take for take in PLACING})
