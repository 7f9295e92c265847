"""How a piece hangs and stands where it is worn: its tips, its weight, findings in sight."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ....lang.terms import Name, Of
from ...bench.feature import Places
from ...bench.roles import Role
from ...judging.digits import above, below, mm, rounded_up, share
from ...judging.figure_rule import Reading
from ...judging.moves import lead, told, told_alike
from ...judging.posts import long_rods
from ...judging.remedies import behind_its_setting
from ...judging.righted import righted
from ...judging.rule import Level

if TYPE_CHECKING:
    from ...judging.castings import Casting
    from ...judging.hanging import Rest
    from ...judging.piece import Piece
    from ...judging.posts import Bow
    from ...measures.kinds import Floats


def top_heavy(piece: Piece) -> Iterator[Reading]:
    """A piece that turns over, or nearly."""
    for casting, rest in piece.casting_measures.rests:
        loop = rest.loops[0]
        bound = piece.bound("top-heavy", "ring-above", loop.feature)
        if rest.hang.flips or (below(rest.share, bound) and not _taut(rest)):
            yield Reading(
                loop.feature, rest.share, rest.centre, find="flips" if rest.hang.flips else "", bound=bound,
                words={"above": mm(rest.above), "share": share(rest.share)},
                cure=righted(piece, casting) or _raised(piece, rest, float(bound)),
            )  # fmt: skip


TAUT = 3.0  # times its height, how far the loops of a bar stand apart that its chains keep level


def _taut(rest: Rest) -> bool:
    """Whether it is a bar between two chains, far longer than high, which keep its face out."""
    apart = abs(rest.loops[-1].middle[0] - rest.loops[0].middle[0])
    return rest.share > 0 and apart > TAUT * rest.above / rest.share


def _raised(piece: Piece, rest: Rest, least: float) -> str:
    """How far the loops are raised to hang it well, the piece growing as high as they go."""
    lack = (least * rest.above / rest.share - rest.above) / (1.0 - least) if rest.share else 0.0
    way = told_alike(piece, ((loop.feature, loop.middle) for loop in rest.loops), np.array([0.0, lack, 0.0]))
    names = dict.fromkeys(piece.name_of(lead(piece, loop.feature)) for loop in rest.loops)
    if way:
        return f"move {' and '.join(names)} {way}, on metal that reaches there"
    return f"raise {' and '.join(names)} by {rounded_up(lack)}, on metal that reaches there"


FOLLOWS = 0.25  # of how far a loop is moved, by which the middle of the weight follows it at most


def tips_forward(piece: Piece) -> Iterator[Reading]:
    """A face that hangs looking down or up."""
    for casting, rest in piece.casting_measures.rests:
        if rest.hang.flips or casting.jacket:
            continue  # see top-heavy; a jacket lies between its stud and the ear
        tilt, loop = rest.hang.tilt_forward, rest.loops[0]
        bound = piece.bound("tips-forward", "most", loop.feature)
        bow = next((bow for bow in casting.bows if bow.top is loop.middle), None)
        if bow is not None:
            yield from _in_the_ear(piece, rest, bow, bound)
            continue
        if above(abs(tilt), bound):
            yield Reading(
                loop.feature, abs(tilt), rest.centre, bound=bound,
                words={"way": "down" if tilt > 0 else "up"},
                cure=righted(piece, casting) or _moved(piece, rest, bound),
                # Behind the piece there is no place to hang it plumb: the wearer's body stops it.
                level=Level.HINT if piece.is_for(loop.feature, Role.BACK_BAIL) else Level.WARNING,
            )  # fmt: skip


def _in_the_ear(piece: Piece, rest: Rest, bow: Bow, bound: float) -> Iterator[Reading]:
    """What is fast on its ear wire: one swings to below the top of the bow, as far as the lobe lets it, which
    its front leg comes to lie against; with the weight before that leg it swings on."""
    tilt, ahead = rest.hang.tilt_forward, float(rest.centre[2]) - bow.front
    past = above(float(np.degrees(np.arctan2(ahead, rest.above))), bound)
    eye = "give the ear wire an eye in place of 'at'" if not bow.plain else "take an ear-hook with an eye"
    yield Reading(
        bow.feature, abs(tilt), rest.centre, find="swings" if past else "ear", bound=bound,
        words={"way": "down" if tilt > 0 else "up", "ahead": mm(ahead), "back": rounded_up(ahead),
               "eye": eye},
    )  # fmt: skip


def _moved(piece: Piece, rest: Rest, most: float) -> str:
    """How far the loops are moved at least, and how far off the middle of the weight lies."""
    slope, flat = (float(np.tan(np.radians(one))) for one in (rest.hang.tilt_forward, most))
    ahead = rest.above * slope
    least = np.array([0.0, 0.0, ahead * (1.0 - flat / abs(slope)) / (1.0 - FOLLOWS)])
    way = told_alike(piece, ((loop.feature, loop.middle) for loop in rest.loops), least)
    if not way:
        way = f"{rounded_up(abs(least[2]))} {'toward you' if ahead > 0 else 'away from you'}"
    loops = "loops" if len(rest.loops) > 1 else "loop"
    there = f"the middle of the weight lies {mm(abs(ahead))} that way"
    return f"move the {loops} {way} or more ({there}), or higher"


CLIMBS = 2.0  # times as long as wide, upward: it lies along the ear, its post at the lower end
LEVEL = 0.7  # cosine to the way back of a post that goes through an ear


def drooping_stud(piece: Piece) -> Iterator[Reading]:
    """A stud whose post stands below its weight."""
    from ...measures.mass import volume_and_centre

    rods, castings = piece.rods, piece.casting_measures
    for body, mine in _posts(piece).items():
        if len(mine) != 1:
            continue  # it is held level by two
        foot, line = rods.foot[mine[0]], int(rods.feature[mine[0]])
        skin, casting = castings.bodies[body].skin, castings.castings[castings.bodies[body].casting]
        alone = len(casting.bodies) == 1
        centre = casting.centre[1] if alone else volume_and_centre(skin)[1]
        droop = float(centre[1] - foot[1])
        find = "climbs" if _climbs(skin.points[:, :2]) else ""
        up = told(piece, line, np.array([0.0, droop, 0.0]), "up")
        yield Reading(line, droop, foot, find=find, words={"up": up})


def many_posts(piece: Piece) -> Iterator[Reading]:
    """Posts of one line that stand side by side on one body, as one at each of its settings."""
    rods = piece.rods
    for mine in _posts(piece).values():
        line = int(rods.feature[mine[0]])
        alike = [k for k in mine if rods.feature[k] == line]
        clause = piece.source_lines.of(piece.call(line), "at", ("at",)).clause
        value = clause.value if clause is not None else None
        if len(alike) < 2 or not isinstance(value, Of) or not isinstance(value.thing, Name):
            continue
        side, thing = value.names[0].name, value.thing.name
        one = f"write at pick({side} of {thing}, {len(alike) // 2 + 1}) in the line of {piece.name_of(line)}"
        words = {"thing": thing, "posts": str(len(alike))}
        if side != "ends":
            yield Reading(line, float(len(alike)), rods.foot[alike[1]], bound=1.0, words=words, cure=one)


def _posts(piece: Piece) -> dict[int, list[int]]:
    """The rods that are posts through an ear, by the body they stand on."""
    rods, posts = piece.rods, dict[int, list[int]]()
    for k, _ in long_rods(piece, Role.EAR_POST, 2.0):
        through = abs(rods.way[k, 2]) > LEVEL
        body = piece.casting_measures.body_at(rods.foot[k]) if through else None
        if body is not None:
            posts.setdefault(body, []).append(k)
    return posts


def _climbs(spots: Floats) -> bool:
    """Whether what reaches to some spots (n, 2) is long and goes up, straight or leaning over."""
    turn = np.radians(np.arange(0.0, 180.0, 5.0))
    wide = np.ptp(spots @ np.array([np.cos(turn), np.sin(turn)]), axis=0)
    least = int(wide.argmin())
    long = wide[(least + len(turn) // 2) % len(turn)]
    return bool(long > CLIMBS * wide[least] and abs(np.cos(turn[least])) > abs(np.sin(turn[least])))


BEHIND = Role.PIN, Role.BACK_BAIL  # what lies behind a piece; an ear post is judged by where it points
FLAT = 0.8  # cosine to a way of what is taken to go that way
ADVICE = "stand it at the back: 'at back of' the metal it is on"


def finding_in_front(piece: Piece) -> Iterator[Reading]:
    """An ear post, a pin or a hidden bail that stands on the side one sees, or not behind."""
    rods, castings = piece.rods, piece.casting_measures
    for k, line in long_rods(piece, Role.EAR_POST, 2.0):
        look, seen = _look(piece, castings.casting_at(rods.foot[k]))
        off = float(np.degrees(np.arccos(np.clip(rods.way[k] @ look, -1.0, 1.0))))
        front, behind = (piece.bound("finding-in-front", what, line) for what in ("least", "behind"))
        # A hoop is drawn from its side, and its post there; but no post goes up through an ear.
        plain = abs(look[2]) > FLAT and (seen == "stones look" or abs(rods.way[k, 1]) > FLAT)
        bound = front if below(off, front) or not plain else behind
        if below(off, bound):
            behind_it = behind_its_setting(piece, line, rods.foot[k])
            yield Reading(
                line, off, rods.foot[k], find="front" if bound is front else "behind", bound=bound,
                words={"seen": seen}, mend=behind_it,
                cure=f"stand it behind what holds the stone: {behind_it.said}" if behind_it else ADVICE,
            )  # fmt: skip
    yield from _in_front(piece)


def _turned_over(piece: Piece, feature: int) -> str:
    """How it comes to stand behind: at a back; within wire, whose back is that of all its bend, turned."""
    use = next((use for use in piece.call(feature).within if "at" in use.arguments), None)
    places = use.arguments["at"].value if use is not None else None
    inside = isinstance(places, Places) and not places.on_face and not places.ends
    return "turn it over there: add tilt 180 deg" if inside else ADVICE


def _in_front(piece: Piece) -> Iterator[Reading]:
    """What belongs behind the piece and stands before all other metal."""
    mine = [feature for feature, call in piece.with_role(*BEHIND) if feature.body is not None]
    if not mine:
        return
    skin = piece.skin_measures.skin
    middles = skin.corners.mean(axis=1)
    rest = ~piece.skin_measures.flags(f.index for f, _ in piece.with_role(*BEHIND))
    for feature in mine:
        faces = skin.owner == feature.index
        if not faces.any() or not rest.any():
            continue
        look, _ = _look(piece, piece.casting_measures.casting_at(middles[faces][0]))
        before = float(np.median(middles[faces] @ look) - (middles[rest] @ look).max())
        if before > 0:
            at, cure = middles[faces].mean(axis=0), _turned_over(piece, feature.index)
            once = piece.name_of(feature.index)
            yield Reading(feature.index, before, at, find="before", cure=cure, once=once)


def _look(piece: Piece, casting: Casting | None) -> tuple[Floats, str]:
    """The way a casting looks, (3,), and what tells it: its stones, or that a face looks toward you."""
    at = piece.casting_measures.casting_at
    mine = [frame[:, 2] for frame in piece.stones.frames if at(frame[:, 3]) is casting]
    look = np.sum(mine, axis=0) if mine else np.zeros(3)
    size = float(np.linalg.norm(look))
    return (look / size, "stones look") if size > 0.5 else (np.array([0.0, 0.0, 1.0]), "face looks")
