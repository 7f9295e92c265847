"""Stones among the metal: covered, looking inward, in one another, in the wearer's way, in the heat."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from ...bench.roles import Role
from ...judging.digits import below, mm, rounded_past, rounded_up
from ...judging.figure_rule import Reading
from ...judging.gems_at_risk import Gems, gems_at_risk, listed
from ...judging.halves import opened
from ...judging.moves import told
from ...judging.remedies import deeper
from ...judging.rule import Level, Mend
from ...judging.services import indices_of
from ...judging.stones_apart import apart_from

if TYPE_CHECKING:
    from ...judging.piece import Piece
    from ...measures.kinds import Floats


def covered_table(piece: Piece) -> Iterator[Reading]:
    """Metal over a stone, so that it does not go in."""
    from ...judging.tables_up import metal_above

    far, owners = metal_above(piece)
    alone = len(piece.casting_measures.castings) < 2
    for stone, (gap, owner) in enumerate(zip(far.tolist(), owners.tolist(), strict=True)):
        form = piece.stone_measures.form(stone)
        bound = piece.bound("covered-table", "least", max(owner, 0)) * (form.top - form.tip)
        if owner < 0 or piece.stones.of(stone).cut == "pearl" or not below(gap, bound):
            continue
        home = piece.stones.frames[stone, :, 3]
        own = None if alone else piece.casting_measures.casting_at(home)
        if own is None or owner in own.skin.owner:
            yield Reading(
                owner, gap, home, bound=bound, words={"which": str(stone + 1)},
                cure=_way_out(piece, stone, owner, gap, bound), others=(int(piece.stones.feature[stone]),),
            )  # fmt: skip


def _way_out(piece: Piece, stone: int, owner: int, gap: float, bound: float) -> str:
    """What to try: a roof that the stone's own seat left is metal it was laid too deep in."""
    from ...judging.clearing import off_tables, roof_over
    from ...judging.out_of_metal import met_lower

    if owner in piece.sets.seats:
        up = rounded_up(roof_over(piece, stone, gap))
        name = piece.name_of(int(piece.stones.line[stone]))
        return f"raise {name} by {up}: its table then comes to the face of the metal"
    if lower := met_lower(piece, stone, owner):
        return lower
    after = "make it a part of its own that is put on after setting: a 'casting'"
    aside = off_tables(piece, stone, owner, bound)
    return f"move {piece.name_of(owner)} {aside}, or {after}" if aside else after


def inward_table(piece: Piece) -> Iterator[Reading]:
    """A stone that looks to the finger, the wrist or the back."""
    from ...judging.tables_up import turned_in

    if len(piece.casting_measures.castings) > 1:
        return  # castings lie as they fit beside one another, not as they are worn
    angles, side = turned_in(piece)
    for stone, angle in enumerate(angles.tolist()):
        feature = int(piece.stones.feature[stone])
        if piece.stones.of(stone).cut != "pearl":
            yield Reading(
                feature, angle, stone, words={"side": side}, level=Level.HINT if side == "back" else None,
            )  # fmt: skip


def stone_overlap(piece: Piece) -> Iterator[Reading]:
    """Stones that would stand in one another."""
    stones = piece.stones
    widths = {(gap.first, gap.second): gap.width for gap in piece.gaps}
    room = piece.bound("crowded-stones", "cast")
    for first, second, volume, at in piece.stone_measures.overlaps:
        feature = int(max(stones.feature[first], stones.feature[second]))
        # What they share is no deeper than a cube of it.
        lack = room - widths.get((first, second), -(volume ** (1 / 3)))
        yield Reading(
            feature, volume, at, words={"both": f"{first + 1} and {second + 1}", "share": f"{volume:.2g}"},
            cure=lambda _, args=(piece, first, second, lack): apart_from(*args),
        )  # fmt: skip


def hot_stone(piece: Piece) -> Iterator[Reading]:
    """What is cast in one is soldered nowhere; how its stones bear heat stands on the setter's sheet."""
    if work := _soldering(piece):
        yield from gems_at_risk(piece, lambda gem: gem.torch, _told, work=work)


def _soldering(piece: Piece) -> str:
    """What is soldered of a piece: bought parts, alloys, and rings that link its castings; nothing of one
    that is cast whole, nor pins that are riveted or pushed in."""
    measures = piece.casting_measures
    bodies, castings = measures.bodies, measures.castings
    linked = any(joint.how != "soldered" for joint in measures.joints)
    bought = {
        castings[bodies[one].casting].called
        for joint in measures.joints if joint.how == "soldered" and not {joint.one, joint.two} & measures.pins
        for one in (joint.one, joint.two) if castings[bodies[one].casting].bought
    }  # fmt: skip
    work = [f"solder {' and '.join(sorted(bought))} on"] if bought else []
    if any(len(casting.parts) > 1 for casting in castings):
        work.append("solder its metals to one another")
    return " and ".join([*work, *(["close and solder its links"] if linked else [])])


def _told(risky: Gems, never: Gems) -> tuple[str, str]:
    said = []
    if never:
        said.append(f"no torch near {listed(never)} once set")
    if risky:
        said.append(f"a torch is a risk to {listed(risky)} once set, though clean, coated and slowly cooled")
    return "; ".join(said), f"heat is {'sure to harm it' if never else 'a risk to it'}"


LEVEL = 0.05  # mm, a flat back so far out of the metal still lies level with it
UPRIGHT = 0.98  # cosine, within which a stone looks square to the back
CHORD = 0.01  # mm, by which faces between chords may fall short of what a text says


def culet_through(piece: Piece) -> Iterator[Reading]:
    """A stone too near the finger or the skin."""
    ring, oval = piece.wear_measures.hole, piece.wear_measures.oval
    whose = ring.whose if ring is not None else "wrist" if oval is not None else "back"
    bodies = _round_it(piece) if ring is not None else {bed.stone: bed.body for bed in piece.beds}
    hollow = piece.roofs
    if ring is None:
        bodies = {**piece.stone_measures.folded, **bodies}
    bodies = {stone: body for stone, body in bodies.items() if body not in hollow}
    for stone, (depth, at) in enumerate(piece.stone_measures.culets):
        if piece.stones.of(stone).cut == "pearl" and (ring is None or depth > -LEVEL):
            continue  # round and smooth, it may lie on the skin
        if depth > -LEVEL and not piece.stones.of(stone).pavilion():  # flat behind, it may lie level
            continue
        feature = int(piece.stones.feature[stone])
        bound = piece.bound("culet-through", "clearance", feature)
        if below(depth, bound):
            behind = whose == "back" and piece.stones.frames[stone, 2, 2] < -0.5
            if behind and opened(piece, piece.features[feature].name.partition(".")[0]) is not None:
                continue  # outside on a lid that lies open
            lack, far = bound - depth, rounded_past(bound - depth)
            legs = "" if stone in piece.stone_measures.feet else _deeper_foot(piece, stone, bound, lack)
            bare = legs or behind or stone not in bodies
            thicker = None if bare else deeper(piece, bodies[stone], lack + CHORD)
            find = "behind" if behind else "" if depth >= 0 else "out" if ring is None else "into"
            ends = f"stands {mm(-depth)} {'out of' if ring is None else 'in'} it"
            yield Reading(
                feature, depth, at, find=find, mend=thicker, level=Level.FAULT if depth < 0 else None,
                words={"whose": whose, "which": str(stone + 1),
                       "ends": f"ends {mm(depth)} short of it" if depth >= 0 else ends},
                cure=None if behind else legs or _raised(piece, bodies.get(stone), thicker, far),
            )  # fmt: skip


def _round_it(piece: Piece) -> dict[int, int]:
    """By stone, what goes round the finger and has its seat: made thicker, it grows away from that."""
    found = {stone: piece.call(seat).get("in") for stone, seat in piece.seated.items()}
    into = ((stone, one) for stone, metal in found.items() if metal is not None for one in indices_of(metal))
    return {stone: one for stone, one in into if piece.is_for(one, Role.SHANK, Role.WIRE)}


def _raised(piece: Piece, body: int | None, thicker: Mend | None, far: str) -> str:
    """What lifts the points of stones off the back: their body ``thicker``, or the stones ``far`` higher."""
    if thicker is None or body is None:
        return f"raise the stones by {far}, or make the body {far} thicker, or take shallower stones"
    said = f"{thicker.said} in the line of {piece.name_of(body)}"
    return f"{said}, or raise the stones by {far}, or take shallower stones"


def _deeper_foot(piece: Piece, stone: int, bound: float, lack: float) -> str:
    """What brings the foot of its setting farther below a stone, where it stands upright or all metal goes
    along with that."""
    line = int(piece.stones.line[stone])
    made = [one.index for one in piece.features if one.body is not None]
    mine = [one for one in made if line in piece.services.lines(one)]
    if mine != made and (piece.wear_measures.hole is not None or piece.stones.frames[stone, 2, 2] < UPRIGHT):
        return ""
    for use in (use for one in mine for use in piece.call(one).within[:1]):
        foot, on = use.arguments.get("foot"), use.arguments.get("on")
        if foot is not None and isinstance(foot.value, float) and (on is None or not on.given):
            least = bound - piece.stone_measures.form(stone).tip
            high = foot.value + lack if mine == made else max(least, foot.value)
            return f"write foot {rounded_past(high)} in the line of {use.name}"
    return ""


TOUCH = 0.02  # mm, what is nearer touches
POINTED = 0.3  # mm of pavilion, a stone with less is flat below


def resting_culet(piece: Piece) -> Iterator[Reading]:
    """A stone whose point stands on metal, or a hair above it."""
    measures, stones = piece.stone_measures, piece.stones
    deep = float(piece.bound("stone-in-metal", "axis"))  # what stands deeper is told there
    chosen = [k for k in range(len(stones.kind))
              if stones.of(k).cut != "pearl" and measures.form(k).tip < -POINTED]  # fmt: skip
    if not chosen:
        return
    skin, mine = piece.skin_measures.skin, [measures.stones[k] for k in chosen]
    way = np.array([-stone.turn[2] for stone in mine])
    tips = np.array([stone.world(np.array([[0.0, 0.0, measures.form(k).tip + deep]]))[0]
                     for k, stone in zip(chosen, mine, strict=True)])  # fmt: skip
    most = max(float(piece.bound("resting-culet", "least", int(stones.feature[k]))) for k in chosen)
    far, met = skin.grid.cast(tips, way, leaving=False, reach=most + deep)
    for k, tip, along, clear, face in zip(chosen, tips, way, far - deep, met, strict=True):
        feature, owner = int(stones.feature[k]), int(skin.owner[face])
        seated = owner in piece.sets.seats or along @ skin.normals[face] > 0
        if face >= 0 and not seated:
            yield Reading(
                feature, float(clear), tip + (deep + max(float(clear), 0.0)) * along, play=piece.tolerance,
                words={"how": "hardly clears" if clear > TOUCH else "stands on", "which": str(k + 1),
                       "air": mm(max(float(clear), 0.0))},
                others=(owner,), cure=partial(_off_the_point, piece, k, owner, float(clear), along),
            )  # fmt: skip


def _off_the_point(piece: Piece, stone: int, owner: int, clear: float, along: Floats, bound: float) -> str:
    line, lack = int(piece.stones.line[stone]), bound - clear
    if piece.source_lines.rests_on(piece.call(owner), piece.call(line)):  # raised with the stone
        return f"move {piece.name_of(owner)} {told(piece, owner, lack * along, 'farther back', line)}"
    return f"raise the stones by {rounded_up(lack)} or more"
