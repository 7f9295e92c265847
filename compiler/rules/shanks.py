"""Shanks: too thin, or for a finger of an odd size."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.digits import above, below, least, mm, place, rounded_up
from ..judging.joined_bands import JoinedBand, joined_bands
from ..judging.rule import Level, Mend, Verdict

if TYPE_CHECKING:
    from ..judging.piece import Piece


def odd_finger_size(piece: Piece) -> Iterator[Verdict]:
    """Ring sizes that fit no finger."""
    for feature in piece.rings:
        found = feature.look("inside")
        if found is None:
            continue
        inside = float(found.value)
        low = piece.bound("odd-finger-size", "least", feature)
        high = piece.bound("odd-finger-size", "most", feature)
        if below(inside, low) or above(inside, high):
            yield Verdict(
                "this ring fits hardly any finger",
                feature.index,
                f"{mm(inside)} inside",
                f"from {mm(low)} to {mm(high)}",
                "check the size and its scale",
                inside,
                low if inside < low else high,
                key="inside",
                keys=("inside", "finger"),
                place=place(feature.frames[0, :, 3]),
            )


def thin_shank(piece: Piece) -> Iterator[Verdict]:
    """Ring shanks too thin to wear."""
    for band in joined_bands(piece):
        for what in ("thickness", "width"):
            figure = min((one for one in band.figures() if one.what == what), key=lambda one: one.value)
            feature, key = band.feature, figure.key
            floor = piece.bound("thin-shank", figure.what, feature)
            advised = piece.bound("thin-shank", f"advised-{figure.what}", feature)
            if not below(figure.value, advised):
                continue
            others = (one for one in band.figures() if one.what == what and one.key != figure.key)
            other = next(others, figure)
            size, taper = rounded_up(advised), _taper(piece, band, what, advised)
            also = other is not figure and below(other.value, advised) and taper
            thin = below(figure.value, floor)
            bound = floor if thin else advised
            yield Verdict(
                f"this shank is {'too' if thin else 'rather'} {_less(figure.what)}",
                feature.index,
                mm(figure.value),
                f"{least(mm(bound))} in {piece.family(feature)}",
                f"write {other.key} {size} and taper {taper}" if also and figure.key == "taper"
                else f"make it {size}" + (f", and taper {taper}" if also else ""),
                figure.value,
                bound,
                key=key,
                keys=(key,),
                place=place(feature.frames[0, :, 3]),
                level=Level.WARNING if thin else Level.HINT,
                mend=Mend(key, taper or "") if key == "taper" and taper
                else Mend(key, size, "least") if key != "taper" and band.alone else None,
            )


def _taper(piece: Piece, band: JoinedBand, what: str, advised: float) -> str | None:
    """The clause that gives the back of a shank the advised thickness or width; None where that is not in one."""
    back = piece.call(band.feature.index).get("taper")
    if not band.alone or not isinstance(back, tuple):
        return None
    sizes = (max(back[0], advised), back[1]) if what == "width" else (back[0], max(back[1], advised))
    return f"{sizes[0]:.2f} x {rounded_up(sizes[1])}"


def _less(what: str) -> str:
    return "thin" if what == "thickness" else "narrow"
