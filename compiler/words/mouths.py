"""Where cuts begin: at the places their line gives, else at the face of the flat metal they are in."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NoReturn

import numpy as np

from ...lang.bench import Call
from ...lang.placing import GROUNDS
from ..bench.along import ways
from ..bench.feature import Feature, Places
from ..bench.hung import rings
from ..bench.piece_bench import PieceBench
from ..bench.placement import placed
from ..geometry import frames as fr
from .common import target

# A hole that reaches no further into a body than this cuts nothing.
IDLE = 1e-6
# A hole within this cosine of level is let be: it comes in from the side.
SQUARE = 0.5
UPRIGHT = 0.999  # cosine within which a hole stands upright in a flat body
IN = target("what it cuts: with no place or height of its own, from the face of what is flat")
MIDDLE = 0.25  # of its hole, so near to the axis of a ring a place is in the middle of it
# Clauses that say how high a cut begins; a path drawn on the ground does not.
HEIGHTS = *(key for key in GROUNDS if key != "along"), "out", "inward"


def mouths(bench: PieceBench, call: Call) -> np.ndarray:
    """Frames (n, 3, 4) where holes begin: those that go through a flat body from within, as from a place at
    its end, at the face of it that they look to."""
    frames, feature, at = placed(call), call.get("in"), call.get("at")
    if feature is None and isinstance(at, Places):
        asked = [bench.features[one] for one in at.own]
        feature = asked[0] if len(asked) == 1 else None
    if call.given("deep") or feature is None or feature.outline is None or len(feature.frames) != 1:
        return at_face(call, frames)
    local = fr.compose(fr.inverse(feature.frames[0])[None], frames)
    looks, height = local[:, 2, 2], local[:, 2, 3]
    within = (height > feature.low + IDLE) & (height < feature.high - IDLE) & (np.abs(looks) > UPRIGHT)
    raised = np.where(looks > 0, feature.high, feature.low) - height
    frames = frames.copy()
    frames[:, :, 3] += np.where(within, raised * np.sign(looks), 0.0)[:, None] * frames[:, :, 2]
    return at_face(call, fr.rounded(frames))


def at_face(call: Call, frames: np.ndarray, above: float = 0.0) -> np.ndarray:
    """The frames (n, 3, 4) of a cut that reaches ``above`` them, mm; where its line says no place and no
    height, and the cut would open no face of the flat metal it is in, raised to that face."""
    part = call.get("in")
    if part is not None and not call.trail:
        _not_in_a_ring(call, part, frames)
    if part is None or any(call.given(key) for key in HEIGHTS):
        return frames
    if part.table and len(part.frames) == 1:
        return _to_table(part, frames) if _looks_up(call, part) else frames
    if call.given("along") and (call.given("letters") or not idle(part, frames, call.get("deep", np.inf))):
        return frames
    far, floor = _to_face(part, frames), call.get("deep")
    if far is None or not (far > above + IDLE).all():
        return frames
    shut = above > 0 or (floor is not None and not _opens_back(part, frames, floor))
    if not shut and not idle(part, frames, np.inf if floor is None else floor):
        return frames
    if floor is not None and np.ptp(far) > IDLE:
        return frames
    return fr.rounded(fr.compose(frames, fr.shifted(out=float(far.max()))))


def _looks_up(call: Call, part: Feature) -> bool:
    """Whether what a line lies along, if anything, looks to the table of a signet all the way."""
    lines = ways(call) if call.given("along") else ()
    up = part.frames[0, :, 2]
    return all(float((line.outs @ up).min()) > UPRIGHT for line in lines)


def _to_table(part: Feature, frames: np.ndarray) -> np.ndarray:
    """The frames (n, 3, 4) of a cut in a signet, those in its finger hole at the table they look to."""
    own = fr.compose(fr.inverse(part.frames[0])[None], frames)
    within = (own[:, 2, 2] > UPRIGHT) & (np.hypot(own[:, 0, 3], own[:, 2, 3]) < part.shank.inside / 2)
    raised = frames.copy()
    raised[:, :, 3] += np.where(within, part.high - own[:, 2, 3], 0.0)[:, None] * frames[:, :, 2]
    return fr.rounded(raised)


def _not_in_a_ring(call: Call, part: Feature, frames: np.ndarray) -> None:
    """Refuse a cut that begins in the middle of a ring of wire: it misses that, or eats it from within."""
    loops = [(part, part.frames)] if part.opening and "path" in part.offers else rings([part])
    for ring, where in loops:
        inside, path = (ring.opening or (0.0, 0.0))[0], part.look("path")
        middle = float(np.linalg.norm(path.lines[0].points - where[0, :, 3], axis=1).mean())
        for home in where:
            away = np.hypot(*fr.compose(fr.inverse(home)[None], frames)[:, :2, 3].T)
            if (away < inside * MIDDLE).any():
                call.refuse(
                    "off-the-face", f"{part.name} is a ring of wire: in its middle is none to cut", "in",
                    seen=f"{inside:.4g} mm to its wire", limit="a place on its wire",
                    remedy=f"say 'at face of {part.name}, left {middle:.2f} mm'",
                )


def _flats(part: Feature) -> Iterator[Feature]:
    """The flat bodies of a part and of its members, each with its own outline."""
    members = [one for one in part.parts if one.bodies()]
    if part.outline is not None or not members:
        yield part
    for member in members:
        yield from _flats(member)


def _met(part: Feature, frames: np.ndarray) -> np.ndarray | None:
    """How each copy of the flat bodies of a part is met at each frame, (k, 4): the cosine to its way up, the
    height of the frame, and its lowest and highest, mm. None where one of them is not flat."""
    rows = []
    for one in _flats(part):
        if one.outline is None or one.high <= one.low or one.source is not None:
            return None
        for home in one.frames:
            local = fr.compose(fr.inverse(home)[None], frames)[:, 2]
            rows += [(out, mouth, one.low, one.high) for out, mouth in local[:, 2:].tolist()]
    return np.array(rows) if rows else None


def _to_face(part: Feature, frames: np.ndarray) -> np.ndarray | None:
    """How far out of each frame the face of each flat body of a part lies that it looks to, mm (k,); None
    where it has others, or a frame does not look straight to it."""
    met = _met(part, frames)
    if met is None or (np.abs(met[:, 0]) < UPRIGHT).any():
        return None
    looks, mouth, low, high = met.T
    return np.asarray(np.where(looks > 0, high - mouth, mouth - low))


def _opens_back(part: Feature, frames: np.ndarray, deep: float) -> bool:
    """Whether a cut ``deep`` mm from its places that begins in flat metal comes out of its back."""
    met = _met(part, frames)
    assert met is not None
    looks, mouth, low, high = met.T
    return bool((np.where(looks > 0, mouth - low, high - mouth) <= deep + IDLE).any())


def idle(part: Feature, frames: np.ndarray, deep: float) -> bool:
    """Whether no hole from any of the places meets flat metal: all begin at its far side, as
    on the ground it stands on, or end short of it."""
    met = _met(part, frames)
    if met is None or (np.abs(met[:, 0]) < SQUARE).any():
        return False
    looks, mouth, low, high = met.T
    end = mouth - deep * np.sign(looks)
    meets = (np.maximum(mouth, end) > low + IDLE) & (np.minimum(mouth, end) < high - IDLE)
    return not meets.any()


def cuts_nothing(call: Call, part: Feature, frames: np.ndarray) -> NoReturn:
    """Refuse a cut whose places (n, 3, 4) all lie beyond the flat metal it is in, or end short of it."""
    moved = call.get("inward") if call.given("inward") else 0.0
    said, far = (call.get("out") if call.given("out") else 0.0) - moved, _to_face(part, frames)
    # A place at a side of it: what was moved toward its middle went out of its back.
    aside = bool(moved) and far is not None and IDLE < far[0] - moved < part.high - part.low - IDLE
    short = far is not None and far[0] < 0
    remedy = f"begin at a face of {part.name} that it goes into"
    if far is not None and not (call.given("tilt") or call.given("lean")):
        now = round(said + float(far.max()), 6)
        figure = f"'{'out' if now > 0 else 'inward'} {abs(now):g} mm'"
        if now and said:
            remedy = f"begin at its face: write {figure} in place of '{'out' if said > 0 else 'inward'}'"
        else:
            remedy = f"begin at its face: {f'add {figure}' if now else 'leave out how far it is moved'}"
    call.refuse(
        "idle-cut",
        f"this cuts nothing: it ends short of {part.name}" if short
        else f"this cuts nothing: it starts at the back of {part.name} and goes away from it",
        "inward" if aside else "in",
        remedy=f"write 'left {moved:g} mm' for it: from an end or a side that goes toward the middle, "
        "'inward' away from you" if aside else remedy,
    )  # fmt: skip
