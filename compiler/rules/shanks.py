"""Shanks: too thin, for a finger or a hand of an odd size, with stones on the palm side."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from ...lang import tree
from ...stdlib.fingers import SYSTEMS, size_near
from ..bench.roles import Role
from ..geometry import frames as fr
from ..judging.digits import above, below, mm, rounded_up
from ..judging.figure_rule import Reading
from ..judging.joined_bands import JoinedBand, joined_bands
from ..judging.rule import Mend
from ..shapes.shank import at_back

if TYPE_CHECKING:
    from ..bench.feature import Feature
    from ..judging.bound import Bound
    from ..judging.openings import Opening
    from ..judging.piece import Piece


def odd_finger_size(piece: Piece) -> Iterator[Reading]:
    """Ring sizes that fit no finger."""
    for feature in piece.rings:
        found = feature.look("inside")
        if found is None:
            continue
        inside = float(found.value)
        low, high = (piece.bound("odd-finger-size", what, feature) for what in ("least", "most"))
        if below(inside, low) or above(inside, high):
            yield Reading(
                feature.index, inside, feature, bound=low if inside < low else high,
                words={"low": mm(low), "high": mm(high)},
                cure=_usual_size(piece, feature, min(max(inside, low), high)),
            )  # fmt: skip


def _usual_size(piece: Piece, feature: Feature, inside: float) -> str:
    """What a ring of an odd size may be meant as: the nearest that is worn, as its line says sizes."""
    said = str(piece.call(feature.index).get("finger") or "").split()
    near = f"finger {size_near(said[0].lower(), inside)}" if said[:1] and said[0].lower() in SYSTEMS else ""
    return f"check the size and its scale: the nearest that is worn is '{near or f'inside {mm(inside)}'}'"


def thin_shank(piece: Piece) -> Iterator[Reading]:
    """Ring shanks too thin or too narrow to wear: one ticket of an even band, with all that it then wants."""
    for band in joined_bands(piece):
        found = [one for what in ("thickness", "width") if (one := _lack(piece, band, what)) is not None]
        even = [one for one in found if one.mend is not None and one.mend.side == "least"]
        clauses = {one.mend.key: one.mend.value for one in even if one.mend is not None}
        thick, height = clauses.get("thick"), piece.call(band.feature.index).get("height")
        if thick and isinstance(height, float | int) and height < float(thick.removesuffix(" mm")):
            clauses["height"] = thick  # no table lies lower than the outside of its shank
        if len(clauses) > 1 and even == found:
            all_of_it = ", ".join(f"{key} {size}" for key, size in clauses.items())
            found = [found[0]._replace(cure=f"write {all_of_it}", mend=None)]
        yield from found


def _wanted(piece: Piece, band: JoinedBand, what: str, key: str) -> Bound:
    """The least thickness or width, at the head or, by ``key`` "taper", behind; how strong that is,
    `weak_shank` measures. A child's hand is small and weak, and a ring soon outgrown; a wide band has as
    much metal to wear in less height."""
    feature = band.feature
    floor = piece.bound("thin-shank", what, feature)
    if is_childs(piece, feature):
        return floor * piece.bound("thin-shank", "child-share", feature)
    if what == "thickness":
        behind = key == "taper"
        widths = (one for one in band.figures() if one.what == "width" and (one.key == "taper") == behind)
        wide, low = (piece.bound("thin-shank", name, feature) for name in ("wide", "wide-thickness"))
        return max(floor * min(1.0, wide / next(widths).value), min(low, floor))
    return floor


def is_childs(piece: Piece, feature: Feature) -> bool:
    """Whether a ring is of a child's size."""
    inside = feature.look("inside")
    return inside is not None and below(float(inside.value), piece.bound("thin-shank", "child", feature))


def _lack(piece: Piece, band: JoinedBand, what: str) -> Reading | None:
    """What is told of the thickness or the width of a shank, by the part that lacks most."""
    both = [(one, _wanted(piece, band, what, one.key)) for one in band.figures() if one.what == what]
    figure, floor = min(both, key=lambda one: one[0].value - one[1])
    if not below(figure.value, floor):
        return None
    feature, key = band.feature, figure.key
    other, enough = next((one for one in both if one[0].key != key), both[0])
    size, taper = rounded_up(floor), _taper(piece, band, what, floor)
    also = other is not figure and below(other.value, enough) and taper
    said = {"less": "thin" if what == "thickness" else "narrow"}
    return Reading(
        feature.index, figure.value, feature, words=said, bound=floor, key=key, keys=(key,),
        cure=f"write {other.key} {rounded_up(enough)} and taper {taper}" if also and key == "taper"
        else f"make it {size}" + (f", and taper {taper}" if also else ""),
        mend=Mend(key, taper or "") if key == "taper" and taper
        else Mend(key, size, "least") if key != "taper" and band.alone else None,
    )  # fmt: skip


def _taper(piece: Piece, band: JoinedBand, what: str, enough: float) -> str | None:
    """The clause that gives the back of a shank enough thickness or width; None where it says none."""
    call = piece.call(band.feature.index)
    if not band.alone or not call.given("taper"):
        return None
    back = at_back(call.get("taper"), float(call.get("wide")), float(call.get("thick")))
    sizes = (max(back[0], enough), back[1]) if what == "width" else (back[0], max(back[1], enough))
    return f"{sizes[0]:.2f} x {rounded_up(sizes[1])}"


BANGLE = 30.0  # mm inside; a smaller band goes on a finger: see odd-finger-size
SLEEVE = 0.5  # of its inside; a wider band goes on no wrist: a napkin ring, a sleeve


def small_bangle(piece: Piece) -> Iterator[Reading]:
    """A closed bangle that goes over no grown hand, a cuff that goes over no wrist."""
    for feature, call in piece.with_role(Role.SHANK):
        inside = feature.look("inside")
        wide = call.get("wide", 0.0)
        if inside is None or inside.value < BANGLE or wide > SLEEVE * inside.value:
            continue
        if call.get("open"):
            yield Reading(feature.index, float(call.get("open")), feature, find="open")
        else:
            yield Reading(feature.index, float(inside.value), feature)


def small_bangle_on_metal(piece: Piece) -> Iterator[Reading]:
    """What is left between all metal and stones, where that is less than a line says."""
    from ..judging.openings import openings_of

    for one in openings_of(piece):
        feature, bound = piece.features[one.feature], piece.bound("small-bangle", "opening", one.feature)
        said = piece.call(one.feature).get("open")
        if not (said and below(float(said), bound)):
            yield Reading(one.feature, one.wide, feature, find="left", cure=partial(_opened, piece, one))


def _opened(piece: Piece, one: Opening, bound: float) -> str:
    """The clause that opens a cuff, or the path of its wire, so far that its limit is left there."""
    path = piece.source_lines.stands_at(piece.call(one.feature), "along")
    head = path or piece.source_lines.of(piece.call(one.feature), None, ()).line
    now = next((clause.value for clause in head.clauses if clause.key.name == "open"), None) if head else None
    if not isinstance(now, tree.Number) or now.unit != "mm" or head is None:
        return f"open it {rounded_up(bound - one.wide)} wider, or take less at its ends"
    name = head.name.name if head.name is not None else piece.name_of(one.feature)
    wide = rounded_up(now.value + PAST * (bound - one.wide))
    return f"write open {wide} in the line of {name}, or take less at its ends"


PAST = 1.3  # of what lacks: a round opens by less than its line says, as its ends turn aside


FINGER = 28.0  # mm inside, a ring that is wider goes round a wrist
NEAR = 12.0  # mm from the finger, stones farther off are no stones of this ring
ROUND = 100.0  # degrees without stones that a ring set all round may have, for sizing

LEVEL = 0.5  # of an axis up or down, which such a finger does not lie along


def palm_stones(piece: Piece) -> Iterator[Reading]:
    """Stones on the palm side of a ring that is not set all round."""
    for feature, call in piece.with_role(Role.SHANK):
        inside = feature.look("inside")
        if inside is None or inside.value > FINGER or not len(piece.stones.kind):
            continue
        spots = fr.apply(fr.inverse(feature.frames[0]), piece.stones.frames[:, :, 3])
        far = np.hypot(spots[:, 0], spots[:, 2])
        near = np.flatnonzero((far > inside.value / 2) & (far < inside.value / 2 + NEAR))
        angle = np.degrees(np.arctan2(spots[near, 0], spots[near, 2]))
        bound = piece.bound("palm-stones", "most", feature.index)
        palm = np.array([k for k, off in zip(near, np.abs(angle).tolist(), strict=True) if above(off, bound)])
        order = np.sort(angle)
        bare = np.diff(np.r_[order, order[:1] + 360.0]).max(initial=0.0)
        if not len(palm) or bare < ROUND:
            continue
        worst = int(near[np.abs(angle).argmax()])
        remedy = "lay them nearer to the head: 0 % of a way round a ring is there, 50 % at the back"
        if feature.shank is not None and feature.shank.open and not call.get("at-head"):
            name = piece.name_of(feature.index)
            remedy = f"say 'at-head' in the line of {name}: it then opens there; or {remedy}"
        lie = f"{len(palm)} stone{'s lie' if len(palm) > 1 else ' lies'}"
        yield Reading(
            int(piece.stones.feature[worst]), float(np.abs(angle).max()), worst, words={"lie": lie},
            cure=remedy,
        )  # fmt: skip


def palm_stones_on_metal(piece: Piece) -> Iterator[Reading]:
    """Rings of wire, all of whose stones stand on the under side."""
    hole, frames = piece.wear_measures.hole, piece.stones.frames
    if piece.wear_measures.bore is not None or hole is None or not len(frames) or abs(hole.axis[2]) > LEVEL:
        return
    high = frames[:, 2, 3] - hole.middle[2]
    least = int(high.argmax())
    if high[least] < 0:
        top = float(piece.skin_measures.skin.box[1][2])
        low, line = float(high[least]), int(piece.stones.feature[least])
        said = {"top": rounded_up(top), "low": mm(-low)}
        yield Reading(line, low, frames[least, :, 3], find="under", words=said)
