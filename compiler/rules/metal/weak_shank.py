"""weak-shank: the weakest section of a ring, measured on the metal."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...bench.roles import Role
from ...judging.digits import below, least, mm, place, rounded_up
from ...judging.rule import Level, Mend, Rule, Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece
    from ...judging.shanks import Section

FINGER = 14.0  # mm, the radius of a bore that is a wrist's and no finger's
MOST_TIMES = 2.0  # no shank is made thicker than that for what holes took of it
# Times what is reckoned: a wire grows evenly; of a band what its inside and its edges take stays as it is.
WIRE_SPARE, BAND_SPARE = 1.002, 1.01
FLAT = 0.02  # mm, wire so much wider than thick is not round


def _check(piece: Piece) -> Iterator[Verdict]:
    wear = piece.wear_measures
    if wear.hole is None or wear.hole.radius > FINGER or not wear.sections:
        return
    weakest = min(wear.sections, key=lambda part: part.modulus)
    feature, side = wear.hole.feature, _square(weakest.modulus)
    floor, advised = (piece.bound("weak-shank", what, feature) for what in ("least", "advised"))
    if below(side, max(floor, advised)):
        weak = below(side, floor)
        bound = floor if weak else advised
        grown = [_grown(piece, feature, weakest, one / side) for one in sorted({bound, max(floor, advised)})]
        mend = _thicker(piece, feature, max(floor, advised) / side)
        yield Verdict(
            "the shank is weak here" if weak else "the shank is light here for daily wear",
            feature,
            f"as strong as square wire of {mm(side)} ({mm(weakest.thick)} thick, {mm(weakest.wide)} wide)",
            least(mm(bound)),
            _stronger(mend.value if mend else "", grown),
            side,
            bound,
            keys=("thick", "wide"),
            place=place(weakest.at),
            level=Level.WARNING if weak else Level.HINT,
            mend=mend,
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
    so that it does not grow into the finger; None where that is no remedy."""
    more = _times(piece, feature, times)
    if more >= MOST_TIMES:
        return None
    thick, wide = (rounded_up(more * size) for size in (weakest.thick, weakest.wide))
    if not piece.is_for(feature, Role.WIRE):
        return thick, ""
    size = thick if abs(weakest.thick - weakest.wide) < FLAT else f"{wide} x {thick}"
    return size, rounded_up((more - 1) * weakest.thick / 2)


def _stronger(thick: str, grown: list[tuple[str, str] | None]) -> str:
    """What to try, unless holes take most of it: out of the worst, and enough for daily wear."""
    if None in grown:
        return "make it wider, keep holes out of it, or take smaller stones"
    (first, out), (last, far) = grown[0] or ("", ""), grown[-1] or ("", "")
    last = thick or last
    first = first if len(grown) > 1 else last
    where = f" there, its path {out} farther out" if out else " thick there"
    daily = f" ({last}{f' and {far}' if far else ''} for daily wear)" if len(grown) > 1 else ""
    return f"make it {first}{where}{daily}, or wider; keep holes out of it"


def _thicker(piece: Piece, band: int, times: float) -> Mend | None:
    """The thickness that answers it, with which the section modulus goes by the square; not
    where a taper makes the shank thinner elsewhere."""
    call, more = piece.call(band), _times(piece, band, times)
    thick = call.get("thick")
    even = piece.is_for(band, Role.EVEN_SHANK) and not call.given("taper") and isinstance(thick, float | int)
    return Mend("thick", rounded_up(more * thick), "least") if even and more < MOST_TIMES else None


RULE = Rule(
    "weak-shank",
    "The shank is weak at its weakest section.",
    "metal",
    Level.WARNING,
    "A ring is squeezed out of round at its weakest section, and cracks there. Strength goes "
    "with the section modulus: width times thickness squared over six, for a rectangle.",
    "Make it thicker or wider where it is weakest.",
    "PU putaringonit.co (structurally sound), read as a half-round shank's section modulus; elementary beam "
    "theory",
    _check,
    follows=("thin-shank",),
)
