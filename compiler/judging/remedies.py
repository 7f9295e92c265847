"""Changes of text that surely answer a verdict of several rules."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import takewhile
from typing import TYPE_CHECKING

import numpy as np

from ...lang import tree
from ..bench.feature import Feature
from ..bench.hung import asked
from ..bench.roles import FigureOf, Role
from ..geometry import frames as fr
from .beds import SQUARE
from .digits import rounded_up
from .figures import figure, figures, narrowest
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
