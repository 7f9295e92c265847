"""letters-backward: letters that a mirror image turned round."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ..judging.digits import place
from ..judging.rule import Verdict

if TYPE_CHECKING:
    from ..judging.piece import Piece


def check(piece: Piece) -> Iterator[Verdict]:
    told = set()
    for solid in piece.plan_solids:
        letters = piece.call(solid.feature)
        if not letters.given("letters") or letters.get("reversed"):
            continue
        mirrors = (part for part in solid.parts if _mirrors(piece.features[part].frames).any())
        line = next(mirrors, solid.feature)
        backward = _mirrors(solid.frames)
        if not backward.any() or (line, solid.feature) in told:
            continue
        told.add((line, solid.feature))
        yield Verdict(
            f"the letters of {letters.name} read backward here",
            line,
            f'"{letters.get("letters")}" as in a mirror',
            "letters that read from left to right",
            "write copy in place of mirror; where left and right must differ, engrave each after mirroring",
            float(backward.sum()),
            0.0,
            place=place(solid.frames[backward][0, :, 3]),
        )


def _mirrors(frames: np.ndarray) -> np.ndarray:
    """Which of the frames (n, 3, 4) are mirror images, (n,)."""
    return np.linalg.det(frames[:, :, :3]) < 0
