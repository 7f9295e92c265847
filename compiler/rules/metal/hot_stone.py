"""Stones that take no heat, in a piece that is put together of several parts."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...judging.gems_at_risk import Gems, gems_at_risk, listed
from ...judging.rule import Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece


def check(piece: Piece) -> Iterator[Verdict]:
    """What is cast in one is soldered nowhere; how its stones bear heat stands on the setter's sheet."""
    if work := _soldering(piece):
        yield from gems_at_risk(
            piece, lambda gem: gem.torch, _told, "heat is safe for it",
            f"{work} before setting, and never cast it in place",
        )  # fmt: skip


def _soldering(piece: Piece) -> str:
    """What is soldered of a piece: bought parts, alloys, and rings that link its castings; nothing of one
    that is cast whole."""
    measures = piece.casting_measures
    bodies, castings = measures.bodies, measures.castings
    linked = any(joint.how != "soldered" for joint in measures.joints)
    bought = {
        castings[bodies[one].casting].called
        for joint in measures.joints if joint.how == "soldered" for one in (joint.one, joint.two)
        if castings[bodies[one].casting].bought
    }  # fmt: skip
    work = [f"solder {' and '.join(sorted(bought))} on"] if bought else []
    if any(len(casting.parts) > 1 for casting in castings):
        work.append("solder its metals to one another")
    return " and ".join([*work, *(["close and solder its links"] if linked else [])])


def _told(risky: Gems, never: Gems) -> tuple[str, str]:
    said = []
    if never:
        said.append(f"no torch near {listed(never)} once set")
    if risky:
        said.append(f"a torch is a risk to {listed(risky)} once set, though clean, coated and slowly cooled")
    return "; ".join(said), f"heat is {'sure to harm it' if never else 'a risk to it'}"
