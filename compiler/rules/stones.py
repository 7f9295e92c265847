"""Stones: too many kinds of spread, crowd or size, too soft, not for water, their heads askew."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from ...stdlib.cuts import CUTS
from ...stdlib.cuts.tablet import OWN, base_of, spoken
from ...stdlib.gems import GEMS, SAFETY
from ..bench.roles import Role
from ..judging.digits import above, below
from ..judging.figure_rule import Reading
from ..judging.gaps import Gap
from ..judging.gems_at_risk import Gems, gems_at_risk, listed
from ..judging.piece import BANGLE
from ..judging.rule import Mend

if TYPE_CHECKING:
    from ..judging.piece import Piece


def wet_stone(piece: Piece) -> Iterator[Reading]:
    """Stones that ultrasonic or steam cleaning would harm."""
    return gems_at_risk(piece, lambda gem: max(gem.ultrasonic, gem.steam, key=SAFETY.index), _told)


def _told(risky: Gems, never: Gems) -> tuple[str, str]:
    gems = [*never, *risky]
    each = [f"{gem.spoken}: ultrasonic {gem.ultrasonic}, steam {gem.steam}" for gem in gems]
    return f"{listed(gems)} may not go through every cleaning", "; ".join(each)


ASKED = "choose a harder stone; tell the customer"
OPEN = "tell the customer: a ring for occasions, put on last and taken off first; or let it stand low"


def soft_stone(piece: Piece) -> Iterator[Reading]:
    """Stones too soft for a ring."""
    if not piece.rings and not any(one.about and one.about < BANGLE for one in piece.features):
        return  # nor anything that runs about a finger
    usual, floor = piece.bound("soft-stone", "ring"), piece.bound("soft-stone", "ring-least")
    for group in piece.stone_sets:
        gem = GEMS[group.setting.gem]
        if gem.is_metal or not below(gem.mohs_low, usual):
            continue
        soft = below(gem.mohs_low, floor)
        guarded = _guarded(piece, group.feature)
        if guarded and not soft:
            continue  # what would be advised is done
        remedy = ASKED if guarded else f"set it low behind a bezel, or {ASKED}"
        yield Reading(
            group.feature, gem.mohs_low, words={"gem": gem.title.lower()},
            once=(group.feature, gem.name), cure=OPEN if group.setting.cut == "pearl" else remedy,
        )  # fmt: skip


def _guarded(piece: Piece, line: int) -> bool:
    """Whether metal stands round every stone of a line: it lies in a bezel, or let in."""
    seats = [piece.seated.get(int(stone)) for stone in np.flatnonzero(piece.stones.feature == line)]
    return all(seat is not None and piece.is_for(seat, Role.RIM, Role.INLAY) for seat in seats)


EVENED = 0.01  # mm, what is left over of a row evened out along its line


def spread_stones(piece: Piece) -> Iterator[Reading]:
    """Stones too far apart for the prong they share."""
    usual, share, fine = (
        piece.bound("spread-stones", what) for what in ("shared-prong", "of-wire", "from-wire")
    )
    held = {(grip.stone, grip.rod): grip.wire for grip in piece.grips}
    for gap in piece.gaps:
        if not gap.shares or not above(gap.width, usual + EVENED):
            continue
        wires = [
            wire for (stone, rod), wire in held.items() if stone == gap.first and (gap.second, rod) in held
        ]
        more = share * (min(wires) - fine) if wires else 0.0
        limit = usual + more if more > 0 else usual
        yield Reading(gap.feature, gap.width, gap.place, bound=limit, play=EVENED)


def mismatched_stones(piece: Piece) -> Iterator[Reading]:
    """Stones whose two reckoned weights disagree."""
    from ...stdlib.stones import weigh

    limit = piece.bound("mismatched-stones", "most")
    for group in piece.stone_sets:
        setting = group.setting
        if setting.cut == "round" or setting.carats is not None or setting.form != setting.cut:
            # a round's two weights agree by design; one weighed, or of measured depth, needs no formula
            continue
        cut, gem = CUTS[setting.form], GEMS[setting.gem]
        size = setting.length, setting.width, setting.narrow
        weight = weigh(cut, *size, gem.density, gem.formula)
        off = abs(weight.carats_volume / weight.carats_formula - 1)
        # The solid is cut like a diamond: coloured stones of any shape are deeper by trade.
        alike = cut.carats(*size, density=gem.density)
        if above(min(off, abs(weight.carats_volume / alike - 1)), limit):
            said = {"formula": f"{weight.carats_formula:.2f} ct", "volume": f"{weight.carats_volume:.2f} ct"}
            key, once = setting.cut, (group.feature, *setting.figures)
            yield Reading(group.feature, off, words=said, key=key, keys=(key,), once=once)


def unshared_claws(piece: Piece) -> Iterator[Reading]:
    """Heads whose claws were to be shared, and that hold each of their stones by claws of its own."""
    heads: dict[str, tuple[int, dict[int, set[int]]]] = {}
    for grip in piece.grips:
        within = piece.call(grip.feature).within
        if within and (said := within[0].arguments.get("shared")) is not None and said.value:
            rods = heads.setdefault(within[0].name, (grip.feature, {}))[1]
            rods.setdefault(grip.rod, set()).add(grip.stone)
    for feature, rods in heads.values():
        stones, widths = set().union(*rods.values()), piece.stones.of
        if len(stones) > 1 and all(len(held) == 1 for held in rods.values()):
            sizes = sorted(widths(stone).width for stone in stones)
            said_of = {"least": f"{sizes[0]:g} mm", "most": f"{sizes[-1]:g} mm", "claws": str(len(rods))}
            yield Reading(feature, float(len(stones)), min(stones), words=said_of)


def odd_outline(piece: Piece) -> Iterator[Reading]:
    """Domes and flat stones longer than they are usually cut."""
    for group in piece.stone_sets:
        stone = group.setting
        if (cut := CUTS[stone.form]).free and not stone.cut.startswith(OWN):
            said = {"kind": spoken(stone.cut), "long": f"{stone.length:g} mm", "wide": f"{stone.width:g} mm"}
            yield Reading(
                group.feature, stone.length / stone.width, bound=cut.ratios[1], words=said,
                key=base_of(stone.cut), once=(group.feature, *stone.figures),
            )  # fmt: skip


def crowded_stones(piece: Piece) -> Iterator[Reading]:
    """Stones that stand too near one another."""
    cut = piece.bound("crowded-stones", "cut-by-hand")
    for gap in piece.gaps:
        find = (
            "overlap" if below(gap.width, 0.0)
            else None if gap.channel or _strung(piece, gap)  # girdle to girdle, no metal between
            else "bar" if gap.bar
            # Between stones that share prongs there is no wall to fill, but a saddle.
            else "cut-by-hand" if gap.shares or below(gap.width, cut)
            else "cast"
        )
        if find is not None:
            # A gap as it is written is laid by chords.
            play = piece.tolerance if find == "cast" else 0.0
            yield Reading(
                gap.feature, gap.width, gap.place, find=find, play=play, cure=partial(_apart, piece, gap)
            )


def _apart(piece: Piece, gap: Gap, _: float) -> tuple[str, Mend | None]:
    from ..judging.stones_apart import apart_from

    kind = "bar" if gap.bar else "cut-by-hand" if gap.shares else "cast"
    wanted = piece.bound("crowded-stones", kind)
    return apart_from(piece, gap.first, gap.second, wanted - gap.width)


def _strung(piece: Piece, gap: Gap) -> bool:
    """Whether both stones are beads drilled through: on their string they lie against one another."""
    return all(piece.stones.of(stone).drilled for stone in (gap.first, gap.second))
