"""The plan in words and figures, the same in the terminal and on the page."""

from __future__ import annotations

from collections.abc import Sequence

from ..freezing.grid import FINER
from ..freezing.pools import Pool
from ..measures.kinds import Floats
from .caster import Figure
from .plan import LEFT_OUT, Cast
from .pouring import own_last

Facts = list[tuple[str, str]]


def letter(number: int) -> str:
    """A for the first, B for the second."""
    return chr(ord("A") + number % 26) + (str(number // 26) if number >= 26 else "")


def spot(at: Floats) -> str:
    """A place, mm."""
    return "(" + ", ".join(f"{float(value) + 0.0:.1f}" for value in at) + ")"


def sprues(cast: Cast, names: Sequence[str]) -> Facts:
    """Each sprue by its letter; ``names`` are those of the features."""
    found = []
    for k, (one, why) in enumerate(zip(cast.sprues, cast.proposal.why, strict=True)):
        on = names[cast.pouring.owner_of(one.at)]
        found.append((
            f"{letter(k)}{', ' + one.name if one.name else ''}",
            f"{one.across:g} mm thick, {one.long:g} mm long, on {on} at {spot(one.at)}, along "
            f"{spot(one.way)}; {one.area:.1f} mm2 to clean; {why}",
        ))  # fmt: skip
    return found


def freezing(cast: Cast) -> Facts:
    """How it freezes."""
    frozen, grid = cast.pouring.frozen, cast.pouring.frozen.grid
    last, at = own_last(cast.pouring)
    modulus = cast.modulus
    return [
        ("last to freeze", f"after {last:.2g} s, at {spot(at)}"),
        ("modulus", f"{modulus.whole:.2f} mm of all; {modulus.most:.2f} mm where it is heaviest, at "
                    f"{spot(modulus.at)}"),  # fmt: skip
        ("spots that may be left with holes", f"{told(cast.pouring.pools)} with these sprues, "
         f"{told(cast.proposal.before.pools)} with none"),
        ("reckoned on", f"a grid of {grid.pitch:g} mm, {grid.cells:,} cells, {frozen.steps} steps; walls thinner "
                        f"than {grid.pitch / FINER:.2g} mm may not be seen on it"),
    ]  # fmt: skip


def told(pools: Sequence[Pool]) -> str:
    """How many pools, and how much liquid is cut off in them."""
    return f"{len(pools)} ({sum(pool.volume for pool in pools):.3g} mm3 cut off)" if pools else "none"


def spots(cast: Cast, names: Sequence[str]) -> Facts:
    """Each place that may be left with holes by its number."""
    return [
        (str(k + 1), f"{names[cast.pouring.owner_of(pool.at)]} at {spot(pool.at)}: {pool.volume:.2g} mm3, solid "
                     f"after {pool.last:.2g} s, cut off after {pool.cut:.2g} s")
        for k, pool in enumerate(cast.pouring.pools)
    ]  # fmt: skip


def flask(cast: Cast) -> Facts:
    """The tree and what is weighed out."""
    stands, taken, mould = cast.tree, cast.weights, cast.flask
    if stands.alone and stands.room:
        said = "one, upright on the button"
    elif stands.room:
        said = (
            f"{stands.room}: {stands.around} round the stem, {stands.tiers} tiers {stands.pitch:.0f} mm apart, "
            f"sprues at {stands.angle:g} deg to the stem"
        )
    else:
        said = "none goes in"
    wax = cast.caster.figure("pour", "wax")
    return [
        (f"flask {mould.inside:g} x {mould.tall:g} mm", said),
        ("room left", f"{mould.wall:g} mm to the wall, {mould.top:g} mm at the top, {mould.gap:g} mm between waxes"),
        ("metal to weigh out", f"{taken.metal:.1f} g for {taken.count}: pieces {taken.pieces:.1f} g, sprues "
                               f"{taken.sprues:.1f} g, stem {taken.stem:.1f} g, button {taken.button:.1f} g"),
        ("wax", f"{taken.wax:.2f} g without the button; metal weighs {taken.times:.2f} times wax of {wax:g} g/cm3"),
        ("investment", f"{taken.slurry / 1000:.0f} cm3 when mixed, to the rim of the flask"),
    ]  # fmt: skip


def pouring(cast: Cast) -> Facts:
    """Temperatures as ranges, and what to ask."""
    caster = cast.caster
    known = {one.name: one for one in caster.settings}
    top = caster.range.liquidus
    return [
        ("melting", f"{caster.range.solidus:g} to {top:g} C{'' if caster.range.own else ' (not published: taken)'}"),
        ("metal as poured", f"{_range(known['superheat'], top)}; reckoned with {top + caster['superheat']:g} C"),
        ("flask as poured", f"{_range(known['flask'], 0)}; reckoned with {caster['flask']:g} C"),
        ("mould", f"{caster.investment.title}, {caster['conductivity']:g} W/(m K), {caster['mould-density']:g} g/cm3"),
        ("burn-out", "as the makers of your investment and your wax or resin say: ask your supplier"),
    ]  # fmt: skip


def _range(one: Figure, above: float) -> str:
    if one.low is None or one.high is None:
        return f"{above + one.value:g} C by bench.toml"
    return f"usual {above + one.low:g} to {above + one.high:g} C, ask your supplier"


def left_out() -> str:
    """What the reckoning does not know."""
    return f"Not reckoned: {LEFT_OUT}."
