"""Faults of wire whose path bends tighter than it may, or lies upon itself."""

from __future__ import annotations

import itertools

import numpy as np

from ...lang.bench import Call
from ..geometry.facing import FACINGS, turned_to
from ..geometry.line import Line
from ..geometry.tightness import Tight, nearest_pass, tightest

Stretches = tuple[tuple[float, float], ...]


def not_too_tight(call: Call, line: Line, section: np.ndarray, frame: np.ndarray | None = None) -> Stretches:
    """Faults where the line bends tighter than the ``section`` (k, 2) reaches to its inner side, or
    lies upon itself; where ``frame`` (3, 4) says how it stands, ``facing`` may be the remedy. The
    stretches, mm from its start, of a line that crosses itself, none of which does."""
    bend, (near, cuts) = tightest(line, section), nearest_pass(line, section)
    if _follows(bend):
        if near is None or _passes(near):
            return _stretches(line, cuts)
        call.refuse(
            "path-meets-itself", f"the path passes itself within {near.seen:.2g} mm near {_spot(near.at)}",
            "along", seen=f"{near.seen:.3g} mm", limit=f"{near.need:.3g} mm, what the wire measures that way",
            remedy=f"{_other_facing(line, section, frame)}lead it past itself farther off, or across itself "
            "at 20 degrees or more: there it is soldered",
        )
    call.refuse(
        "bend-too-tight",
        f"the path bends to a radius of {bend.seen:.2g} mm near {_spot(bend.at)}, tighter than half of what "
        "this wire measures that way", "along", seen=f"radius {bend.seen:.3g} mm",
        limit=f"over {bend.need:.3g} mm, as far as the wire reaches into the bend",
        remedy=f"{_other_facing(line, section, frame)}open the bend, or take thinner wire",
    )


def _stretches(line: Line, cuts: tuple[float, ...]) -> Stretches:
    if not cuts:
        return ()
    whole = line.length()
    stops = (*cuts, cuts[0] + whole) if line.closed else (0.0, *cuts, whole)
    return tuple(itertools.pairwise(stops))


def _spot(at: np.ndarray) -> str:
    return "(" + ", ".join(f"{part:.3g}" for part in (np.round(at, 6) + 0.0).tolist()) + ")"


def _follows(bend: Tight) -> bool:
    return bend.seen >= bend.need * 1.001


def _passes(near: Tight) -> bool:
    return near.seen >= near.need * 0.999


def _other_facing(line: Line, section: np.ndarray, frame: np.ndarray | None) -> str:
    """A remedy for wire that stands on edge in its bend and would fit it another way round."""
    if frame is None:
        return ""
    for way in FACINGS:
        turned = turned_to(line, frame, way)
        near, _ = nearest_pass(turned, section)
        if _follows(tightest(turned, section)) and (near is None or _passes(near)):
            return f"the wire stands on edge there: write facing {way}; or "
    return ""
