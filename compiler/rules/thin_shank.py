"""Ring shanks too thin to wear."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ..judging.digits import below, least, mm, place, rounded_up
from ..judging.rule import Finding, Level, Mend, Rule

if TYPE_CHECKING:
    from ..judging.piece import Piece


def _check(piece: Piece) -> Iterator[Finding]:
    for feature in piece.rings:
        call = piece.call(feature.index)
        back = call.get("taper")
        tapers = isinstance(back, tuple) and len(back) == 2
        figures = [
            ("thick", "thickness", call.get("thick")),
            ("wide", "width", call.get("wide")),
        ]
        if tapers:
            figures += [("taper", "thickness", back[1]), ("taper", "width", back[0])]
        for key, what, figure in figures:
            floor = piece.bound("thin-shank", what, feature)
            advised = piece.bound("thin-shank", f"advised-{what}", feature)
            if not isinstance(figure, float | int) or not below(figure, advised):
                continue
            thin = below(figure, floor)
            bound = floor if thin else advised
            yield Finding(
                f"this shank is too {_less(what)}"
                if thin
                else f"this shank is rather {_less(what)}",
                feature.index,
                mm(figure),
                f"{least(mm(bound))} in {piece.family(feature)}",
                f"make it {rounded_up(advised)}",
                float(figure),
                bound,
                key=key,
                keys=(key,),
                place=place(feature.frames[0, :, 3]),
                level=Level.WARNING if thin else Level.NOTE,
                mend=None if key == "taper" else Mend(key, rounded_up(advised), "least"),
            )


def _less(what: str) -> str:
    return "thin" if what == "thickness" else "narrow"


RULE = Rule(
    "thin-shank",
    "A shank is too thin to wear.",
    "plan",
    Level.WARNING,
    "A shank wears at the palm by tenths of a millimetre in some years, and a thin one goes "
    "out "
    "of round, which loosens stones.",
    "Make it 1.5 mm both ways at the least; 1.8 mm thick wears well.",
    "PU putaringonit.co (structurally sound)",
    _check,
)
