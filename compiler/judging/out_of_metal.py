"""What takes a stone and metal out of one another: what is moved, raised, or cut."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ...lang.terms import Name, Of
from ..bench.feature import Lines
from ..bench.roles import Role
from .digits import rounded_up
from .holed import HOLE, borne
from .moves import move
from .points_ahead import InMetal
from .remedies import behind_its_setting, setting_line, written
from .seats import cut_too, on_wire

if TYPE_CHECKING:
    from ..geometry.line import Line
    from .piece import Piece

SIZES = 0.9  # of a stone's length, from its middle, farther off no line goes that lies round it
APART = 0.5  # mm up or down, two findings that each hold another part of a row


def out_of_metal(piece: Piece, stone: int, metal: int, found: InMetal | None = None) -> str:
    """A finding and what holds other stones are moved off; a stone in a cup of its own is raised off what
    that stands on, and so is one whose point alone is in the way; else a seat to cut; where one was cut
    after this metal was there, it cut other metal only."""
    from .off_stones import off_the_end, off_the_stone

    seat = piece.seated.get(stone)
    finding = piece.is_for(metal, Role.FINDING, Role.EAR_POST, Role.PIN)
    if finding and (one := _highest(piece, metal)):
        return one
    if finding and (behind := behind_its_setting(piece, metal, piece.stones.frames[stone, :, 3])):
        return f"stand it behind what holds the stone: {behind.said} on the line of {piece.name_of(metal)}"
    if finding or piece.features[metal].opening is not None:
        return f"{off_the_stone(piece, stone, metal)}: nothing is cut out of it"
    own_cup = seat is not None and piece.services.around(seat, int(piece.stones.line[stone]))
    up = _raised(piece, stone, metal, found) if own_cup or (found and found.point) else ""
    wire = piece.is_for(metal, Role.WIRE)
    if up and wire and seat is not None and on_wire(piece, seat, metal):
        up += f"; then say 'blind' in the line of {piece.name_of(seat)}"
    if seat is not None and _passes(piece, stone, metal):
        own, into, block = written(piece, int(piece.stones.feature[stone]), metal)
        cut = f"cut it away under the stone: write seat: for {own}, in {into}, below both lines{block}"
        return f"{cut}; or {up}" if up and wire else cut
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
    if up and wire:
        past = off_the_end(piece, stone, metal) if found is not None and found.room is None else ""
        return f"{past}: {piece.name_of(metal)} then ends in its setting" if past else up
    up += ", or " if up else ""
    if seat is None:
        return f"{up}cut a seat: {setting_line(piece, int(piece.stones.feature[stone]), 'seat:', metal)}"
    other = piece.call(seat).given("in") and metal > seat  # no seat above cuts what its line does not name
    if (metal < seat or other) and piece.features[metal].surface is not None:
        own, into, block = written(piece, int(piece.stones.feature[stone]), metal)
        call = piece.call(seat)
        inlaid = [use.word.name for use in call.within if Role.INLAY in use.word.roles]
        word, hole = (inlaid[0], "") if inlaid else (call.word.name, _hole(piece, stone, metal, seat, found))
        shut = hole.endswith(" 0 %")
        both = f"{cut_too(piece, stone, metal)}; or " if shut and cut_too(piece, stone, metal) else ""
        line = f"cut a seat into it too: write {word}: for {own}, in {into}{hole}, below both lines{block}"
        return f"{up}{both}{line}{', which leaves the stone closed behind' * shut}"
    # Moved off, metal may come off what it is joined to: not where the stone can be raised.
    off = "" if up else f"{off_the_stone(piece, stone, metal)}; or "
    return f"{up}{off}put its line above the seat that is to cut it"


def _highest(piece: Piece, finding: int) -> str:
    """What stands a finding at the highest alone of several parts of one line, as of settings one below the
    other; "" where it stands at one."""
    call = piece.call(finding)
    clause = piece.source_lines.of(call, "at", ("at",)).clause
    value = clause.value if clause is not None else None
    said = call.own_line.arguments.get("at")
    if said is None or not isinstance(value, Of) or not isinstance(value.thing, Name):
        return ""
    high, its = said.value.frames[:, 1, 3], f"in the line of {piece.name_of(finding)}"
    if np.ptp(high) < APART:
        return ""
    there = f"pick({value.names[0].name} of {value.thing.name}, {int(high.argmax()) + 1})"
    return f"write at {there} {its}: it stands at each of {value.thing.name}, and the highest carries all"


def met_lower(piece: Piece, stone: int, metal: int) -> str:
    """What lets arms that find their way to a head pass below a stone set round it; "" of other metal."""
    use = next(iter(piece.call(metal).within), None)
    if use is None or use.word.take("meet") is None:
        return ""
    arms, line = piece.name_of(metal), int(piece.stones.line[stone])
    if line > metal:
        return f"put the line of {arms} below that of {piece.name_of(line)}: they then pass below its stones"
    given = use.arguments["meet"].given
    return f"leave 'meet' out in the line of {arms}: they then pass below its stones" if given else ""


def _wall_beside(piece: Piece, stone: int, metal: int) -> str | None:
    """What the wall round a stone is called where a line below it that runs along something is written; None
    where the metal runs along nothing, or the stone has no such wall above it."""
    line, use = int(piece.stones.line[stone]), next(iter(piece.call(metal).within), None)
    if "along" not in (use or piece.call(metal)).arguments:
        return None
    walls = (one.index for one, _ in piece.with_role(Role.RIM) if "waist" in one.offers and one.index < metal)
    return next((written(piece, metal, one)[1] for one in walls if line in piece.services.lines(one)), None)


def _lines_along(piece: Piece, metal: int) -> tuple[Line, ...]:
    said = piece.call(metal).own_line.arguments.get("along")
    return said.value.lines if said is not None and isinstance(said.value, Lines) else ()


def _passes(piece: Piece, stone: int, metal: int) -> bool:
    """Whether metal runs along a line that passes a stone on its way, round other metal or on at both sides,
    and not round the stone."""
    far, middle = SIZES * piece.stones.of(stone).length, piece.stones.frames[stone, :, 3]
    stands = piece.features[metal].frames[:, :, 3]  # of a rope one alone
    for line in _lines_along(piece, metal):
        spots = stands if line.closed and len(stands) > 1 else line.points
        away = np.linalg.norm(spots - middle, axis=1)
        if away.max() > far and (line.closed or min(away[0], away[-1]) > far):
            return True
    return False


def _raised(piece: Piece, stone: int, metal: int, found: InMetal | None) -> str:
    """What raises a stone off a part, with as much air below a point as is wanted; else nothing."""
    from .off_stones import clear_of

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
    foot = piece.call(seat).own_line.arguments.get("foot")
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
