"""Edges, joints and long thin parts of the metal, where it is thin or sharp."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from ....lang.terms import Name
from ...bench.feature import Feature
from ...bench.roles import FigureOf, Role
from ...geometry import frames as fr
from ...judging.castings import to_a_wrist
from ...judging.digits import above, below, mm, rounded_down, rounded_up, unlike
from ...judging.figure_rule import Reading
from ...judging.figures import figure, narrowest
from ...judging.halves import both_halves, closed_round
from ...judging.joining import finds_length
from ...judging.moves import clauses_said, lead, told, told_alike
from ...judging.remedies import block_of, off_its_room, written
from ...judging.rule import Level
from ...judging.skin_measures import SHORT
from ...shapes.sections import EDGE
from ...words.wires import EDGED
from ..ends import back_from_its_end

if TYPE_CHECKING:
    from ....lang.bench import Call
    from ...judging.piece import Piece
    from ...judging.weak_joints import WeakJoint
    from ...measures.slender import Slender


BLUNT = 0.5  # mm, how wide an end fills


def feather_edge(piece: Piece) -> Iterator[Reading]:
    """Metal that runs out to nothing."""
    told = {tuple(np.round(edge.at, 6)) for edge in piece.skin_measures.edges}
    for edge in piece.skin_measures.feathers:
        owner, bound = piece.skin_measures.feather_bound(edge)
        if tuple(np.round(edge.at, 6)) not in told:
            what = "sharp point" if edge.length <= SHORT else "feather edge"
            off = {"what": what, "long": mm(edge.length), "off": mm(_off(edge.angle)), "blunt": mm(BLUNT)}
            yield Reading(
                owner, edge.angle, edge.at, bound=bound, words=off,
                cure=off_its_room(piece, edge.owners) or _plainer(piece.call(owner)) or None,
                others=tuple(one for one in edge.owners if one >= 0 and one != owner)[:1],
            )  # fmt: skip


def _plainer(call: Call) -> str:
    """What blunts the corners between the strokes of letters sawn out of metal."""
    plain = call.get("style") == "block" or call.get("raised") or call.given("joined")
    if plain or not call.given("letters"):
        return ""
    return "say 'style block', whose letters have no such corners, or round it off by hand"


def _off(angle: float) -> float:
    """How far back from its edge a wedge of so many degrees is thick enough to fill, mm."""
    return BLUNT / 2 / math.tan(math.radians(angle) / 2)


def weak_joint(piece: Piece) -> Iterator[Reading]:
    """Metal that holds to other metal over too little."""
    prongs = frozenset(piece.rods.feature[piece.prongs.rod].tolist())
    fused = {frozenset(pair[:2]) for pair in piece.casting_measures.fused}
    casting = {int(f): part.casting for part in piece.parts for f in np.unique(part.owner)}
    for joint in piece.skin_measures.weak_joints:
        if casting.get(joint.feature) != casting.get(joint.other):
            continue  # two castings are not joined: see castings-meet
        if frozenset((joint.feature, joint.other)) in fused:
            continue  # links, which are to hang free: see tight-link
        neck = joint.neck
        bound = piece.bound("weak-joint", "least", joint.feature)
        joined, wanted = unlike(neck.area, bound * neck.section)
        if not joint.features <= prongs:  # see footless-prong
            said = {
                "joined": joined, "section": f"{neck.section:.3g}", "wanted": wanted,
                "sides": " at both sides" if joint.both else "",
            }  # fmt: skip
            yield Reading(
                joint.feature, neck.area / neck.section, neck.at, words=said, others=(joint.other,),
                cure=partial(_joint_remedy, piece, joint),
            )  # fmt: skip


def _joint_remedy(piece: Piece, joint: WeakJoint, bound: float) -> str:
    """Its length found on the metal, or as deep as all joints of the line want it that look the same way."""
    pin = finds_length(piece, joint.feature)
    found = f"leave 'long' out in the line of {pin}: it then finds the metal; or " if pin else ""
    return found + _deeper(piece, joint, bound * joint.neck.section)


def _deeper(piece: Piece, joint: WeakJoint, wanted: float) -> str:
    if joint.deeper is None:
        back = back_from_its_end(piece, lead(piece, joint.feature))
        return f"{back}; or {_fillet(piece, joint, wanted)}" if back else _fillet(piece, joint, wanted)
    way, every = joint.deeper[1], piece.call(joint.feature).get("every")
    steps = every if isinstance(every, tuple) else (every,)
    if joint.feature == joint.other and len(steps) == 1 and steps[0]:  # copies of one line
        closer = float(steps[0]) - 1.05 * joint.deeper[0] - 0.02
        return f"write every {rounded_down(closer)}: its copies run into one another by more"
    alike = [one.deeper for one in piece.skin_measures.weak_joints if one.feature == joint.feature]
    deep = max(one[0] for one in alike if one is not None and one[1] == way)
    if halves := both_halves(piece, joint.feature):
        both = [half.feature for half in halves]
        moved = told_alike(piece, ((one, None) for one in both), (1.05 * deep + 0.02) * np.array(way))
        names = " and ".join(piece.name_of(one) for one in both)
        return f"move {names} {moved}" if moved else _fillet(piece, joint, wanted)
    mover = lead(piece, joint.feature)
    by = (1.05 * deep + 0.02) * np.array(way)
    moved = told(piece, mover, by, "deeper", joint.other, np.array(joint.neck.at))
    name = "it" if mover == joint.feature else piece.name_of(mover)
    verb = "sink" if moved.endswith(("deeper", "inward")) else "move"
    more = "set its copies closer" if joint.feature == joint.other else _fillet(piece, joint, wanted)
    return f"{verb} {name} {moved}; or {more}"


def _fillet(piece: Piece, joint: WeakJoint, wanted: float) -> str:
    """A ball laid in a joint that no move deepens: its section is half as large again as what is wanted,
    mm2. What of it stands beyond the two is metal to file; broader than the parts it is no fillet."""
    across = 2 * math.sqrt(1.5 * wanted / math.pi)
    names, inside = written(piece, joint.feature, joint.other), block_of(piece, joint.feature, joint.other)
    x, y, z = fr.apply(fr.inverse(inside), np.array([joint.neck.at]))[0]
    moved = ((x, "right", "left"), (y, "up", "down"), (z, "out", "inward"))
    said = [f"{more if at > 0 else less} {mm(abs(at))}" for at, more, less in moved if abs(at) >= 0.005]
    both = ["both-sides"] if abs(x) >= 0.005 and _has_image(piece, joint, inside) else []
    line = f"ball fillet: {', '.join([*said, *both, f'across {rounded_up(across)}'])}"
    if across > min(_breadth(piece, one) for one in (joint.feature, joint.other)):
        return f"sink {names[0]} deeper into {names[1]}, or make both broader where they meet"
    lay = f"lay metal in the joint, {wanted:.2g} mm2"
    deeper = f"change {clauses_said(piece, joint.feature)} on the line of {names[0]}: let it go deeper"
    return f"{lay}: write {line}, below both lines{names[-1]}; or {deeper}"


NEAR = 0.05  # mm, as far as the joints of two copies lie from one another as seen from them


def _has_image(piece: Piece, joint: WeakJoint, inside: np.ndarray) -> bool:
    """Whether a copy of the part is its mirror image across the middle, with a joint like it."""
    at = np.array([joint.neck.at])
    image = fr.apply(inside, fr.apply(fr.inverse(inside), at) * (-1, 1, 1))[0]
    frames = np.concatenate([one.frames for one in piece.plan_solids if one.feature == joint.feature])
    homes = np.concatenate([fr.apply(fr.inverse(frame), at) for frame in frames])
    there = np.concatenate([fr.apply(frame, homes) for frame in frames])
    return bool(np.linalg.norm(there - image, axis=1).min() < NEAR)


def _breadth(piece: Piece, line: int) -> float:
    """How broad a part is: of its reach along the three ways of the piece the middle one, mm."""
    skin = piece.skin_measures.skin
    reach = np.ptp(skin.corners[skin.owner == line].reshape(-1, 3), axis=0)
    return float(np.median(reach))


BLADE = 45.0  # degrees, an edge that fitting leaves sharper than that is no matter of finishing
RIM, INTO = 0.6, 0.05  # mm, how high a rim stands that eases a sharp edge, and how far it reaches in


def sharp_on_skin(piece: Piece) -> Iterator[Reading]:
    """Edges that scratch the wearer."""
    if piece.with_role(Role.PIN):
        return  # worn on cloth
    bore = piece.wear_measures.hole if piece.wear_measures.bore is not None else None
    where = "the back" if bore is None else f"the {bore.whose}'s side"
    for edge in piece.skin_measures.edges:
        owner = next((one for one in edge.owners if one >= 0), 0)
        filed = _filed(piece, edge.owners) if edge.angle > BLADE else ""
        yield Reading(
            owner, edge.angle, edge.at, words={"where": where, "long": mm(edge.length)},
            cure=lambda _, edge=edge, owner=owner, filed=filed: (
                filed or _drawn_in(piece, edge.owners) or off_its_room(piece, edge.owners)
                or _sharp_remedy(piece, owner)
            ),
            level=Level.HINT if filed else None,
        )  # fmt: skip
    yield from _square_at_the_wrist(piece)


EASED = 0.3  # mm, what is told to round the edges of a bangle's wire by


def _square_at_the_wrist(piece: Piece) -> Iterator[Reading]:
    """Flat or square wire round a wrist whose lengthwise edges are as sharp as they were drawn, told once."""
    found = []
    round_it = {one.index: line.points for one in piece.features if (line := to_a_wrist(one)) is not None}
    # The least that each lies off the axis of the wrist.
    clear = {k: float(np.linalg.norm(one * (1.0, 0.0, 1.0), axis=1).min()) for k, one in round_it.items()}
    for feature, call in piece.with_role(Role.WIRE):
        section = figure(call, FigureOf.SECTION)
        if section is None or section[0] not in EDGED or feature.index not in clear:
            continue
        if clear[feature.index] > min(clear.values()) + narrowest(section[1]) / 2:
            continue  # lies on other wire, off the wrist
        home, soften = piece.source_lines.of(call, None, ()).line, call.get("soften", 0.0)
        bound = piece.bound("sharp-on-skin", "eased", feature.index)
        if below(soften, bound) and home is not None and piece.source_lines.can_say(home, "soften"):
            eased = mm(min(EASED, narrowest(section[1]) / 3))
            found.append((soften, bound, feature.index, section[0], eased))
    if found:
        soften, bound, owner, key, _ = min(found)
        lines = (f"soften {eased} in the line of {piece.name_of(one)}" for *_, one, _, eased in found)
        yield Reading(
            owner, soften, find="square", bound=bound, keys=("soften", key),
            words={"wires": " and ".join(piece.name_of(one[2]) for one in found),
                   "lines": " and ".join(lines),
                   "edges": f"rounded by {mm(soften)}" if soften else "square edges all along"},
            others=tuple(one[2] for one in found if one[2] != owner),
        )  # fmt: skip


SPLAYS = 12, 18, 24, 30  # degrees, tried in turn


def _drawn_in(piece: Piece, owners: Iterable[int]) -> str:
    """What keeps the foot of a head out of the finger beside its shank: splay, by which it is narrower and
    stands on the shank higher."""
    for one in owners:
        line = piece.source_lines.of(piece.call(one), None, ()).line if one >= 0 else None
        splays = line is not None and piece.source_lines.can_say(line, "splay")
        if not splays or not piece.is_for(one, Role.SETTING):
            continue
        now, name = piece.call(one).figure("splay") or 0.0, piece.name_of(one)
        more = [splay for splay in SPLAYS if splay > now]
        return "; or ".join(f"write splay {splay} deg in the line of {name}" for splay in more)
    return ""


def _filed(piece: Piece, owners: Iterable[int]) -> str:
    """How an edge is eased that comes of work to be finished by hand in any case: of the foot of a head
    fitted to a finger, or of a hole that a setting drills through wire."""
    cuts = [one for one in owners if one >= 0 and piece.is_for(one, Role.CUT) and piece.call(one).within]
    for one in cuts:
        fits = piece.call(one).get("of")
        if isinstance(fits, Feature) and fits.shank is not None:
            return "round it over with a file where the finger hole is cut through its foot"
        if piece.is_for(one, Role.HOLE):
            head = piece.name_of(one).partition(".")[0]
            return f"round over with a ball bur the mouth of the light hole that {head} drills there"
    return ""


def _sharp_remedy(piece: Piece, owner: int) -> str:
    """What can be written: a clause that eases its edges; of a dome a rim to stand on, of a wire with edges
    at its back one of the same width behind."""
    call = piece.call(owner)
    line = piece.source_lines.of(call, None, ()).line
    said = piece.source_lines.can_say
    easing = [one for one in ("bevel", "soften") if line is not None and said(line, one)]
    section = figure(call, FigureOf.SECTION)
    plain = call.get("profile", "flat") == "flat" and (section is None or section[0] in EDGED)
    if easing and plain:
        return f"ease the edge ('{easing[0]}'), stand it on an upright rim, or turn it away from the skin"
    if line is not None and said(line, "profile") and EDGE.get(call.get("profile")) == 0:
        return "write 'profile d': its sides stand upright"
    name, across = written(piece, owner)[0], call.get("across")
    if across and call.get("height"):  # what rises from a round edge
        wall = call.get("wall")
        rim = f"disc rim: at origin of {name}, across {mm(across)}"
        if wall:
            rim = f"tube rim: at origin of {name}, outside {mm(across)}, inside {mm(across - 2 * wall)}"
        high = f"{'long' if wall else 'thick'} {mm(RIM + INTO)}, inward {mm(RIM)}"
        return f"stand it on an upright rim: write {rim}, {high}, below both lines"
    section = figure(call, FigureOf.SECTION)
    along = piece.source_lines.of(call, "along", ("along",)).clause
    if section and isinstance(section[1], tuple) and along is not None and isinstance(along.value, Name):
        wide, high = section[1]
        return (
            f"lay flat wire behind it: write wire strip: along {along.value.name}, "
            f"flat {mm(wide)[:-3]} x {mm(RIM)}, inward {mm(high / 2 + RIM / 2 - INTO)}, below both lines; "
            "or take wire without edges at the back"
        )
    return "cover it with metal that stands upright there, or turn it away from the skin"


PAST = 1.02  # of the thickness that would do, as facets measure less than is said
HALF_ROUND = 0.76  # straight from end to end, as a share of the length: half a bangle less its findings
CLOSED = 0.95  # likewise of wire round a wrist, or closed by a hinge and a clasp: nearer to straight it bends
_TURN = np.linspace(1e-3, 2 * np.pi, 200)  # of an arc, radians
_APART = np.sin(_TURN / 2) / (_TURN / 2)  # its ends, as a share of its length


def slender(piece: Piece) -> Iterator[Reading]:
    """Long thin runs of metal, wire or not, measured on the metal."""
    closed = closed_round(piece) | set(_round_a_wrist(piece))
    for part in piece.skin_measures.slender:
        if part.owner < 0:
            continue
        bound = piece.bound("slender", "most", part.owner)
        free, shown = _free(part, closed=part.owner in closed)
        thick = max(part.thickness, _across_tube(piece, part.owner))
        much = above(free / thick, 2 * bound)
        yield Reading(
            part.owner, free / thick, part.at, words={"shown": shown, "thick": mm(thick)},
            cure=f"{_thickened(piece, part.owner, PAST * free / bound / (1 + much))}, or tie it half way",
            level=Level.WARNING if much else Level.HINT,
        )  # fmt: skip


def _round_a_wrist(piece: Piece) -> Iterator[int]:
    """What is laid round a wrist or a finger."""
    for feature in piece.features:
        path = piece.course(feature.index)
        if path is not None and piece.call(path).given("inside"):
            yield feature.index


def _thickened(piece: Piece, owner: int, least: float) -> str:
    """How thick a long run of metal is to be, and by which clause, where one figure says that."""
    section, widths = figure(piece.call(owner), FigureOf.SECTION), piece.call(owner).get("taper") or ()
    if len(widths) > 1:  # from start to end, whatever the section says
        taper = " to ".join(rounded_up(max(one, least)) for one in widths)
        return f"write taper {taper} in the line of {piece.name_of(owner)}"
    plain = section is not None and not isinstance(section[1], tuple)
    return f"make it {rounded_up(least)} thick" if section is None or not plain else (
        f"write {section[0]} {rounded_up(least)} in the line of {piece.name_of(owner)}"
    )


def _across_tube(piece: Piece, owner: int) -> float:
    """What wire bent of tube measures outside, which is what bends, not its wall; 0 for other metal."""
    call = piece.call(owner)
    section = figure(call, FigureOf.SECTION) if figure(call, FigureOf.WALL) else None
    return narrowest(section[1]) if section else 0.0


def _free(part: Slender, closed: bool) -> tuple[float, str]:
    """The length that counts, and how it is told. What comes round by nearly half a turn or more stiffens
    itself as a ring does, and so does what halves at both its ends close to one: there it is the radius of
    an arc as long, with its ends as far apart."""
    start, end = (np.array(spot) for spot in part.ends)
    apart = float(np.linalg.norm(end - start)) / part.length
    if apart > (CLOSED if closed else HALF_ROUND):
        return part.length, f"{mm(part.length)} long"
    radius = part.length / float(np.interp(apart, _APART[::-1], _TURN[::-1]))
    return radius, f"{mm(part.length)} long, bent round to a radius of {mm(radius)}"
