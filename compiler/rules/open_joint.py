"""open-joint: a flat body on a band that touches it in the middle alone, a wedge of air below its ends."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ...lang.placing import PLACING_BY_NAME
from ..bench.feature import Feature
from ..bench.roles import FigureOf, Role
from ..geometry import frames as fr
from ..geometry.outlines import trace
from ..geometry.surfaces import Flat
from ..judging.digits import NEAR, rounded_up
from ..judging.figure_rule import Reading
from ..judging.figures import figures, narrowest
from ..judging.moves import told
from ..judging.rule import Mend
from ..measures.kinds import least_that

if TYPE_CHECKING:
    from ..judging.piece import Piece
    from ..shapes.shank_face import Round

AIR = 0.1  # mm between a band and a tray that is lifted off it
FINE, MOST = 0.005, 2.0  # mm, to which a move is sought, and times what is lacking that it is at most
UPRIGHT = 0.98  # cosine: a plate that looks away from the finger


def check(piece: Piece) -> Iterator[Reading]:
    for band, _ in piece.with_role(Role.SHANK):
        from ..shapes.shank_face import Round

        if not isinstance(band.surface, Round):
            continue
        home = fr.inverse(band.frames[0])[None]
        bored = [
            cut for _, cut in piece.with_role(Role.CUT)
            if isinstance(cut.get("of"), Feature) and cut.get("of").index == band.index
        ]
        fitted = [one.within[:1] for one in bored if one.get("sunk")]  # words that fill the wedge with a foot
        down = [one.within[:1] for one in bored if one.within]  # words that go down to the metal themselves
        for plate in piece.features:
            if plate.index >= 0 and piece.call(plate.index).within[:1] in fitted:
                continue
            flat = plate.outline is not None and isinstance(plate.surface, Flat)
            for frame in plate.frames[:4] if flat and plate.body is not None else ():
                call = piece.call(plate.index)
                falls = call.within[:1] in down and call.figure("sunk") is None
                level = (1.0, 0.0 if falls else 1.0, 1.0)
                stands = fr.compose(home, frame[None])[0]
                yield from _below(piece, band, band.surface, plate, stands, np.array(level))


def _below(
    piece: Piece, band: Feature, face: Round, plate: Feature, frame: np.ndarray, level: np.ndarray
) -> Iterator[Reading]:
    """What is told of a plate that stands at a ``frame`` (3, 4), seen from its band. ``level`` is (1, 0, 1)
    for one that goes down to the middle of the band: a section that falls away to its edges leaves a groove
    along those, no wedge."""
    assert plate.outline is not None
    rim = trace(plate.outline, 0.05)
    spots = fr.apply(frame, np.column_stack([rim, np.full(len(rim), plate.low)]))
    middle = fr.apply(frame, np.array([[*rim.mean(axis=0), plate.low]]))
    sunk, deep, room = float(face.lies(middle)[0][0]), face.lies(spots * level)[0], face.lies(spots)[1]
    out = middle[0] * (1.0, 0.0, 1.0)
    upright = frame[:, 2] @ out > UPRIGHT * float(np.linalg.norm(out))
    if not (upright and 0 <= sunk <= face.shank.thick):
        return
    over = np.where(room > 0, -deep, 0.0)
    worst = int(over.argmax())

    def closes(far: float, bound: float) -> bool:
        lower = spots - far * frame[:, 2]
        deep, room = face.lies(lower * level)[0], face.lies(lower)[1]
        return float(np.where(room > 0, -deep, 0.0).max()) <= bound

    def lack(bound: float) -> float:
        """How much deeper it is to go: the ends of a round come nearer to it by less than they sink."""
        return least_that(lambda far: closes(far, bound), 0.0, MOST * (float(over[worst]) - bound), FINE)

    yield Reading(
        plate.index, float(over[worst]), fr.apply(band.frames[0], spots[worst][None])[0],
        words={"round": piece.name_of(band.index)},
        cure=lambda bound: _sunk(piece, band, plate, lack(bound), sunk),
    )  # fmt: skip


def _share(piece: Piece, plate: Feature, lack: float) -> str | None:
    """The 'sunk' of its word, a share of the rail's thickness, that brings a foot ``lack`` mm lower; by the
    thinnest wire of the word, the rail at most."""
    call = piece.call(plate.index)
    now = call.figure("sunk")
    wires = [
        narrowest(value) for one in piece.bench.lines if one.within[:1] == call.within[:1]
        for _, _, value in figures(one, FigureOf.SECTION, FigureOf.WIRE)
    ]  # fmt: skip
    if not isinstance(now, float) or not wires:
        return None
    more = math.ceil(100 * (now + lack / min(wires)) - NEAR)
    return f"{more} %" if more <= 100 else None


def _sunk(
    piece: Piece, band: Feature, plate: Feature, lack: float, sunk: float
) -> str | tuple[str, Mend]:
    """How to bring a plate down onto its band, as its word takes it; the tray of stones, ``sunk`` mm in the
    band, up and clear of it."""
    if share := _share(piece, plate, lack):
        said = f"say 'sunk {share}': its foot goes deeper into {piece.name_of(band.index)}"
        return said, Mend("sunk", share, "least")
    stones, source = piece.services.lines(plate.index), piece.source_lines
    line = source.of(piece.call(plate.index), None, ()).line
    keys = [clause.key.name for clause in line.clauses] if line is not None else []
    if line is not None and stones and "on" not in keys:
        stands = source.takes_of(line).get("on") not in (None, PLACING_BY_NAME["on"])
        if stands and ("foot" in keys or source.can_say(line, "on")):
            instead = " in place of foot" * ("foot" in keys)
            return f"write on {piece.name_of(band.index)}{instead}: its wall goes down to the metal all round"
    if stones:
        up = f"raise {piece.name_of(min(stones))} by {rounded_up(sunk + AIR)}"
        return f"{up}: {piece.name_of(plate.index)} then stands clear of {piece.name_of(band.index)}"
    return (
        "make both of one word, a signet with this outline: its flanks come down to the shank; or move it "
        + told(piece, plate.index, -lack * plate.frames[0, :, 2], "deeper")
    )
