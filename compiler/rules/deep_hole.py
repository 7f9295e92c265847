"""Holes, slits and letters too deep for their width."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ..bench.feature import Feature
from ..bench.roles import Role
from ..geometry.outlines import trace_all
from ..geometry.surfaces import Flat
from ..judging.digits import mm, rounded_down
from ..judging.figure_rule import Reading
from ..judging.marks import finest_mark
from ..judging.thicknesses import thick_under

if TYPE_CHECKING:
    from ..judging.piece import Piece
    from ..measures.kinds import Floats

FLOOR = 0.6  # cosine to a hole's axis, of the faces that end it
SAME = 0.02  # mm


def check(piece: Piece) -> Iterator[Reading]:
    for feature, call in piece.with_role(Role.OPENS):
        if piece.is_for(feature.index, Role.FINDING):
            continue  # a tongue or a pin goes in: such a cut is cleaned by saw and file
        across, slit = _across(piece, feature.index)
        hollow = "depth" in feature.offers
        deep = feature.look("depth").value if hollow else call.get("deep")
        through = _through(piece, call.get("in"), feature)
        if through is None and not hollow:
            continue  # told of the metal: whether it comes out, and how far it runs in it
        blind = deep is not None and (hollow or deep < through)
        long = deep if blind else through
        if long is None or across is None:
            continue
        yield _deep(feature, long, across, blind, slit)


def on_metal(piece: Piece) -> Iterator[Reading]:
    """Holes and cuts in metal that is not flat, by what is left of their walls."""
    for feature, call in piece.with_role(Role.OPENS):
        flat = "depth" in feature.offers or _through(piece, call.get("in"), feature) is not None
        across, slit = _across(piece, feature.index)
        if piece.is_for(feature.index, Role.FINDING) or across is None or flat:
            continue
        mark = finest_mark(piece, feature.index) if slit else None
        edge = np.concatenate(trace_all(mark[1].figures[0])) if mark else np.array([[across], [-across]]) / 2
        for frame in mark[1].frames if mark else feature.frames:
            long, floor = _run(piece, feature.index, frame, edge)
            yield _deep(feature, long, float(across), floor, slit)


def _run(piece: Piece, line: int, frame: Floats, edge: Floats) -> tuple[float, bool]:
    """How far a cut with this ``edge``, (n, 2) or less, runs in metal, mm, and whether it ends on a floor."""
    skin = piece.skin_measures.skin
    mine = skin.owner == line
    own = (skin.corners[mine] - frame[:, 3]) @ frame[:, :3]
    within = (own[..., :2] > edge.min(axis=0) - SAME) & (own[..., :2] < edge.max(axis=0) + SAME)
    here = within.all(axis=(1, 2))
    floor = np.abs(skin.normals[mine][here] @ frame[:, 2]) > FLOOR
    return _longest(own[here, :, 2]), bool(floor.any())


def _longest(spans: np.ndarray) -> float:
    """The longest run that spans (m, 3) along a line cover together."""
    best, start, end = 0.0, np.inf, -np.inf
    for low, high in sorted(zip(spans.min(axis=1).tolist(), spans.max(axis=1).tolist(), strict=True)):
        start, end = (start, max(end, high)) if low <= end + SAME else (low, high)
        best = max(best, end - start)
    return best


def _deep(feature: Feature, long: float, across: float, blind: bool, slit: str) -> Reading:
    """How many times its width a hole or cut so ``long`` is deep."""
    said = {
        "way": "blind" if blind else "through", "kind": "blind " * blind + ("cut" if slit else "hole"),
        "deep": mm(long), "slit": slit,
    }  # fmt: skip
    return Reading(
        feature.index, long / across, feature, words=said, key="deep" if blind else "across",
        cure=lambda limit: f"make it {rounded_down(limit * across)} deep, or wider" if slit and blind
        else "make it wider, or drill it after casting",
    )  # fmt: skip


def _across(piece: Piece, line: int) -> tuple[float | None, str]:
    """How wide a cut is, as a hole would be of as much section to its edge; for a slit how that is
    told."""
    if piece.is_for(line, Role.HOLE):
        return piece.call(line).get("across"), ""
    mark = finest_mark(piece, line) if piece.is_for(line, Role.CUT) else None
    if mark is None or not mark[1].cut:
        return None, ""
    return 2 * mark[0], f"{mm(mark[0])} wide in the mean, as a hole of {mm(2 * mark[0])}: "


def _through(piece: Piece, body: object, hole: Feature) -> float | None:
    """How far a hole that goes straight through a flat body runs in metal, if that is known: to
    the roof's inside, where the body is hollow."""
    if not isinstance(body, Feature) or not isinstance(body.surface, Flat):
        return None
    way, out = hole.frames[0, :, 2], body.frames[0, :, 2]
    if abs(float(np.dot(way, out))) <= 0.99:
        return None
    if piece.is_for(body.index, Role.SHANK):
        return thick_under(piece, body)
    return piece.roofs.get(body.index, body.high - body.low)
