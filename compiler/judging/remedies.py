"""Changes of text that surely answer a verdict of several rules."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import takewhile
from typing import TYPE_CHECKING

import numpy as np

from ...lang import tree
from ..bench.feature import Feature, Lines
from ..bench.hung import asked
from ..bench.roles import FigureOf, Role
from ..geometry import frames as fr
from ..words.flanking import ROOM as NEXT
from .beds import SQUARE
from .digits import rounded_up
from .figures import figure, figures, narrowest
from .moves import move
from .rule import Mend
from .services import indices_of

if TYPE_CHECKING:
    from ..measures.kinds import Floats
    from .piece import Piece


def deeper(piece: Piece, body: int, lack: float) -> Mend | None:
    """Metal ``lack`` mm more between the face of a body and its back: a thicker roof where it is
    hollow, a thicker body, or flat wire."""
    for feature, call in piece.with_role(Role.OPENS):
        inside, roof = call.get("in"), figure(call, FigureOf.ROOF)
        if isinstance(inside, Feature) and inside.index == body and roof is not None:
            return Mend(roof[0], rounded_up(roof[1] + lack), "least", feature.index)
    own = not piece.call(body).within  # no clause of the text makes what a standard word made
    for _, key, value in figures(piece.call(body), FigureOf.THICKNESS, FigureOf.SECTION) if own else ():
        if isinstance(value, tuple):
            across = " x ".join(f"{one:g}" for one in value[:-1])
            return Mend(key, f"{across} x {rounded_up(value[-1] + lack)}", "exact", body)
        if key == "thick":
            return Mend(key, rounded_up(value + lack), "least", body)
    thick = piece.call(body).get("thick") if own and piece.is_for(body, Role.SHANK) else None
    return Mend("thick", rounded_up(thick + lack), "least", body) if isinstance(thick, float) else None


def thicker(piece: Piece, body: int, mend: Mend, lack: float) -> str:
    """What leaves ``lack`` mm more metal, as ``deeper`` has it, in words; of a hollow's roof also with a
    thicker body, so that the hollow stays as deep."""
    said = f"{mend.said} in the line of {piece.name_of(body if mend.feature is None else mend.feature)}"
    if mend.feature in (None, body) or not figure(piece.call(body), FigureOf.THICKNESS):
        return said
    return f"{said}; or {thickened(piece, body, lack)}; then {said}, so that its hollow stays as deep"


def thickened(piece: Piece, body: int, more: float) -> str:
    """What makes a body ``more`` mm thicker, its face where it was if it lay where the body's line stands."""
    found = figure(piece.call(body), FigureOf.THICKNESS)
    if not found or not piece.call(body).given(found[0]):
        return f"make {piece.name_of(body)} {rounded_up(more)} thicker"
    key, thick = found[0], narrowest(found[1])
    sunk = f", inward {rounded_up(thick + more)}" if piece.call(body).get("inward") == thick else ""
    return f"write {key} {rounded_up(thick + more)}{sunk} in the line of {piece.name_of(body)}"


def off_its_room(piece: Piece, owners: Iterable[int]) -> str:
    """What eases an edge that room cut for a finding makes; "" where none of its ``owners`` is such a cut."""
    for one in owners:
        if one >= 0 and piece.is_for(one, Role.FINDING) and piece.call(one).given("in"):
            name, metal = piece.name_of(one), piece.name_of(piece.call(one).get("in").index)
            return f"the room for {name} is cut there: move {name} farther off {metal}, or make it smaller"
    return ""


def _every(piece: Piece, line: int, lack: float) -> Mend | None:
    """The stones of a straight row ``lack`` mm farther apart."""
    call = piece.call(line)
    every = call.get("every") if call.given("row") and call.given("every") else ()
    steps = every if isinstance(every, tuple) else (every,)
    if len(steps) != 1 or _off_its_metal(piece, line, lack):
        return None
    return Mend("every", rounded_up(float(steps[0]) + lack), "least", line)


def _off_its_metal(piece: Piece, line: int, lack: float) -> bool:
    """Whether the end stones of a row, laid out from its middle, reach past the edge of their metal when
    each lies ``lack`` mm farther from the next."""
    mine = [k for k, one in enumerate(piece.stones.line.tolist()) if one == line]
    edges = [bed.edge for bed in piece.beds if bed.stone in (mine[0], mine[-1])]
    return min(edges, default=np.inf) < lack * (len(mine) - 1) / 2


def wider(piece: Piece, body: int, stone: int, lack: float) -> tuple[str, Mend | None]:
    """What leaves ``lack`` mm more metal outside a stone at both sides of a body: its words, and the clause
    that says it where there is one."""
    call, name, more = piece.call(body), piece.name_of(body), 2 * lack
    inset = farther_in(piece, int(piece.stones.line[stone]), lack, body)
    if inset is not None:
        return inset.said + f" in the line of {piece.name_of(int(piece.stones.line[stone]))}", inset
    for key in ("wide", "across"):
        size = call.get(key)
        if isinstance(size, int | float) and not isinstance(size, bool):
            said = rounded_up(size + more)
            return f"make {name} {said} {key}", Mend(key, said, "least", body)
    sizes = call.get("size")
    if not isinstance(sizes, tuple) or len(piece.features[body].frames) != 1:
        return f"make {name} {rounded_up(more)} wider there", None
    frame = piece.features[body].frames[0]
    off = np.abs(frame[:, :3].T @ (piece.stones.frames[stone, :, 3] - frame[:, 3]))[:2]
    side = int(np.argmin(np.array(sizes[:2]) / 2 - off))
    grown = [float(size) + more * (k == side) for k, size in enumerate(sizes)]
    said = " x ".join(rounded_up(size).removesuffix(" mm") for size in grown) + " mm"
    return f"write size {said} in the line of {name}", Mend("size", said, "exact", body)


def farther_in(piece: Piece, line: int, lack: float, body: int | None = None) -> Mend | None:
    """What keeps the stones of a line ``lack`` mm farther off the rim of the face they are laid over: they
    follow that rim, however wide the body; None where they are laid over no face, or not that of ``body``."""
    laid = piece.call(line)
    upon, inset = laid.get("upon"), laid.get("inset")
    if not isinstance(upon, Feature) or body not in (None, upon.index) or not isinstance(inset, int | float):
        return None
    return Mend("inset", rounded_up(inset + lack), "least", line)


def onto_its_band(piece: Piece, stone: int) -> str:
    """What lays a stone that is cut into a band and leans off its face square to that; "" for any other."""
    into = piece.call(piece.seated[stone]).get("in") if stone in piece.seated else None
    bands = [one for one in indices_of(into) if piece.is_for(one, Role.EVEN_SHANK)] if into else []
    for band in (piece.features[one] for one in bands):
        frame = fr.compose(fr.inverse(band.frames[0])[None], piece.stones.frames[stone][None])[0]
        laid = band.surface.laid(frame[None, :, 3])
        if laid is None or float(laid[1][0] @ frame[:, 2]) > SQUARE:
            continue
        line = int(piece.stones.line[stone])
        spots = piece.stones.frames[piece.stones.line == line, :, 3]
        own = fr.apply(fr.inverse(band.frames[0]), spots)
        turns = np.degrees(np.arctan2(own[:, 0], own[:, 2]))
        both = len(turns) == 2 and abs(turns.sum()) < 1 < abs(turns[0])
        turn = f"{abs(turns[0]) if both else np.degrees(np.arctan2(frame[0, 3], frame[2, 3])):.0f} deg"
        name, on = written(piece, line, band.index)[:2]
        return (
            f"lay {name} square to the face, which falls away there: in place of where it stands and how far "
            f"out write on {on}, around {turn}{', both-sides' if both else ''}, level table"
        )
    return ""


BESIDE_HOLE = 0.4  # mm of metal left on each side of a hole in a wire


BEHIND = 6.0  # mm below a girdle; farther off it is the other side of a ring
STEP = 0.2  # mm
HOLE = 0.5  # mm, narrower holes neither let light in nor come clean out of the investment


def may_be_holed(piece: Piece, feature: int, across: float, stones: int) -> bool:
    """Whether a hole so wide (mm) may be cut in metal behind each of the ``stones`` of a line, and it still
    does its work: a body, or wire with metal left on both sides and from hole to hole; no finding, loop or
    pin, and nothing that holds a stone as a claw or a rail does."""
    if piece.is_for(feature, Role.FINDING, Role.PIN, Role.EAR_POST, Role.EAR_WIRE, Role.PRONG, Role.BEAD):
        return False
    if piece.features[feature].opening is not None or feature in piece.rods.feature.tolist():
        return False
    if piece.is_for(feature, Role.WIRE):
        sizes = figures(piece.call(feature), FigureOf.SECTION, FigureOf.WIRE)
        wide = max((max(one) if isinstance(one, tuple) else float(one) for _, _, one in sizes), default=0.0)
        return wide >= across + 2 * BESIDE_HOLE and _room_in_wire(piece, feature, wide, across, stones)
    return True


def borne(piece: Piece, stone: int, metal: int, deep: float) -> float:
    """How wide a hole (mm) may be cut straight behind a stone, ``deep`` mm below its girdle, so that the
    metal there still has the least wall on its narrow side."""
    frame = piece.stones.frames[stone]
    far = piece.skin_measures.skin.grid.cast(*round_about(frame[:, 3] - deep * frame[:, 2], frame))[0]
    return max(2 * (float(far.min()) - piece.bound("thin-wall", "least", metal)), 0.0)


def round_about(spot: np.ndarray, frame: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Rays from a spot (3,) all round, square to the z of a frame (3, 4): starts and ways, (n, 3) each."""
    turn = np.arange(0.0, 2 * np.pi, np.pi / 18)
    ways = np.cos(turn)[:, None] * frame[:, 0] + np.sin(turn)[:, None] * frame[:, 1]
    return np.tile(spot, (len(ways), 1)), ways


def _room_in_wire(piece: Piece, wire: int, wide: float, across: float, stones: int) -> bool:
    """Whether holes straight behind stones keep clear of the sides of a wire, and of one another."""
    path, frames = piece.features[wire].look("path"), piece.stones.frames[piece.stones.line == stones]
    found = []
    for points in (line.fine(STEP).points for line in path.lines) if isinstance(path, Lines) else ():
        go, down = points - frames[:, None, :, 3], -frames[:, None, :, 2]
        deep = (go * down).sum(axis=2)
        off = np.linalg.norm(go - deep[..., None] * down, axis=2)
        off[(deep < 0) | (deep > BEHIND)] = np.inf
        best, row = off.argmin(axis=1), np.arange(len(frames))
        met = off[row, best] < (wide + across) / 2
        if (off[row, best][met] > (wide - across) / 2 - BESIDE_HOLE).any():
            return False
        found.append(frames[met, :, 3] + deep[row, best][met, None] * down[met, 0])
    spots = np.concatenate(found) if found else np.zeros((0, 3))
    apart = np.linalg.norm(spots[:, None] - spots, axis=2)[np.triu_indices(len(spots), 1)]
    return float(apart.min(initial=np.inf)) - across >= piece.bound("thin-wall", "least", wire)


def off_the_holes(piece: Piece, feature: int) -> str:
    """What to do with metal behind stones that takes no holes."""
    name = piece.name_of(feature)
    if piece.is_for(feature, Role.WIRE):
        return f"lay no stone over {name} (a shorter stretch of them), or move {name} off the hole"
    return f"move {name} off the hole"


def apart_from(
    piece: Piece, first: int, second: int, lack: float, deep: float = 0.0
) -> tuple[str, Mend | None]:
    """What brings two stones, by their number, ``lack`` mm farther apart: the gap of their row, or of the
    one that stands next to the other; else of one line any distance, and of two, one of them moved, or given
    room as ``deep`` as what holds the other reaches into it."""
    lines = [int(piece.stones.line[k]) for k in (first, second)]
    one, other = map(piece.name_of, lines)
    for line in lines:
        call = piece.call(line)
        if call.given("gap" if one == other else "next-to"):
            gap = rounded_up(call.get("gap", NEXT) + lack)
            return f"write gap {gap} in the line of {piece.name_of(line)}", Mend("gap", gap, "least", line)
    for line, k in zip(lines, (second, first), strict=True):
        if (round_it := _circle_wider(piece, line, k, lack)) is not None:
            return f"write radius {round_it.value} in the line of {piece.name_of(line)}", round_it
    if one == other:
        said = f"set them {rounded_up(lack)} farther apart, or take stones {rounded_up(lack)} smaller"
        return said, _every(piece, int(max(piece.stones.feature[[first, second]])), lack)
    if _along_one(piece, *lines):
        turns = f"write at gaps of {one} on the line of {other}"
        return f"{turns}, in place of its path and number: the two take turns", None
    way = piece.stones.frames[second, :, 3] - piece.stones.frames[first, :, 3]
    way *= lack / max(float(np.linalg.norm(way)), 1e-9)
    for k, step in ((1, way), (0, -way)):
        alone = (piece.stones.line == lines[k]).sum() == 1
        if alone and (moved := move(piece, lines[k], step, lines[1 - k])):
            said = f"move {(one, other)[k]} {moved.in_piece}, away from {(other, one)[k]}"
            return f"{said}, or take smaller stones", None
    for line, base in (lines, lines[::-1]) if deep else ():
        if piece.source_lines.rests_on(piece.call(line), piece.call(base)):  # moved, it goes along
            use = next(iter(piece.call(line).within), None)
            name = piece.name_of(line)
            if use is not None and (room := use.length_of("room")):
                return f"write room {rounded_up(room + deep)} in the line of {name}", None
            return f"leave {rounded_up(deep)} more room in {name}, or take smaller stones", None
    return f"move {one} and {other} {rounded_up(lack)} away from one another, or take smaller stones", None


def _circle_wider(piece: Piece, line: int, middle: int, lack: float) -> Mend | None:
    """What moves a circle of stones ``lack`` mm away from the stone it goes round; None where it goes round
    another place, or a word laid it."""
    call = piece.call(line)
    spots = piece.stones.frames[piece.stones.line == line, :, 3]
    off = float(np.linalg.norm(spots.mean(axis=0) - piece.stones.frames[middle, :, 3]))
    if call.within or not (call.given("circle") and call.given("radius")) or off > call.get("radius") / 4:
        return None
    return Mend("radius", rounded_up(call.get("radius") + lack), "least", line)


def laid_farther(piece: Piece, first: int, second: int, lack: float) -> str:
    """What leaves ``lack`` mm more room round a centre for stones that a word lays round that, of two stones
    by their number; "" where neither is laid round the other."""
    for stone, other in ((first, second), (second, first)):
        line, centre = (int(piece.stones.line[k]) for k in (stone, other))
        if room := _room_round(piece, line, centre, lack):
            return f"write room {room} in the line of {piece.name_of(line)}"
    return ""


def _room_round(piece: Piece, line: int, centre: int, lack: float) -> str:
    use = next(iter(piece.call(line).within), None)
    room = 0.0 if use is None or "for" not in use.arguments else use.length_of("room")
    if use is None or not room or centre not in indices_of(use.arguments["for"].value):
        return ""
    return rounded_up(room + lack)


def _along_one(piece: Piece, *lines: int) -> bool:
    """Whether stones of these lines are laid along one closed path, as many of each."""
    calls = [piece.call(line) for line in lines]
    paths = [call.get("along") for call in calls]
    if any(not isinstance(path, Lines) or len(path.lines) != 1 or not path.lines[0].closed for path in paths):
        return False
    alike = len({(path.lines[0].points.shape, path.lines[0].points.tobytes()) for path in paths}) == 1
    return alike and len({int((piece.stones.line == line).sum()) for line in lines}) == 1


def farther_apart(piece: Piece, block: str, more: float) -> str:
    """What lays the copies of a block ``more`` mm farther apart."""
    from .castings import line_of

    line = line_of(piece, block)
    call = piece.call(line.index) if line is not None else None
    if call is None or call.get("every") is None or not call.given("row"):
        return f"lay the copies of {block} {rounded_up(more)} farther apart"
    every = call.get("every")
    pitch = every[0] if isinstance(every, tuple) else every
    inner = (use for one in piece.bench.lines for use in one.within if use.name.startswith(f"{block}."))
    joint = next((use for use in inner if use.word.take("pitch") is not None), None)
    if joint is not None and not call.arguments["every"].given:
        return f"write pitch {rounded_up(pitch + 2 * more)} in the line of {asked(joint.name)}"
    return f"write every {rounded_up(pitch + more)} in the line of {block}"


def round_the_waist(piece: Piece, beads: int) -> str:
    """What lays beads that are brought off the rim of a wall or a body, by 'outset', round its side; "" for
    any other."""
    line = piece.source_lines.of(piece.call(beads), None, ()).line
    said = {clause.key.name: clause.value for clause in line.clauses} if line is not None else {}
    path = said.get("along")
    if path is None or "outset" not in said:
        return ""
    names = set(tree.words_in(path))
    home = (names - {"rim"}).pop() if len(names) == 2 and "rim" in names else ""
    sided = any("waist" in one.offers and f".{home}." in f".{one.name}." for one in piece.features)
    return f"write along waist of {home} in place of outset" if home and sided else ""


def on_rails(piece: Piece, prong: int) -> str:
    """What carries prongs that stand over air beside the metal they are said to be 'on'; "" for others."""
    line = piece.source_lines.of(piece.call(prong), None, ()).line
    if not isinstance(line, tree.Feature) or line.name is None or not piece.is_for(prong, Role.PRONG):
        return ""
    if all(clause.key.name != "on" for clause in line.clauses) or piece.source_lines.can_say(line, "rail"):
        return ""
    instead = f"write basket in place of {line.word.name} in the line of {piece.name_of(prong)}"
    return f"{instead}: its rails carry the prongs that stand beside that metal"


def block_of(piece: Piece, *features: int) -> Floats:
    """Where the innermost block that lines of work share stands (3, 4), mm."""
    names = [piece.name_of(one).split(".")[:-1] for one in features]
    shared = [one[0] for one in takewhile(lambda two: len(set(two)) == 1, zip(*names, strict=False))]
    made = {one.name: one.frames[0] for one in piece.features if len(one.frames) == 1}
    return made.get(".".join(shared), np.eye(3, 4))


def written(piece: Piece, *features: int) -> tuple[str, ...]:
    """What lines of work are called where a line beside them all is written, as "middle of plaque" for
    one inside a block that line is not in; last the block that is to stand in, as " in the block of
    stud", or nothing."""
    names = [piece.name_of(one).split(".") for one in features]
    shared = 0
    while all(len(name) > shared + 1 and name[shared] == names[0][shared] for name in names):
        shared += 1
    block = f" in the block of {names[0][shared - 1]}" if shared else ""
    return *(" of ".join(reversed(name[shared:])) for name in names), block


def setting_line(piece: Piece, stones: int, begun: str, metal: int | None = None) -> str:
    """The line of a setting, ``begun`` by its word and name, for the stones of a line, ``in`` some metal."""
    name, *into, block = written(piece, stones, *(() if metal is None else (metal,)))
    inside = f", in {into[0]}" if into else ""
    return f"write {begun} for {name}{inside}, below all these lines{block}"


def on_floor(piece: Piece, cut: int, part: int) -> str:
    """What stands raised work on the floor of a field that was sunk below it; "" for other work."""
    sunk, call, name = piece.features[cut], piece.call(part), piece.name_of(cut)
    if not call.get("raised", False) or "floor" not in sunk.offers:
        return ""
    if not call.given("along"):
        return f"stand it on the floor: write 'at floor of {name}'"
    if "floor-rim" in sunk.offers:
        return f"stand it on the floor: write 'along floor-rim of {name}', with 'inset' from there"
    return ""


def behind_its_setting(piece: Piece, finding: int, spot: Floats) -> Mend | None:
    """What stands a finding that was put within half a stone's width of its middle, at a ``spot`` (3,) no
    farther back than its point, behind what holds that stone; None elsewhere, or where its word cannot
    say so."""
    use = next((use for use in piece.call(finding).within if use.word.take("behind")), None)
    said = use.arguments.get("behind") if use is not None else None
    if use is None or (said is not None and said.given):
        return None
    off = spot - piece.stones.frames[:, :, 3]
    far, high = np.linalg.norm(off, axis=1), (off * piece.stones.frames[:, :, 2]).sum(axis=1)
    near = [
        k for k in np.argsort(far, kind="stable")[:1].tolist()
        if far[k] < piece.stones.of(k).width / 2 and high[k] > piece.stone_measures.form(k).tip
    ]  # fmt: skip
    lines = {int(piece.stones.line[k]) for k in near}
    made = (one.index for one in piece.features if one.index < finding and one.body is not None)
    holds = next((one for one in made if lines & piece.services.lines(one)), None)
    return None if holds is None else Mend("behind", written(piece, finding, holds)[1], feature=finding)
