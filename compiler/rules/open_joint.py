"""open-joint: a flat body on a band that touches it in the middle alone, a wedge of air below its ends."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ..bench.roles import Role
from ..geometry import frames as fr
from ..geometry.outlines import trace
from ..geometry.surfaces import Flat
from ..judging.digits import above, mm, most, place
from ..judging.rule import Level, Rule, Verdict

if TYPE_CHECKING:
    from ..bench.feature import Feature
    from ..judging.piece import Piece
    from ..shapes.shank_face import Round

UPRIGHT = 0.98  # cosine: a plate that looks away from the finger


def _check(piece: Piece) -> Iterator[Verdict]:
    for band, _ in piece.with_role(Role.SHANK):
        from ..shapes.shank_face import Round

        if not isinstance(band.surface, Round):
            continue
        home = fr.inverse(band.frames[0])[None]
        for plate in piece.features:
            flat = plate.outline is not None and isinstance(plate.surface, Flat)
            for frame in plate.frames[:4] if flat and plate.body is not None else ():
                yield from _below(piece, band, band.surface, plate, fr.compose(home, frame[None])[0])


def _below(
    piece: Piece, band: Feature, face: Round, plate: Feature, frame: np.ndarray
) -> Iterator[Verdict]:
    """What is told of a plate that stands at a ``frame`` (3, 4), seen from its band."""
    assert plate.outline is not None
    rim = trace(plate.outline, 0.05)
    spots = fr.apply(frame, np.column_stack([rim, np.full(len(rim), plate.low)]))
    middle = fr.apply(frame, np.array([[*rim.mean(axis=0), plate.low]]))
    sunk, (deep, room) = float(face.lies(middle)[0][0]), face.lies(spots)
    out = middle[0] * (1.0, 0.0, 1.0)
    upright = frame[:, 2] @ out > UPRIGHT * float(np.linalg.norm(out))
    if not (upright and 0 <= sunk <= face.shank.thick):
        return
    over = np.where(room > 0, -deep, 0.0)
    worst, bound = int(over.argmax()), piece.bound("open-joint", "most", plate.index)
    if above(float(over[worst]), bound):
        yield Verdict(
            f"{piece.name_of(plate.index)} touches {piece.name_of(band.index)} in its middle alone: a wedge "
            "of air is left below its ends",
            plate.index,
            f"{mm(float(over[worst]))} of air at its ends",
            most(mm(bound)),
            "make both of one word, a signet with this outline: its flanks come down to the shank; or sink "
            "the plate deeper",
            float(over[worst]),
            bound,
            keys=("inward", "at", "on"),
            place=place(fr.apply(band.frames[0], spots[worst][None])[0]),
        )


RULE = Rule(
    "open-joint",
    "A plate touches its band in the middle alone.",
    "plan",
    Level.HINT,
    "A wedge that runs out to nothing fills with investment and with dirt, and has to be filled with solder.",
    "Let the plate come down onto the band: a signet does.",
    "house choice, no source",
    _check,
)
