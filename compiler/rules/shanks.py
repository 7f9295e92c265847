"""Shanks: too thin, or for a finger of an odd size."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.digits import above, below, least, mm, place, rounded_up
from ..judging.joined_bands import joined_bands
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
        for figure in band.figures():
            feature, key = band.feature, figure.key
            floor = piece.bound("thin-shank", figure.what, feature)
            advised = piece.bound("thin-shank", f"advised-{figure.what}", feature)
            if not below(figure.value, advised):
                continue
            thin = below(figure.value, floor)
            bound = floor if thin else advised
            yield Verdict(
                f"this shank is {'too' if thin else 'rather'} {_less(figure.what)}",
                feature.index,
                mm(figure.value),
                f"{least(mm(bound))} in {piece.family(feature)}",
                f"make it {rounded_up(advised)}",
                figure.value,
                bound,
                key=key,
                keys=(key,),
                place=place(feature.frames[0, :, 3]),
                level=Level.WARNING if thin else Level.HINT,
                mend=Mend(key, rounded_up(advised), "least") if key != "taper" and band.alone else None,
            )


def _less(what: str) -> str:
    return "thin" if what == "thickness" else "narrow"
