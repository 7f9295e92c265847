"""Seats as they stand in the metal: open at the side, thin beside or below the stone, shut."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from ...bench.feature import Feature
from ...bench.roles import FigureOf, Role
from ...geometry.inside import gaps, within_edges
from ...geometry.outlines import trace
from ...judging.digits import above, below, rounded_down, rounded_up
from ...judging.figure_rule import Reading
from ...judging.figures import figure
from ...judging.forms import COUNT, UNDER
from ...judging.moves import move
from ...judging.remedies import deeper, thicker, wider
from ...judging.rule import Mend
from ...judging.seats import closed
from ...judging.services import indices_of
from ...judging.stone_metal import metal_on_axes

if TYPE_CHECKING:
    from ...judging.beads import Row
    from ...judging.forms import Form, Spot, Surround
    from ...judging.piece import Piece
    from ...measures.kinds import Floats

SMALLEST = 0.2  # mm, beads that are still drawn by a milgrain wheel: house choice, no source
FINE = 0.005  # mm, chords of a girdle that beads stand over
AIR = 0.01  # mm, that what is moved off stands farther than it has to
SPARE = 0.15  # mm, to spare below a bearing
FILM = 0.03  # mm, a closed seat that leaves no more may go right through
TOWARD = 0.8  # cosine of the way to another stone, within which what is open is open toward it


def broken_seat(piece: Piece) -> Iterator[Reading]:
    """A seat that comes out through the side of its body."""
    for stone, around in enumerate(piece.stone_measures.surrounds):
        seat = piece.seated.get(stone)
        if seat is None or around.broken_at is None:
            continue
        if piece.services.around(seat, int(piece.stones.line[stone])):
            continue  # in what is made round the girdle: open where it is meant to be
        # The body itself laps over the stone from both sides, as over one held by tension.
        own = all(not piece.is_for(lap.owner, Role.PRONG, Role.GRAINS) for lap in around.laps)
        if (own and around.free < 180.0) or _toward_its_like(piece, stone, around):
            continue
        what = "shared" if stone in piece.shared else "most"
        yield Reading(
            seat, around.broken, around.broken_at, words={"what": what, "which": str(stone + 1)},
            cure=partial(_more_metal, piece, stone),
        )  # fmt: skip
    yield from _bored_off(piece)


def _bored_off(piece: Piece) -> Iterator[Reading]:
    """A cup whose wall a line of the text's own that clears a band's hole or face takes off."""
    bores = [
        (one.index, call) for one, call in piece.with_role(Role.CUT)
        if not call.trail and isinstance(call.get("of"), Feature) and call.get("in") is not None
    ]  # fmt: skip
    for stone, seat in sorted(piece.seated.items()) if bores else ():
        cup = piece.call(seat).get("in")
        if not isinstance(cup, Feature) or not piece.is_for(cup.index, Role.RIM):
            continue
        own = piece.call(cup.index).within[:1]
        bare = 360.0 * float((piece.stone_measures.surrounds[stone].under <= 0).mean())
        for bore, call in bores:
            body, name = piece.name_of(call.get("of").index), piece.name_of(cup.index)
            if any(piece.call(one).within[:1] == own for one in indices_of(call.get("in"))):
                stood = (one.index for one, call in piece.with_role(Role.BEADED_EDGE)
                         if piece.source_lines.rests_on(call, piece.call(cup.index)))  # fmt: skip
                yield Reading(
                    bore, bare, stone, find="bored", words={"cup": name}, others=(cup.index, *stood),
                    cure=f"leave {piece.name_of(bore)} out: {name} goes down to {body} by itself, where its "
                    f"line says 'on {body}'",
                )  # fmt: skip


def _more_metal(piece: Piece, stone: int, _: float) -> tuple[str, Mend | None]:
    """What closes the side of a stone's seat: the body wider there."""
    bed = min((one for one in piece.beds if one.stone == stone), key=lambda one: one.edge, default=None)
    lack = piece.bound("stone-near-edge", "advised") - bed.edge if bed is not None else 0.0
    remedy, mend = "move the stones inward", None
    if bed is not None and lack > 0:
        remedy, mend = wider(piece, bed.body, stone, lack)
    return f"{remedy}, or take smaller stones", mend


def _toward_its_like(piece: Piece, stone: int, around: Surround) -> bool:
    """Whether a seat is open toward the next stone of a channel, where no metal stands between the two."""
    seat, stones = piece.seated[stone], piece.stones.frames[:, :, 3]
    if not piece.is_for(seat, Role.CHANNEL) or around.broken_at is None:
        return False
    beside = np.array([k for k, other in piece.seated.items() if other == seat and k != stone], dtype=int)
    ways = np.vstack([np.array(around.broken_at), stones[beside]]) - stones[stone]
    ways /= np.linalg.norm(ways, axis=1, keepdims=True)
    return bool((ways[1:] @ ways[0] > TOWARD).any())


def _farther_off(piece: Piece, stone: int, spot: Spot, lack: float) -> str:
    """What brings a cut ``lack`` mm farther off a stone: the one or the other moved as its line says it."""
    stands, cut, line = piece.stones.frames[stone], spot.owner, int(piece.stones.line[stone])
    way = np.array(spot.at) - stands[:, 3]
    way -= (way @ stands[:, 2]) * stands[:, 2]
    by = (lack + AIR) * way / np.linalg.norm(way)
    ways = (cut, by), (line, -by)
    moves = [(piece.name_of(one), move(piece, one, far, at=stands[:, 3])) for one, far in ways]
    said = [f"move {name} {moved.in_piece}" for name, moved in moves if moved is not None]
    name = piece.name_of(cut)
    said = said or [f"move {name} {rounded_up(lack)} off the stone"]
    return "; or ".join([*said, f"make {name} smaller"])


def thin_beside(piece: Piece) -> Iterator[Reading]:
    """The wall of a seat, measured outward from the girdle."""
    for stone, around in enumerate(piece.stone_measures.surrounds):
        spot, seat = around.beside, piece.seated.get(stone)
        if spot is None or seat is None:
            continue
        runs_out = above(around.broken, piece.bound("broken-seat", "most", seat))  # see broken-seat
        if runs_out or stone in piece.shared or stone in piece.barred:
            continue  # or is cut away between prongs or bars
        body = piece.name_of(spot.owner) if spot.owner >= 0 else "the metal"
        cut = spot.owner >= 0 and piece.is_for(spot.owner, Role.CUT)
        yield Reading(
            seat, spot.figure, spot.at, play=piece.tolerance,  # measured between chords
            words={"side": body if cut else f"the outside of {body}", "which": str(stone + 1)},
            cure=partial(_beside, piece, stone, spot, cut, body),
        )  # fmt: skip


def _beside(
    piece: Piece, stone: int, spot: Spot, cut: bool, body: str, bound: float
) -> tuple[str, Mend | None]:
    remedy, mend = f"make {body} wider", None
    if cut:
        remedy = _farther_off(piece, stone, spot, bound - spot.figure)
    elif spot.owner >= 0 and piece.call(spot.owner).get("profile", "flat") == "flat":
        remedy, mend = wider(piece, spot.owner, stone, bound - spot.figure)
    less = rounded_up(2 * (bound - spot.figure))
    return f"{remedy}, take stones {less} smaller, or move them away from that side", mend


def thin_bearing(piece: Piece) -> Iterator[Reading]:
    """The metal straight below the bearing of a seat."""
    bodies = {bed.stone: bed.body for bed in piece.beds}
    for stone, spot in enumerate(piece.stone_measures.floors):
        seat = piece.seated.get(stone)
        if spot is None or seat is None:
            continue
        body = bodies.get(stone)
        into = piece.call(seat).get("in")
        rails = into is not None and body not in {*indices_of(into)} and not piece.is_for(seat, Role.RIM)
        if rails and piece.services.around(seat, int(piece.stones.line[stone])):
            continue  # the claws of a head carry it: its rails only make way for the stone
        bound = piece.bound("thin-bearing", "least", seat)
        if below(spot.figure + piece.tolerance, bound):  # measured between chords
            cut = spot.owner
            roof = figure(piece.call(cut), FigureOf.ROOF)
            beside = piece.is_for(cut, Role.CUT) and roof is None and not piece.call(cut).trail
            inside = into.index if isinstance(into, Feature) else None
            lack = bound - spot.figure
            shut = closed(piece, seat)
            through = spot.figure < FILM if shut else 2 * lack > bound
            lack = max(lack, _lack(piece, stone, bound)) if through else lack
            solid = inside if body is None else body
            mend = None if beside or solid is None else deeper(piece, solid, lack)
            cure = thicker(piece, solid, mend, lack) if mend is not None and solid is not None else None
            yield Reading(
                seat, spot.figure, spot.at, find="beside" if beside else "shut" if shut else "", mend=mend,
                cure=None if beside else cure, play=piece.tolerance,
                words={"which": str(stone + 1), "seat": "this closed seat" if shut else "the bearing"},
                others=(cut,) if beside else (),
            )  # fmt: skip


def _lack(piece: Piece, stone: int, bound: float) -> float:
    """How much more metal a bearing that goes right through wants below it, by what is there beside it;
    0 where there is none."""
    form, (deep, met) = piece.stone_measures.form(stone), piece.stone_measures.below_rim(stone)
    if not (met >= 0).any():
        return 0.0
    seat = piece.call(piece.seated[stone])
    low = _edge(form, float(seat.get("hole") or 0.0)) - 2 * float(seat.get("clearance") or 0.0) - SPARE
    return form.low - low + bound - float(deep[met >= 0].min())


def _edge(form: Form, hole: float) -> float:
    """How low on its axis a pavilion is as narrow as a light hole, a share of its width, mm."""
    heights = np.array([form.low, *form.heights[: len(UNDER)], form.tip])
    shares = [np.ones(COUNT), *(form.radius[: len(UNDER)] / form.rim), np.zeros(COUNT)]
    lows = [np.interp(-hole, -np.array(one), heights) for one in zip(*shares, strict=True)]
    return float(min(lows))


# Pushed over once the stone lies in its seat; or no setting at all, see stone-in-metal.
LOOSE = Role.PRONG, Role.GRAINS, Role.FINDING, Role.EAR_POST, Role.PIN


def shut_stone(piece: Piece) -> Iterator[Reading]:
    """So much metal over a stone's girdle that it cannot be let in."""
    for stone, around in enumerate(piece.stone_measures.surrounds):
        feature = int(piece.stones.feature[stone])
        most = piece.bound("shut-stone", "metal", feature)
        seat = piece.seated.get(stone, feature)
        fast = (lap for lap in around.laps if not piece.is_for(lap.owner, *LOOSE))
        covered = sum(lap.end - lap.start for lap in fast)
        if not above(covered, most) or piece.stones.of(stone).cut == "pearl":
            continue
        form, set_stone = piece.stone_measures.form(stone), piece.stone_measures.stones[stone]
        if metal_on_axes([form], [set_stone], piece.skin_measures.skin)[0] >= 0:
            continue  # it stands in metal altogether: see stone-in-metal
        mouth = "leave 'mouth' out of its seat, or " if "mouth" in piece.clauses_of(seat) else ""
        at = piece.stones.frames[stone, :, 3]
        yield Reading(seat, covered, at, bound=most, words={"mouth": mouth})
    yield from _adorned(piece)


def _adorned(piece: Piece) -> Iterator[Reading]:
    """Beads along a rim that stand over the edge of a stone, where no seat is cut in them."""
    from ...judging.beads import rows_of

    for row in rows_of(piece) if piece.sets.ornaments else ():
        for stone in range(len(piece.stones.kind)) if row.feature in piece.sets.ornaments else ():
            over, at = _over_edge(piece, stone, row)
            if over > 0 and not _is_cut_for(piece, stone, row.feature):
                yield Reading(
                    row.feature, over, at, find="adorned", words={"which": str(stone + 1)}, keys=("bead",),
                    cure=partial(_smaller, piece, row, over),
                )  # fmt: skip


def _over_edge(piece: Piece, stone: int, row: Row) -> tuple[float, Floats]:
    """How far the beads of a row stand over the edge of a stone, from above, the one that does so farthest,
    and where; 0 where none does."""
    form, frame = piece.stone_measures.form(stone), piece.stones.frames[stone]
    own = (row.centres - frame[:, 3]) @ frame[:, :3]
    near = np.hypot(own[:, 0], own[:, 1]) < form.rim.max() + row.bead
    near &= (own[:, 2] > form.low - row.bead / 2) & (own[:, 2] < form.top + row.bead)
    if not near.any():
        return 0.0, frame[:, 3]
    rim = trace(piece.stones.of(stone).outline, FINE)
    chords = np.roll(rim, -1, axis=0) - rim
    off = gaps(own[near, :2], rim, chords).min(axis=1)
    off[within_edges(rim, rim + chords, own[near, :2])] *= -1
    below = np.maximum(form.low - own[near, 2], 0.0)
    over = np.sqrt(np.maximum((row.bead / 2) ** 2 - below**2, 0.0)) - off
    most = int(over.argmax())
    return float(over[most]), row.centres[near][most]


def _is_cut_for(piece: Piece, stone: int, beads: int) -> bool:
    """Whether a seat of a stone is cut in some beads."""
    line = int(piece.stones.line[stone])
    seats = (one for one in piece.sets.seats if one > beads and line in piece.services.lines(one))
    into = (piece.call(one).get("in") for one in seats)
    return any(one is None or beads in indices_of(one) for one in into)


def _smaller(piece: Piece, row: Row, over: float, bound: float) -> str | tuple[str, Mend]:
    """The bead that stands no farther over a stone than ``bound``; one that by itself stays in from an edge
    of metal by a share of its size moves off the stone too."""
    own = piece.call(row.feature).own_line.arguments.get("inset")
    inset = 0.0 if own is not None and own.given else float(piece.call(row.feature).get("inset") or 0.0)
    least = row.bead - (over - bound + AIR) / (0.5 + inset / row.bead)
    farther = f"lay them farther off the stone, on metal {rounded_up(over - bound)} wider round it"
    if least < SMALLEST or not piece.can_say(row.feature, "bead"):
        return farther
    mend = Mend("bead", rounded_down(least), "exact")
    return f"{mend.said} in the line of {piece.name_of(row.feature)}; or {farther}", mend
