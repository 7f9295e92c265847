"""Walls too thin to cast, as the text states them and as the metal has them."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from ..bench.feature import Feature
from ..bench.roles import FigureOf, Role
from ..geometry import frames as fr
from ..judging.cut_grounds import LEFT, ground_of
from ..judging.digits import below, mm, rounded_down, rounded_past, rounded_up
from ..judging.figure_rule import Reading
from ..judging.figures import figure
from ..judging.halves import knuckles_of, walled_alike
from ..judging.hole_edges import Edge, hole_edges
from ..judging.marks import in_one_letter, is_at_rim, is_ridge, least_deep, lies_sideways
from ..judging.moves import move
from ..judging.moves import told as move_told
from ..judging.remedies import thickened, thicker
from ..judging.rule import Level, Mend
from ..judging.seats import may_close
from ..judging.thicknesses import thick_under, thicknesses_of
from ..judging.tolerances import SAME, SMALL_WALL
from ..words.letter_gaps import bar_for
from ..words.lettering import bold_for, letter_at
from .shanks import is_childs

if TYPE_CHECKING:
    from ...lang.bench import Call
    from ..judging.piece import Piece
    from ..measures.places import Place

AIR = 0.01  # mm, that what is moved off stands farther than it has to
BAR = 0.03  # mm; a wall no farther from that is the bar that letters are held by
POINT = 1.0  # mm; a wall so near to a feather edge is thin because it runs out there
GAINS = 1.25  # times as much bolder or taller as the thinnest stroke asks, or another is then the thinnest
BROAD = 1.0  # mm2; a wall too thin to print over more than this will not make


def ahead(piece: Piece) -> Iterator[Reading]:
    """Thicknesses as the text states them."""
    for stated in thicknesses_of(piece):
        if stated.feature in piece.cups or piece.is_for(stated.feature, Role.PRONG):
            continue
        if stated.key == "thick" and piece.is_for(stated.feature, Role.RIM):
            continue  # a wall round a stone is drawn as a plate, as thick as the wall is high
        # What a setting or a finding is made of has its own usual thickness.
        own = piece.is_for(stated.feature, Role.FINDING, Role.SETTING)
        cure = partial(_made, piece, stated.feature, stated.key)
        yield stated._replace(find=stated.find or "own" * own, cure=cure)


def _made(piece: Piece, feature: int, key: str | None, bound: float) -> tuple[str, Mend | None]:
    if outside := knuckles_of(piece, feature, bound):
        return f"write outside {rounded_up(outside)} in both halves", None
    mend = None if key in (None, "size", "inside") else Mend(key, rounded_up(bound), "least")
    return f"make it {rounded_up(bound)}", mend


def check(piece: Piece) -> Iterator[Reading]:
    """Walls thinner than their family's limits: those the text states, but for plates that lie on other
    metal all over, and those that are measured."""
    for one in ahead(piece):
        if one.key != "thick" or piece.skin_measures.is_so_thin(one.feature, one.figure):
            yield one
    yield from _by_hand(piece)
    stated = [(said.feature, said.figure) for said in thicknesses_of(piece)]
    feathers = [np.array(one.at) for one in piece.skin_measures.feathers]
    for thin in piece.skin_measures.thin:
        if any(piece.call(side).get("filled") for side in thin.pair):
            continue  # the metal let in there carries on what it is let into
        if any(np.linalg.norm(at - thin.at) < POINT for at in feathers):
            continue  # metal that runs out to a point or an edge: see feather-edge
        told = any(f in thin.pair and abs(t - thin.figure) < SAME for f, t in stated)
        if is_ridge(piece, thin):  # beside strokes: see letters-too-fine and letters-off-face
            if is_at_rim(piece, thin):
                yield _at_rim(piece, thin)
            continue
        if set(thin.pair) <= piece.sets.walls and thin.area >= SMALL_WALL and not told:
            yield from _measured(piece, thin)
    for edge in hole_edges(piece):
        yield _beside_light(piece, edge)


def _by_hand(piece: Piece) -> Iterator[Reading]:
    """What is left below marks that are cut by hand after casting, of metal that states its thickness."""
    for feature, call in piece.with_role(Role.ENGRAVING):
        body, deep = call.get("in"), call.get("deep")
        thick = thick_under(piece, body) if call.get("by-hand") else None
        if thick is None or not isinstance(deep, float) or not isinstance(body, Feature):
            continue
        bound = piece.bound("thin-wall", "least", body.index)
        least = min(thick, bound)  # below which the metal itself is told
        name, left, usual = piece.name_of(feature.index), thick - deep, least_deep(piece, feature.index)
        if not below(left, least - usual):
            continue
        less = deep - least + left
        shallower = f"write deep {rounded_down(less)} in the line of {name}; or " * (less >= LEFT * usual)
        yield Reading(
            feature.index, left, feature.frames[0, :, 3], find="measured", bound=least, others=(body.index,),
            words={"thin": f"a thin wall below {name}, which is cut by hand", "letter": ""},
            cure=shallower + thickened(piece, body.index, least - left),
        )  # fmt: skip


def _beside_light(piece: Piece, edge: Edge) -> Reading:
    """A light hole so near the rim of the metal that a setting drills it in that a bridge is left."""
    metal, stone = piece.name_of(edge.metal), piece.name_of(edge.line)
    blind = f"; or add 'blind' to the line of {piece.name_of(edge.hole)}: it is closed below"

    def cure(bound: float) -> str:
        lack = bound - edge.wide + AIR
        way = move_told(piece, edge.line, -lack * edge.way, "off that rim")
        wider = f"move {stone} {way}, or make {metal} {rounded_up(2 * lack)} wider"
        return wider + (blind if may_close(piece, edge.hole) else "")

    return Reading(
        edge.hole, edge.wide, edge.at, find="bridge", bound=piece.bound("thin-wall", "least", edge.metal),
        play=piece.tolerance, words={"which": stone, "metal": metal}, cure=cure, others=(edge.metal,),
    )  # fmt: skip


def _at_rim(piece: Piece, thin: Place) -> Reading:
    mark, metal = sorted(thin.pair, key=lambda one: not piece.is_for(one, Role.ENGRAVING))
    return Reading(
        mark, thin.figure, thin.at, find="ridge", bound=piece.bound("printer-detail", "least", mark),
        words={"metal": piece.name_of(metal)}, others=thin.pair,
    )  # fmt: skip


def _measured(piece: Piece, thin: Place) -> Iterator[Reading]:
    feature = thin.pair[1]
    never = piece.bound("printer-detail", "least", feature)
    floor = piece.bound("thin-wall", "least", feature)
    advised = piece.bound("thin-wall", "advised", feature)
    childs = any(one.index in thin.pair and is_childs(piece, one) for one in piece.rings)
    if childs or (len({*thin.pair}) == 1 and piece.is_for(feature, Role.SHANK)):
        advised = floor  # what casts is enough: it is soon outgrown; the rest thin-shank tells
    most = thin.figure + piece.tolerance  # what it is measured between are chords
    bound = floor if below(most, floor) else advised
    if not below(most, bound):
        return
    names = [piece.name_of(one) for one in thin.pair]
    where = f"between {names[0]} and {names[1]}" if names[0] != names[1] else f"in {names[1]}"
    ground = ground_of(piece, thin)
    level = Level.WARNING if bound == floor else Level.HINT
    yield Reading(
        feature, thin.figure, thin.at, find="measured", bound=bound, others=thin.pair,
        words={
            "thin": f"a thin wall {where}" if ground is None else ground.told(piece),
            "letter": _letter(piece, thin),
        },
        cure=_thicker(piece, thin, advised, bound) if ground is None else ground.thicker(piece, advised),
        level=Level.FAULT if 0 < thin.figure < never and thin.area > BROAD else level,
    )  # fmt: skip


def _thicker(piece: Piece, thin: Place, advised: float, bound: float) -> str:
    """What leaves more metal: beside a mark along the face, room between the two; below one, or between
    marks of both faces, the metal itself, or their depth."""
    first, second = thin.pair
    marks = [one for one in thin.pair if piece.is_for(one, Role.ENGRAVING)]
    lack = advised - thin.figure - piece.tolerance
    cut = piece.is_for(first, Role.OPENS) and not piece.call(first).get("raised")
    if first == second and cut and piece.call(first).given("letters"):
        return _wider_letters(piece, thin, bound - thin.figure)  # of a size to fit: no more than is due
    if not marks:
        bodies = {one.index for one, _ in piece.with_role(Role.SHANK)}  # a signet bores its own hole
        thick = thick_under(piece, piece.features[second]) if first == second else None
        if thick is not None and abs(thick - thin.figure) < SAME:
            return f"make {piece.name_of(second)} {rounded_up(advised)} thick"
        cuts = [one for one in thin.pair if piece.is_for(one, Role.CUT, Role.OPENS) and one not in bodies]
        metal, lacks = next((one for one in thin.pair if one not in cuts), second), rounded_up(lack)
        wall = next((one for cut in cuts[:1] if (one := figure(piece.call(cut), FigureOf.WALL))), None)
        if wall:
            return walled_alike(piece, cuts[0], lack)
        away = _away(piece, thin, cuts[0], lack) if cuts else ""
        if metal in cuts:
            return f"{away}make {piece.name_of(metal)} {lacks} smaller, or lay it {lacks} farther off"
        less = f", or {piece.name_of(cuts[0])} {lacks} smaller or farther off" if cuts else ""
        flat = thick_under(piece, piece.features[metal])
        if not cuts and flat is not None and first == second:
            return _broader(piece.call(second), thin.figure, advised, bound, piece.tolerance)
        across = "thicker" if flat is None or abs(flat - thin.figure) < SAME else "wider"
        return f"{away}make {piece.name_of(metal)} {lacks} {across} there{less}"
    mark, other = piece.name_of(marks[-1]), first + second - marks[-1]
    if lies_sideways(piece, thin):
        off = piece.name_of(other) if other in marks else f"the edge of {piece.name_of(other)}"
        far, less = rounded_past(lack), rounded_up(2 * lack)
        return f"move {mark} {far} farther off {off}, or make it {less} narrower"
    less = _less_deep(piece, marks, lack) or _less_deep(piece, marks, bound - thin.figure)
    if not less:
        lack += max(0.0, _short(piece, marks, lack) - lack / len({*marks})) * len({*marks})
        less = f"add 'by-hand' to the line of {mark}: cut after casting, and not so deep"
        if piece.call(marks[-1]).given("deep"):
            less = f"leave deep out in the line of {mark}; then {less}"
    roof = figure(piece.call(other), FigureOf.ROOF)
    if roof:
        mend = Mend(roof[0], rounded_up(roof[1] + lack), "least", other)
        return f"{thicker(piece, piece.call(other).get('in').index, mend, lack)}; or {less}"
    body = piece.call(marks[-1]).get("in")
    if not (thick := thick_under(piece, body)):
        return less
    high = f"write height {rounded_up(thick + lack)} in the line of {piece.name_of(body.index)}"
    return f"{high if getattr(body, 'table', ()) else thickened(piece, body.index, lack)}; or {less}"


def _away(piece: Piece, thin: Place, cut: int, lack: float) -> str:
    """The move of a hole off a thin wall beside it; "" of several, and where its line goes none."""
    frame = piece.features[cut].frames[0]
    way = frame[:, 3] - np.array(thin.at)
    way -= (way @ frame[:, 2]) * frame[:, 2]
    far = float(np.linalg.norm(way))
    alone = len(piece.features[cut].frames) == 1 and far > AIR
    moved = move(piece, cut, (lack + AIR) * way / far) if alone else None
    return f"move {piece.name_of(cut)} {moved.in_piece}; or " if moved is not None else ""


def _short(piece: Piece, marks: list[int], lack: float) -> float:
    """By how much marks are not deep enough to leave ``lack`` mm more between them all."""
    deeps = [(one, float(piece.call(one).get("deep"))) for one in marks]
    return max(max(least_deep(piece, one), LEFT * deep) - deep for one, deep in deeps) + lack / len({*marks})


def _less_deep(piece: Piece, marks: list[int], lack: float) -> str:
    """How much less deep marks are to be cut, of both faces alike; "" where too little is left of them."""
    if _short(piece, marks, lack) > 0 and not any(piece.call(one).get("raised") for one in marks):
        return ""
    by = lack / len({*marks})
    return "; then ".join(
        f"write deep {rounded_down(piece.call(one).get('deep') - by)} in the line of {piece.name_of(one)}"
        for one in dict.fromkeys(marks)
    )


def _broader(call: Call, figure: float, wanted: float, due: float, play: float) -> str:
    """What broadens a flat body where its outline leaves little: the strokes of letters, the points of a
    star, the horns of a crescent; else the outline itself."""
    if call.given("letters"):
        tall, had = call.get("tall"), call.get("bolder", 0.0)
        bold, least = (
            f"say 'bolder {rounded_up(had + GAINS * (bold_for(call, tall, figure, bound + play) - had))}'"
            for bound in (wanted, due)
        )
        if due < wanted:
            bold += f", for the {mm(wanted)} advised; or {least}, the least that casts"
        plain = call.get("style") == "block" or call.given("font")
        block = "" if plain else "say 'style block', whose strokes are all of one width; or "
        taller = tall + GAINS * (tall - had) * (wanted + play - figure) / max(figure - had, 0.01)
        return f"{bold}; or {block}say 'tall {rounded_up(taller)}'"
    if call.given("star") or call.given("crescent"):
        return f"say 'corner {rounded_up(wanted / 2)}': its points end so much rounder"
    return f"make it {rounded_up(wanted - figure - play)} wider there"


def _letter(piece: Piece, thin: Place) -> str:
    """In which letter of a plate of letters a wall is thin; "" of other metal."""
    call, feature = piece.call(thin.pair[1]), piece.features[thin.pair[1]]
    if len({*thin.pair}) > 1 or not call.given("letters") or feature.outline is None:
        return ""
    spots = fr.apply(fr.inverse(feature.frames[0]), np.array(thin.at)[None])
    return f", in the {letter_at(piece.bench, call, (spots[0, 0], spots[0, 1]))}"


def _wider_letters(piece: Piece, thin: Place, lack: float) -> str:
    """What leaves more metal beside letters: between two of them, or within one."""
    call, line = piece.call(thin.owner), thin.owner
    tall = piece.features[line].look("tall").value
    bar = 0.0 if call.get("deep") else call.get("bridge", bar_for(tall))
    wider = f"say 'bridge {rounded_up(bar + lack + piece.tolerance)}'"
    if abs(bar - thin.figure) < BAR:
        return wider
    if in_one_letter(piece, line, np.array(thin.at)):
        block = "" if call.get("style") == "block" else "'style block', whose strokes are slimmer, or "
        more = tall * (lack + piece.tolerance) / max(thin.figure, 0.01)
        wider = f"{wider}, or " if bar else ""
        return f"{wider}say 'tall {rounded_up(tall + more)}', or take {block}a font with plainer letters"
    return f"say 'spacing {rounded_up((call.get('spacing') or 0.0) + lack)}'"
