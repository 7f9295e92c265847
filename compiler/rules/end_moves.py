"""What is moved or turned at an end of metal: it goes as the place looks, which is not as the piece does."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ..bench.feature import Feature, Places
from ..bench.hung import ROUND
from ..bench.near_places import below as below_places
from ..bench.roles import Role
from ..geometry import frames as fr
from ..judging.digits import mm, rounded_up
from ..judging.figure_rule import Reading

if TYPE_CHECKING:
    from ...lang.bench import Call
    from ..judging.piece import Piece

PAST_END = 0.2  # mm beyond an end, where there is no metal below
UP = np.array([0.0, 1.0, 0.0])
ROUND_TO, LEVEL = 0.99, 0.1  # cosine to a block drawn as it lies; of a quarter turn, and of a unit
WAYS = (("to the right", "to the left"), ("up", "down"), ("out", "inward"))
CLAUSES = (("right", "left"), ("up", "down"), ("out", "inward"))


def sideways_move(piece: Piece) -> Iterator[Reading]:
    """'up' or 'down' at an end of metal, where they do not go up or down; a rod or the like there that stands
    up out of the face."""
    yield from _stand_out(piece)
    calls = [piece.call(feature.index) for feature in piece.features]
    loops = {
        call.within[0].name for feature, call in zip(piece.features, calls, strict=True)
        if call.within and feature.opening is not None
    }  # fmt: skip
    for feature, call in zip(piece.features, calls, strict=True):
        if not call.within or call.within[0].name not in loops:  # these on the metal
            yield from _of_line(feature.index, call)
        yield from _turned(piece, feature)


def _stand_out(piece: Piece) -> Iterator[Reading]:
    for solid in piece.plan_solids:
        feature, call = piece.features[solid.feature], piece.call(solid.feature)
        at = call.get("at")
        if solid.cut or solid.parts or call.within or not feature.at_end or call.given("tilt"):
            continue
        long, wide, high = np.ptp(piece.points_of(solid), axis=0)
        wide = max(long, wide)
        past = fr.compose(at.frames, fr.shifted(right=PAST_END, out=high))
        if np.isnan(below_places(piece.laid_before(solid.feature), past)).all():
            yield Reading(
                solid.feature, float(high / wide), at, find="stands", keys=("at",),
                words={"high": mm(high), "wide": mm(wide), "half": rounded_up(wide / 2)},
            )  # fmt: skip


def _turned(piece: Piece, feature: Feature) -> Iterator[Reading]:
    """What hangs a piece, asked to stand at a top or a bottom that looks to a side, as its part is turned."""
    call = piece.call(feature.index)
    at = call.within[0].arguments.get("at") if call.within else None
    loop = feature.opening is not None or piece.is_for(feature.index, Role.STRAP)
    if not loop or at is None or not isinstance(at.value, Places) or len(at.value) != 1 or at.value.inside:
        return
    name, _, part = at.value.asked.partition(" of ")
    block = call.within[0].name.rpartition(".")[0]
    part = part.removeprefix(f"{block}.").removeprefix(piece.bench.block_of(call.within[0].name))
    stands = [one.frames[0] for one in piece.features if one.name == block]
    if name not in ("top", "bottom") or any(abs(one[0, 0]) < ROUND_TO for one in stands):
        return
    looks = at.value.frames[0, :, 0]
    quarters = (float(np.degrees(np.arctan2(looks[1], looks[0]))) - 90.0 * ROUND.index(name)) / 90.0
    quarters = (quarters + 2.0) % 4.0 - 2.0
    if abs(looks[2]) < LEVEL and abs(quarters - round(quarters)) < LEVEL and round(quarters):
        there = f"{ROUND[(ROUND.index(name) - round(quarters)) % 4]} of {part}"
        yield Reading(
            feature.index, 90.0 * abs(round(quarters)), at.value, find="aside", keys=("at",),
            once=call.trail[0],
            words={"place": f"{name} of {part}", "goes": _most(looks, WAYS),
                   "line": piece.name_of(feature.index), "there": there, "name": name},
        )  # fmt: skip


def _of_line(feature: int, call: Call) -> Iterator[Reading]:
    arguments = call.within[0].placing if call.within else call.arguments
    at = arguments.get("at")
    if at is None or not isinstance(at.value, Places) or not at.value.ends or not len(at.value):
        return
    if "both-sides" in arguments:
        return  # one to either side along the edge
    for key, sign in (("up", 1.0), ("down", -1.0)):
        said = arguments.get(key)
        if said is not None and said.given and said.value:
            yield _moved(feature, call, at.value.frames[0, :, :3], key, sign * said.value)


def sideways_move_on_metal(piece: Piece) -> Iterator[Reading]:
    """Likewise of what a word in posy makes; but not of a loop so moved that the piece hangs straighter."""
    rests = piece.casting_measures.rests
    hung = {k.feature: (k, rest) for one, rest in rests for k in rest.loops if k.feature in one.skin.owner}
    for feature in piece.features:
        call = piece.call(feature.index)
        at = call.within[0].arguments.get("at") if call.within else None
        stood = at.value.stood if at is not None and isinstance(at.value, Places) else None
        said = [key for key in ("up", "down") if key in piece.clauses_of(feature.index)]
        if at is None or stood is None or not said:
            continue
        axes, far = stood[0, :, :3], float((at.value.frames[0, :, 3] - stood[0, :, 3]) @ stood[0, :, 1])
        if feature.index in hung:
            loop, rest = hung[feature.index]
            off = float(loop.middle[0] - rest.centre[0])
            if abs(off) < abs(off - far * axes[0, 1]):
                continue
        if far and (feature.opening is not None or feature.index in hung):
            yield _moved(feature.index, call, axes, said[0], far)


def _moved(feature: int, call: Call, axes: np.ndarray, key: str, far: float) -> Reading:
    """A line moved so ``far`` up, mm, at an end that looks as ``axes`` (3, 3) say."""
    off = float(np.degrees(np.arccos(np.clip(axes[1, 1], -1.0, 1.0))))
    sign, way = np.sign(far), WAYS[1][int(far < 0)]
    to = f"{_most(sign * axes.T @ UP, CLAUSES)} {mm(abs(far))}"
    words = {"key": key, "goes": _most(sign * axes[:, 1], WAYS), "way": way, "to": to}
    once = (call.trail[0] if call.trail else call.span), key
    return Reading(feature, off, words=words, keys=(key,), once=once)


def _most(way: np.ndarray, names: tuple[tuple[str, str], ...]) -> str:
    """The name of the axis that a way (3,) goes along most."""
    axis = int(np.abs(way).argmax())
    return names[axis][int(way[axis] < 0)]
