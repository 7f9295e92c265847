"""The quick answer to how a piece freezes: its modulus, from its shape alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ...stdlib.alloys import ALLOYS, find_alloy
from ..freezing.heat import chvorinov
from ..freezing.modulus import Modulus, modulus
from ..making.result import Built
from ..measures.alike import groups
from ..measures.skin import Skin
from ..metal.part import spoken
from .caster import Caster


@dataclass(frozen=True)
class Quick:
    """The modulus of one casting; the time s of Chvorinov's rule for its heaviest place (round: sooner)."""

    called: str
    modulus: Modulus
    time: float


def quick(built: Built) -> list[Quick]:
    """The quick answer for each casting of a piece that was made, of those that are alike once."""
    found = []
    parts = [part for part in built.parts if not part.bought and find_alloy(part.metal) is not None]
    skins = [Skin(part.points, part.triangles, part.owner) for part in parts]
    for same in groups(skins, [(part.metal, bool(part.casting)) for part in parts]):
        part = parts[same[0]]
        caster = Caster(ALLOYS[part.metal], built.house)
        size = modulus(skins[same[0]])
        time = chvorinov(caster.melt, caster.mould, caster.pour) * size.most**2
        found.append(Quick(spoken(tuple(parts[k].casting for k in same)) or part.metal, size, time))
    return found


def quick_lines(found: Sequence[Quick]) -> list[str]:
    """The same as lines of text."""
    said = []
    for one in found:
        name = f"{one.called}: " if len(found) > 1 else ""
        x, y, z = (f"{value + 0.0:.1f}" for value in one.modulus.at)
        said.append(
            f"{name}modulus {one.modulus.whole:.2f} mm; {one.modulus.most:.2f} mm where it is heaviest, at "
            f"({x}, {y}, {z}), which freezes within {one.time:.2g} s (posy cast works it out)"
        )
    return said
