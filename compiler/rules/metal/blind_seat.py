"""Seats whose light hole does not come out."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ....stdlib.cuts import CUTS
from ....stdlib.gem_light import light_of
from ...bench.feature import Feature
from ...bench.plan import simple_steps
from ...bench.roles import FigureOf, Role
from ...geometry import frames as fr
from ...judging.digits import mm, rounded_down, rounded_up
from ...judging.figure_rule import Reading
from ...judging.figures import figure
from ...judging.holed import HOLE, borne, may_be_holed, off_the_holes, round_about
from ...judging.moves import axes_of, move
from ...judging.remedies import written
from ...judging.rule import Level, Mend
from ...judging.seats import closed, cut_by, cut_too, hole_of, may_close, on_wire, way_wanted
from .holes import crossing_of

if TYPE_CHECKING:
    from ...judging.piece import Piece
    from ...measures.light import Shut

NEAR = 0.02  # mm, metal this near below a point holds it
SLIT = 0.4  # mm beside a pad, that light and a brush pass; common practice, no source
DARK = 2.0  # times the width of a stone, a hole so deep brings it no light; common practice, no source
RINGS = (0.0, 0.3, 0.6, 0.8, 1.0)  # of its radius, where a pad is tried for metal under it
FAR = np.arange(0.1, 6.0, 0.1)  # mm, how far a post is moved off a hole
HEIGHTS = 5  # of the metal behind a hole that are looked at
LIGHT = 0.3  # of a stone's width: a hole through the shank below it


def check(piece: Piece) -> Iterator[Reading]:
    for stone, shut in piece.shut.items():
        seat = piece.seated[stone]
        # A post or a pin stands where the weight is, behind the stone or not; its pad may be smaller.
        pin = piece.is_for(shut.feature, Role.EAR_POST, Role.PIN)
        if pin and not closed(piece, seat):
            yield from _padded(piece, stone, shut)
        # Metal that a point stands in is cut by a seat: see stone-in-metal.
        # What crosses the hole of a cup on wire is told once, as crossed-hole.
        crossed = on_wire(piece, seat, shut.feature)
        crossed |= shut.way is not None and shut.feature in crossing_of(piece)
        wanted = not closed(piece, seat) and piece.stones.of(stone).lit_behind()
        if wanted and not pin and not crossed and not _stands_in(piece, stone, shut):
            yield _stated(piece, stone, seat, shut) or _behind(piece, stone, seat, shut)


def _padded(piece: Piece, stone: int, shut: Shut) -> Iterator[Reading]:
    """The pad of a post that shuts a hole: to be smaller, where light passes beside it, else moved off."""
    pad, wire = (piece.call(shut.feature).figure(key) for key in ("pad", "wire"))
    kind, seat = piece.stones.of(stone), piece.seated[stone]
    dark = not CUTS[kind.form].facet_count or light_of(kind.gem).body == "opaque"
    if pad is None or wire is None or dark:
        return
    # The hole just above the pad, and how far from its middle the post stands.
    frame = piece.stones.frames[stone]
    rays = round_about(frame[:, 3] - (shut.free - NEAR) * frame[:, 2], frame)
    hole = float(piece.skin_measures.skin.grid.cast(*rays, False)[0].min())
    posts = fr.apply(fr.inverse(frame), piece.features[shut.feature].frames[:, :, 3])
    off = float(np.hypot(posts[:, 0], posts[:, 1]).min())
    most = 2 * (hole + off - SLIT)
    # In the middle of the hole it would touch nothing: a bar carries it, as far as the wall on either side.
    bar = f", bridge {rounded_up(2 * (hole + SLIT))}" if most / 2 + off < hole + SLIT else ""
    if 1.5 * wire <= most < pad:
        yield Reading(
            shut.feature, pad, frame[:, 3], find="pad", bound=most,
            words={"hole": mm(2 * hole), "bar": bar, "most": rounded_down(most)},
            mend=None if bar else Mend("pad", rounded_down(most), "most"),
        )  # fmt: skip
    if most >= 1.5 * wire:
        return
    ways = [_aside(piece, shut.feature, pad, 1.5 * wire)]
    if "in" in piece.clauses_of(seat) and may_close(piece, seat):  # a cup of its own has its post behind it
        ways.append(f"add 'blind' to the line of {piece.name_of(seat)}, if it is closed on purpose")
    if any(ways):
        words, cure = {"hole": mm(2 * hole)}, "; or ".join(filter(None, ways))
        yield Reading(shut.feature, pad, frame[:, 3], find="shut", words=words, cure=cure)


def _aside(piece: Piece, post: int, pad: float, least: float) -> str:
    """The shortest move of a post or pin at whose end its pad, or a smaller one, lies on metal all
    over and on no hole; "" where there is none."""
    axes, frames, grid = axes_of(piece, post), piece.features[post].frames, piece.skin_measures.skin.grid
    if axes is None or len(frames) != 1:
        return ""
    frame, turn = frames[0], np.arange(0.0, 2 * np.pi, np.pi / 12)
    round_ = np.concatenate([np.stack((np.cos(turn), np.sin(turn)), axis=1) * share for share in RINGS])
    ways = np.array([sign * axes[:, k] * far for far in FAR for k in (0, 1) for sign in (1, -1)])
    for across in dict.fromkeys((pad, (pad + least) / 2, least)):
        spots = frame[:, 3] + (across / 2 + NEAR) * round_ @ frame[:, :2].T - NEAR * frame[:, 2]
        origin = (ways[:, None] + spots).reshape(-1, 3)
        along = np.tile(-frame[:, 2], (len(origin), 1))
        _, met = grid.cast(origin, along, leaving=False)
        inside = (met >= 0) & ((piece.skin_measures.skin.normals[met] * along).sum(axis=1) > 0)
        for way in ways[inside.reshape(len(ways), -1).all(axis=1)][:1]:
            moved = move(piece, post, way)
            if moved is None:
                return ""
            if across == pad:
                return f"move {piece.name_of(post)} {moved.in_piece}"
            return f"write pad {rounded_up(across)}, {moved.clauses} in the line of {piece.name_of(post)}"
    return ""


def _stands_in(piece: Piece, stone: int, shut: Shut) -> bool:
    """Whether what shuts a hole is other metal, that the point of the stone stands in."""
    tip = piece.stone_measures.form(stone).tip
    return shut.feature != piece.seated[stone] and shut.free < 2 * NEAR - tip


def _stated(piece: Piece, stone: int, seat: int, shut: Shut) -> Reading | None:
    """A hole that ends in the metal because its line says how deep."""
    deep, back = piece.call(seat).get("deep"), shut.free + shut.thick
    own = shut.feature in (seat, *cut_by(piece, seat))
    if deep is None or "deep" not in piece.clauses_of(seat) or not own:
        return None
    return Reading(seat, deep, stone, find="ends", bound=back, value=lambda back: rounded_up(back + 0.2))


def _behind(piece: Piece, stone: int, seat: int, shut: Shut) -> Reading:
    """A hole that other metal shuts, or that nobody would drill so far."""
    back = mm(shut.free + shut.thick)
    shuts = _metal(piece, seat, shut.feature)
    cut = shuts != seat and piece.features[shuts].body is None
    name = "the metal there" if cut else piece.name_of(shuts)
    wide = piece.stones.of(stone).width * _free(piece, seat, shuts)
    if not cut and shuts != seat and not may_be_holed(piece, shuts, wide, int(piece.stones.line[stone])):
        remedy = off_the_holes(piece, shuts)
    elif cut or (shuts > seat and piece.call(seat).within):
        remedy = f"drill or pierce {name} behind the stone, or move it off the hole"
    elif shuts > seat:
        into = ", and leave 'in' out" if piece.call(seat).get("in") is not None else ""
        remedy = f"put the line of {name} above the seat{into}: the hole then goes through both"
    elif shuts == seat:
        remedy = f"say 'deep {rounded_up(shut.free + shut.thick + 0.2)}', or take less metal there"
    else:
        remedy = _drill(piece, stone, shuts, shut, wide)
    if may_close(piece, seat):
        remedy += "; or " * bool(remedy) + "say 'blind', if it is closed on purpose"
    dark = shut.free > DARK * piece.stones.of(stone).width
    if dark:
        remedy = f"let it be: so far down a hole brings no light; or {remedy}"
    lit = light_of(piece.stones.of(stone).gem).body != "opaque" and not dark
    level = None if lit else Level.HINT  # an opaque stone is mostly closed behind, one in deep metal too
    if shut.way is None:
        return Reading(seat, shut.thick, stone, words={"back": back}, cure=remedy, level=level)
    wanted = way_wanted(piece, stone)
    said = {
        "way": mm(shut.way) if shut.way else f"less than {mm(wanted / 2)}",
        "hole": mm(piece.call(seat).get("hole") * piece.stones.of(stone).width),
    }
    return Reading(
        seat, shut.way or wanted / 2, stone, find="narrow", words=said, bound=wanted, cure=remedy, level=level
    )


def _drill(piece: Piece, stone: int, shuts: int, shut: Shut, wide: float) -> str:
    """A hole through the metal that shuts a stone's, no wider than that bears."""
    metal, whose, block = written(piece, shuts, int(piece.stones.line[stone]))
    borne_there = borne(piece, stone, shuts, shut.free + shut.thick / 2)
    if borne_there >= min(wide, HOLE):
        across = rounded_down(min(wide, borne_there))
        hole = f"drill light: at centres of {whose}, in {metal}, across {across}"
        return f"write {hole}, below both lines{block}"
    ways = [cut_too(piece, stone, shuts), _parted(piece, stone, shuts, shut), _broader(piece, shuts)]
    if _leaves_a_leg(piece, stone, shuts, shut):
        ways.append(ways.pop(0))
    if any(ways):
        return "; or ".join(filter(None, ways))
    if _stands_on(piece, piece.seated[stone], shuts):
        close = may_close(piece, piece.seated[stone])
        return "" if close else "let it be: metal so narrow takes no light hole"
    return f"move {metal} aside; or let it be, where light comes to the stone from the side"


def _stands_on(piece: Piece, seat: int, metal: int) -> bool:
    """Whether the line of a setting says that it stands on some metal."""
    on = piece.call(seat).own_line.arguments.get("on")
    return on is not None and isinstance(on.value, Feature) and on.value.index == metal


def _leaves_a_leg(piece: Piece, stone: int, metal: int, shut: Shut) -> bool:
    """Whether a stone's hole cut through the metal that shuts it leaves too little of that at a side."""
    frame, radius = piece.stones.frames[stone], hole_of(piece, stone)
    rays = round_about(frame[:, 3] - (shut.free + shut.thick / 2) * frame[:, 2], frame)
    far = piece.skin_measures.skin.grid.cast(*rays)[0] - radius
    side = int(far.argmin())
    legs = far[[side, (side + len(far) // 2) % len(far)]]
    return bool(((legs > 0) & (legs < piece.bound("thin-wall", "drilled", metal))).any())


def _broader(piece: Piece, metal: int) -> str:
    """What makes metal as wide as a light hole wants it; "" where it is, or says no width."""
    broad, said = HOLE + 2 * piece.bound("thin-wall", "least", metal), piece.call(metal).get("wide")
    if not isinstance(said, float) or said >= broad:
        return ""
    return f"make {piece.name_of(metal)} {rounded_up(broad)} wide or more, for a light hole"


def _parted(piece: Piece, stone: int, metal: int, shut: Shut) -> str:
    """How far apart two strands stand clear of the hole of a stone over one of them; "" for other metal."""
    parted = figure(piece.call(metal), FigureOf.PARTED)
    if parted is None or len(piece.features[metal].frames) != 1:
        return ""
    frame, skin = piece.features[metal].frames[0], piece.skin_measures.skin
    strands = skin.part(skin.owner == metal)
    home, down = piece.stones.frames[stone, :, 3], -piece.stones.frames[stone, :, 2]
    aside = float((home - frame[:, 3]) @ frame[:, 1])
    out = frame[:, 1] if aside >= 0 else -frame[:, 1]
    # From the middle between the strands out, at the heights of the metal that shuts the hole.
    deep = shut.free + np.linspace(0.0, 1.0, HEIGHTS)[:, None] * shut.thick
    start = home - abs(aside) * out + deep * down
    inner = float(strands.grid.cast(start, np.tile(out, (HEIGHTS, 1)), leaving=False)[0].min())
    radius = hole_of(piece, stone)
    if not 0 < (more := 2 * (abs(aside) + radius - inner)) < np.inf:
        return ""
    return f"write {parted[0]} {rounded_up(parted[1] + more)} in the line of {piece.name_of(metal)}"


def _free(piece: Piece, seat: int, shuts: int) -> float:
    """How wide a hole is to be made behind a stone, of its width: through wire as wide as the seat's own, or
    the wire still crosses that; through a shank a narrow one will do."""
    hole = piece.wear_measures.hole
    crosses = piece.is_for(shuts, Role.WIRE) and (hole is None or hole.feature != shuts)
    return float(piece.call(seat).get("hole") or 0.5) if crosses else LIGHT


def _metal(piece: Piece, seat: int, owner: int) -> int:
    """The metal that shuts a hole: where its face is one that a cut left, what that is cut into, sooner
    than what the seat is cut into."""
    if owner == seat or piece.features[owner].body is not None:
        return owner
    steps = [step for step in simple_steps(piece.bench.plan().steps) if step.feature == owner]
    of = piece.call(owner).get("of")
    into = {body for step in steps for body in step.into or (of.bodies() if isinstance(of, Feature) else ())}
    cut = [f.index for f in piece.features if f.body in into and f.index != seat]
    mine = set(cut_by(piece, seat))
    return min(cut, key=lambda one: (one in mine, one), default=owner)
