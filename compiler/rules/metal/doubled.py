"""Metal that is there twice: in its own copy, or wholly inside other metal."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from ...bench.roles import Role
from ...judging.beads import rows_of
from ...judging.digits import above, mm, rounded_up, share
from ...judging.figure_rule import Reading
from ...judging.ring_mates import farther_round
from ...judging.shown import beads_by_line, half_out
from ...judging.twins import ASIDE, Twins, laid_by, touching, twins_of

if TYPE_CHECKING:
    from manifold3d import Manifold

    from ...judging.piece import Piece
    from ...judging.plan_solids import PlanSolid


HELD = Role.PRONG, Role.GRAINS  # see merged-prongs; and of rows of beads merged-beads


def doubled_part(piece: Piece) -> Iterator[Reading]:
    """A part that stands for the most part in its own copy, or in another of the same line."""
    yield from _of_one_line(piece)
    rooms: dict[int, Manifold | None] = {}
    for feature in piece.features:
        first = feature.source
        while first is not None and first.source is not None:
            first = first.source
        if first is None or feature.index < 0:
            continue
        one, other = (_room(piece, index, rooms) for index in (first.index, feature.index))
        if one is None or other is None or _same_middle(one, other):
            continue
        both = one ^ other
        figure = both.volume() / min(one.volume(), other.volume())
        bound = piece.bound("doubled-part", "most", feature)
        if above(figure, bound) and _meet(piece, first.index, feature.index):
            low, high = np.array(both.bounding_box()).reshape(2, 3)
            yield Reading(feature.index, figure, (low + high) / 2, others=(first.index,))


def _of_one_line(piece: Piece) -> Iterator[Reading]:
    """Copies that a line lays out, most of the one in the other."""
    rows = {row.feature for row in rows_of(piece)}
    for solid in piece.plan_solids:
        if solid.cut or solid.parts or len(solid.frames) < 2 or solid.feature in rows:
            continue
        if piece.is_for(solid.feature, *HELD):
            continue
        bound = piece.bound("doubled-part", "most", solid.feature)
        worst = max(twins_of(piece, solid, bound), key=lambda one: one.share, default=None)
        if worst is not None:
            yield Reading(
                solid.feature, worst.share, worst.at, find="twin", words={"apart": mm(worst.apart)},
                remedy=partial(_apart, piece, worst),
            )  # fmt: skip


def _apart(piece: Piece, twins: Twins) -> str:
    """What lays copies of a line so far apart that they only just hold to one another."""
    times = touching(piece, twins)
    said = laid_by(piece, twins.solid.feature, times) if times else ""
    far = f" {rounded_up(times * twins.apart)} apart or more" if times else ""
    return f"write {said}" if said else f"lay them{far}, or leave one of them out"


def _room(piece: Piece, line: int, known: dict[int, Manifold | None]) -> Manifold | None:
    """The room that the metal of a line takes: the hull of it; None where it has none of its own."""
    from manifold3d import Manifold

    if line not in known:
        spots = [
            piece.points_of(one) @ frame[:, :3].T + frame[:, 3]
            for one in _solids(piece, line) for frame in one.frames
        ]  # fmt: skip
        known[line] = Manifold.hull_points(np.concatenate(spots)) if spots else None
    return known[line]


def _meet(piece: Piece, *lines: int) -> bool:
    """Whether the metal of two lines runs into one another: strands may lie side by side."""
    from ...metal.kernel import join

    one, other = (join(piece.standing(_solids(piece, line))) for line in lines)
    return not (one ^ other).is_empty()


def _solids(piece: Piece, line: int) -> list[PlanSolid]:
    """The metal of a line: that of all the lines in it, where it is a part."""
    return [one for one in piece.plan_solids if not one.cut and (*one.parts, one.feature)[0] == line]


def _same_middle(one: Manifold, other: Manifold) -> bool:
    """Whether two rooms lie about the same middle."""
    boxes = np.array([one.bounding_box(), other.bounding_box()]).reshape(2, 2, 3)
    apart = np.linalg.norm(np.diff(boxes.mean(axis=1), axis=0))
    return bool(apart < ASIDE * np.linalg.norm(np.diff(boxes[0], axis=0)))


def idle_metal(piece: Piece) -> Iterator[Reading]:
    """Metal that lies wholly inside other metal, or nearly, or is cut away again."""
    for feature, hidden, count in piece.skin_measures.hidden:
        frames = piece.features[feature].frames
        many = f"{hidden} of {count}" if count > 1 else "nothing"
        said = {"many": f"{many} {'lie inside' if count > 1 else 'of it on the surface'}"}
        yield Reading(
            feature, float(hidden), frames[0, :, 3] if len(frames) else None, words=said,
            cure=farther_round(piece, feature) or None,
        )  # fmt: skip
    yield from _hardly_seen(piece)


def _hardly_seen(piece: Piece) -> Iterator[Reading]:
    """Beads most of which lies in other metal, where others of their line stand out of it."""
    for beads in beads_by_line(piece):
        shares = [one.out_of_others(beads) for one in beads]
        seen = [(few, k) for k, few in enumerate(shares) if not beads[k].is_crowned(beads)]
        (few, k), most = min(seen), max(shares)
        yield Reading(
            beads[k].feature, few / most, beads[k].at, find="sunk", remedy=partial(half_out, piece, beads[k]),
            words={"share": share(few), "most": share(most)},
        )  # fmt: skip
