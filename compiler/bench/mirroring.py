"""Which way the mirror images of `both-sides` lie from what is mirrored."""

from __future__ import annotations

from collections.abc import Mapping

from ...lang.bench import Argument, Call
from .feature import Places

SIDES, UP = 0, 1  # axes of a place
MOVES = ("right", "left"), ("up", "down")  # along each
ASIDE = *MOVES[SIDES], "around", "stretch"
ALONG_EDGE = *MOVES[UP], "turn", "tilt"  # what moves or turns a part along the edge of an end


def mirrored_across(call: Call) -> int:
    """The axis of its place along which the mirror image of a line goes the other way: right, or up where the
    line goes no other way; at an end of metal, where 'right' leads away from it, up too, as its edge runs."""
    said = {key: one for key, one in call.arguments.items() if one.given}
    if mirror_axis(said) is UP or not _at_end(said):
        return mirror_axis(said)
    key = "right" if "right" in said else "left"
    far = f"{said[key].value if key in said else 0:g} mm"
    call.refuse(
        "clauses-disagree", f"at an end of metal '{key}' leads out of it or into it: there is no other side",
        "both-sides",
        remedy=f"write up {far} in place of {key} {far}: one to either side along the edge; "
        "or leave both-sides out",
    )  # fmt: skip


def mirror_axis(said: Mapping[str, Argument]) -> int:
    """Likewise of the clauses that a line says."""
    if _at_end(said):
        return UP if any(key in said for key in ALONG_EDGE) else SIDES
    return UP if any(key in said for key in MOVES[UP]) and not any(key in said for key in ASIDE) else SIDES


def _at_end(said: Mapping[str, Argument]) -> bool:
    at = said["at"].value if "at" in said else None
    return isinstance(at, Places) and (at.ends or at.of_line) and "on" not in said
