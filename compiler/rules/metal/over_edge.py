"""finding-over-edge: a joint or a catch that is seen past the edge of what it stands behind; falls-forward: a
brooch whose pin lies below the middle of its weight."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial
from typing import TYPE_CHECKING

import numpy as np
from manifold3d import CrossSection, FillRule

from ...bench.near_places import below
from ...bench.roles import Role
from ...geometry import frames as fr
from ...geometry.inside import inside_loops
from ...judging.digits import above, mm, rounded_down, rounded_up
from ...judging.figure_rule import Reading
from ...judging.halves import told_at
from ...judging.moves import move, told
from ...judging.rule import Level
from ...measures.kinds import flat_cross

if TYPE_CHECKING:
    from ....lang.bench import Use
    from ...judging.piece import Piece
    from ...measures.kinds import Floats

FRONT = np.array([0.0, 0.0, 1.0])  # as a brooch is drawn
BEHIND = -0.7  # cosine between the way a pin's place looks and that of the face, from which it lies behind
SEEN = 0.05  # of the way in front, less of a face looks there and none of it is seen
GRAIN, FINE = 0.05, 0.005  # mm, to which spots are told apart, and to which an edge is followed
FIRST = 64  # spots, looked at before the rest
SHIFTS = np.arange(0.1, 3.05, 0.1)  # mm, that it may be moved to lie behind metal
AXES = np.array([[0.0, 1.0, 0.0], [0.0, -1.0, 0.0], [1.0, 0.0, 0.0], [-1.0, 0.0, 0.0]])
FARTHEST = 4.0  # mm, metal farther off covers nothing
INSIDE = 0.1  # mm below the front, where a foot is to end


class Cover:
    """What lies in front of a finding as it is seen: triangles (n, 3, 3) laid flat in one, those near it."""

    def __init__(self, triangles: Floats, spots: Floats) -> None:
        flat, far = triangles[:, :, :2], FARTHEST + SHIFTS[-1]
        low, high = spots[:, :2].min(axis=0) - far, spots[:, :2].max(axis=0) + far
        flat = flat[((flat.min(axis=1) <= high) & (flat.max(axis=1) >= low)).all(axis=1)]
        behind = flat_cross(flat[:, 1] - flat[:, 0], flat[:, 2] - flat[:, 0]) < 0
        flat[behind] = flat[behind, ::-1]
        self.loops = CrossSection(list(flat), FillRule.Positive).simplify(FINE).to_polygons()

    def past(self, spots: Floats) -> Floats:
        """How far spots (n, 3) are seen past its edge (n,), mm."""
        if not self.loops:
            return np.full(len(spots), FARTHEST)
        return np.clip(-inside_loops(self.loops, spots[:, :2]), 0.0, FARTHEST)

    def hides(self, spots: Floats, most: float) -> bool:
        """Whether no spot is seen farther past its edge."""
        parts = spots[:FIRST], spots[FIRST:]
        return not any(above(float(self.past(one).max(initial=0.0)), most) for one in parts)


def _girdles(piece: Piece) -> Iterator[Floats]:
    """The girdles of the stones as triangles (n, 3, 3)."""
    for stone in piece.stone_measures.stones:
        rim = stone.world(np.pad(stone.outline, ((0, 0), (0, 1))))
        middle = np.broadcast_to(stone.origin, rim.shape)
        yield np.stack((middle, rim, np.roll(rim, -1, axis=0)), axis=1)


def check(piece: Piece) -> Iterator[Reading]:
    for mine in _pins(piece):
        yield from _past(piece, mine)


def falls_forward(piece: Piece) -> Iterator[Reading]:
    """A pin that lies across, below the middle of the weight."""
    skin = piece.skin_measures.skin
    for mine in _pins(piece):
        spots = skin.corners[np.isin(skin.owner, mine)].reshape(-1, 3)
        casting = piece.casting_measures.casting_at(spots[0]) if len(spots) else None
        if casting is None:
            continue
        middle = (spots.min(axis=0) + spots.max(axis=0)) / 2
        along = np.linalg.svd(spots[:, :2] - spots[:, :2].mean(axis=0), full_matrices=False)[2][0]
        square = np.array([-along[1], along[0], 0.0]) * np.sign(along[0])
        below = float((casting.centre[1] - middle) @ square)
        if abs(along[0]) > abs(along[1]):
            raised = partial(_raised, piece, mine[0], below * square)
            yield Reading(mine[0], below, spots.mean(axis=0), cure=raised)


def _raised(piece: Piece, pin: int, way: Floats, _: float) -> str:
    moved = move(piece, pin, way)
    return f"move {piece.name_of(pin)} {moved.in_piece if moved is not None else 'higher'}"


def lying_pins(piece: Piece) -> Iterator[list[int]]:
    """The joint and the catch, by feature, of each pin that lies behind the piece, itself bought."""
    bought = {id(use) for _, call in piece.with_role(Role.PIN) if call.get("bought") for use in call.within}
    for mine in _pins(piece):
        if any(id(use) in bought for use in piece.call(mine[0]).within):
            yield mine


def _pins(piece: Piece) -> Iterator[list[int]]:
    """What each use of a word makes for a pin that lies behind the piece, but what is bought."""
    return (mine for use, mine in _behind(piece) if Role.PIN in use.word.roles)


def _behind(piece: Piece) -> Iterator[tuple[Use, list[int]]]:
    """What each use of a finding that lies behind the piece makes, but what is bought."""
    uses: dict[str, tuple[Use, list[int]]] = {}
    for feature, call in piece.with_role(Role.FINDING):
        use = next((one for one in call.within if Role.FINDING in one.word.roles), None)
        if use is not None and feature.body is not None and not call.get("bought"):
            uses.setdefault(use.name, (use, []))[1].append(feature.index)
    made = {feature.name: feature for feature in piece.features}
    for use, mine in uses.values():
        there = told_at(made, use)
        if there is not None and (there[:, :, 2] @ FRONT < BEHIND).all():
            yield use, mine


def through_front(piece: Piece) -> Iterator[Reading]:
    """A finding's foot that comes out through the front of what carries it."""
    skin = piece.skin_measures.skin
    for use, mine in _behind(piece):
        face = np.flatnonzero(np.isin(skin.owner, mine) & (skin.normals @ FRONT > SEEN))
        spots = skin.corners[face].mean(axis=1)
        far = skin.grid.cast(spots + GRAIN * FRONT, np.tile(FRONT, (len(spots), 1)), leaving=False)[0]
        spots = spots[np.isinf(far)]
        rest = piece.laid_corners(
            one for one in piece.plan_solids
            if one.feature not in mine and not piece.call(one.feature).get("bought")
        )  # fmt: skip
        look = np.repeat(fr.identity(), len(spots), axis=0)
        look[:, :, 3] = spots
        proud, ahead = (below(rest, fr.compose(look, fr.turned(0, turn)))[:, 0] for turn in (0.0, 180.0))
        proud = np.where(np.isnan(ahead), proud, np.nan)
        if not np.isnan(proud).all():
            k = int(np.nanargmax(proud))
            yield Reading(
                mine[0], float(proud[k]), spots[k], find="through",
                cure=partial(_less_deep, piece, use, float(proud[k])),
            )  # fmt: skip


def _less_deep(piece: Piece, use: Use, proud: float, most: float) -> str:
    """How a finding's foot ends within the metal: less deep in it, where its line can say that."""
    root, take = use.arguments.get("root"), use.word.take("root")
    less = float(root.value) - proud - INSIDE if root is not None else 0.0
    if take is not None and take.least is not None and less >= take.least:
        return f"write root {rounded_down(less)} in the line of {use.name}"
    lacks = rounded_up(proud + INSIDE)
    return f"move {use.name} where the metal is {lacks} thicker, or make that so much thicker there"


def _covered(piece: Piece, corners: Floats) -> tuple[Cover, Floats]:
    """What lies in front of some triangles (n, 3, 3) of a pin, and their spots (m, 3)."""
    skin = piece.skin_measures.skin
    rest = ~np.isin(skin.owner, [one.index for one, _ in piece.with_role(Role.PIN)])
    shown = np.concatenate((skin.corners[rest & (skin.normals @ FRONT > SEEN)], *_girdles(piece)))
    spots = np.unique(np.round(corners.reshape(-1, 3) / GRAIN), axis=0) * GRAIN
    return Cover(shown, spots), spots


def hidden(piece: Piece, mine: list[int]) -> Callable[[Floats], bool]:
    """Whether triangles (n, 3, 3) of a pin by its features, moved, are hidden behind the piece; where
    they are not as they stand, any place does that shows no more of them."""
    skin, bound = piece.skin_measures.skin, piece.bound("finding-over-edge", "most", mine[0])
    own = skin.corners[np.isin(skin.owner, mine)]
    cover, spots = _covered(piece, own)
    most = max(bound, float(cover.past(spots).max()))
    return lambda corners: cover.hides(corners.reshape(-1, 3), most)


def _past(piece: Piece, mine: list[int]) -> Iterator[Reading]:
    skin = piece.skin_measures.skin
    bound, spots = piece.bound("finding-over-edge", "most", mine[0]), skin.corners[np.isin(skin.owner, mine)]
    if not len(spots):
        return
    cover, spots = _covered(piece, spots)
    past = cover.past(spots)
    k = int(past.argmax())
    if not above(past[k], bound):
        return
    shorter = _as_long(piece, mine, spots, partial(cover.hides, most=bound))
    first = spots[np.argsort(-past, kind="stable")]  # what is seen farthest settles most soonest
    ways = [far * axis for far in SHIFTS for axis in AXES]
    hidden = (one for most in (SEEN, bound) for one in ways if cover.hides(first + one, most))
    way = next(hidden, None)
    moved = "" if way is None else told(piece, mine[0], way, "behind the metal")
    moved = moved and f"move {piece.name_of(mine[0])} {moved}"
    cure = "; or ".join(filter(None, (shorter, moved))) or None
    hint = Level.HINT if cure is None else None
    yield Reading(mine[0], float(past[k]), spots[k], bound=bound, cure=cure, level=hint)


def _as_long(piece: Piece, mine: list[int], spots: Floats, hidden: Callable[[Floats], bool]) -> str:
    """How long a pin is to be whose joint and catch, by their spots (n, 3), are then hidden; "" where no
    length does, or its line says none."""
    use = next(one for one in piece.call(mine[0]).within if Role.PIN in one.word.roles)
    there = told_at({feature.name: feature for feature in piece.features}, use)
    if there is None or "long" not in use.arguments:
        return ""
    axis = there[0, :, 0]
    far = spots @ axis
    ahead = far > (far.min() + far.max()) / 2
    ends = [(far[side].min() + far[side].max()) / 2 for side in (ahead, ~ahead)]
    for go in (way * each for each in SHIFTS for way in (-1.0, 1.0)):
        long = float(ends[0] - ends[1] + 2 * go)
        if long > 0 and hidden(spots + np.where(ahead, go, -go)[:, None] * axis):
            return f"write long {mm(long)} in the line of {use.name}"
    return ""
