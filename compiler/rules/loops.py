"""Loops and pins: too small, thin or thick, too small for the chain's end ring, too weak."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from ..bench.feature import Feature
from ..bench.hung import rings
from ..bench.roles import FigureOf, Role
from ..geometry import frames as fr
from ..judging.digits import below, mm, rounded_up
from ..judging.edges import Neighbours, inside_by
from ..judging.figure_rule import Reading
from ..judging.figures import figure, narrowest
from ..judging.rule import Mend

if TYPE_CHECKING:
    from ..bench.feature import Feature
    from ..judging.piece import Piece

SMALL = 6.0  # mm inside, a ring of wire no larger that stands above all is what the piece hangs by


def thick_loop(piece: Piece) -> Iterator[Reading]:
    """Loops of wire thicker than the metal they are rooted in."""
    flat = Neighbours(f for f in piece.features if f.body is not None)
    for loop in piece.features:
        if loop.opening is None or loop.body is None:
            continue
        inside, wire = loop.opening
        near = flat.near(loop.frames[:, :, 3], inside + wire)
        thin = min((_thick(loop, body) for body in near), default=np.inf)
        yield Reading(loop.index, wire, loop, scale=thin)


def _thick(loop: Feature, body: Feature) -> float:
    """Thickness of a flat body that a loop lying in its plane is rooted in; else infinite."""
    assert loop.opening is not None and body.outline is not None
    inside, wire = loop.opening
    for home in body.frames[:50]:
        local = fr.compose(fr.inverse(home)[None], loop.frames)
        level = np.abs(local[:, 2, 2]) > 0.98
        level &= (local[:, 2, 3] > body.low) & (local[:, 2, 3] < body.high)
        out = -inside_by(body.outline, local[:, :2, 3])
        if (level & (out > 0) & (out < inside / 2 + wire)).any():
            return body.high - body.low
    return float(np.inf)


def chain_too_big(piece: Piece) -> Iterator[Reading]:
    """Chains whose end ring does not go through."""
    clearance, clasp = (piece.bound("chain-too-big", what) for what in ("clearance", "clasp"))
    for feature in piece.features:
        chain = piece.call(feature.index).get("chain")
        if not isinstance(chain, tuple) or feature.opening is None:
            continue
        across, wire, inside = max(chain), min(chain), feature.opening[0]
        through, hooked = across + clearance, wire * clasp
        never = below(inside, hooked)
        yield Reading(
            feature.index, inside, feature, find="hooked" if never else "through",
            bound=hooked if never else through, words={"across": mm(across), "wire": mm(wire)},
        )  # fmt: skip


def small_loop(piece: Piece) -> Iterator[Reading]:
    """Loops too small to hang by."""
    return (Reading(one.index, _inside(one), one) for one in _loops(piece))


def small_loop_on_metal(piece: Piece) -> Iterator[Reading]:
    """A single loop, from which a piece of known weight hangs."""
    loops = _loops(piece)
    if sum(len(feature.frames) for feature in loops) != 1 or piece.call(loops[0].index).get("chain"):
        return  # a chain that is told: see chain-too-big
    if not below(_inside(loops[0]), piece.bound("small-loop", "least")):
        if any(casting.pinned and casting.hangs_by for casting in piece.casting_measures.castings):
            return
        load, grams = _load(piece, piece.weight), f"{piece.weight:.1f} g"
        said = {"load": load, "grams": grams, "chain": _with_its_chain(piece, loops[0])}
        yield Reading(loops[0].index, _inside(loops[0]), loops[0], find="loaded", words=said)


def _load(piece: Piece, grams: float) -> str:
    """Which limits of a loop hold where so many grams hang by it."""
    heavy, charm = (piece.bound("thin-loop", what) for what in ("heavy-mass", "charm-mass"))
    return "heavy" if grams > heavy else "pendant" if grams > charm else "charm"


def _loops(piece: Piece) -> list[Feature]:
    return [f for f in piece.features if f.opening is not None and f.body is not None]


def _inside(feature: Feature) -> float:
    assert feature.opening is not None
    return feature.opening[0]


def _with_its_chain(piece: Piece, loop: Feature) -> str:
    """How the loop's line is told the chain, by which it is measured; nothing where it takes none."""
    lines = piece.source_lines
    line = lines.of(piece.call(loop.index), None, ()).line
    passes = math.floor(10 * (_inside(loop) - piece.bound("chain-too-big", "clearance")) + 1e-6) / 10
    ring = f"{passes:g} x 0.6 mm"
    told = line is not None and lines.can_say(line, "chain")
    return f"say its chain's end ring, outside and wire ('chain {ring}' passes), or " if told else ""


def thin_loop(piece: Piece) -> Iterator[Reading]:
    """Loops of wire too thin to hang by."""
    return (_thin(*one, "charm") for one in _loop_wires(piece))


def thin_loop_on_metal(piece: Piece) -> Iterator[Reading]:
    """With the weight known that hangs by each, what the plan did not find already; wire that goes through
    the ear may be no thicker, and what hangs by that need not be."""
    from ..judging.loads import ear_wire, load_on

    for one, wire, key in _loop_wires(piece):
        if piece.is_for(one.index, Role.EAR_WIRE) or not below(wire, ear_wire(piece, one.index)):
            continue
        grams = load_on(piece, one.index)
        what = _load(piece, grams)
        if what != "charm" and not below(wire, piece.bound("thin-loop", "charm", one)):
            yield _thin(one, wire, key, what, f" for the {grams:.1f} g that hang by it")


def _thin(feature: Feature, wire: float, key: str, what: str, who: str = "") -> Reading:
    taken = "take wire of {}" if key == "wire" else f"say '{key} {{}}'"
    return Reading(
        feature.index, wire, feature, key=key, keys=(key,),
        words={"what": what, "it": "this strap" if key == "thick" else "the wire of this loop", "who": who},
        cure=lambda limit: (taken.format(rounded_up(limit)), Mend(key, rounded_up(limit), "least")),
    )  # fmt: skip


def _carrying_rings(piece: Piece) -> list[Feature]:
    """Small closed rings of wire that the text makes for itself and that stand above all other metal, where
    there is no loop."""
    metal = [one for one in piece.features if one.body is not None]
    if any(one.opening is not None for one in metal):
        return []
    found = {one: list(rings([one])) for one in metal if piece.is_for(one.index, Role.WIRE)}
    tops = [one.frames[:, 1, 3].max(initial=-np.inf) for one in metal if not found.get(one)]
    highest = max(tops, default=np.inf)
    return [
        one for one, rows in found.items() if rows and all(
            at[:, 1, 3].min() > highest and (ring.opening or (np.inf,))[0] <= SMALL for ring, at in rows
        )
    ]  # fmt: skip


def _loop_wires(piece: Piece) -> Iterator[tuple[Feature, float, str]]:
    """Every loop, strap and carrying ring of wire with its thickness and the clause that says it."""
    own = _carrying_rings(piece)
    for feature in piece.features:
        if feature.body is None:
            continue
        if feature.opening is not None:
            yield feature, feature.opening[1], "wire"
        elif piece.is_for(feature.index, Role.STRAP) or feature in own:
            strap = figure(piece.call(feature.index), FigureOf.SECTION)
            if strap is not None and (feature in own or isinstance(strap[1], tuple)):
                yield feature, narrowest(strap[1]), strap[0]
