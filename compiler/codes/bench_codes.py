"""Faults the bench finds in figures that cannot be made, by code: the same records as the language's.

``posy why NAME`` prints them; a test runs every wrong example and wants exactly that code, and
every right one and wants none. Bench rules (what can be made but should not) are in rules/.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from ...lang.codes import Code
from .shape_codes import SHAPE_CODES
from .word_codes import WORD_CODES

_BAR = "bar frame: size 12 x 6 x 2.5 mm\n"
_ROW = "stone row: round 2.5 mm, gem garnet, row 3, every 2.8 mm\n"

_ALL = (
    # --- metal
    Code(
        "no-metal",
        "There is no metal where some is needed.",
        "A cut works on metal above it in the text, and a piece without metal cannot be cast.",
        "drill hole: across 1 mm\n" + _BAR,
        _BAR + "drill hole: at face of frame, across 1 mm\n",
    ),
    Code(
        "under-beside",
        "A body under several spots does not reach them all.",
        "Under a row a body stands once, under its middle; what lies beside it has nothing below.",
        _ROW + "disc floor: across 3 mm, thick 1 mm, under row\n",
        _ROW + "each one in row\n  disc floor: across 3 mm, thick 1 mm, under one\n",
    ),
    Code(
        "crumb-left-out",
        "A grain of metal, or of air, is too small to be made.",
        "It holds on to nothing and is less than a print shows, so it is left out of the files; most "
        "likely two parts only just meet there.",
        _BAR + "ball grain: across 0.1 mm, up 5 mm\n",
        _BAR + "ball grain: across 1 mm, up 2 mm, out 2.2 mm\n",
        shown=False,
    ),
    Code(
        "no-wall",
        "The inside leaves no wall.",
        "What is cut away reaches the outside, so nothing would be cast between.",
        "tube collet: outside 4 mm, inside 4 mm, long 3 mm\n",
        "tube collet: outside 4 mm, inside 2.4 mm, long 3 mm\n",
    ),
    Code(
        "wall-too-thick",
        "The walls leave nothing to hollow.",
        "Two walls side by side are as wide as the body.",
        _BAR + "hollow back: in frame, wall 3 mm, roof 1 mm\n",
        _BAR + "hollow back: in frame, wall 1 mm, roof 1 mm\n",
    ),
    Code(
        "roof-too-thick",
        "The roof leaves nothing to hollow.",
        "The roof is as thick as the body is high.",
        _BAR + "hollow back: in frame, wall 1 mm, roof 2.5 mm\n",
        _BAR + "hollow back: in frame, wall 1 mm, roof 1 mm\n",
    ),
    Code(
        "not-hollowable",
        "This body cannot be hollowed from the back.",
        "Hollowing follows a flat outline; balls, rods and wires have none.",
        "ball bead: across 6 mm\nhollow back: in bead, wall 1 mm, roof 1 mm\n",
        _BAR + "hollow back: in frame, wall 1 mm, roof 1 mm\n",
    ),
    # --- shapes
    Code(
        "corner-too-round",
        "The corner is rounder than the body is wide.",
        "Two rounded corners meet in the middle of the narrow side at most.",
        "bar frame: size 12 x 6 x 2.5 mm, corner 3.5 mm\n",
        "bar frame: size 12 x 6 x 2.5 mm, corner 3 mm\n",
    ),
    Code(
        "dome-too-high",
        "The dome is higher than half a ball.",
        "A dome is a piece of a ball; past its middle it would close again.",
        "dome shell: across 10 mm, height 6 mm\n",
        "dome shell: across 10 mm, height 4 mm\n",
    ),
    Code(
        "rod-too-short",
        "The rod is shorter than its round tip.",
        "A round tip is half a ball; it takes half the diameter.",
        "rod post: wire 2 mm, long 0.5 mm, tip round\n",
        "rod post: wire 2 mm, long 3 mm, tip round\n",
    ),
    Code(
        "odd-size",
        "No stone or outline has these measures.",
        "Every cut has a range of length to width, and stones are 0.5 to 100 mm.",
        "stone drop: pear 20 x 2 mm, gem ruby\n" + _BAR,
        "stone drop: pear 8 x 5 mm, gem ruby\n" + _BAR,
    ),
    Code(
        "finger-size",
        "The finger size cannot be read.",
        "A size needs its scale, because 7 means three different rings in three countries.",
        'band shank: finger "7", wide 3 mm, thick 1.8 mm\n',
        'band shank: finger "us 7", wide 3 mm, thick 1.8 mm\n',
    ),
    # --- lines
    Code(
        "path-too-short",
        "A path has too few spots.",
        "A path runs from spot to spot; a closed one needs three.",
        "path way: through (0, 0) to (4, 0 mm), closed\n" + _BAR,
        "path way: through (0, 0) to (4, 0 mm) to (0, 3 mm), closed\n" + _BAR,
    ),
    Code(
        "spots-coincide",
        "Two spots in a row are the same.",
        "Between them the path has no direction.",
        "path way: through (0, 0) to (4, 0 mm) to (4, 0 mm)\n" + _BAR,
        "path way: through (0, 0) to (4, 0 mm) to (8, 0 mm)\n" + _BAR,
    ),
    Code(
        "path-not-closed",
        "An outline is not a flat closed path.",
        "Only a path that comes back to its start encloses metal.",
        "path way: through (0, 0) to (4, 0 mm) to (0, 3 mm)\n"
        "plate leaf: outline way, thick 1 mm\n",
        "path way: through (0, 0) to (4, 0 mm) to (0, 3 mm), closed\n"
        "plate leaf: outline way, thick 1 mm\n",
    ),
    Code(
        "path-crosses-itself",
        "An outline crosses itself or encloses nothing.",
        "Where it crosses, inside and outside change places.",
        "path way: through (0, 0) to (4, 4 mm) to (4, 0 mm) to (0, 4 mm), closed\n"
        "plate leaf: outline way, thick 1 mm\n",
        "path way: through (0, 0) to (4, 0 mm) to (4, 4 mm) to (0, 4 mm), closed\n"
        "plate leaf: outline way, thick 1 mm\n",
    ),
    Code(
        "bend-too-tight",
        "A path bends tighter than the wire on it can.",
        "On the inner side the wire would fold over itself.",
        "path way: through (0, 0) over (0.2, 0.2 mm) to (0.4, 0 mm)\n"
        "wire stem: along way, round 1 mm\n",
        "path way: through (0, 0) over (2, 2 mm) to (4, 0 mm)\nwire stem: along way, round 1 mm\n",
    ),
    Code(
        "path-meets-itself",
        "A path comes back on itself nearer than the wire is wide.",
        "One wire cannot run through itself; two wires can be soldered where they cross.",
        "path way: through (0, 0) to (6, 6 mm) to (6, 0 mm) to (0, 6 mm)\n"
        "wire stem: along way, round 1 mm\n",
        "path way: through (0, 0) to (6, 6 mm) to (6, 0 mm)\nwire stem: along way, round 1 mm\n",
    ),
    Code(
        "inset-too-far",
        "Nothing is left of a path moved so far inward.",
        "Moved past its middle a closed path vanishes.",
        _BAR + "ball grain: along rim of frame, inset 4 mm, fit 1 mm, across 0.8 mm\n",
        _BAR + "ball grain: along rim of frame, inset 0.5 mm, fit 1 mm, across 0.8 mm\n",
    ),
    # --- placing
    Code(
        "clauses-disagree",
        "Two clauses of a line say different things of one matter.",
        "A part stands at places, under a part or along a path; its copies lie in a row, a "
        "circle or a grid.",
        _BAR + "ball grain: across 1 mm, row 3, every 2 mm, circle 4, radius 3 mm\n",
        _BAR + "ball grain: across 1 mm, circle 4, radius 3 mm\n",
    ),
    Code(
        "clause-missing",
        "A clause needs another one beside it.",
        "A row needs its spacing, a circle its radius, a polygon its size.",
        _BAR + "ball grain: across 1 mm, row 3\n",
        _BAR + "ball grain: across 1 mm, row 3, every 2 mm\n",
    ),
    Code(
        "no-places",
        "A list of places is empty.",
        "Nothing can stand at no place.",
        "path way: through (0, 0) to (9, 0 mm)\n" + _BAR
        + "ball grain: at corners of way, across 1 mm\n",
        "path way: through (0, 0) to (9, 0 mm) to (9, 9 mm)\n" + _BAR
        + "ball grain: at corners of way, across 1 mm\n",
    ),
    Code(
        "too-many-copies",
        "There are more copies than posy makes.",
        "posy stops at 20,000 copies, so that no file runs for ever.",
        _BAR + "ball grain: across 1 mm, grid 200 x 200, every 2 mm\n",
        _BAR + "ball grain: across 1 mm, grid 5 x 2, every 2 mm\n",
    ),
    Code(
        "several-stones",
        "One setting for several stones cannot be moved as a whole.",
        "What is for a stone turns and moves about that stone. For stones that stand or face "
        "differently there is no one such place.",
        _ROW + "prong claws: for row, turn 45 deg\n",
        _ROW + "each one in row\n  prong claws: for one, turn 45 deg\n",
    ),
    Code(
        "too-few",
        "Too few to go round.",
        "Turning makes more of a thing: two or more in all.",
        _BAR + "wheel more: of frame, times 1\n",
        _BAR + "wheel more: of frame, times 2, by 90 deg\n",
    ),
    # --- the solid
    Code(
        "too-many-triangles",
        "The piece has more triangles than posy makes.",
        "posy stops there, so that no file takes all time and memory.",
        _BAR + "ball grain: across 60 mm, grid 100 x 100, every 3 mm\n",
        _BAR + "ball grain: across 1 mm, grid 5 x 2, every 2 mm\n",
        shown=False,
    ),
    Code(
        "unsound-solid",
        "The geometry kernel could make no sound solid of a line.",
        "This should not happen: change the figures a little, and please report the text.",
        "",
        _BAR,
        shown=False,
    ),
    Code(
        "piece-lost",
        "One piece of a series was lost: the process that made it died.",
        "Most often the machine ran out of memory. The other pieces of the series are kept. Make the "
        "lost one by itself with --set, close what else runs, or let a coarser --tolerance ask for less.",
        "",
        _BAR,
        shown=False,
    ),
)

CODES: Mapping[str, Code] = MappingProxyType({code.name: code for code in (*_ALL, *SHAPE_CODES, *WORD_CODES)})
