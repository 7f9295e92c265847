"""weak-shank: the weakest section of a ring, measured on the metal."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...bench.roles import Role
from ...judging.digits import below, least, mm, place, rounded_up
from ...judging.rule import Level, Mend, Rule, Verdict

if TYPE_CHECKING:
    from ...judging.piece import Piece

FINGER = 14.0  # mm, the radius of a bore that is a wrist's and no finger's
MOST_TIMES = 2.0  # no shank is made thicker than that for what holes took of it


def _check(piece: Piece) -> Iterator[Verdict]:
    wear = piece.wear_measures
    if wear.hole is None or wear.hole.radius > FINGER or not wear.sections:
        return
    weakest = min(wear.sections, key=lambda part: part.modulus)
    feature = wear.hole.feature
    floor, advised = (piece.bound("weak-shank", what, feature) for what in ("least", "advised"))
    if below(weakest.modulus, max(floor, advised)):
        weak = below(weakest.modulus, floor)
        bound = floor if weak else advised
        # Wire grows both ways, a band in its thickness alone.
        power = 1 / 3 if piece.is_for(feature, Role.WIRE) else 1 / 2
        # What is thicker is to be strong enough for daily wear, not just out of the worst.
        times = (max(floor, advised) / max(weakest.modulus, 1e-6)) ** power
        mend = _thicker(piece, feature, times) if times < MOST_TIMES else None
        yield Verdict(
            "the shank is weak here" if weak else "the shank is light here for daily wear",
            feature,
            f"as strong as square wire of {mm(_square(weakest.modulus))} ({mm(weakest.thick)} thick, "
            f"{mm(weakest.wide)} wide)",
            least(mm(_square(bound))),
            _stronger(mend.value if mend else rounded_up(1.01 * times * weakest.thick), times),
            weakest.modulus,
            bound,
            keys=("thick", "wide"),
            place=place(weakest.at),
            level=Level.WARNING if weak else Level.HINT,
            mend=mend,
        )


def _square(modulus: float) -> float:
    """The side of the square wire of a section modulus, mm: its cube over six."""
    return (6 * modulus) ** (1 / 3)


def _stronger(thick: str, times: float) -> str:
    """What to try, unless holes take most of it."""
    if times >= MOST_TIMES:
        return "make it wider, keep holes out of it, or take smaller stones"
    return f"make it {thick} thick there, or wider; keep holes out of it"


def _thicker(piece: Piece, band: int, times: float) -> Mend | None:
    """The thickness that answers it, with which the section modulus goes by the square; not
    where a taper makes the shank thinner elsewhere."""
    call = piece.call(band)
    thick = call.get("thick")
    if not piece.is_for(band, Role.EVEN_SHANK) or call.given("taper") or not isinstance(thick, float | int):
        return None
    return Mend("thick", rounded_up(1.01 * times * thick), "least")


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
)
