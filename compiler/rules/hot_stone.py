"""Stones that take no heat once they are set."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.gems_at_risk import Gems, gems_at_risk, listed
from ..judging.rule import Level, Rule, Verdict

if TYPE_CHECKING:
    from ..judging.piece import Piece


def _check(piece: Piece) -> Iterator[Verdict]:
    return gems_at_risk(
        piece, lambda gem: gem.torch, _told, "heat is safe for it",
        "do all soldering before setting, and never cast it in place",
    )  # fmt: skip


def _told(risky: Gems, never: Gems) -> tuple[str, str]:
    said = []
    if never:
        said.append(f"no torch near {listed(never)} once set")
    if risky:
        said.append(f"a torch is a risk to {listed(risky)} once set, though clean, coated and slowly cooled")
    return "; ".join(said), f"heat is {'sure to harm it' if never else 'a risk to it'}"


RULE = Rule(
    "hot-stone",
    "A stone that heat would harm.",
    "plan",
    Level.HINT,
    "Soldering heat bursts, cracks or discolours most stones, and even hard ones crack when "
    "quenched or when dirty.",
    "Do all soldering before setting; set last. Follow local codes for torch work.",
    "[from memory], by stdlib/tables/gems.tsv",
    _check,
    advice=True,
)
