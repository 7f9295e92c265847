"""Stones: too many kinds of spread, crowd or size, too soft, not for water, their heads askew."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ...stdlib.cuts import CUTS
from ...stdlib.gems import GEMS, SAFETY, Gem
from ..bench.roles import Role
from ..judging.digits import above, below, least, mm, most, place, share
from ..judging.gaps import Gap
from ..judging.gems_at_risk import Gems, gems_at_risk, listed
from ..judging.rule import Level, Verdict

if TYPE_CHECKING:
    from ..judging.piece import Piece


def wet_stone(piece: Piece) -> Iterator[Verdict]:
    """Stones that ultrasonic or steam cleaning would harm."""
    return gems_at_risk(
        piece, _worst, _told, "safe or usually safe in both",
        "clean and polish before setting; afterwards lukewarm water and a soft brush",
    )  # fmt: skip


def _worst(gem: Gem) -> str:
    return max(gem.ultrasonic, gem.steam, key=SAFETY.index)


def _told(risky: Gems, never: Gems) -> tuple[str, str]:
    gems = [*never, *risky]
    each = [f"{gem.spoken}: ultrasonic {gem.ultrasonic}, steam {gem.steam}" for gem in gems]
    return f"{listed(gems)} may not go through every cleaning", "; ".join(each)


ASKED = "choose a harder stone; tell the customer"
OPEN = "tell the customer: a ring for occasions, put on last and taken off first; or let it stand low"


def soft_stone(piece: Piece) -> Iterator[Verdict]:
    """Stones too soft for a ring."""
    if not piece.rings:
        return
    usual, floor = piece.bound("soft-stone", "ring"), piece.bound("soft-stone", "ring-least")
    told: set[tuple[int, str]] = set()
    for group in piece.stone_sets:
        gem = GEMS[group.setting.gem]
        if (group.feature, gem.name) in told or gem.is_metal or not below(gem.mohs_low, usual):
            continue
        told.add((group.feature, gem.name))
        soft = below(gem.mohs_low, floor)
        guarded = _guarded(piece, group.feature)
        if guarded and not soft:
            continue  # what would be advised is done
        bound = floor if soft else usual
        remedy = ASKED if guarded else f"set it low behind a bezel, or {ASKED}"
        yield Verdict(
            f"{gem.title.lower()} is soft for a ring",
            group.feature,
            f"{gem.mohs_low:g} on Mohs' scale",
            least(f"{bound:g}"),
            OPEN if group.setting.cut == "pearl" else remedy,
            gem.mohs_low,
            bound,
            key="gem",
            keys=("gem",),
            level=Level.WARNING if soft else Level.HINT,
        )


def _guarded(piece: Piece, line: int) -> bool:
    """Whether metal stands round every stone of a line: it lies in a bezel, or let in."""
    seats = [piece.seated.get(int(stone)) for stone in np.flatnonzero(piece.stones.feature == line)]
    return all(seat is not None and piece.is_for(seat, Role.RIM, Role.INLAY) for seat in seats)


EVENED = 0.01  # mm, what is left over of a row evened out along its line


def spread_stones(piece: Piece) -> Iterator[Verdict]:
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
        if above(gap.width, limit + EVENED):
            yield Verdict(
                "two stones stand far apart for a prong they share",
                gap.feature,
                f"{mm(gap.width)} apart",
                most(mm(limit)),
                "bring them closer, take thicker prong wire, or give each its own prongs",
                gap.width,
                limit,
                key="every",
                keys=("every", "fit", "number", "radius"),
                place=place(gap.place),
            )


def mismatched_stones(piece: Piece) -> Iterator[Verdict]:
    """Stones whose two reckoned weights disagree."""
    from ...stdlib.stones import weigh

    limit = piece.bound("mismatched-stones", "most")
    told: set[tuple[object, ...]] = set()
    for group in piece.stone_sets:
        setting = group.setting
        key = (group.feature, *setting.figures)
        measured = setting.carats is not None or setting.form != setting.cut
        if key in told or setting.cut == "round" or measured:
            # a round's two weights agree by design; one weighed, or of measured depth, needs no formula
            continue
        told.add(key)
        gem = GEMS[setting.gem]
        weight = weigh(
            CUTS[setting.form],
            setting.length,
            setting.width,
            setting.narrow,
            gem.density,
            gem.formula,
        )
        off = abs(weight.carats_volume / weight.carats_formula - 1)
        # The solid is cut like a diamond: coloured stones of any shape are deeper by trade.
        alike = CUTS[setting.form].carats(
            setting.length, setting.width, setting.narrow, density=gem.density
        )
        if above(min(off, abs(weight.carats_volume / alike - 1)), limit):
            yield Verdict(
                "the stone's weight by formula and by volume disagree",
                group.feature,
                f"{weight.carats_formula:.2f} ct and {weight.carats_volume:.2f} ct, "
                f"{share(off)} apart",
                most(share(limit)),
                "weigh the stone itself before you quote",
                off,
                limit,
                key=setting.cut,
                keys=(setting.cut,),
            )


def crowded_stones(piece: Piece) -> Iterator[Verdict]:
    """Stones that stand too near one another."""
    cast, cut = (
        piece.bound("crowded-stones", "cast"),
        piece.bound("crowded-stones", "cut-by-hand"),
    )
    for gap in piece.gaps:
        if below(gap.width, 0.0):
            yield _crowded(piece, gap, "two stones overlap", 0.0, "they may not even touch", Level.FAULT)
        elif gap.channel or _strung(piece, gap):  # girdle to girdle, no metal between
            continue
        elif gap.bar:
            bar = piece.bound("crowded-stones", "bar")
            if below(gap.width, bar):
                thin = "two stones stand too close for a bar between them"
                yield _crowded(piece, gap, thin, bar, least(mm(bar)), Level.WARNING)
        elif below(gap.width, cut):
            yield _crowded(
                piece,
                gap,
                "two stones stand too close even to cut the seats by hand",
                cut,
                least(mm(cut)),
                Level.WARNING,
            )
        # Between stones that share prongs there is no wall to fill, but a saddle.
        elif not gap.shares and below(gap.width + piece.tolerance, cast):  # laid to a written gap, by chords
            yield _crowded(
                piece,
                gap,
                "two stones stand too close for seats that are cast",
                cast,
                least(mm(cast)),
                Level.WARNING,
            )


def _strung(piece: Piece, gap: Gap) -> bool:
    """Whether both stones are beads drilled through: on their string they lie against one another."""
    return all(piece.stones.of(stone).drilled for stone in (gap.first, gap.second))


def _crowded(
    piece: Piece, gap: Gap, message: str, bound: float, limit: str, level: Level
) -> Verdict:
    from ..judging.remedies import apart_from

    kind = "bar" if gap.bar else "cut-by-hand" if gap.shares else "cast"
    wanted = piece.bound("crowded-stones", kind)
    remedy, mend = apart_from(piece, gap.first, gap.second, wanted - gap.width)
    return Verdict(
        message,
        gap.feature,
        f"{mm(gap.width)} apart",
        limit,
        remedy,
        gap.width,
        bound,
        key="every",
        keys=("every", "fit", "number", "radius", "circle"),
        place=place(gap.place),
        level=level,
        mend=mend,
    )
