"""Stones that take no heat once they are set."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.gems_at_risk import gems_at_risk
from ..judging.rule import Finding, Level, Rule

if TYPE_CHECKING:
    from ..judging.piece import Piece


def _check(piece: Piece) -> Iterator[Finding]:
    return gems_at_risk(
        piece, lambda gem: gem.torch, _told, "heat is safe for it",
        "do all soldering before setting, and never cast it in place",
    )  # fmt: skip


def _told(risky: str, never: str) -> tuple[str, str]:
    kept = f"no torch near {never} once set" if never else ""
    care = f"a torch is a risk to {risky} once set, though clean, coated and slowly cooled" if risky else ""
    seen = "sure to harm it" if never else "a risk to it"
    return "; ".join(filter(None, (kept, care))), f"heat is {seen}"


RULE = Rule(
    "hot-stone",
    "A stone that heat would harm.",
    "plan",
    Level.NOTE,
    "Soldering heat bursts, cracks or discolours most stones, and even hard ones crack when "
    "quenched or when dirty.",
    "Do all soldering before setting; set last. Follow local codes for torch work.",
    "[from memory], by stdlib/tables/gems.tsv",
    _check,
)
