"""A text as clauses say it: set in a font, for engraving, or as an outline for a plate or a saw."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np

from ...lang.bench import Call, Refused
from ...lang.words import Kind, Take
from ..geometry.outlines import Outline, signed_area
from .common import length

if TYPE_CHECKING:
    from ..bench.piece_bench import PieceBench
    from .letters import Typesetting

UPRIGHT = 2.0  # times the least way there: a neck of so much stands upright still
INTO = 0.2  # of its width, a neck reaches into what it joins
LETTERS = ("letters",)
TALL = length("tall", "of letters: the height of a capital", default="3 mm", most=100.0, goes_with=LETTERS)
FONT = Take("font", Kind.TEXT, "a .ttf or .otf file in the folder of the piece", goes_with=LETTERS)
# What plate and pierce take: the letters are one outline.
LETTERED: tuple[Take, ...] = (
    Take("letters", Kind.TEXT, "letters cut out by the saw, their capitals' middle at the place"),
    TALL,
    Take(
        "spacing", Kind.LENGTH, "of letters: more room between them, or less: with -0.6 mm they join",
        least=-20.0, most=20.0, goes_with=LETTERS,
    ),
    FONT,
)
NECK = length(
    "neck", "of letters: joins the dot of an i, and any other loose part of a letter, by so wide a neck",
    goes_with=LETTERS,
)


def typeset(bench: PieceBench, call: Call, tall: float, spacing: float) -> Typesetting:
    """The letters of a line, capitals ``tall`` mm high, ``spacing`` mm further apart than usual.
    Raises Refused for a text or font that cannot be set."""
    from .letters import MOST_LETTERS, Unset, set_text
    from .project_files import read

    text: str = call.get("letters")
    if not text.strip() or len(text) > MOST_LETTERS:
        call.refuse(
            "text-length",
            "there are no letters" if not text.strip() else "too much text",
            "letters",
            seen=f"{len(text)} letters",
            limit=f"1 to {MOST_LETTERS}",
        )
    font = read(bench, call, "font", (".ttf", ".otf")) if call.given("font") else None
    try:
        return set_text(text, tall, spacing, font)
    except Refused:
        raise
    except ImportError:
        call.refuse(
            "extra-missing",
            "letters need the packages fonttools and font-source-serif-pro",
            "letters",
            remedy="pip install fonttools font-source-serif-pro svgelements",
        )
    except Unset as slip:
        call.refuse(
            "letters-not-set",
            f"these letters cannot be set: {slip}",
            "font" if call.given("font") and "font cannot" in str(slip) else "letters",
            remedy="change the text, or name another font file with 'font'",
        )
    except Exception as slip:  # a broken glyph can fail the font reader in many ways
        call.refuse(
            "letters-not-set",
            f"the font fails at these letters ({type(slip).__name__})",
            "letters",
            remedy="name another font file with 'font'",
        )


def lettered(bench: PieceBench, call: Call) -> Outline:
    """The letters of a line as one outline, about the middle of the text and of its capitals."""
    from .drawings import clean

    setting = typeset(bench, call, call.get("tall"), call.get("spacing", 0.0))
    start, neck = np.array((-setting.wide / 2, -setting.tall / 2)), call.get("neck")
    shapes = []
    for one in setting.letters:
        loops = [np.array(loop) + start + (one.middle, 0.0) for loop in one.loops]
        shapes.append((loops, "nonzero"))
        shapes += [([bar], "nonzero") for bar in (necks(loops, neck) if neck else ())]
    return "drawing", tuple(tuple((float(x), float(y)) for x, y in loop) for loop in clean(shapes))


def parts_of(loops: Sequence[np.ndarray]) -> list[np.ndarray]:
    """The outer loops (n, 2) of a letter, the largest first: it is of more than one part as an i is."""
    outer = [loop for loop in loops if signed_area(loop) > 0]
    return sorted(outer, key=lambda loop: -signed_area(loop))


def necks(loops: Sequence[np.ndarray], wide: float) -> Iterator[np.ndarray]:
    """Straight bars (4, 2) that join the parts of a letter, the nearest first: from the middle of each into
    what is joined, upright where that lies above or below, no wider than the part itself."""
    joined, *rest = ([one] for one in parts_of(loops)) if loops else ([],)
    while rest:
        bars = [_bar(one[0], joined, loops, wide) for one in rest]
        k = min(range(len(bars)), key=lambda one: bars[one][0])
        yield bars[k][1]
        joined += rest.pop(k)


def _bar(
    part: np.ndarray, joined: list[np.ndarray], loops: Sequence[np.ndarray], wide: float
) -> tuple[float, np.ndarray]:
    """How far a part of a letter stands off what is joined, and the bar that joins it."""
    middle = (part.min(axis=0) + part.max(axis=0)) / 2
    off, way = _way(joined, middle)
    side = np.array((way[1], -way[0]))
    half = side * min(wide, float(np.ptp(part @ side))) / 2
    into, past = [off], [off + wide]
    for start in (middle - half, middle, middle + half):  # into the metal all over its width, and not past it
        met = _met(joined, start, way)
        beyond = _met(loops, start + way * (met[0] + 1e-6), way) if len(met) else met
        into += met[:1].tolist()
        past += (met[0] + beyond[:1]).tolist() if len(met) else []
    end = middle + way * min(max(into) + INTO * wide, max(min(past), max(into) + 1e-3))
    return off, np.array((middle + half, end + half, end - half, middle - half))


def _way(joined: list[np.ndarray], middle: np.ndarray) -> tuple[float, np.ndarray]:
    """How far and which way from the middle of a part to what is joined: straight down or up, unless that is
    far round."""
    edge = np.concatenate(joined)
    apart = np.linalg.norm(edge - middle, axis=1)
    least = max(float(apart.min()), 1e-9)
    for way in (np.array((0.0, -1.0)), np.array((0.0, 1.0))):
        met = _met(joined, middle, way)
        if len(met) and met[0] < UPRIGHT * least:
            return float(met[0]), way
    return least, (edge[int(apart.argmin())] - middle) / least


def _met(loops: Sequence[np.ndarray], spot: np.ndarray, way: np.ndarray) -> np.ndarray:
    """How far along a way from a spot (2,) the edges of closed loops are met, nearest first."""
    found = []
    for loop in loops:
        start, run = loop - spot, np.roll(loop, -1, axis=0) - loop
        turn = way[0] * run[:, 1] - way[1] * run[:, 0]
        safe = np.where(turn == 0, np.inf, turn)
        far = (start[:, 0] * run[:, 1] - start[:, 1] * run[:, 0]) / safe
        share = (start[:, 0] * way[1] - start[:, 1] * way[0]) / safe
        found.append(far[(turn != 0) & (share >= 0) & (share < 1) & (far > 0)])
    return np.sort(np.concatenate(found)) if found else np.zeros(0)
