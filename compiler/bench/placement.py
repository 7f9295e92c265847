"""The common placing clauses: from a checked line to the frames its copies stand at."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from ...lang.bench import Call
from ...lang.placing import GROUNDS, PLACING_BY_NAME
from ..geometry import frames as fr
from ..geometry.surfaces import Edged, Flat, Surface
from .along import goes_back, part_of, places_along
from .faces import faced, on_both_sides
from .feature import Feature, Places
from .mirroring import mirrored_across
from .patterns import COPIES_LIMIT, pattern, too_many
from .worked import real


def placed(call: Call, high: float = 0.0, inner: np.ndarray | None = None) -> np.ndarray:
    """Frames (n, 3, 4) of the line's copies; ``high`` is where its own body ends above, for `under`;
    ``inner`` stands in for the pattern of `row`, `circle` and `grid`."""
    if inner is None:
        inner = pattern(call)
    out = call.get("out", 0.0) - call.get("inward", 0.0)
    own = offset(call, out, {"turn": 2, "tilt": 0, "lean": 1})
    if call.given("on"):
        frames = on_both_sides(call, fr.compose(own, inner))
        spots, own, inner = frames, fr.identity(), fr.identity()
    else:
        spots = _grounds(call, high)
    total = len(spots) * len(inner)
    if total > COPIES_LIMIT:
        too_many(call, total)
    laid = fr.compose(own, inner)
    frames = fr.compose(spots, laid)
    if call.get("both-sides") and not call.given("on"):
        over = places_along(call, True) if goes_back(call) else spots
        image = fr.compose(fr.flipped(mirrored_across(call)), laid)
        frames = np.concatenate([frames, fr.compose(over, image)])
    if call.given("swivel"):
        frames = fr.compose(frames, fr.turned(2, call.get("swivel")))
    if call.given("set-by"):
        frames = fr.compose(frames, _back_to(call))
    return fr.rounded(frames)


def _back_to(call: Call) -> np.ndarray:
    """The frame (1, 3, 4) of a part whose own place of `set-by` stands where its zero would; where ends meet,
    turned so that it goes on from there."""
    own = call.get("set-by")
    if not isinstance(own, Places):
        call.refuse(
            "clause-idle", f"{call.word.name} stands there in a way of its own: 'set-by' says nothing",
            "set-by", remedy="leave set-by out, or put the line in a 'workpiece' that says it",
        )
    x, at, turn = own.frames[0, :, 0], call.get("at"), 0.0
    right, up, out = (-own.frames[0, :, 3]).tolist()
    if own.ends and isinstance(at, Places) and (at.ends or at.of_line):
        turn = 180.0 - float(np.degrees(np.arctan2(x[1], x[0])))
    elif own.ends:
        out = 0.0  # where no end of other metal is met, the part stands as high as without it
    return fr.compose(fr.turned(2, turn), fr.shifted(right, up, out))


def _grounds(call: Call, high: float) -> np.ndarray:
    """The frames given by `at`, `under` or `along`; the ground of the piece without them."""
    if call.given("along"):
        return places_along(call)
    if call.given("upon"):
        return upon(call)
    if call.given("under"):
        return _under(call, high)
    if call.given("at"):
        places: Places = call.get("at")
        if len(places) == 0:
            call.refuse("no-places", "there is no place in that list", "at")
        return places.frames
    return fr.identity()


def _under(call: Call, high: float) -> np.ndarray:
    """One frame below the middle of the feature's places, so that the body's face meets it."""
    feature: Feature = call.get("under")
    frames = feature.standing()
    if not len(frames):
        call.refuse(
            "no-places", f"{feature.name} has no place of its own to stand under", "under",
            remedy="name a body or a row of stones, or say 'at' one of its places",
        )
    straight = fr.straight(frames)
    straight[0, :, 3] = (frames[:, :, 3].min(axis=0) + frames[:, :, 3].max(axis=0)) / 2
    return fr.compose(straight, fr.shifted(out=-high))


TURNING = {*GROUNDS, "turn", "circle"}  # the clauses by which a line says how it is turned


def says_its_turn(call: Call) -> bool:
    """Whether a line says by itself how it is turned."""
    return any(key in TURNING and said.given for key, said in call.arguments.items())


def without(call: Call, *keys: str) -> Call:
    """The line as the placing clauses are to see it, without those that the work itself obeys."""
    return replace(call, arguments={key: said for key, said in call.arguments.items() if key not in keys})


def all_heard(call: Call) -> None:
    """Raises Refused where the work has asked for nothing of a placing clause: it changes nothing."""
    for key, said in call.arguments.items():
        if said.given and not said.read and key in PLACING_BY_NAME:
            meant = key == "row" and call.given("along")
            remedy = f"write number {said.value:g} in place of row" if meant else f"leave {key} out"
            call.refuse("clause-idle", f"{key} says nothing on this line", key, remedy=remedy)


def upon(call: Call) -> np.ndarray:
    """Frames spread evenly upon the face of each copy of a feature, z along its normal."""
    feature = faced(call.get("upon"))
    surface = feature.surface
    if surface is None:
        call.refuse(
            "no-surface", f"{feature.name} offers no face to spread things upon", "upon",
            remedy="name a bar, disc, plate, tube, dome, ball, turned body, wire, band or signet",
        )
    every = call.get("every")
    if every is None:
        call.refuse("clause-missing", "upon a face wants the pitch", "upon", remedy="add 'every 1.6 mm'")
    if surface.area() > COPIES_LIMIT * every[0] * every[-1]:
        too_many(call, int(surface.area() / (every[0] * every[-1])))
    frames = _spread(call, surface, feature.name, every)
    if len(frames) == 0:
        call.refuse(
            "no-places", f"nothing fits {call.get('inset', 0.0):g} mm inside {feature.name}", "upon",
            remedy="make inset or every smaller",
        )
    frames = real(feature.worked, frames)
    return fr.compose(feature.frames if feature.ground is None else feature.ground, frames)


def _spread(call: Call, surface: Surface, name: str, every: tuple[float, ...]) -> np.ndarray:
    """Frames over a face, or in rows along its edge; of a stretch of it, if the line says one."""
    part, margin = part_of(call, True), call.get("inset", 0.0)
    if part is not None and not surface.goes_round:
        call.refuse(
            "clauses-disagree", f"{name} has no way round a finger: only a band has", "stretch",
            remedy="leave it out; a smaller face of its own can be a plate or a disc",
        )
    if not call.get("bordered"):
        return surface.spread(every, margin, part)
    if isinstance(surface, Flat):
        from ..geometry.bordered import bordered

        return bordered(surface, every[0], margin)
    if not isinstance(surface, Edged):
        call.refuse(
            "clauses-disagree", f"{name} has no edge that a row can follow", "bordered",
            remedy="leave it out: the rings of a dome follow its edge by themselves",
        )
    return surface.bordered(every[0], margin, part)


def offset(call: Call, out: float, turns: Mapping[str, int]) -> np.ndarray:
    """The move and the ``turns`` (about an axis each) that a line says, so far ``out``, (1, 3, 4)."""
    right, up = call.get("right", 0.0) - call.get("left", 0.0), call.get("up", 0.0) - call.get("down", 0.0)
    frame = fr.shifted(right, up, out)
    for key, axis in turns.items():
        if call.given(key):
            frame = fr.compose(frame, fr.turned(axis, call.get(key)))
    return frame


