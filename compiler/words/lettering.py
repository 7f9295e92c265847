"""A text as clauses say it: set in a font, for engraving, or as an outline for a plate or a saw."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ...lang.bench import Call, Refused
from ...lang.words import Kind, Take
from ..geometry.outlines import Outline, signed_area
from .common import length

if TYPE_CHECKING:
    from ..bench.piece_bench import PieceBench
    from .letters import Letter, Typesetting

LETTERS = ("letters",)
TALL = length("tall", "of letters: the height of a capital", default="3 mm", most=100.0, goes_with=LETTERS)
FONT = (
    Take(
        "style", Kind.CHOICE, "of letters: block has strokes of one width, heavy the broadest",
        default="roman", choices=("roman", "block", "heavy", "italic"), goes_with=LETTERS, not_with=("font",),
    ),
    Take("font", Kind.TEXT, "a .ttf or .otf file in the folder of the piece", goes_with=LETTERS),
    length("bolder", "of letters: their strokes so much wider, as tall as before", goes_with=LETTERS),
)
SPACING = Take(
    "spacing", Kind.LENGTH, "of letters: more room between them, or less: with -0.6 mm they join",
    least=-20.0, most=20.0, goes_with=LETTERS,
)  # fmt: skip
SAWN = Take("letters", Kind.TEXT, "letters cut out by the saw, their capitals' middle at the place")
# What plate takes: the letters are one outline.
LETTERED: tuple[Take, ...] = (SAWN, TALL, SPACING, *FONT)
JOINED = (
    length(
        "joined", "of letters: stays so wide join dots, accents and letters that stand apart",
        goes_with=LETTERS,
    ),
    length("underline", "of letters: a bar so wide along their feet joins them", goes_with=LETTERS),
)


def typeset(bench: PieceBench, call: Call, tall: float, spacing: float) -> Typesetting:
    """The letters of a line, capitals ``tall`` mm high, ``spacing`` mm further apart than usual.
    Raises Refused for a text or font that cannot be set."""
    from .letters import MOST_LETTERS, Filled, Unset, set_text
    from .project_files import read

    text: str = call.get("letters")
    if not text.strip() or len(text) > MOST_LETTERS:
        call.refuse(
            "text-length", "there are no letters" if not text.strip() else "too much text", "letters",
            seen=f"{len(text)} letters", limit=f"1 to {MOST_LETTERS}",
        )
    font = read(bench, call, "font", (".ttf", ".otf")) if call.given("font") else None
    try:
        style = call.get("style", "roman") if font is None else font
        return set_text(text, tall, spacing, style, call.get("bolder", 0.0))
    except Refused:
        raise
    except ImportError:
        call.refuse(
            "extra-missing",
            "letters need the packages fonttools, font-source-serif-pro and font-source-sans-pro", "letters",
            remedy="pip install fonttools font-source-serif-pro font-source-sans-pro svgelements",
        )
    except Filled as slip:
        call.refuse("letters-not-set", str(slip), "bolder", remedy="make them less bold, or taller")
    except Unset as slip:
        call.refuse(
            "letters-not-set", f"these letters cannot be set: {slip}",
            "font" if call.given("font") and "font cannot" in str(slip) else "letters",
            remedy="change the text, or name another font file with 'font'",
        )
    except Exception as slip:  # a broken glyph can fail the font reader in many ways
        call.refuse(
            "letters-not-set", f"the font fails at these letters ({type(slip).__name__})", "letters",
            remedy="name another font file with 'font'",
        )


def bold_for(call: Call, tall: float, now: float, wanted: float) -> float:
    """How much 'bolder' letters ``tall`` mm high are to be, for strokes ``now`` mm to be ``wanted``."""
    had = call.get("bolder", 0.0)
    drawn = max(now - had, 0.0) / (tall - had)  # of the height, the stroke in the font
    return (wanted - drawn * tall) / (1 - drawn)


def letter_at(bench: PieceBench, call: Call, spot: tuple[float, float]) -> str:
    """The letter of a line whose outline comes nearest to a spot (x, y) of the plane they lie in, mm."""
    setting = typeset(bench, call, call.get("tall"), call.get("spacing", 0.0))
    middle = np.array((setting.wide / 2, setting.tall / 2))

    def off(pair: tuple[str, Letter]) -> float:
        loops = np.concatenate([*pair[1].loops, np.full((1, 2), np.inf)])
        return float(np.hypot(*(loops - middle - spot + np.array((pair[1].middle, 0.0))).T).min())

    return min(zip(call.get("letters"), setting.letters, strict=False), key=off)[0]


ROUND = 0.8  # of its length, how wide a dot is at least; of the box about it, how much it fills
FULL = 0.7


def dots(bench: PieceBench, call: Call) -> list[tuple[float, float]]:
    """The middles (x, y) of the dots of the letters of a line, from the left: of an i, a j, a vowel with two
    dots."""
    from .drawings import clean

    setting = typeset(bench, call, call.get("tall"), call.get("spacing", 0.0))
    found = []
    for letter in setting.letters:
        loops = clean([([np.array(loop) for loop in letter.loops], "nonzero")])
        for loop in loops[1:]:  # the largest is the letter itself
            low, high = loop.min(axis=0), loop.max(axis=0)
            wide, tall = high - low
            even = min(wide, tall) > ROUND * max(wide, tall)
            if even and signed_area(loop) > FULL * wide * tall:
                x, y = (low + high) / 2
                found.append((float(x) + letter.middle - setting.wide / 2, float(y) - setting.tall / 2))
    return sorted(found)


SUNK = 0.25  # of its width, how much of a bar under letters lies in their feet


def lettered(bench: PieceBench, call: Call) -> Outline:
    """The letters of a line as one outline, about the middle of the text and of its capitals."""
    from .drawings import clean

    setting = typeset(bench, call, call.get("tall"), call.get("spacing", 0.0))
    start = np.array((-setting.wide / 2, -setting.tall / 2))
    shapes = [
        ([np.array(loop) + start + (one.middle, 0.0) for loop in one.loops], "nonzero")
        for one in setting.letters
    ]
    if call.given("underline"):
        x, y = setting.wide / 2, call.get("underline") / 2
        bar = np.array([(-x, -y), (x, -y), (x, y), (-x, y)]) + np.array((0.0, start[1] - (1 - 2 * SUNK) * y))
        shapes.append(([bar], "nonzero"))
    loops = clean(shapes)
    if call.given("joined"):
        from .stays import stays

        strips = stays(loops, call.get("joined"))
        loops = clean([(loops, "nonzero"), *(([strip], "nonzero") for strip in strips)])
    return "drawing", tuple(tuple((float(x), float(y)) for x, y in loop) for loop in loops)
