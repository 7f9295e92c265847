"""chain-room: what is let into a chain is longer or shorter than the room left for it, or not there."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ...bench.linked import link_wires
from ...judging.digits import above, mm, rounded_up
from ...judging.eyes import holes_near_edges
from ...judging.figure_rule import Reading
from ...judging.hanging import Loop
from ...judging.rule import Level, Mend

if TYPE_CHECKING:
    from ....lang.bench import Use
    from ...bench.feature import Feature
    from ...judging.piece import Piece
    from ...measures.kinds import Floats

ON_EDGE = 0.5  # cosine to the way out of the axis of a loop that stands on edge
EVEN = 0.1  # mm
ROOMS = {"front": ("room",), "clasp": ("clasp-room", "room")}  # clauses, by places


def check(piece: Piece) -> Iterator[Reading]:
    told: set[str] = set()
    for feature in piece.features:
        use = next((one for one in piece.call(feature.index).within if _leaves_room(one)), None)
        if use is None or use.name in told or feature.index not in piece.chains:
            continue
        told.add(use.name)
        places = {name: _spots(piece, f"{use.name}.{name}") for name in ROOMS}
        beside = _near(piece, np.concatenate(list(places.values())), max(
            float(use.arguments[key].value) for key in ("room", "clasp-room") if key in use.arguments
        ))
        for name, frames in places.items():
            key = next((one for one in ROOMS[name] if one in use.arguments and not _as_room(use, one)), None)
            if key is not None:
                yield from _filled(piece, use, key, feature, frames, beside)


def _leaves_room(use: Use) -> bool:
    return any(use.word.take(key) is not None and key in use.arguments for key in ("room", "clasp-room"))


def _as_room(use: Use, key: str) -> bool:
    """Whether no clasp is let in besides its stations, of which the last is as long as the others."""
    return key == "clasp-room" and "room" in use.arguments and not use.arguments[key].given


def _spots(piece: Piece, name: str) -> Floats:
    """The places (n, 3, 4) of a line 'spots' of that name; none where there is no such line."""
    found = (one.frames for one in piece.features if one.name == name)
    return next(found, np.empty((0, 3, 4)))


def _near(piece: Piece, frames: Floats, reach: float) -> list[Loop]:
    """The loops, and the holes near edges, whose middles lie within ``reach`` of places (n, 3, 4)."""
    loops = piece.wear_measures.loops + [Loop(*hole) for hole in holes_near_edges(piece, np.inf)]
    return [one for one in loops if (np.linalg.norm(frames[:, :, 3] - one.middle, axis=1) < reach).any()]


def _filled(
    piece: Piece, use: Use, key: str, links: Feature, frames: Floats, beside: list[Loop]
) -> Iterator[Reading]:
    """What is told of the places ``frames`` (n, 3, 4) of a chain that leaves the room of clause ``key`` at
    each; ``beside`` are loops at any place of it."""
    room = float(use.arguments[key].value)
    where = "station" if key == "room" else "clasp"
    for frame in frames:
        mine = _near(piece, frame[None], room)
        if not mine:
            if key == "clasp-room" and piece.call(links.index).get("bought"):
                continue  # the clasp is bought with the chain
            yield Reading(
                links.index, room, frame[:, 3], find="empty", words={"chain": use.name, "where": where},
                keys=(key,), others=tuple({loop.feature for loop in beside}),
                level=Level.HINT if key == "clasp-room" else None,
            )  # fmt: skip
        elif len(mine) > 1:
            over = _over(frame, mine)
            said = {
                "chain": use.name, "size": "longer" if over > room else "shorter", "over": mm(over),
                "off": f"{key} {mm(room)}",
            }  # fmt: skip
            yield Reading(
                links.index, abs(over - room), frame[:, 3], words=said,
                key=key, keys=(key,), others=tuple({loop.feature for loop in mine}),
                cure=(f"write {key} {mm(over)} in the line of {use.name}", Mend(key, mm(over))),
            )  # fmt: skip
            yield from _beside_chain(piece, use, links, frame, mine)


def _beside_chain(
    piece: Piece, use: Use, links: Feature, frame: Floats, loops: list[Loop]
) -> Iterator[Reading]:
    """What is told of loops on edge at a place (3, 4) that stand so far before or behind the chain that its
    links stand in their wire."""
    wire = max(thick for _, _, thick in link_wires([links]))
    on_edge = [loop for loop in loops if abs(loop.axis @ frame[:, 2]) < ON_EDGE]
    off = [float((loop.middle - frame[:, 3]) @ frame[:, 2]) for loop in on_edge]
    free = min(((loop.inside - wire) / 2 for loop in on_edge), default=0.0)
    if not off or np.ptp(off) > EVEN or not above(abs(off[0]), max(free, 0.0)):
        return
    name = piece.features[on_edge[0].feature].name.partition(".")[0]
    side, way = ("before", "inward") if off[0] > 0 else ("behind", "out")
    said = {"name": name, "side": side, "chain": use.name, "off": mm(abs(off[0])),
            "move": f"{rounded_up(abs(off[0]))} {way}"}  # fmt: skip
    yield Reading(
        on_edge[0].feature, abs(off[0]), frame[:, 3], find="beside", bound=max(free, 0.0), words=said,
        others=(links.index,),
    )  # fmt: skip


def _over(frame: Floats, loops: list[Loop]) -> float:
    """How long what has these loops is over their wire, along the x of a place (3, 4)."""
    way = frame[:, 0]
    along = [(float((loop.middle - frame[:, 3]) @ way), loop.inside / 2 + loop.wire) for loop in loops]
    return max(x + reach for x, reach in along) - min(x - reach for x, reach in along)
