"""weak-shank: the weakest section of a ring, measured on the metal."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...bench.roles import Role
from ...judging.digits import below, least, mm, place, rounded_up
from ...judging.rule import Level, Mend, Verdict
from ..shanks import is_childs

if TYPE_CHECKING:
    from ...judging.piece import Piece
    from ...judging.shanks import Section

MOST_TIMES = 2.0  # no shank is made thicker than that for what holes took of it
# Times what is reckoned: a wire grows evenly; of a band what its inside and its edges take stays as it is.
WIRE_SPARE, BAND_SPARE = 1.002, 1.01
FLAT = 0.02  # mm, wire so much wider than thick is not round


def check(piece: Piece) -> Iterator[Verdict]:
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
        grown = [_grown(piece, feature, weakest, one / side) for one in sorted({bound, max(floor, advised)})]
        given = _given(piece, feature)
        yield Verdict(
            "the shank is weak here" if weak else "the shank is light here for daily wear",
            feature,
            f"as strong as square wire of {mm(side)} ({mm(weakest.thick)} thick, {mm(weakest.wide)} wide)",
            least(mm(bound)),
            _stronger(given, grown),
            side,
            bound,
            keys=("thick", "wide"),
            place=place(weakest.at),
            level=Level.WARNING if weak else Level.HINT,
            mend=Mend("thick", grown[-1][0], "least") if given and grown[-1] else None,
        )


def _square(modulus: float) -> float:
    """The side of the square wire of a section modulus, mm: its cube over six."""
    return (6 * modulus) ** (1 / 3)


def _times(piece: Piece, feature: int, times: float) -> float:
    """How many times as thick a shank must be for one so many times as strong, by the side of square wire:
    wire grows both ways, a band in its thickness alone."""
    return WIRE_SPARE * times if piece.is_for(feature, Role.WIRE) else BAND_SPARE * times**1.5


def _grown(piece: Piece, feature: int, weakest: Section, times: float) -> tuple[str, str] | None:
    """The size of a section so many times as strong, and how much farther out the path of a wire then runs,
    so that it does not grow into the finger; of a band the thickness to write, where it has but one: what
    seats take from above they take still, and all that is added stays. None where that is no remedy."""
    more, given = _times(piece, feature, times), _given(piece, feature)
    whole = given + (more - 1) * weakest.thick if given else more * weakest.thick
    if whole >= MOST_TIMES * (given or weakest.thick):
        return None
    if not piece.is_for(feature, Role.WIRE):
        return rounded_up(whole), ""
    thick, wide = (rounded_up(more * size) for size in (weakest.thick, weakest.wide))
    size = thick if abs(weakest.thick - weakest.wide) < FLAT else f"{wide} x {thick}"
    return size, rounded_up((more - 1) * weakest.thick / 2)


def _given(piece: Piece, band: int) -> float:
    """The thickness a band is all round, as written; 0 mm where it is none, or not the same all round."""
    call = piece.call(band)
    thick = call.get("thick")
    even = piece.is_for(band, Role.EVEN_SHANK) and not call.given("taper")
    return float(thick) if even and isinstance(thick, float | int) else 0.0


def _stronger(given: float, grown: list[tuple[str, str] | None]) -> str:
    """What to try, unless holes take most of it: out of the worst, and enough for daily wear."""
    if None in grown:
        return "make it wider, keep holes out of it, or take smaller stones"
    (first, out), (last, far) = grown[0] or ("", ""), grown[-1] or ("", "")
    where = f" there, its path {out} farther out" if out else " thick" + " there" * (not given)
    daily = f" ({last}{f' and {far}' if far else ''} for daily wear)" if len(grown) > 1 else ""
    return f"make it {first}{where}{daily}, or wider; keep holes out of it"
