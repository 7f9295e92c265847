"""The plan in words and figures, the same in the terminal and on the page."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np

from ..bench.laid import CASTING
from ..freezing.grid import FINER
from ..freezing.pools import Pool
from ..geometry import frames as fr
from ..making.result import Built
from ..measures.kinds import Floats
from .caster import Figure
from .plan import LEFT_OUT, Cast
from .pouring import own_last
from .sprues import Sprue

Facts = list[tuple[str, str]]
UNTOLD = f"Left out of this: {LEFT_OUT}."
WAYS = ("right", "left"), ("up", "down"), ("out", "inward")
STRAIGHT = 5.0  # deg


def letter(number: int) -> str:
    """A for the first, B for the second."""
    return chr(ord("A") + number % 26) + (str(number // 26) if number >= 26 else "")


def names(built: Built) -> list[str]:
    """What the lines of the text are called, for each feature, those of a casting by their own name."""
    castings = {feature.name for feature in built.features if feature.word == CASTING}
    found = []
    for feature in built.features:
        first, _, rest = feature.name.partition(".")
        found.append(rest.partition(".")[0] if rest and first in castings else first)
    return found


def spot(at: Iterable[float]) -> str:
    """A place, mm."""
    return "(" + ", ".join(f"{float(value) + 0.0:.1f}" for value in at) + ")"


def line_of(sprue: Sprue, number: int) -> str:
    """The line of text that puts this sprue there."""
    name = f"sprue feed-{letter(number).lower()}"
    if sprue.place:
        return f"{name}: at {sprue.place}, wire {sprue.across:g} mm"
    x, y, z = (f"{round(float(value), 2) + 0.0:g} mm" for value in sprue.at)
    lean = math.degrees(math.asin(max(-1.0, min(1.0, float(sprue.way[0])))))
    tilt = math.degrees(math.atan2(-float(sprue.way[1]), float(sprue.way[2])))
    turns = "".join(
        f", {word} {round(angle):d} deg" for word, angle in (("tilt", tilt), ("lean", lean)) if round(angle)
    )
    return f"{name}: at ({x}, {y}, {z}){turns}, wire {sprue.across:g} mm"


def kept(sprue: Sprue, number: int, cast: Cast) -> str:
    """How to keep a sprue that is proposed: the line to write, and in what block."""
    if cast.block is None:
        return f"to keep it, write: {line_of(sprue, number)}"
    name, frame = cast.block
    home = fr.inverse(frame)
    own = replace(sprue, at=home[:, :3] @ sprue.at + home[:, 3], way=home[:, :3] @ sprue.way)
    return f"to keep it, write in {name}: {line_of(own, number)}"


def pointing(way: Floats) -> str:
    """A direction in the words of the placing clauses: the nearest, and how far off that it is."""
    axis = int(np.argmax(np.abs(way)))
    name = WAYS[axis][0 if way[axis] > 0 else 1]
    off = math.degrees(math.acos(min(abs(float(way[axis])), 1.0)))
    return name if off < STRAIGHT else f"{name}, {off:.0f} deg off"


def as_cast(cast: Cast) -> str:
    """What a weight is: of one, where several are alike."""
    return "each as cast" if len(cast.castings) > 1 else "as cast"


def sprues(cast: Cast, called: Sequence[str]) -> Facts:
    """Each sprue by its letter; ``called`` are the names of the features."""
    found = []
    rods = None, *cast.joins
    for k, (one, why) in enumerate(zip(cast.sprues, cast.proposal.why, strict=True)):
        on = called[cast.owner_of(one.at)]
        name = f"{letter(k)}{', ' + one.name if one.name else ''}"
        where = one.place or f"{on} at {spot(one.at)}"
        said = f"{one.across:g} mm thick, {one.long:g} mm long, on {where}, pointing "
        said += f"{pointing(one.way)}; {one.area:.1f} mm2 to clean; {why}"
        join = rods[k]
        if join is not None:
            around = " round the piece" if len(join.spots) > 2 else ""
            said += f"; a rod as thick takes it{around} to the foot of A at the stem"
        found.append((name, f"{said}; {kept(one, k, cast)}" if one.feature < 0 else said))
    return found


def freezing(cast: Cast) -> Facts:
    """How it freezes."""
    frozen, grid = cast.pouring.frozen, cast.pouring.frozen.grid
    last, at = own_last(cast.pouring)
    modulus = cast.modulus
    heaviest = f"{modulus.most:.2f} mm where it is heaviest, at {spot(modulus.at)}"
    left = f"{told(cast.pouring.pools)} with these sprues, {told(cast.proposal.before.pools)} with none"
    on = (
        f"a grid of {grid.pitch:g} mm, {grid.cells:,} cells, {frozen.steps} steps; walls thinner than "
        f"{grid.pitch / FINER:.2g} mm may not be seen on it"
    )
    return [
        ("last to freeze", f"after {last:.2g} s, at {spot(at)}"),
        ("modulus", f"{modulus.whole:.2f} mm of all; {heaviest}"),
        ("spots that may be left with holes", left),
        ("worked out on", on),
    ]


def told(pools: Sequence[Pool]) -> str:
    """How many pools, and how much liquid is cut off in them."""
    return f"{len(pools)} ({sum(pool.volume for pool in pools):.3g} mm3 cut off)" if pools else "none"


def spots(cast: Cast, called: Sequence[str]) -> Facts:
    """Each place that may be left with holes by its number."""
    found = []
    for k, pool in enumerate(cast.pouring.pools):
        where = f"{called[cast.owner_of(pool.at)]} at {spot(pool.at)}"
        when = f"cut off after {pool.cut:.2g} s, solid after {pool.last:.2g} s"
        holes = f"holes of {cast.hole(pool):.1g} mm3 at most"
        found.append((str(k + 1), f"{where}: {pool.volume:.2g} mm3, {when}; {holes}"))
    return found


def flask(cast: Cast) -> Facts:
    """The tree and what is weighed out."""
    taken, mould = cast.weights, cast.flask
    wax = cast.caster.figure("pour", "wax")
    parts = (
        f"pieces {taken.pieces:.1f} g, sprues {taken.sprues:.1f} g, stem {taken.stem:.1f} g, "
        f"button {taken.button:.1f} g"
    )
    room = f"{mould.wall:g} mm to the wall, {mould.top:g} mm at the top, {mould.gap:g} mm between waxes"
    return [
        (f"flask {mould.inside:g} x {mould.tall:g} mm", _standing(cast)),
        ("room left", room),
        ("metal to weigh out", f"{taken.metal:.1f} g for {taken.count}: {parts}"),
        ("wax", f"{taken.wax:.2f} g without the button; metal weighs {taken.times:.2f} times wax of "
                f"{wax:g} g/cm3"),
        ("investment", f"{taken.slurry / 1000:.0f} cm3 when mixed, to the rim of the flask"),
    ]  # fmt: skip


def _standing(cast: Cast) -> str:
    stands = cast.tree
    if not stands.room:
        return "none goes in"
    if stands.alone:
        return f"one, upright on the button: at a stem {stands.why}"
    by = f", standing by {letter(0)}" if len(cast.sprues) > 1 else ""
    return (
        f"{stands.room}: {stands.around} round the stem, {stands.tiers} tiers {stands.pitch:.0f} mm apart, "
        f"sprues at {stands.angle:g} deg to the stem{by}"
    )


def pouring(cast: Cast) -> Facts:
    """Temperatures as ranges, and what to ask."""
    caster = cast.caster
    known = {one.name: one for one in caster.settings}
    top, mould = caster.range.liquidus, caster.investment.title
    own = "" if caster.range.own else " (not published for it: usual for its kind)"
    if caster.alloy.melts_to is not None and not caster.range.own:
        own = f" (published for it: {top:g} C)"
    metal, flask = (_range(known[name], above) for name, above in (("superheat", top), ("flask", 0.0)))
    return [
        ("melting", f"{caster.range.solidus:g} to {top:g} C{own}"),
        ("metal as poured", f"{metal}; worked out with {top + caster['superheat']:g} C"),
        ("flask as poured", f"{flask}; worked out with {caster['flask']:g} C"),
        ("mould", f"{mould}, {caster['conductivity']:g} W/(m K), {caster['mould-density']:g} g/cm3"),
        ("burn-out", "as the makers of your investment and your wax or resin say: ask your supplier"),
    ]


def _range(one: Figure, above: float) -> str:
    if one.low is None or one.high is None:
        return f"{above + one.value:g} C by bench.toml"
    return f"usual {above + one.low:g} to {above + one.high:g} C, ask your supplier"
