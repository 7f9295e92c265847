"""Where a part is moved to that stands in the way: the least of the moves tried that clears. Lengths mm."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from ..bench.feature import Places
from ..bench.roles import Role
from ..measures.closest import nearest
from ..metal.kernel import join
from .digits import mm, rounded_up
from .hanging import free_opening
from .moves import TURNS, Move, lead, move, of_one_line
from .tables_up import over_table

if TYPE_CHECKING:
    from manifold3d import Manifold

    from ..measures.kinds import Floats
    from ..measures.skin import Skin
    from .forms import Spot
    from .hanging import Loop
    from .joints import Body
    from .piece import Piece
    from .plan_solids import PlanSolid

STEPS = 0.05, 0.1, 0.2, 0.3, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0, 4.0, 6.0  # mm, tried in turn
SPARE = 0.02  # mm
ALIKE = 0.8  # cosine, of ways that are one way
ROOTED = 0.75  # of its wire, as deep as a loop lies in metal at the least
STILL = 0.1  # of a way, that goes toward a stone no more than that
ASIDE = 1.0  # mm, moved farther a part may leave what it is joined to
BEHIND = 8  # spots behind a prong, at which the top of the metal is looked for
# By which clause, along which of its own ways, a pattern sets each copy farther out or in.
LAID = ("circle", "radius", 0), ("along", "inset", 1)
SKEW = *(key for key, _ in TURNS), "both-sides"
HIGH = 6.0  # mm above a girdle, from where the top of metal behind a prong is looked for


def _least(
    piece: Piece, feature: int, off: int, ways: Sequence[Floats], clears: Callable[[Floats], bool],
    most: float = STEPS[-1],
) -> str:
    """The least of the moves of a line along some ways (3,), ``most`` at the farthest, that ``clears``; ""
    where none does."""
    for far in (one for one in STEPS if one <= most):
        for way in ways:
            moved = move(piece, feature, far * way, off)
            if moved is not None and clears(moved.by):
                return moved.in_piece
    return ""


def _around(first: Floats | None = None) -> list[Floats]:
    """The ways of the piece, those that go along ``first`` at its head."""
    ways = [sign * axis for axis in np.eye(3) for sign in (1.0, -1.0)]
    if first is None or not first.any():
        return ways
    return [first, *sorted(ways, key=lambda way: -float(way @ first))]


def laid_wider(piece: Piece, feature: int, clears: Callable[[Sequence[Manifold]], bool]) -> str:
    """The radius of the circle, or the inset from the path, at which the copies of a line of the text are
    laid so that they clear, as it is written; "" where the line has neither, or none of those tried does."""
    call, frames = piece.call(feature), piece.features[feature].frames
    key, axis = next(((key, axis) for pattern, key, axis in LAID if call.given(pattern)), ("", 0))
    solids = [one for one in piece.plan_solids if one.feature == feature and not one.cut]
    skew = any(call.given(turned) for turned in SKEW)
    if not key or call.within or skew or any(len(one.frames) != len(frames) for one in solids):
        return ""
    now = float(call.get(key, 0.0))
    for by in (sign * far for far in STEPS for sign in (1.0, -1.0) if now + sign * far >= 0):
        if clears(_each_moved(piece, solids, by, axis)):
            return f"{key} {mm(now + by)}"
    return ""


def off_its_ends(piece: Piece, feature: int, clears: Callable[[Sequence[Manifold]], bool]) -> str:
    """How far loops at several ends of metal are moved away from them so that they clear, as their line says
    it; "" where they stand at none, or none of the moves tried does."""
    use = piece.call(feature).own_line
    at = use.arguments["at"].value if "at" in use.arguments else None
    solids = [one for one in piece.plan_solids if one.feature == feature and not one.cut]
    if not isinstance(at, Places) or not at.ends or piece.features[feature].opening is None:
        return ""
    found = (by for by in STEPS if by <= ASIDE and clears(_each_moved(piece, solids, by, 0)))
    far = next(found, None)
    return "" if far is None else f"{mm(far)} right, away from its end"


def _each_moved(piece: Piece, solids: Sequence[PlanSolid], by: float, axis: int) -> list[Manifold]:
    """Solids of one line, each of its copies moved along an axis of its own."""
    return [
        one.translate(by * frame[:, axis]) for solid in solids
        for one, frame in zip(piece.standing([solid]), solid.frames, strict=True)
    ]  # fmt: skip


def off_body(
    piece: Piece, body: Body, other: Body, feature: int, fixed: int, way: Floats, room: float
) -> str:
    """The move of ``feature``, first along ``way``, that brings the ``body`` it is of ``room`` away from
    another; "" where none does."""
    def clears(by: Floats) -> bool:
        return bool(body.solid.translate(by).min_gap(other.solid, 1.1 * room) >= room)

    return _least(piece, feature, fixed, _around(way), clears)


def off_solid(piece: Piece, feature: int, off: int, other: Manifold) -> str:
    """The move of a line that brings all it makes off another solid, of ``off``; "" where none does."""
    whole = join(piece.laid(of_one_line(piece, feature)))

    def clears(by: Floats) -> bool:
        return bool(whole.translate(by).min_gap(other, 2 * SPARE) > SPARE)

    return _least(piece, feature, off, _around(), clears)


def across_chain(piece: Piece, block: int, chain: int, run: Floats, room: float) -> str:
    """The move of a block of castings, across the ``run`` (3,) of their chain, that leaves ``room`` round all
    links they are joined with, mm; "" where none does."""
    measures, name = piece.casting_measures, piece.features[block].name
    inside = [f"{measures.castings[one.casting].name} ".startswith(f"{name} ") for one in measures.bodies]
    pairs = [
        [measures.bodies[k].solid for k in sorted((joint.one, joint.two), key=lambda k: not inside[k])]
        for joint in measures.joints if inside[joint.one] != inside[joint.two]
    ]  # fmt: skip

    def clears(by: Floats) -> bool:
        return all(one.translate(by).min_gap(other, 1.1 * room) >= room for one, other in pairs)

    ways = [way for way in _around() if abs(way @ run) < 1 - ALIKE]
    return _least(piece, block, chain, ways, clears, ASIDE)


def off_tables(piece: Piece, stone: int, owner: int, room: float) -> str:
    """The move of metal that leaves ``room`` above a stone, and above those of its line that it covers
    too; "" where none does that surely leaves the metal joined to the rest."""
    measures = piece.stone_measures
    mine = [k for k, line in enumerate(piece.stones.line.tolist()) if line == piece.stones.line[stone]]
    skin = piece.skin_measures.skin.part(piece.skin_measures.skin.owner == owner)
    rays = [over_table(measures.stones[k], measures.form(k)) for k in mine]
    axes = np.repeat([measures.stones[k].turn[2] for k in mine], len(rays[0]), axis=0)
    spots = np.concatenate(rays)

    def clears(by: Floats) -> bool:
        return bool((skin.grid.cast(spots - by, axes, leaving=False, reach=room)[1] < 0).all())

    axis = measures.stones[stone].turn[2]
    ways = [way for way in _around() if way @ axis > -STILL]
    return _least(piece, owner, int(piece.stones.feature[stone]), ways, clears, ASIDE)


def clear_opening(piece: Piece, loop: Loop, skin: Skin, bound: float) -> str:
    """The move of a loop that frees ``bound`` of its opening, its wire still in the metal; "" where none
    does."""
    rest = skin.part(skin.owner != loop.feature)

    def clears(by: Floats) -> bool:
        # A ring of the size wanted finds room in the hole where its middle lies so near to that of the loop.
        moved = replace(loop, middle=loop.middle + by, inside=max(loop.inside - bound, 0.05))
        rooted = nearest(rest, moved.middle)[0] < loop.inside / 2 + ROOTED * loop.wire
        return bool(rooted and free_opening(moved, rest) >= bound)

    if piece.is_for(loop.feature, Role.BACK_BAIL):  # it carries the piece from above its middle
        return _least(piece, loop.feature, -1, [np.array([0.0, 1.0, 0.0])], clears)
    stands = piece.features[loop.feature].frames
    out = stands[np.linalg.norm(stands[:, :, 3] - loop.middle, axis=1).argmin(), :, 0]
    at = piece.call(loop.feature).own_line.arguments.get("at")
    # Moved aside, what hangs from it would hang askew: at a place first away from its metal, and back.
    first = (out, -out) if at is not None and at.value is not None else ()
    told = (_least(piece, loop.feature, -1, ways, clears) for ways in (first, _around()))
    return next(filter(None, told), "")


def roof_over(piece: Piece, stone: int, gap: float) -> float:
    """How far above its table, ``gap`` below it, the metal over a stone ends."""
    form, own = piece.stone_measures.form(stone), piece.stone_measures.stones[stone]
    spots = over_table(own, form) + (gap + SPARE) * own.turn[2]
    far = piece.skin_measures.skin.grid.cast(spots, np.tile(own.turn[2], (len(spots), 1)))[0]
    return gap + SPARE + float(far[np.isfinite(far)].max(initial=0.0))


def behind_prongs(piece: Piece, owner: int, hems: Sequence[tuple[int, Spot, float]]) -> Iterator[str]:
    """What gives room behind prongs: their stones by number, where metal of ``owner`` stands behind them and
    how much room is wanted. Lower metal; and farther off, where it stands behind them on one side."""
    skin, high, ways = piece.skin_measures.skin, 0.0, []
    for stone, hem, wanted in hems:
        own, form = piece.stone_measures.stones[stone], piece.stone_measures.form(stone)
        way = np.array(hem.at) - own.origin
        way -= (way @ own.turn[2]) * own.turn[2]
        ways.append(way / max(float(np.linalg.norm(way)), 1e-9))
        behind = np.linspace(hem.figure / 2 + SPARE, wanted, BEHIND)
        start = np.array(hem.at) + behind[:, None] * ways[-1] + HIGH * own.turn[2]
        down = np.tile(-own.turn[2], (BEHIND, 1))
        far, met = skin.grid.cast(start, down, leaving=False, reach=2 * HIGH)
        tops = (start - own.origin) @ own.turn[2] - np.where(met >= 0, far, np.inf) - form.low
        high = max(high, float(tops.max(initial=0.0)))
    name = piece.name_of(owner)
    lack = max(wanted - hem.figure for _, hem, wanted in hems) + SPARE
    if min(float(way @ ways[0]) for way in ways) > ALIKE:
        aside: Move | None = move(piece, owner, lack * ways[0], int(piece.stones.feature[hems[0][0]]))
        yield f"move {name} {aside.said if aside else f'{rounded_up(lack)} away from the prong'}"
    if high > 0:
        up = piece.name_of(lead(piece, int(piece.stones.line[hems[0][0]])))
        said = rounded_up(high + SPARE)
        if high < ASIDE / 2:
            yield f"lower {name} by {said}, to below the girdle, or raise {up} by {said}"
        else:  # so far that it may leave what it is joined to
            yield f"raise {up} by {said}: its girdle then stands above {name}"
