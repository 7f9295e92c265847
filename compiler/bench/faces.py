"""Places on the real face of a part, told along it: the clause `on`."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from ...lang.bench import Call
from ..geometry import frames as fr
from ..geometry.surfaces import Flat, Surface
from ..shapes.shank_face import Round
from ..shapes.signet import Flanks, Table
from ..shapes.wire_face import WireFace
from .feature import Feature, Places
from .mirroring import mirrored_across
from .roles import Role
from .worked import real

SPANNING = frozenset({Role.BODY, Role.CUPPED})  # what may stand over the hole of a tube
LARGER = 3.0  # times the next, a face is that of the whole


def on_both_sides(call: Call, local: np.ndarray) -> np.ndarray:
    """``on_face``; with `both-sides` the mirror images of all of them after them."""
    frames = on_face(call, local)
    if not call.get("both-sides"):
        return frames
    return np.concatenate([frames, on_face(call, fr.compose(fr.flipped(mirrored_across(call)), local), -1.0)])


def on_face(call: Call, local: np.ndarray, side: float = 1.0) -> np.ndarray:
    """``local`` frames (n, 3, 4), told along the flat, standing on the real face of `on`; on its left
    for a ``side`` of -1."""
    feature, surface = face_of(call)
    if isinstance(surface, Flat) and surface.hole is not None and call.roles & SPANNING:
        surface = replace(surface, hole=None)
    if call.given("at"):
        local = _below_places(call, feature, surface, local)
    spots, around = local[:, :2, 3], math.radians(side * call.get("around", 0.0))
    stood = real(feature.worked, surface.stood(spots, around))
    off = ~np.isfinite(stood).all(axis=(1, 2))
    if isinstance(surface, WireFace) and (ends := surface.opening(around)) is not None:
        start, stop = ends
        call.refuse(
            "off-the-face", f"{feature.name} is open there, on its face is no place", "on",
            seen=f"around {math.degrees(around):.4g} deg", limit=f"it goes {start:.4g} to {stop:.4g} deg",
            remedy=f"write around {math.ceil(start) + 0:g} deg for one of its arms, around "
            f"{math.floor(stop) - 360 * (stop > 180):g} deg for the other, and more with what is wider there",
        )
    if surface.goes_round and call.given("over-finger"):  # upright, however a domed face falls away there
        aside = off | (np.abs(spots[:, 1]) > 0)
        stood[aside] = _level_with(surface, spots[aside], around)
        off = ~np.isfinite(stood).all(axis=(1, 2))
    if beside := int(off.sum()):
        call.refuse(
            "off-the-face", f"{beside} of {len(local)} places lie beside the face of {feature.name}", "on",
            seen=_where_beside(surface, local[~np.isfinite(stood).all(axis=(1, 2)), :2, 3]),
            limit=_extent(surface),
            remedy=(_shoulders(feature) or _round_its_side(feature) + "move them in, or make the face larger")
            + "; stones in heads that stand out beyond the shank say 'over-finger' in place of 'out'"
            * (surface.goes_round and call.word.take("over-finger") is not None)
            + f"; what is drawn flat above it stands 'at top of {feature.name}'"
            * (surface.goes_round and call.word.take("through") is not None),
        )
    raised = local.copy()
    raised[:, :2, 3] = 0.0
    met = np.stack([fr.compose(one[None], own[None])[0] for one, own in zip(stood, raised, strict=True)])
    return fr.compose(feature.frames if feature.ground is None else feature.ground, met)


def _level_with(surface: Surface, spots: np.ndarray, around: float) -> np.ndarray:
    """Frames (n, 3, 4) on a face that goes round a finger, of what says its height over that: upright, as far
    up from its middle as they lie, of arms that pass their head from midway between those."""
    if around == 0.0 and isinstance(surface, WireFace) and len(surface.passes()) > 1:
        moved = np.concatenate([fr.shifted(right=x, up=y) for x, y in spots.tolist()])
        return fr.compose(surface.head(0.0), moved)
    stood = surface.stood(spots * (1.0, 0.0), around)
    stood[:, :, 3] += spots[:, 1:] * stood[:, :, 1]
    return stood


def _below_places(call: Call, feature: Feature, surface: Surface, local: np.ndarray) -> np.ndarray:
    """``local`` frames about each of the places of `at`, as they lie over the flat face of a part."""
    places: Places = call.get("at")
    if not isinstance(surface, Flat):
        call.refuse(
            "clauses-disagree", f"at and on go together on a flat face; that of {feature.name} is not", "on",
            remedy="keep one of them",
        )
    home = feature.frames if feature.ground is None else feature.ground
    over = fr.compose(fr.inverse(home[0])[None], places.frames)
    turns = np.degrees(np.arctan2(over[:, 1, 0], over[:, 0, 0]))
    about = [
        fr.compose(fr.shifted(right=x, up=y), fr.turned(2, turn))
        for (x, y), turn in zip(over[:, :2, 3].tolist(), turns.tolist(), strict=True)
    ]
    return fr.compose(np.concatenate(about), local)


def _where_beside(surface: Surface, spots: np.ndarray) -> str | None:
    """Where on a flat face the first of some ``spots`` (n, 2) would stand that lie beside it."""
    if not isinstance(surface, Flat):
        return None
    right, up = spots[0].tolist()
    return f"{right:.4g} mm right, {up:.4g} mm up of its own place"


def _extent(surface: Surface) -> str | None:
    """How far a flat face goes from the place of its part, which need not be its middle."""
    if not isinstance(surface, Flat):
        return None
    (left, down), (right, up) = (end.tolist() for end in surface.span())
    return f"its outline goes {left:.4g} to {right:.4g} mm right, {down:.4g} to {up:.4g} mm up"


def _round_its_side(feature: Feature) -> str:
    """Where else to put what was meant for the side of a part with a hole."""
    hole = bool(getattr(feature.surface, "hole", None))
    return f"round its side say 'along waist of {feature.name}'; on its end " if hole else ""


def _shoulders(feature: Feature) -> str:
    """Where else to put what was meant for the flanks of a signet; nothing of other parts."""
    name = feature.name.rpartition(".")[2]
    return f"on its flanks: on {name}, around 45 deg; else move it in on the table" if feature.table else ""


def faced(feature: Feature) -> Feature:
    """The part whose face is meant: of what a word or a workpiece made, the one that has by far
    the largest."""
    if feature.surface is not None:
        return feature
    if feature.source is not None:
        return _again(faced(feature.source), feature)
    having = sorted(_with_faces(feature), key=lambda one: -float(one.surface.area()))
    if having and (len(having) == 1 or having[0].surface.area() > LARGER * having[1].surface.area()):
        return having[0]
    return feature


def _again(face: Feature, copy: Feature) -> Feature:
    """The part ``face`` as it stands again in a copy."""
    ground = None if face.ground is None else fr.compose(copy.frames, face.ground)
    return replace(face, name=copy.name, frames=fr.compose(copy.frames, face.frames), ground=ground)


def _with_faces(feature: Feature) -> Iterator[Feature]:
    for part in feature.parts:
        yield from [part] if part.surface is not None else _with_faces(part)


def face_of(call: Call, key: str = "on") -> tuple[Feature, Surface]:
    """The feature of `on`, or `upon`, and its face. Raises Refused where it has none, or goes not round."""
    feature: Feature = faced(call.get(key))
    surface: Surface | None = feature.surface
    if surface is None:
        call.refuse(
            "no-surface",
            f"{feature.name} offers no face to stand on",
            key,
            remedy="name a bar, disc, plate, tube, dome, ball, turned body, wire, band or signet; "
            "or say 'at' one of its places",
        )
    if key == "on" and call.given("around") and feature.table and feature.shank:
        return feature, Flanks(Table(*feature.table), Round(feature.shank))
    if call.given("around") and not surface.goes_round:
        call.refuse(
            "clauses-disagree", f"the face of {feature.name} does not go round a finger", "around",
            remedy="say 'right' and 'up' instead",
        )
    return feature, surface
