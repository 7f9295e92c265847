"""Shanks as they are in the metal: weak, cut through, and rings of balls that stand open."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ...bench.feature import Feature
from ...bench.roles import FigureOf, Role
from ...geometry.circle import circle_near
from ...judging.digits import below, mm, rounded_up
from ...judging.figure_rule import Reading
from ...judging.figures import figure
from ...judging.rule import Mend
from ...judging.seats import share_borne
from ...judging.shank_cuts import deepest_cut
from ...measures.kinds import frame_of, least_that, length
from ...measures.rays import room_at
from ...shapes.shank_face import Round
from ..shanks import is_childs

if TYPE_CHECKING:
    from ....lang.bench import Call
    from ...judging.piece import Piece
    from ...judging.shanks import Section
    from ...measures.kinds import Floats, Ints


MOST_TIMES = 2.0  # no shank is made thicker than that for what holes took of it
# Times what is reckoned: a wire grows evenly; of a band what its inside and its edges take stays as it is.
WIRE_SPARE, BAND_SPARE = 1.002, 1.01
FINE = 0.005  # mm, to which a thickness is sought
HALF = 0.5  # of its change, from which a tapered band is told its back


def weak_shank(piece: Piece) -> Iterator[Reading]:
    """The weakest section of a ring, measured on the metal."""
    wear = piece.wear_measures
    if wear.hole is None or wear.hole.whose != "finger" or not wear.sections:
        return
    weakest = min(wear.sections, key=lambda part: part.modulus)
    feature, side = wear.hole.feature, _square(weakest.modulus)
    floor, advised = (piece.bound("weak-shank", what, feature) for what in ("least", "advised"))
    if is_childs(piece, piece.features[feature]):
        floor = advised = floor * piece.bound("thin-shank", "child-share", feature)
    if below(side, max(floor, advised)):
        weak = below(side, floor)
        bound = floor if weak else advised
        targets = sorted({bound, max(floor, advised)})
        written = [_written(piece, feature, one) for one in targets]
        yield Reading(
            feature, side, weakest.at, find="weak" if weak else "", bound=bound,
            words={"thick": mm(weakest.thick), "wide": mm(weakest.wide)},
            cure=_said(piece, feature, written) if written[-1]
            else _stronger([_grown(piece, feature, weakest, one / side) for one in targets]),
            mend=_mend(written[-1]),
        )  # fmt: skip


def _mend(written: list[str]) -> Mend | None:
    """What is written, where it is one clause."""
    key, _, value = written[0].partition(" ") if len(written) == 1 else ("", "", "")
    return Mend(key, value, "least") if key else None


def _enough(one: Section, side: float) -> float:
    """How much thicker a section is to be to be as strong as square wire of a ``side``, mm."""
    return least_that(lambda far: 6 * one.thicker(far) >= side**3, 0.0, 9.0, FINE)


def _written(piece: Piece, band: int, side: float) -> list[str]:
    """The clauses of a band, at its head and at its back, by which every section of it is as strong as square
    wire of a ``side``, mm; none of what is no band, or would be out of scale."""
    call, round_it = piece.call(band), piece.features[band].surface
    if not piece.is_for(band, Role.EVEN_SHANK) or not isinstance(round_it, Round):
        return []
    shank, taper = round_it.shank, call.get("taper")
    head = back = 0.0
    for one in piece.wear_measures.sections:
        if one.modulus >= side**3 / 6:
            continue
        if 6 * one.thicker(MOST_TIMES * shank.thick) < side**3:
            return []
        more = BAND_SPARE * _enough(one, side)
        share = shank.share(np.radians(one.angle)) if taper else 0.0
        if share < HALF:
            head = max(head, more / (1 - share))
        else:
            back = max(back, more / share)
    if head >= shank.thick or back >= shank.back_thick:
        return []
    thick = [f"thick {rounded_up(shank.thick + head)}"] if head else []
    return thick + ([f"taper {taper[0]:g} x {rounded_up(shank.back_thick + back)}"] if back else [])


def _said(piece: Piece, band: int, written: list[list[str]]) -> str:
    """What is written for daily wear, and what is the least."""
    least = f" ({' and '.join(written[0])} at the least)" if len(written) > 1 and written[0] else ""
    daily = ", enough for daily wear" * (len(written) > 1)
    return (
        f"write {' and '.join(written[-1])} in the line of {piece.name_of(band)}{daily}{least}; or make it "
        "wider, or keep holes out of it"
    )


def _square(modulus: float) -> float:
    """The side of the square wire of a section modulus, mm: its cube over six."""
    return (6 * modulus) ** (1 / 3)


def _grown(piece: Piece, feature: int, weakest: Section, times: float) -> tuple[str, str] | None:
    """The size of a section so many times as strong: wire grows both ways, and its path runs as much farther
    out that it does not grow into the finger; what has no one thickness grows in that alone. None where that
    is no remedy."""
    wire = piece.is_for(feature, Role.WIRE)
    more = WIRE_SPARE * times if wire else BAND_SPARE * times**1.5
    if more >= MOST_TIMES:
        return None
    thick, wide = (rounded_up(more * size) for size in (weakest.thick, weakest.wide))
    if not wire:
        return thick, ""
    section = figure(piece.call(feature), FigureOf.SECTION)
    flat = section is not None and isinstance(section[1], tuple)  # of several arms the wire is what grows
    size = f"{wide} x {thick}" if flat else thick
    return size, rounded_up((more - 1) * weakest.thick / 2)


def _stronger(grown: list[tuple[str, str] | None]) -> str:
    """What to try, unless holes take most of it: out of the worst, and enough for daily wear."""
    if None in grown:
        return "make it wider, keep holes out of it, or take smaller stones"
    (first, out), (last, far) = grown[0] or ("", ""), grown[-1] or ("", "")
    where = f" there, its path {out} farther out" if out else " thick there"
    daily = f" ({last}{f' and {far}' if far else ''} for daily wear)" if len(grown) > 1 else ""
    return f"make it {first}{where}{daily}, or wider; keep holes out of it"


NO_METAL = 0.02  # of a section, a skin no thicker than that holds nothing


def cut_shank(piece: Piece) -> Iterator[Reading]:
    """A shank that a cut has opened, so that no metal goes all round the finger."""
    bore = piece.wear_measures.bore
    if bore is None or not piece.is_for(bore.index, Role.SHANK) or piece.call(bore.index).get("open"):
        return
    cuts = [
        feature.index for feature, call in piece.with_role(Role.CUT, Role.SEAT, Role.LIGHT_HOLE)
        if not call.trail  # a word knows where it cuts
        and not _clears(call)
        and ((body := call.get("in")) is None or (isinstance(body, Feature) and body.body == bore.body))
    ]  # fmt: skip
    if cuts and not piece.wear_measures.goes_round:
        at = piece.features[cuts[-1]].frames[0, :, 3]
        yield Reading(cuts[-1], 0.0, at, find="open", bound=1.0, others=(bore.index,))
    elif cuts and (worst := deepest_cut(piece, bore, cuts)) is not None:
        yield Reading(
            worst.cut, worst.left, worst.at, words={"nearly": "nearly " * (worst.left > NO_METAL)},
            others=(bore.index,), find="seat" if piece.is_for(worst.cut, Role.SEAT) else "",
            cure=_narrower(piece, worst.cut) or None,
        )  # fmt: skip


def _narrower(piece: Piece, cut: int) -> str:
    """The light hole that a seat too wide for its shank may have; "" where that bears none."""
    widths = [piece.stones.of(stone).width for stone, seat in piece.seated.items() if seat == cut]
    share = share_borne(piece, cut, max(widths)) if widths else 0.0
    return f"say 'hole {100 * share:.0f} %', or make the band wider there" if 0 < share < 0.5 else ""


def _clears(call: Call) -> bool:
    """Whether a line clears a finger's hole, of which its shank was made round."""
    of = call.get("of")
    return isinstance(of, Feature) and of.shank is not None


FEW = 6  # balls, fewer are no ring
EVEN = 0.04  # of its radius, how round a ring is
TOUCH = 0.01  # mm
MEANT = 2.2  # times as far apart as they touch; what stands farther is meant to be open
BARE = 0.3  # of the gap, how far all metal lies from its middle


def open_ring(piece: Piece) -> Iterator[Reading]:
    """Balls that touch one another all round a ring, but at one place."""
    found = [
        (one.feature, one.figures[0] / 2, *(at[:, 2] * one.figures[0] / 2 + at[:, 3]))
        for one in piece.plan_solids if one.kind == "ball" and not one.cut for at in one.frames
    ]  # fmt: skip
    table = np.array(found).reshape(-1, 5)
    spots, radius, lines = table[:, 2:], table[:, 1], table[:, 0].astype(int)
    order = _in_order(spots) if len(spots) >= FEW else np.zeros(0, dtype=int)
    if not len(order):
        return
    after = np.roll(order, -1)
    apart = length(spots[after] - spots[order])
    touch = radius[order] + radius[after]
    (gaps,) = np.nonzero(apart > touch + TOUCH)
    if len(gaps) != 1 or apart[gaps[0]] > MEANT * touch[gaps[0]]:
        return
    gap = int(gaps[0])
    one, other = int(order[gap]), int(after[gap])
    middle = (spots[one] + spots[other]) / 2
    free = float(apart[gap] - touch[gap])
    if room_at(piece.skin_measures.skin, middle[None], free)[0] > BARE * free:
        names = {piece.name_of(int(lines[k])) for k in (one, other)}
        yield Reading(
            int(max(lines[one], lines[other])), float(apart[gap]), middle, bound=float(touch[gap]),
            words={"balls": " and ".join(sorted(names))}, others=(int(lines[one]), int(lines[other])),
        )  # fmt: skip


def _in_order(spots: Floats) -> Ints:
    """The order of spots (n, 3) round a circle they all lie near; none where they lie on no circle."""
    middle, axis, _ = circle_near(spots)
    one, two = frame_of(axis)
    flat = (spots - middle) @ np.stack((one, two), axis=1)
    far = np.hypot(*flat.T)
    off = np.maximum(np.abs(far - far.mean()), np.abs((spots - middle) @ axis))
    if off.max() > EVEN * far.mean():
        return np.zeros(0, dtype=int)
    return np.argsort(np.arctan2(flat[:, 1], flat[:, 0]), kind="stable")
