"""Which turn of a casting has it hang as it should: each is tried on its loops and its weight."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ..bench.feature import Feature
from ..bench.hung import SQUARE
from ..geometry import frames as fr
from ..measures.kinds import Floats
from ..measures.skin import Skin
from .castings import Casting, line_of
from .digits import above
from .hanging import at_rest, carrying
from .moves import TURNS
from .piece import Piece

# A clause, its axis (x right, y up, z to the onlooker) and degrees, in the order they are tried.
TILTS = ("tilt", 0, 90.0), ("tilt", 0, -90.0)
OVER = (("turn", 2, 180.0),)
LYING = 0.7  # of the way from a loop to the weight that leads to the back or the front


def righted(piece: Piece, casting: Casting) -> str:
    """What to write to have a casting hang level below its loops with its face out; nothing where no
    quarter or half turn does."""
    rest, line = casting.rest, line_of(piece, casting.name)
    if rest is None:
        return ""
    stands = np.eye(3) if line is None else line.frames[0, :, :3]
    hung = line is not None and piece.call(line.index).given("hangs-in")
    aside = rest.centre - rest.loops[0].middle
    lies = abs(aside[2]) > LYING * np.linalg.norm(aside)
    over = rest.hang.flips and len(rest.loops) == 1
    for key, axis, degrees in TILTS if lies else OVER if over else ():
        turn = stands @ fr.turned(axis, degrees)[0, :, :3] @ stands.T
        if _hangs_well(piece, casting, turn, hung, rest.grams, rest.centre):
            way = "it lies toward you: stand it up" if lies else "turn it as it is to hang"
            return f"{way}, '{key} {degrees:g} deg' {_where(piece, line, key)}"
    return ""


def _hangs_well(
    piece: Piece, casting: Casting, turn: Floats, hung: bool, grams: float, centre: Floats
) -> bool:
    """Whether a casting turned by a rotation (3, 3) pleases both rules of how a piece hangs; one that is
    ``hung`` in a loop, without its own lying across that."""
    skin = casting.skin
    turned = Skin(skin.points @ turn.T, skin.triangles, skin.owner)
    loops = [replace(one, middle=turn @ one.middle, axis=turn @ one.axis) for one in casting.loops]
    rest = at_rest(carrying(loops, turned), grams, turn @ centre, turned)
    if rest is None or rest.hang.flips or rest.sideways:
        return False
    across = hung and any(abs(turn @ one.axis @ one.axis) < SQUARE for one in casting.loops)
    line = rest.loops[0].feature
    level = not above(abs(rest.hang.tilt_forward), piece.bound("tips-forward", "most", line))
    return level and not across and rest.share >= piece.bound("top-heavy", "ring-above", line)


def _where(piece: Piece, line: Feature | None, key: str) -> str:
    """Where a turn of all of a casting is written: at its line, at a new one, or at a workpiece of its own
    where that line takes no turn, or has one."""
    if line is None:
        return "at a casting with all its lines"
    said, lines = piece.call(line.index), piece.source_lines
    head = lines.of(said, None, ()).line
    if any(said.given(key) for key, _ in TURNS) or (head is not None and not lines.can_say(head, key)):
        return f"at a workpiece with all the lines of {line.name}"
    return f"at {line.name}"
