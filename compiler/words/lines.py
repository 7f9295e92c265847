"""Lines and spots of one's own: no metal, only where metal can go."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ...lang.bench import Call
from ...lang.words import Kind, Take, Word
from ..bench.along import no_inset, part_of
from ..bench.faces import on_face
from ..bench.feature import Drawn, Feature, Lines
from ..bench.path import FLAT_HELP, PATH_HELP, flat_sides, path_offers
from ..bench.placement import placed, without
from ..geometry import frames as fr
from ..geometry.facing import FACINGS, faced, on_edge, turned_to
from ..geometry.line import Line
from ..geometry.waves import waved
from .common import LARGEST, length, size
from .contour import CONTOUR, CONTOURS
from .finger_clauses import finger_takes, risings
from .round_lines import MOST_TURNS, about_finger, flat, inside_of, spiral
from .spot_lines import LONGEST, bent, moved, run_takes, through

if TYPE_CHECKING:
    from ..bench.piece_bench import PieceBench

FACING_HELP = (
    "which way it looks, so where wire bulges and stones face: away from finger or wrist, to "
    "the finger, or as the axes say"
)


def facing() -> Take:
    """The clause that says which way a line looks."""
    return Take("facing", Kind.CHOICE, FACING_HELP, choices=tuple(FACINGS))


MEETS = 0.01  # mm between the ends of a line laid round a band: it closes there
MOVED = "inset", "outset", "rise"  # what takes a path off the edge it lies beside
FINE_STEP = 0.1  # mm between spots of a line laid upon a face


def _line(bench: PieceBench, call: Call) -> Feature:
    if call.get("both-sides"):
        call.refuse(
            "clauses-disagree", "a path is drawn once", "both-sides", remedy="write one for each side"
        )
    frames = placed(without(call, "inset", "stretch", "on", "around"))
    if call.given("beside"):
        lines = beside(call)
    elif any(call.given(name) for name in OUTLINES):
        lines = flat(bench, call)
    elif call.given("spiral"):
        lines = (spiral(call),)
    elif call.given("through") or call.given("runs"):
        lines = (_drawn(call, frames[0]),)
    else:
        lines = (about_finger(call),)
    lines = tuple(_waved(call, line) for line in lines)
    if call.given("on"):
        lines = tuple(drawn_on(call, line.moved(frame)) for line in lines for frame in frames)
        frames = fr.identity()
    lines = tuple(_looking(call, line, frames[0]) for line in lines)
    feature = bench.new_feature(call, frames)
    offers = path_offers(lines[0])
    feature.offers = offers | {name: one for name, one in flat_sides(lines[0]).items() if name not in offers}
    kept = call.given("beside") and not any(call.given(name) for name in MOVED)
    on_ground = isinstance(call.get("beside"), Drawn) and np.array_equal(frames, fr.identity())
    edge = bool(kept and call.get("beside").edge)
    drawn = Drawn(lines, edge, call.get("beside").turned) if on_ground else Lines(lines, edge)
    feature.offers["path"] = lambda: drawn
    if call.given("finger") or call.given("inside"):
        across, high = inside_of(call)
        feature.about = across if across == high else None
    return feature


def _looking(call: Call, line: Line, frame: np.ndarray) -> Line:
    """The line looking the way its clauses say."""
    facing = call.get("facing")
    if call.get("edgewise"):
        return on_edge(line, frame, facing)
    if facing is not None and call.given("beside"):
        return turned_to(line, frame, facing)
    return line


def _waved(call: Call, line: Line) -> Line:
    """The line in the waves its clauses say."""
    if not call.given("waves"):
        return line
    count = call.get("waves")
    sway = call.get("sway", line.length() / count / 8)
    made = waved(line, count, sway)
    if made is None:
        call.refuse(
            "off-the-face", "its waves reach beside the face that path lies on", "sway",
            seen=f"{sway:.4g} mm", remedy="make sway smaller",
        )
    return made


def drawn_on(call: Call, line: Line) -> Line:
    """A line drawn flat, laid upon the real face of `on`, looking as the face does."""
    if not line.length() <= LONGEST:
        call.refuse(
            "out-of-range", f"{call.name} is too long to be laid upon a face", seen=f"{line.length():.4g} mm",
            limit=f"at most {LONGEST:,.0f} mm", remedy="check its spots and their units",
        )
    fine = line.fine(FINE_STEP)
    local = fr.identity(len(fine.points))
    local[:, :, 3] = fine.points * (1.0, 1.0, 0.0)
    stood = on_face(call, local)
    spots, outs = stood[:, :, 3], stood[:, :, 2]
    round_ = not line.closed and len(spots) > 3 and bool(np.linalg.norm(spots[0] - spots[-1]) < MEETS)
    whole = slice(None, -1 if round_ else None)
    return Line(spots[whole], outs[whole], line.closed or round_)


def beside(call: Call) -> tuple[Line, ...]:
    """The lines of `beside`: parts of them, moved in, out to the side, or along their outs."""
    made = []
    by = call.get("inset", 0.0) - call.get("outset", 0.0)
    for line in call.get("beside").lines:
        moved = line.inset(by)
        if moved is None or len(moved.points) < 2:
            no_inset(call, call.get("inset", 0.0))
        if rise := call.get("rise", 0.0):
            moved = Line(moved.points + rise * moved.outs, moved.outs, moved.closed)
        part = part_of(call, moved.closed)
        made.append(moved if part is None else moved.part(*part))
    return tuple(made)


def _drawn(call: Call, frame: np.ndarray) -> Line:
    """The line of `through` or `runs`."""
    closed = bool(call.get("closed"))
    points = through(call, closed) if call.given("through") else bent(call)
    facing = None if call.get("edgewise") else call.get("facing")
    return moved(call, faced(points, closed, frame, facing))


_BESIDE, _THROUGH = ("beside",), ("through",)
_FINGER = ("finger", "inside")
OUTLINES = tuple(name for name in CONTOURS if name != "outline")
_SHAPED = ("beside", "through", *OUTLINES, "spiral", "runs", *_FINGER)
_MOVED = tuple(name for name in _SHAPED if name != "spiral")
WORDS = (
    Word(
        "path",
        "A path to run things along: straight with 'to', in an arc with 'over'; with 'on' it is laid upon a "
        "face. Which way it looks, so where wire bulges and stones face, does not depend on the end it is "
        "drawn from: a flat one looks toward you, one that goes an eighth or more of the way round finger "
        "or wrist away from it, any other toward you where it can. An upright one that cannot looks outward "
        "from its own middle if closed; else from the piece's middle where it can, else to the outer side "
        "of its bend, so that flat wire lies in the bend. 'facing' says another way.", "paths",
        (
            Take(
                "through", Kind.POINTS,
                "its spots, or places of parts: (0, 0) to (4, 0 mm) over (6, 2 mm) to (4, 4 mm)",
            ),
            Take("beside", Kind.PATH, "made from another path: a rim, a girdle, a path of yours"),
            *(take for take in CONTOUR if take.name != "outline"),
            *run_takes(),
            Take(
                "spiral", Kind.LENGTHS,
                "a flat spiral from one diameter to another, begun at its right: 12 mm to 2 mm",
                least=0.0, most=LARGEST,
            ),
            Take(
                "turns", Kind.NUMBER, "how often it goes round, anti-clockwise; less than zero: clockwise",
                default="2", least=-MOST_TURNS, most=MOST_TURNS, goes_with=("spiral",),
            ),
            finger_takes()[0],
            size("inside", "round a finger or wrist of this diameter, or 60 x 50 mm of a bangle", 1, 2),
            length(
                "open", "of a path round a wrist: stands open so far at the back", goes_with=_FINGER,
                not_with=("arc",),
            ),
            Take(
                "arc", Kind.ANY,
                "only from one angle to another, from the head to the right; more than once round where "
                "they overlap: arc -30 deg to 390 deg", goes_with=_FINGER,
            ),
            Take(
                "advance", Kind.LENGTH,
                "how far along the finger it moves on from its start to its end, as a coil does",
                goes_with=_FINGER, not_with=("open",),
            ),
            Take(
                "late", Kind.FLAG, "moves on near its ends, level at the back, as arms that pass each other",
                goes_with=("advance",),
            ),
            *risings("open", "arc", "advance", goes_with=_FINGER),
            length("outset", "moved to its outer side, as wire round a bezel", zero=True, goes_with=_MOVED),
            length(
                "inset",
                "moved to its inner (left) side: by half of the wire, what is said is the measure outside",
                zero=True, goes_with=_MOVED,
            ),
            Take(
                "rise", Kind.LENGTH, "moved the way that path looks; below it when less than zero",
                goes_with=_BESIDE,
            ),
            Take(
                "edgewise", Kind.FLAG,
                "looks to its outer side (the right of a closed path), so that flat wire along it stands on "
                "edge",
            ),
            facing(),
            Take(
                "stretch", Kind.ANY, "only a stretch of that path, in per cent of it: stretch 25 % to 75 %",
                goes_with=_BESIDE,
            ),
            Take(
                "waves", Kind.COUNT,
                "sways to both sides in so many even waves, as beside around of shank: a closed one begins "
                "on a crest, an open one begins and ends where it did", least=1, most=360,
            ),
            length("sway", "how far its waves go to either side", goes_with=("waves",)),
            Take("closed", Kind.FLAG, "goes back to its first spot", goes_with=_THROUGH),
            Take("smooth", Kind.FLAG, "a flowing curve through the spots", goes_with=_THROUGH),
            Take(
                "leaves", Kind.ANGLE, "which way a smooth path sets out: 0 deg to the right, 90 deg up",
                goes_with=("smooth",), not_with=("closed",),
            ),
            Take(
                "arrives", Kind.ANGLE, "which way it goes where it ends", goes_with=("smooth",),
                not_with=("closed",),
            ),
        ),
        one_of=(("through", "beside", *OUTLINES, "spiral", "runs", "finger", "inside"),),
        example="path wave: through (0, 0) to (4, 2 mm) to (8, 0 mm), smooth", offers=PATH_HELP | FLAT_HELP,
        stands=False, made_by=_line,
    ),
)
