"""Sharp edges where skin comes: none on wire's outer side about a wrist, none on the rims of cups."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from ..bench.stone_solid import stone_mesh
from ..measures.edges import SharpEdge, in_bore, sharp_edges, towards_back
from ..measures.kinds import Flags, Floats, dot
from ..measures.rays import within
from ..measures.skin import Skin
from .castings import to_a_wrist
from .pairs import near_pairs
from .piece import Piece
from .stone_table import reach_of

AT_STONE = 0.3  # mm


def edges_on_skin(piece: Piece) -> list[SharpEdge]:
    """Sharp edges on the skin side."""
    measures = piece.skin_measures
    angle = piece.bound("sharp-on-skin", "least")
    region: Callable[[Floats, Floats], Flags] = towards_back
    hole = piece.wear_measures.hole
    if hole is not None:
        region = in_bore(hole.middle, hole.axis, hole.radius)

    def bare(at: Floats, out: Floats) -> Flags:
        counts = region(at, out)
        counts[counts] = ~_at_stones(piece, at[counts])
        counts[counts] = ~_off_the_wrist(piece, at[counts])
        return counts

    return sharp_edges(measures.skin, bare, angle, beside=measures.flags(piece.sets.seats))


def _off_the_wrist(piece: Piece, at: Floats) -> Flags:
    """Which spots (n, 3) lie on the outer side of the wire nearest to them, bent to a wrist."""
    lines = [line for line in map(to_a_wrist, piece.features) if line is not None]
    if not lines or not len(at):
        return np.zeros(len(at), dtype=bool)
    points, outs = (np.concatenate([getattr(one, name) for one in lines]) for name in ("points", "outs"))
    nearest_one = np.linalg.norm(at[:, None] - points[None], axis=2).argmin(axis=1)
    return np.asarray(dot(at - points[nearest_one], outs[nearest_one]) > 0)


def _at_stones(piece: Piece, at: Floats) -> Flags:
    """Which spots (n, 3) lie so near to a stone that no skin comes there: on the rim of its cup."""
    stones = piece.stones
    shut = np.zeros(len(at), dtype=bool)
    most = max((reach_of(kind) for kind in stones.kinds), default=0.0)
    spot, stone = near_pairs(at, stones.frames[:, :, 3], most + AT_STONE)
    kind = stones.kind[stone]
    for one in np.unique(kind).tolist():  # all stones of a kind at the place of one
        points, triangles = stone_mesh(stones.kinds[one].figures)
        skin = Skin(points, triangles, np.zeros(len(triangles), dtype=np.int64))
        mine, frame = spot[kind == one], stones.frames[stone[kind == one]]
        local = ((at[mine] - frame[:, :, 3])[:, None] @ frame[:, :, :3])[:, 0]
        shut[mine[within(skin, local, AT_STONE)]] = True
    return shut
