"""crossed-hole: wire or a finding behind a light hole."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ...bench.roles import Role
from ...judging.digits import below, least, mm, place, share
from ...judging.remedies import may_be_holed, off_the_holes, written
from ...judging.rule import Verdict
from ...judging.seats import closed, on_wire
from ...judging.stone_table import pavilion_of

if TYPE_CHECKING:
    from ...judging.piece import Piece

CROSSING = Role.WIRE, Role.FINDING, Role.BEAD
NEAR = 4.0  # mm below a culet; farther off it is the other side of a ring, or another part


def check(piece: Piece) -> Iterator[Verdict]:
    from ...measures.light import share_crossed

    loops = {f.index for f in piece.features if f.opening is not None}
    crossing = loops | {f.index for f, _ in piece.with_role(*CROSSING)}
    crossing -= piece.sets.holders
    # A post or a pin stands where the weight is, behind the stone or not.
    crossing -= {f.index for f, _ in piece.with_role(Role.EAR_POST, Role.PIN)}
    if piece.wear_measures.hole is not None:  # a shank of wire, under its head
        crossing.discard(piece.wear_measures.hole.feature)
    holes = [(s, k) for s, k in sorted(piece.seated.items()) if not closed(piece, k)]
    if not crossing or not holes:
        return
    kinds = [piece.stones.of(stone) for stone, _ in holes]
    wide = [
        kind.width * (piece.call(seat).get("hole") or 0.5)
        for kind, (_, seat) in zip(kinds, holes, strict=True)
    ]
    flags = piece.skin_measures.flags(crossing)
    shares, owners = share_crossed(
        piece.skin_measures.skin, flags, piece.stones.frames[[stone for stone, _ in holes]],
        np.array([pavilion_of(kind) for kind in kinds]), np.array(wide) / 2, NEAR,
    )  # fmt: skip
    for (stone, seat), crossed, owner, hole in zip(
        holes, shares.tolist(), owners.tolist(), wide, strict=True
    ):
        bound = piece.bound("crossed-hole", "least", seat)
        if below(1 - crossed, bound):
            if on_wire(piece, seat, owner):
                yield _cup_on_wire(piece, stone, seat, 1 - crossed, bound)
                continue
            through, of, block = written(piece, owner, int(piece.stones.line[stone]))
            remedy = f"move it aside, or so far back that {mm(hole / 2)} stay free between"
            if not may_be_holed(piece, owner, hole, int(piece.stones.line[stone])):
                remedy = f"{off_the_holes(piece, owner)}, or {remedy.removeprefix('move it aside, or ')}"
            else:
                remedy += (
                    f"; or open it below all these lines{block}: "
                    f"pierce light: round {mm(hole)}, at {of}, in {through}"
                )
            yield Verdict(
                f"{piece.name_of(owner)} stands behind the light hole of a stone",
                owner,
                f"{share(1 - crossed)} of the hole of stone {stone + 1} is free",
                least(share(bound)),
                remedy,
                1 - crossed,
                bound,
                place=place(piece.stones.frames[stone, :, 3]),
                others=(int(piece.stones.line[stone]),),
            )


def _cup_on_wire(piece: Piece, stone: int, seat: int, free: float, bound: float) -> Verdict:
    return Verdict(
        "this cup stands on wire, which runs behind its light hole",
        seat,
        f"{share(free)} of its hole is free",
        least(share(bound)),
        "say 'blind': a cup on wire is closed below; or let the wire run beside the hole",
        free,
        bound,
        place=place(piece.stones.frames[stone, :, 3]),
    )
