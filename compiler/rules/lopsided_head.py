"""lopsided-head: a head that stands beside the band it is to stand on."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ..bench.feature import Feature
from ..bench.roles import Role
from ..geometry import frames as fr
from ..judging.digits import below, least, mm, place
from ..judging.rule import Verdict

if TYPE_CHECKING:
    from ..judging.piece import Piece


def check(piece: Piece) -> Iterator[Verdict]:
    told = set()
    for feature, call in piece.with_role(Role.SETTING):
        use = call.within[0] if call.within else None
        band = use.arguments["on"].value if use and "on" in use.arguments else None
        stones = use.arguments["for"].value if use and "for" in use.arguments else None
        if not isinstance(band, Feature) or not isinstance(stones, Feature):
            continue
        from ..shapes.shank_face import Round

        if call.trail[0] in told or not isinstance(band.surface, Round):
            continue
        told.add(call.trail[0])
        middle = stones.frames[:, :, 3].mean(axis=0)
        local = fr.apply(fr.inverse(band.frames[0]), middle[None])
        room = float(band.surface.lies(local)[1][0])
        bound = piece.bound("lopsided-head", "least", feature.index)
        if below(room, bound):
            yield Verdict(
                "this head stands beside its band, which carries one side of it alone",
                feature.index,
                f"{mm(room)} from its middle to the edge of {band.name}" if room > 0
                else f"its middle lies {mm(-room)} past the edge of {band.name}",
                least(mm(bound)),
                "move the stone over the band, make the band wider there, or join the head to another one",
                room,
                bound,
                keys=("on",),
                place=place(np.asarray(middle)),
            )
