"""lost-edge: beads or stones along the edge of one part that run on across the face of another."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from ...bench.feature import Feature
from ...judging.beads import rows_of
from ...judging.edges import Neighbours, depths_on
from ...judging.figure_rule import Reading

if TYPE_CHECKING:
    from ...judging.piece import Piece
    from ...measures.kinds import Flags, Floats

EVEN = 0.15  # mm, how evenly far inside an edge lies what follows it
INSET = 3.0  # times its own size, what stands farther inside follows no edge
FEWEST = 4  # of a row along one edge
MOST = 1  # of a row on the face of another part


class Row(NamedTuple):
    """What follows a line: the part of it, how wide one is, mm, and where each stands on its face (n, 3)."""

    feature: int
    size: float
    spots: Floats


def lost_edge(piece: Piece) -> Iterator[Reading]:
    """Rows along an edge that is gone where another part of the same height runs into theirs."""
    flat = Neighbours(one for one in piece.features if one.body is not None)
    for row in _rows(piece):
        near = flat.near(row.spots, row.size)
        depths = [(body, _inside(row, body)) for body in near]
        for home, own in depths:
            along = np.isfinite(own) & (own > -EVEN) & (own < INSET * row.size)
            if along.sum() < FEWEST or np.ptp(own[along]) > EVEN:
                continue
            for other, depth in depths:
                across = along & (depth > own + row.size / 2) if other is not home else along & False
                pair = frozenset((home.index, other.index))
                shown = across.sum() > MOST and not across[along].all() and _shows(piece, row, across)
                if shown:
                    yield _reading(piece, row, home, other, across)._replace(once=pair)


def _reading(piece: Piece, row: Row, home: Feature, other: Feature, across: Flags) -> Reading:
    beads = any(row.feature == of.feature for of in rows_of(piece))
    twin = next((of.feature for of in _rows(piece) if of.feature != row.feature and beads
                 and np.isfinite(_inside(of, other)).all()), None)  # fmt: skip
    said = {
        "these": "these beads" if beads else "these stones", "home": piece.name_of(home.index),
        "face": piece.name_of(other.index), "lie": f"{across.sum()} of {len(across)}",
        "also": "" if twin is None else f", and take {piece.name_of(twin)} out",
    }  # fmt: skip
    return Reading(
        row.feature, float(across.sum()), row.spots[int(np.argmax(across))], bound=float(MOST), words=said,
        others=(home.index, other.index, *(() if twin is None else (twin,))),
    )  # fmt: skip


def _rows(piece: Piece) -> Iterator[Row]:
    for row in rows_of(piece):
        yield Row(row.feature, row.bead, row.centres)
    for feature in piece.features:
        laid = feature.stone_offers is not None and piece.call(feature.index).given("along")
        if laid and len(feature.frames) >= FEWEST:
            wide = min(feature.kind(k).width for k in range(len(feature.frames)))
            yield Row(feature.index, wide, feature.frames[:, :, 3])


def _inside(row: Row, body: Feature) -> Floats:
    """How far inside the edge of a flat body each of a row lies on its face (n,), no number for one that
    does not."""
    return depths_on(body, row.spots, row.size, row.size / 2 + EVEN, body.high)



def _shows(piece: Piece, row: Row, across: Flags) -> bool:
    """Whether any of those that lie across are to be seen: no other metal covers them."""
    skin = piece.skin_measures.skin
    up = piece.features[row.feature].frames[across][:, :, 2]
    far, _ = skin.grid.cast(row.spots[across] + row.size * up, up, leaving=False)
    return bool((~np.isfinite(far)).sum() > 1)
