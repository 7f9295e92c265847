"""Changes of text that surely answer a finding of several rules."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..bench.feature import Feature
from .digits import rounded_up
from .rule import Mend

if TYPE_CHECKING:
    from .piece import Piece

# The clause that says how thick a body is whose back lies free.
THICK = {"disc": "height", "plate": "thick"}


def deeper(piece: Piece, body: int, lack: float) -> Mend | None:
    """Metal ``lack`` mm more between the face of a body and its back: a thicker roof where it is
    hollow, a thicker disc or plate where it hangs below its stones."""
    for feature, call in piece.of_word("hollow"):
        inside = call.get("in")
        if isinstance(inside, Feature) and inside.index == body and call.get("roof") is not None:
            return Mend("roof", rounded_up(call.get("roof") + lack), "least", feature.index)
    call = piece.call(body)
    key = THICK.get(call.word.name)
    if key is None or not call.given("under") or call.get(key) is None:
        return None
    return Mend(key, rounded_up(call.get(key) + lack), "least", body)


def farther(piece: Piece, line: int, lack: float) -> Mend | None:
    """Stones of a straight row ``lack`` mm farther apart."""
    call = piece.call(line)
    every = call.get("every") if call.given("line") and call.given("every") else ()
    steps = every if isinstance(every, tuple) else (every,)
    if len(steps) != 1:
        return None
    return Mend("every", rounded_up(float(steps[0]) + lack), "least", line)
