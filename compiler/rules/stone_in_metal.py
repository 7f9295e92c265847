"""stone-in-metal: metal where a stone is to be, other than the bite of what holds it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from ..bench.feature import Lines
from ..bench.plan import Shape
from ..bench.roles import Role
from ..geometry.inside import inside_loops
from ..judging.digits import above, mm, place, rounded_down, rounded_up
from ..judging.figure_rule import Reading
from ..judging.moves import move, told
from ..judging.points_ahead import InMetal, in_metal_ahead
from ..judging.remedies import (
    HOLE,
    apart_from,
    behind_its_setting,
    borne,
    laid_farther,
    setting_line,
    written,
)
from ..judging.rule import Level
from ..judging.seats import on_wire

if TYPE_CHECKING:
    from ..geometry.line import Line
    from ..judging.forms import Spot
    from ..judging.piece import Piece
    from ..judging.stone_metal import Shared

ON_FACE = 0.03  # mm, corners this near to a pearl's own face lie where metal enters it
SIZES = 0.9  # of a stone's length, from its middle, farther off no line goes that lies round it
MEETING = 0.7  # of their thickness, arms meet a head below what is set round it


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
    if not holds or _wall_of_another(piece, stone, spot.owner) or _claw_of_another(piece, stone, spot.owner):
        return piece.bound("stone-in-metal", "most", spot.owner)
    share = piece.bound("stone-in-metal", "holder", spot.owner) * piece.stones.of(stone).width
    wire = float(piece.call(spot.owner).get("wire") or 0.0)
    chord = piece.tolerance  # the figure is measured between chords
    return max(share, piece.bound("prong-bite", "most", spot.owner) * wire) + chord


def _home_elsewhere(piece: Piece, stone: int, spot: Spot) -> int | None:
    """The stone that a claw which stands in another was made for."""
    home = int(piece.claw_homes.home(spot.owner, np.array([spot.at]))[0])
    return home if home >= 0 and home != stone else None


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
        remedy=lambda: _farther(piece, stone, spot) or _remedy(piece, stone, spot.owner),
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
    if _wall_of_another(piece, stone, spot.owner):
        return f"set the stones {rounded_up(spot.figure)} farther apart, or make that wall thinner"
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
        remedy=partial(_remedy, piece, found.stone, found.metal, found),
    )  # fmt: skip


def _remedy(piece: Piece, stone: int, metal: int, found: InMetal | None = None) -> str:
    """A finding and what holds other stones are moved off; a stone in a cup of its own is raised off what
    that stands on, and so is one whose point alone is in the way; else a seat to cut; where one was cut
    after this metal was there, it cut other metal only."""
    from ..judging.stone_metal import off_the_end, off_the_stone

    seat = piece.seated.get(stone)
    finding = piece.is_for(metal, Role.FINDING, Role.EAR_POST, Role.PIN)
    if finding and (behind := behind_its_setting(piece, metal, piece.stones.frames[stone, :, 3])):
        return f"stand it behind what holds the stone: {behind.said} on the line of {piece.name_of(metal)}"
    if finding or piece.features[metal].opening is not None:
        return f"{off_the_stone(piece, stone, metal)}: nothing is cut out of it"
    if seat is not None and _passes(piece, stone, metal):
        own, into, block = written(piece, int(piece.stones.feature[stone]), metal)
        return f"cut it away under the stone: write seat: for {own}, in {into}, below both lines{block}"
    if wall := _wall_beside(piece, stone, metal):
        if all(line.closed for line in _lines_along(piece, metal)):  # it comes back to its start
            return f"lay it round the outside of that wall: say 'along waist of {wall}'"
        return f"let its path begin in the wall of {wall}, outside the stone"
    if lower := met_lower(piece, stone, metal):
        return lower
    if metal in piece.sets.holders or metal in piece.sets.beads:
        row = piece.call(int(piece.stones.line[stone])).given("along")
        less = "lay the row along less of its path ('stretch')" if row else "set the stones farther apart"
        alone = sum(piece.stones.line == piece.stones.line[stone]) == 1
        return off_the_stone(piece, stone, metal) + f", or {less}" * (not alone)
    own_cup = seat is not None and piece.services.around(seat, int(piece.stones.line[stone]))
    up = _raised(piece, stone, metal, found) if own_cup or (found and found.point) else ""
    if up and piece.is_for(metal, Role.WIRE):
        if found is not None and found.room is None and (past := off_the_end(piece, stone, metal)):
            return f"{past}: {piece.name_of(metal)} then ends in its setting"
        return f"{up}, and say 'blind'" if seat is not None and on_wire(piece, seat, metal) else up
    up += ", or " if up else ""
    if seat is None:
        return f"{up}cut a seat: {setting_line(piece, int(piece.stones.feature[stone]), 'seat:', metal)}"
    other = piece.call(seat).given("in") and metal > seat  # no seat above cuts what its line does not name
    if (metal < seat or other) and piece.features[metal].surface is not None:
        own, into, block = written(piece, int(piece.stones.feature[stone]), metal)
        call = piece.call(seat)
        inlaid = [use.word.name for use in call.within if Role.INLAY in use.word.roles]
        word, hole = (inlaid[0], "") if inlaid else (call.word.name, _hole(piece, stone, metal, seat, found))
        line = f"{word}: for {own}, in {into}{hole}"
        return f"{up}cut a seat into it too: write {line}, below both lines{block}"
    # Moved off, metal may come off what it is joined to: not where the stone can be raised.
    off = "" if up else f"{off_the_stone(piece, stone, metal)}; or "
    return f"{up}{off}put its line above the seat that is to cut it"


def met_lower(piece: Piece, stone: int, metal: int) -> str:
    """How far below its girdle arms are to meet a head, to pass below what is set round it; "" where what
    stands in the way says no `meet`, or holds that stone."""
    use = next(iter(piece.call(metal).within), None)
    if use is None or use.word.take("meet") is None:
        return ""
    head, thick = use.arguments["for"].value.frames[0], use.arguments["thick"].value
    mine = piece.stones.line == piece.stones.line[stone]
    stand = (piece.stones.frames[mine, :, 3] - head[:, 3]) @ head[:, 2]
    low = stand.min() - piece.stones.of(stone).width / 2
    deep = rounded_up(thick * MEETING - low)
    return f"write meet {deep} in the line of {piece.name_of(metal)}: they then pass below" if low < 0 else ""


def _wall_beside(piece: Piece, stone: int, metal: int) -> str | None:
    """What the wall round a stone is called where a line below it that runs along something is written; None
    where the metal runs along nothing, or the stone has no such wall above it."""
    line, use = int(piece.stones.line[stone]), next(iter(piece.call(metal).within), None)
    if "along" not in (use or piece.call(metal)).arguments:
        return None
    walls = (one.index for one, _ in piece.with_role(Role.RIM) if "waist" in one.offers and one.index < metal)
    return next((written(piece, metal, one)[1] for one in walls if line in piece.services.lines(one)), None)


def _lines_along(piece: Piece, metal: int) -> tuple[Line, ...]:
    said = (next(iter(piece.call(metal).within), None) or piece.call(metal)).arguments.get("along")
    return said.value.lines if said is not None and isinstance(said.value, Lines) else ()


def _passes(piece: Piece, stone: int, metal: int) -> bool:
    """Whether metal runs along a closed line that passes a stone on its way round other metal, and not round
    the stone."""
    lines, size = [one for one in _lines_along(piece, metal) if one.closed], piece.stones.of(stone).length
    stands = piece.features[metal].frames[:, :, 3]  # of a rope one alone
    spots = stands if len(stands) > 1 else np.concatenate([np.zeros((0, 3)), *(one.points for one in lines)])
    away = np.linalg.norm(spots - piece.stones.frames[stone, :, 3], axis=1)
    return bool(lines) and bool(away.max(initial=0.0) > SIZES * size)


def _raised(piece: Piece, stone: int, metal: int, found: InMetal | None) -> str:
    """What raises a stone off a part, with as much air below a point as is wanted; else nothing."""
    from ..judging.stone_metal import clear_of

    ahead, air = found is not None and found.room is not None, piece.bound("resting-culet", "least")
    air += 2 * piece.tolerance  # both are measured between chords
    far = found.deep if found is not None and ahead else clear_of(piece, stone, metal)
    line = int(piece.stones.line[stone])
    if far is not None and piece.source_lines.rests_on(piece.call(metal), piece.call(line)):
        # Raised, the stones would take along what lies by their outline: that is moved off them.
        away = move(piece, metal, -(far + air) * piece.stones.frames[stone, :, 2])
        return f"move {piece.name_of(metal)} {away.said}" if away is not None else ""
    if far is None:
        return ""
    return f"raise the stones by {rounded_up(far + air)}{_foot_kept(piece, stone, far + air)}"


def _foot_kept(piece: Piece, stone: int, up: float) -> str:
    """What keeps the foot of a stone's own setting, said in mm, in the metal when the stone is raised; ""
    where the setting finds its foot."""
    seat = piece.seated.get(stone)
    if seat is None:
        return ""
    line = next(iter(piece.call(seat).within), piece.call(seat))
    foot = line.arguments.get("foot")
    if foot is None or not foot.given or not isinstance(foot.value, int | float):
        return ""
    deep, name = rounded_up(foot.value + up), piece.name_of(seat)
    return f" and write foot {deep} in the line of {name}, so that it still reaches down as far"


def _hole(piece: Piece, stone: int, metal: int, seat: int, found: InMetal | None) -> str:
    """The light hole that a seat cut into metal below a stone may have: the usual one, as narrow a one as
    the metal bears, or none."""
    kind = piece.stones.of(stone)
    if found is not None and found.room is not None:
        wide = 2 * (found.room - piece.bound("thin-wall", "least", metal))
    else:
        wide = _borne(piece, stone, metal)
    take = piece.call(seat).word.take("hole")
    usual = float((take.default if take and take.default else "0 %").removesuffix("%")) / 100
    if wide >= usual * kind.width:
        return ""
    return f", hole {int(100 * wide / kind.width) if wide >= HOLE else 0} %"


def _borne(piece: Piece, stone: int, metal: int) -> float:
    """How wide a hole the metal below a stone bears, measured on it, mm."""
    form = piece.stone_measures.form(stone)
    tip = piece.stone_measures.stones[stone].world(np.array([[0.0, 0.0, form.tip + 1e-3]]))
    down = -piece.stones.frames[stone, None, :, 2]
    far, met = piece.skin_measures.skin.grid.cast(tip, down)
    return borne(piece, stone, metal, far[0] / 2 - form.tip) if met[0] >= 0 else 0.0


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
    from ..judging.stone_metal import clear_of

    far = clear_of(piece, stone, metal)
    if far is None:
        return "move the pearl out until only its peg stands in it"
    line = int(piece.stones.line[stone])
    if piece.source_lines.rests_on(piece.call(metal), piece.call(line)):
        return f"set {piece.name_of(metal)} elsewhere: it goes with the pearl, in which only a peg may stand"
    out = far * piece.stones.frames[stone, :, 2]
    way = told(piece, line, out, f"off {piece.name_of(metal)}", metal)
    return f"move the pearl {way}: only its peg is to stand in it"


def _peg(points: np.ndarray, radius: float) -> tuple[float, np.ndarray, float, np.ndarray]:
    """How deep metal stands in a pearl, and its far end; how wide it is, and where: from the
    corners of what both share."""
    size = np.linalg.norm(points, axis=1)
    entry = points[size > radius - ON_FACE]
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
