"""stone-in-metal: metal where a stone is to be, other than the bite of what holds it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from ...lang import tree
from ..bench.plan import Shape
from ..bench.roles import Role
from ..geometry.inside import inside_loops
from ..judging.digits import above, mm, place, rounded_down
from ..judging.figure_rule import Reading
from ..judging.moves import told
from ..judging.out_of_metal import out_of_metal
from ..judging.points_ahead import InMetal, in_metal_ahead
from ..judging.remedies import farther_in
from ..judging.rule import Level
from ..judging.stones_apart import apart_from, laid_farther

if TYPE_CHECKING:
    from ..judging.forms import Spot
    from ..judging.piece import Piece
    from ..judging.stone_metal import Shared

ON_FACE = 0.03  # mm, corners this near to a pearl's own face lie where metal enters it


def check(piece: Piece) -> Iterator[Reading]:
    """What is found; of a copy only what is not so already where it was copied from."""
    rows, found = piece.stones, list(_found(piece))
    known = {
        (int(rows.line[stone]), _metal(piece, stone, reading)) for stone, reading in found
        if rows.line[stone] == rows.feature[stone]
    }  # fmt: skip
    for stone, reading in found:
        same = (int(rows.line[stone]), _metal(piece, stone, reading))
        if rows.line[stone] == rows.feature[stone] or same not in known:
            yield reading


def ahead(piece: Piece) -> Iterator[Reading]:
    """What the plan tells already of points that stand in metal."""
    for one in in_metal_ahead(piece):
        yield _in_metal(piece, one, f"{mm(one.deep)} deep", piece.bound("stone-in-metal", "axis", one.metal))


def _metal(piece: Piece, stone: int, reading: Reading) -> frozenset[int]:
    """The metal that a reading on a stone names."""
    return frozenset((reading.feature, *reading.others)) - {int(piece.stones.feature[stone])}


def _found(piece: Piece) -> Iterator[tuple[int, Reading]]:
    from ..judging.stone_metal import below_girdles, metal_on_axes, part_round, shared_by

    measures, stones, bites = piece.stone_measures, piece.stones, piece.claw_homes.bites
    forms = [measures.form(k) for k in range(len(stones.kind))]
    on_axis = metal_on_axes(forms, measures.stones, piece.skin_measures.skin)
    deep = [
        () if stones.of(k).cut == "pearl" else _too_deep(piece, k, (*around.inside, *bites.get(k, ())))
        for k, around in enumerate(measures.surrounds)
    ]
    below = [_too_low(piece, spots) for spots in below_girdles(piece)]
    looked_at = [
        k for k, spots in enumerate(deep)
        if spots or below[k] or on_axis[k] >= 0
        or (stones.of(k).cut == "pearl" and measures.surrounds[k].inside)
    ]  # fmt: skip
    for stone, shared in shared_by(piece, looked_at).items():
        if stones.of(stone).cut == "pearl":
            told: Iterable[Reading] = _drilled(piece, stone, shared)
        elif deep[stone]:
            told = (_beside(piece, stone, spot, bound, shared) for spot, bound in deep[stone])
        else:
            told = _buried(piece, stone, part_round(piece, stone, shared), int(on_axis[stone]), shared)
        low = (_beside(piece, stone, *one, shared, "deep below") for one in below[stone])
        yield from ((stone, one) for one in list(told) or low)


def _too_deep(piece: Piece, stone: int, spots: tuple[Spot, ...]) -> tuple[tuple[Spot, float], ...]:
    """Where metal reaches farther inside the girdle than what holds a stone may; where none does, where a
    claw of another stone reaches in at all."""
    homes = [(spot, _home_elsewhere(piece, stone, spot)) for spot in spots if spot.owner >= 0]
    deepest = {(spot.owner, home): spot for spot, home in sorted(homes, key=lambda one: one[0].figure)}
    bounds = [(spot, _allowed(piece, stone, spot)) for spot in deepest.values()]
    slight = (
        (spot, piece.bound("stone-in-metal", "most", spot.owner)) for spot, _ in bounds
        if _home_elsewhere(piece, stone, spot) is not None
    )  # fmt: skip
    return tuple(one for one in bounds if above(*_figures(one))) or tuple(
        one for one in slight if above(*_figures(one))
    )


def _too_low(piece: Piece, spots: tuple[Spot, ...]) -> list[tuple[Spot, float]]:
    """Where metal that does not hold a stone lies in it below its girdle."""
    bounds = ((spot, piece.bound("stone-in-metal", "axis", spot.owner)) for spot in spots)
    return [one for one in bounds if above(*_figures(one))]


def _figures(found: tuple[Spot, float]) -> tuple[float, float]:
    return found[0].figure, found[1]


def _allowed(piece: Piece, stone: int, spot: Spot) -> float:
    """How deep this feature may reach into this stone, mm."""
    if _home_elsewhere(piece, stone, spot) is not None:
        return piece.bound("stone-in-metal", "next", spot.owner)
    holds = spot.owner in piece.sets.holders or spot.owner in piece.sets.beads
    others = _is_stray, _wall_of_another, _claw_of_another
    if not holds or any(one(piece, stone, spot.owner) for one in others):
        return piece.bound("stone-in-metal", "most", spot.owner)
    share = piece.bound("stone-in-metal", "holder", spot.owner) * piece.stones.of(stone).width
    wire = float(piece.call(spot.owner).get("wire") or 0.0)
    chord = piece.tolerance  # the figure is measured between chords
    return max(share, piece.bound("prong-bite", "most", spot.owner) * wire) + chord


def _home_elsewhere(piece: Piece, stone: int, spot: Spot) -> int | None:
    """The stone that a claw which stands in another was made for."""
    home = int(piece.claw_homes.home(spot.owner, np.array([spot.at]))[0])
    return home if home >= 0 and home != stone else None


def _is_stray(piece: Piece, stone: int, ball: int) -> bool:
    """Whether a ball is no grain over a stone: its line names none, and others are there to hold that."""
    if ball not in piece.sets.beads or piece.is_for(ball, Role.BEADED_EDGE) or piece.services.lines(ball):
        return False
    line = int(piece.stones.line[stone])
    return any(line in piece.services.lines(one) for one in piece.sets.holders - piece.sets.beads)


def _claw_of_another(piece: Piece, stone: int, metal: int) -> bool:
    """Whether metal is a claw made to hold other stones than this one."""
    lines = piece.services.lines(metal) if piece.is_for(metal, Role.PRONG) else frozenset()
    return bool(lines) and int(piece.stones.line[stone]) not in lines


def _wall_of_another(piece: Piece, stone: int, metal: int) -> bool:
    """Whether metal is a wall round other stones, so that it holds no edge of this one: the stone's
    middle lies outside it, seen along the wall's own axis."""
    from ..measures.stone import hull

    if not piece.is_for(metal, Role.RIM):
        return False
    middle = piece.stones.frames[stone, :, 3]
    walls = [one for one in piece.plan_solids if one.feature == metal and not one.cut]
    for wall in walls:
        outline = hull(piece.mesh_of(Shape(wall.kind, wall.figures), piece.tolerance).points[:, :2])
        own = np.einsum("nij,ni->nj", wall.frames[:, :, :3], middle - wall.frames[:, :, 3])
        if (inside_loops([outline], own[:, :2]) > 0).any():
            return False
    return bool(walls)


def _beside(
    piece: Piece, stone: int, spot: Spot, bound: float, shared: Shared, how: str = "inside"
) -> Reading:
    own = piece.stone_measures.stones[stone].own(np.array([spot.at]))[0]
    slight = how == "inside" and not above(spot.figure, _allowed(piece, stone, spot))
    return Reading(
        spot.owner, spot.figure, spot.at, find="beside", bound=bound,
        words={"number": str(stone + 1), "how": how, "volume": _volume(shared.near(own), shared)},
        remedy=lambda: _farther(piece, stone, spot) or out_of_metal(piece, stone, spot.owner),
        others=(int(piece.stones.feature[stone]),), level=Level.HINT if slight else None,
    )  # fmt: skip


def _farther(piece: Piece, stone: int, spot: Spot) -> str:
    """How much farther apart stones stand clear of what holds their neighbours; "" for other metal."""
    home = _home_elsewhere(piece, stone, spot)
    if home is not None:
        slit = piece.bound("closing-gap", "least", spot.owner)
        if laid := laid_farther(piece, stone, home, spot.figure + slit):
            return laid
        return apart_from(piece, stone, home, piece.claw_homes.apart(stone, home), spot.figure)[0]
    line = int(piece.stones.line[stone])
    if spot.owner in piece.sets.beads and (inner := farther_in(piece, line, spot.figure)):
        return f"{inner.said} in the line of {piece.name_of(line)}"
    if _wall_of_another(piece, stone, spot.owner):
        off = np.linalg.norm(piece.stones.frames[:, :, 3] - np.array(spot.at), axis=1)
        off[stone] = np.inf
        off[~np.isin(piece.stones.line, sorted(piece.services.lines(spot.owner)))] = np.inf
        return f"{apart_from(piece, stone, int(off.argmin()), spot.figure)[0]}, or make that wall thinner"
    return ""


def _buried(piece: Piece, stone: int, part: int | None, on_axis: int, shared: Shared) -> Iterator[Reading]:
    """A stone that metal fills from its axis out, or whose point stands in metal, little as that
    is of a big stone."""
    owner = max(on_axis, 0) if part is None else part
    bound = piece.bound("stone-in-metal", "axis", owner)
    low, high, volume = shared.on_axis
    if above(high - low, bound):
        point = high < 0 and piece.stone_measures.form(stone).tip < 0
        found = InMetal(stone, owner, high - low, None, point)
        yield _in_metal(piece, found, f"{mm(high - low)} deep, {_volume(volume, shared)}", bound)


def _in_metal(piece: Piece, found: InMetal, seen: str, bound: float) -> Reading:
    return Reading(
        int(piece.stones.feature[found.stone]), found.deep, found.stone,
        find="point" if found.point else "lies", words={"seen": seen}, bound=bound, others=(found.metal,),
        remedy=partial(out_of_metal, piece, found.stone, found.metal, found),
    )  # fmt: skip


def _drilled(piece: Piece, stone: int, shared: Shared) -> Iterator[Reading]:
    """A pearl is drilled for its peg, no wider and no deeper than a peg goes."""
    across = piece.stones.of(stone).width
    for _, points in shared.parts:
        deep, end, wide, side = _peg(points, across / 2)
        most_deep = piece.bound("stone-in-metal", "peg-deep")
        spot = piece.stone_measures.stones[stone].world(end if above(deep / across, most_deep) else side)
        owner = piece.skin_measures.owner_near(place(spot))
        deep_bound = piece.bound("stone-in-metal", "peg-deep", owner)
        hole = piece.stones.of(stone).drilled
        if hole and wide <= hole + ON_FACE:  # strung on wire
            continue
        said = {"number": str(stone + 1), "deep": mm(deep)}
        if above(deep / across, deep_bound):
            through = deep > across - ON_FACE
            yield Reading(
                owner, deep / across, spot, find="through" if through else "deep",
                words={**said, "most": rounded_down(deep_bound * across)},
                others=(int(piece.stones.feature[stone]),),
            )  # fmt: skip
        else:
            said["volume"] = _volume(shared.volume, shared)
            yield Reading(
                owner, wide, spot, find="wide", words=said, others=(int(piece.stones.feature[stone]),),
                cure=lambda _, owner=owner: _drawn_out(piece, stone, owner),
            )  # fmt: skip


def _drawn_out(piece: Piece, stone: int, metal: int) -> str:
    """What leaves a peg alone in a pearl."""
    from ..judging.off_stones import clear_of

    far = clear_of(piece, stone, metal)
    if far is None:
        return "move the pearl out until only its peg stands in it"
    line = int(piece.stones.line[stone])
    if piece.source_lines.rests_on(piece.call(metal), piece.call(line)):
        cap = f"{said}; or " if (said := _capped(piece, metal)) else ""
        only = "it goes with the pearl, in which only a peg may stand"
        return f"{cap}set {piece.name_of(metal)} elsewhere: {only}"
    out = far * piece.stones.frames[stone, :, 2]
    way = told(piece, line, out, f"off {piece.name_of(metal)}", metal)
    return f"move the pearl {way}: only its peg is to stand in it"


def _capped(piece: Piece, metal: int) -> str:
    """What has a cup whose top lies in its pearl cap that as it hangs, so that what stands there hangs it; ""
    where the metal stands at none."""
    line = piece.source_lines.of(piece.call(metal), None, ()).line
    at = next((one.value for one in line.clauses if one.key.name == "at"), None) if line is not None else None
    names = tree.words_in(at) if at is not None else ()
    for home in piece.source_lines.named_in(line, names) if line is not None else ():
        said = any(clause.key.name == "above" for clause in home.clauses)
        if not said and home.name is not None and piece.source_lines.can_say(home, "above"):
            return f"say 'above' in the line of {home.name.name}: it caps the pearl as it hangs"
    return ""


def _peg(points: np.ndarray, radius: float) -> tuple[float, np.ndarray, float, np.ndarray]:
    """How deep metal stands in a pearl, and its far end; how wide it is, and where: from the
    corners of what both share."""
    entry = points[np.linalg.norm(points, axis=1) > radius - ON_FACE]
    way = entry.mean(axis=0) if len(entry) else np.zeros(3)
    if np.linalg.norm(way) < radius / 4:  # it comes out on both sides, or stands nowhere out
        way = np.linalg.svd(entry if len(entry) > 2 else points, full_matrices=False)[2][0]
    way = way / max(float(np.linalg.norm(way)), 1e-12)
    along = points @ way
    off = points - along[:, None] * way
    middle = (off.min(axis=0) + off.max(axis=0)) / 2
    out = np.linalg.norm(off - middle, axis=1)
    deep = float(along.max() - along.min())
    return deep, points[int(np.argmin(along))], 2 * float(out.max()), points[int(np.argmax(out))]


def _volume(volume: float, shared: Shared) -> str:
    return f"{volume:.3g} mm3 of its {shared.whole:.3g} mm3"
