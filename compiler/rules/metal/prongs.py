"""Prongs and beads in the metal: what they stand on, lie over, and what stands behind them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import partial
from math import ceil
from typing import TYPE_CHECKING

import numpy as np

from ...bench.roles import Role
from ...judging.digits import below, mm, rounded_down, rounded_up
from ...judging.figure_rule import Reading
from ...judging.joining import joining, nearest
from ...judging.moves import lead
from ...judging.remedies import on_rails, round_the_waist

if TYPE_CHECKING:
    from ...bench.plan import Shape, Step
    from ...judging.bound import Bound
    from ...judging.forms import Spot
    from ...judging.joints import Body
    from ...judging.piece import Piece


def hemmed_prong(piece: Piece) -> Iterator[Reading]:
    """No room behind a prong for the tool that pushes it."""
    from ...judging.clearing import behind_prongs

    hems: dict[int, list[tuple[int, Spot, Bound]]] = {}
    for stone, around in enumerate(piece.stone_measures.surrounds):
        hem = around.hem
        if hem is not None and hem.owner >= 0:
            bound = piece.bound("hemmed-prong", "least", hem.owner)
            if below(hem.figure, bound):
                hems.setdefault(hem.owner, []).append((stone, hem, bound))
    for owner, found in hems.items():
        remedy = ", or ".join(behind_prongs(piece, owner, found))
        for stone, hem, bound in found:
            yield Reading(
                owner, hem.figure, hem.at, bound=bound, words={"which": str(stone + 1)}, cure=remedy or None
            )


NEARLY = 0.85  # of the joint that is wanted, from which a prong may be as much thinner


def footless_prong(piece: Piece) -> Iterator[Reading]:
    """A prong rooted in too little metal."""
    for root in piece.stone_measures.roots:
        if root.figure > 0.01:
            yield Reading(root.owner, root.figure, root.at, cure=partial(_root_remedy, piece, root))


def _root_remedy(piece: Piece, root: Spot, bound: float) -> str:
    """A prong on rails of thinner wire where little lacks of what it should be joined over, else on thicker
    rails; any other is rooted deeper."""
    prong, share = root.owner, root.figure / bound
    call = piece.call(prong)
    line = piece.source_lines.of(call, None, ()).line
    uses = (use.arguments for use in reversed(call.within))
    rail = next((said["rail"].value for said in uses if "rail" in said), None)
    if line is None or not isinstance(rail, float | int) or not piece.source_lines.can_say(line, "rail"):
        return _rooted_deeper(piece, prong, bound - root.figure)
    if share > NEARLY:
        wire = float(piece.rods.wire[piece.rods.feature == prong].max())
        return f"write wire {rounded_down(0.99 * share * wire)}: thinner prongs, on the same rails"
    return f"write rail {rounded_up(1.05 * rail / share)}: it is joined to thicker rails by more"


MORE_FOOT = 1.1  # of what lacks, by which a wire that leans or stands on a slope is rooted deeper


def _rooted_deeper(piece: Piece, prong: int, lack: float) -> str:
    """A round wire is joined over four times its depth in metal by its thickness, besides its own end: it
    goes so much deeper, where its line says how deep."""
    foot, wires = piece.call(prong).figure("foot"), piece.rods.wire[piece.rods.feature == prong]
    rest = "move it over the metal, or carry it by a second rail, as a basket does"
    if not isinstance(foot, float) or not len(wires) or not piece.can_say(prong, "foot"):
        return f"root it deeper, {rest}"
    deeper = rounded_up(foot + MORE_FOOT * lack * float(wires.max()) / 4)
    return f"write foot {deeper} in the line of {piece.name_of(prong)}; or {rest}"


SPARE = 0.02  # mm, what chords take of a bead


def uncovered_girdle(piece: Piece) -> Iterator[Reading]:
    """Metal over the girdle, but too little of it."""
    for stone, around in enumerate(piece.stone_measures.surrounds):
        if not around.grip > 0:
            continue  # see loose-stone
        lap = min((lap for lap in around.laps if lap.over >= around.grip), key=lambda one: one.over)
        owner = lap.owner if lap.owner >= 0 else int(piece.stones.feature[stone])
        yield Reading(
            owner, around.grip, lap.at, words={"which": str(stone + 1)},
            cure=partial(_lap_remedy, piece, stone, owner, around.grip),
        )  # fmt: skip


def _lap_remedy(piece: Piece, stone: int, owner: int, grip: float, bound: float) -> str:
    """Thicker beads by their own clause, more of a prong over its girdle; bending draws beads off stones that
    were set before it."""
    wire = piece.call(owner).get("wire")
    held = [one for one in piece.grips if (one.stone, one.feature) == (stone, owner)]
    if held and piece.can_say(owner, "bite"):
        least_of = min(held, key=lambda one: one.bite)
        bite = least_of.bite + bound - grip + SPARE / 2
        bite = max(bite / least_of.wire, piece.bound("prong-astray", "least", owner) + SPARE)
        return f"write bite {ceil(100 * bite)} % in the line of {piece.name_of(owner)}, or use thicker wire"
    if not piece.is_for(owner, Role.GRAINS) or wire is None:
        return "bring it nearer to the stone, or use thicker wire"
    thicker = f"write bead {rounded_up(float(wire) + 2 * (bound - grip) + SPARE)}"
    bent = any(one.kind == "bent" for one in _around(piece.bench.plan().steps, owner))
    return f"{thicker}, or set the stones after the bending: their lines below it" if bent else thicker


def _around(steps: Iterable[Step], feature: int) -> Iterator[Shape]:
    """The shapes that the steps of a feature stand in, parts and bent work."""
    for step in steps:
        inside = list(_around(step.shape.steps, feature))
        if inside or any(one.feature == feature for one in step.shape.steps):
            yield from (step.shape, *inside)


HIGH = 8.0  # mm above metal, from where stones are let down to it
ROOT = 0.1  # mm, of metal a bead lies in at the least
JOINED = 0.1  # of their size, by which balls of a row run into one another to hold


def unattached_bead(piece: Piece) -> Iterator[Reading]:
    """Beads and prongs that float."""
    seen: set[int] = set()
    remedies: dict[str, str] = {}  # one for all that a line makes
    for body in piece.casting_measures.bodies:
        first, owners = body.casting not in seen, [one for one in body.shell.owners if one >= 0]
        seen.add(body.casting)
        if body.small and not first:
            what, name = "a bead" if owners[0] in piece.sets.beads else "a prong", piece.name_of(owners[0])
            if name not in remedies:
                remedies[name] = _float_remedy(piece, owners[0], body, piece.casting_measures.bodies)
            bodies = float(len(piece.casting_measures.bodies))
            yield Reading(
                owners[0], bodies, body.shell.centre, bound=1.0, words={"what": what}, cure=remedies[name]
            )


def _over_metal(piece: Piece, prong: Body, gap: float, line: int) -> float:
    """How far the girdle of a stone that a seat lets in stands above the metal that lies a ``gap`` below the
    foot of its prong, mm; 0 for stones without a seat."""
    mine = np.flatnonzero(piece.stones.line == line)
    off = np.linalg.norm(piece.stones.frames[mine, :, 3] - prong.shell.centre, axis=1)
    stone = int(mine[off.argmin()])
    feet = (piece.stones.frames[stone, :, 3] - prong.skin.points) @ piece.stones.frames[stone, :, 2]
    return gap + float(feet.max()) if stone in piece.seated else 0.0


def _walled(piece: Piece, owner: int) -> str:
    """The cup along whose rim the text lays a row, beside whose wall it floats; "" of another."""
    line = piece.source_lines.of(piece.call(owner), None, ()).line
    along = next((one.value for one in line.clauses if one.key.name == "along"), None) if line else None
    name = getattr(getattr(along, "thing", None), "name", "")
    walls = (one.name for one in piece.features if name and "waist" in one.offers)
    return name if any(one.startswith(f"{name}.") for one in walls) else ""


def _nearer_its_own(piece: Piece, owner: int, around: list[Body], off: float) -> str:
    """A prong beside the rails of its own setting, which go wherever the line is moved: more of it over the
    girdle brings it to them; "" of any other."""
    name, bite = piece.name_of(owner), piece.call(owner).figure("bite")
    its_own = any(name in map(piece.name_of, one.shell.owners) for one in around if not one.small)
    wires = piece.rods.wire[piece.rods.feature == owner]
    if not its_own or bite is None or not len(wires) or not piece.can_say(owner, "bite"):
        return ""
    more = float(bite) + (off + ROOT) / float(wires.max())
    return f"write bite {ceil(100 * more)} % in the line of {name}"


def _float_remedy(piece: Piece, owner: int, body: Body, bodies: list[Body]) -> str:
    """What reaches the nearest metal: the stones that it is to hold let down; a bead that only just floats
    is sunk; of a row without any beneath it, as a ring of balls, each is brought to the next; one that is
    farther off than it is long cannot be."""
    if carried := on_rails(piece, owner):
        return carried
    low, high = body.skin.box
    lines = piece.services.lines(owner)
    if len(lines) == 1:
        # What was made for these stones is let down with them.
        mine = {-1, *(k for k in range(len(piece.features)) if min(lines) in piece.services.lines(k))}
        others = [one for one in bodies if not one.small and not set(one.shell.owners) <= mine]
        gaps = [body.gap(one, HIGH) for one in others if one.meets(body, HIGH)]
        if gaps and min(gaps) < HIGH:
            stones = piece.name_of(lead(piece, min(lines)))
            far = max(min(gaps) + ROOT, _over_metal(piece, body, min(gaps), min(lines)))
            return f"let {stones} down by {rounded_up(far)}: it stands so far above the metal"
    reach = float((high - low).max())
    around = [one for one in bodies if one is not body and one.meets(body, reach)]
    near = [(body.gap(one, reach), one.small) for one in around]
    off = min((gap for gap, small in near if not small), default=reach)
    out = piece.call(owner).figure("outset") if "outset" in piece.clauses_of(owner) else None
    if off < reach and out is not None and (nearer := float(out) - off - ROOT) > 0:
        way = "say 'along waist of {0}'; then leave outset out" if (cup := _walled(piece, owner)) else ""
        return way.format(cup) + "; or " * bool(cup) + f"write outset {mm(nearer)}"
    beside = nearest(piece, body) if off < reach and len(piece.features[owner].frames) == 1 else None
    if beside is not None:
        return joining(piece, body, beside, owner, piece.name_of(max(beside.second, 0)))
    if off < reach:
        if aside := round_the_waist(piece, owner) or _nearer_its_own(piece, owner, around, off):
            return aside
        name, deeper = piece.name_of(owner), rounded_up(off + ROOT)
        return f"sink {name} {deeper} inward, as it stands {mm(off)} off; or bring it over the metal"
    if near and (apart := min(near)[0]) < off:
        closer = rounded_up(apart + max(ROOT, JOINED * reach))
        told = f"it stands {mm(apart)} from the next one: lay them {closer} closer together"
        return f"{told}, so that they join, or bring it over the metal"
    return f"it stands more than {mm(off)} off: bring it over the metal, with the stones it is to hold"
