"""Letters as flat outlines: a font's glyphs read by `fontTools`, laid out on one line."""

from __future__ import annotations

import io
from dataclasses import dataclass
from functools import lru_cache
from importlib import import_module
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np

from ..geometry.outlines import signed_area
from .drawings import clean
from .kerning import kerning

MOST_LETTERS = 200
MOST_PARTS = 200  # glyphs a glyph is put together from
MOST_MOVES = 5_000  # lines and curves of a glyph
MOST_STEPS = 200_000  # bytes of a PostScript glyph carried out, its subroutines at every call
MOST_BOLD = 0.5  # of the height of capitals, what strokes may gain
CURVE_STEPS = 10  # chords to a curve of a glyph: at 3 mm letters within 2 microns

Loops = tuple[tuple[tuple[float, float], ...], ...]


@dataclass(frozen=True)
class Letter:
    """One glyph: its loops in mm about the middle of its own width, on the baseline; where its
    middle stands from the start of the text, mm. ``loops`` is empty for a space."""

    loops: Loops
    middle: float


@dataclass(frozen=True)
class Typesetting:
    """A text laid out: its letters, its width and the height of its capitals, mm."""

    letters: tuple[Letter, ...]
    wide: float
    tall: float


class Unset(ValueError):
    """Why a text cannot be set, in words for the user."""


class Filled(Unset):
    """Strokes so bold that they run together."""


# The fonts that come along (SIL Open Font License), by the style of their letters: package, file.
STYLES = {
    "roman": ("font_source_serif_pro", "SourceSerifPro-Bold.otf"),
    "heavy": ("font_source_serif_pro", "SourceSerifPro-Black.otf"),
    "italic": ("font_source_serif_pro", "SourceSerifPro-BoldIt.otf"),
    "block": ("font_source_sans_pro", "SourceSansPro-Bold.otf"),
}


def standard_font(style: str = "roman") -> bytes:
    """The bytes of the font of a style."""
    package, name = STYLES[style]
    folder = Path(str(import_module(package).__file__)).parent / "files"
    return (folder / name).read_bytes()


@lru_cache(maxsize=64)
def set_text(text: str, tall: float, spacing: float, font: bytes | str, bolder: float = 0.0) -> Typesetting:
    """``text`` with capitals ``tall`` mm high, kerned as the font kerns it, ``spacing`` mm more between
    letters than the font has: one's own, or that of a style; its strokes ``bolder`` mm wider at that height.

    Raises Unset for what the font cannot do, Filled for strokes too bold, ImportError without its reader."""
    face = _face(standard_font(font) if isinstance(font, str) else font)
    if bolder > MOST_BOLD * tall:
        raise Filled(f"strokes {bolder:g} mm bolder leave nothing of letters {tall:g} mm tall")
    scale = (tall - bolder) / face.capital
    letters, at = [], 0.0
    for sign, after in zip(text, [*text[1:], ""], strict=True):
        loops, advance = face.glyph(sign)
        wide = advance * scale + bolder
        shape = tuple(
            tuple((round(float(x) - wide / 2, 7), round(float(y), 7)) for x, y in loop)
            for loop in (_bolder(sign, loops, scale, bolder) if bolder else [loop * scale for loop in loops])
        )
        letters.append(Letter(shape, at + wide / 2))
        at += wide + spacing + face.kern(sign, after) * scale
    return Typesetting(tuple(letters), max(at - spacing, 0.0), tall)


def _bolder(sign: str, loops: list[np.ndarray], scale: float, bolder: float) -> list[np.ndarray]:
    """The loops of a sign in mm, its strokes so much wider, on its baseline again."""
    from manifold3d import CrossSection, FillRule, JoinType

    if not loops:
        return []
    drawn = CrossSection([loop * scale + bolder / 2 for loop in loops], FillRule.NonZero)
    grown = clean([(list(drawn.offset(bolder / 2, JoinType.Miter).to_polygons()), "nonzero")])
    if sum(signed_area(loop) < 0 for loop in grown) < sum(signed_area(loop) < 0 for loop in loops):
        raise Filled(f"strokes {bolder:g} mm bolder fill what is open in {sign!r}")
    return grown


class _Face:
    """An open font. Its own figures are in font units."""

    def __init__(self, data: bytes) -> None:
        from fontTools.ttLib import TTFont

        self.font = TTFont(io.BytesIO(data), lazy=True)
        self.signs = self.font.getBestCmap() or {}
        self.shapes = self.font.getGlyphSet()
        self.capital = self._capital()
        self.known: dict[str, tuple[list[np.ndarray], float]] = {}
        self.pairs = kerning(self.font)

    def _capital(self) -> float:
        loops = self._traced("H") if ord("H") in self.signs else []
        if loops:
            return float(max(loop[:, 1].max() for loop in loops))
        return 0.7 * float(self.font["head"].unitsPerEm)

    def kern(self, sign: str, after: str) -> float:
        """How much further apart than their widths two signs stand; 0 at the end."""
        if not after or ord(sign) not in self.signs or ord(after) not in self.signs:
            return 0.0
        return self.pairs(self.signs[ord(sign)], self.signs[ord(after)])

    def glyph(self, sign: str) -> tuple[list[np.ndarray], float]:
        """Loops and advance of one sign."""
        if sign not in self.known:
            if ord(sign) not in self.signs:
                raise Unset(f"the font has no {sign!r}")
            advance = float(self.shapes[self.signs[ord(sign)]].width)
            loops = self._traced(sign)
            self.known[sign] = (clean([(loops, "nonzero")]) if loops else [], advance)
        return self.known[sign]

    def _traced(self, sign: str) -> list[np.ndarray]:
        from fontTools.pens.recordingPen import DecomposingRecordingPen

        class Bounded(DecomposingRecordingPen):  # type: ignore[misc]
            """Gives up on glyphs that refer to others without end."""

            parts = 0

            def addComponent(self, *given: Any, **named: Any) -> None:
                """Draw one glyph within another."""
                self.parts += 1
                if self.parts > MOST_PARTS or len(self.value) > MOST_MOVES:
                    raise Unset("a glyph of the font is too intricate")
                super().addComponent(*given, **named)

            def closePath(self) -> None:
                """End a contour, unless there are too many moves by now."""
                if len(self.value) > MOST_MOVES:
                    raise Unset("a glyph of the font is too intricate")
                super().closePath()

        pen = Bounded(self.shapes)
        name = self.signs[ord(sign)]
        _bounded(self.font, name)
        try:
            self.shapes[name].draw(pen)
        except Unset:
            raise
        except Exception as slip:  # a broken glyph can fail the reader in many ways
            raise Unset(f"the font's {sign!r} cannot be read ({type(slip).__name__})") from None
        if len(pen.value) > MOST_MOVES:
            raise Unset("a glyph of the font is too intricate")
        return _contours(pen.value)


def _bounded(font: Any, name: str) -> None:
    """Makes a PostScript glyph give up when its subroutines call one another without end."""
    if "CFF " not in font:
        return
    from fontTools.misc.psCharStrings import T2OutlineExtractor

    class Counted(T2OutlineExtractor):  # type: ignore[misc]
        """Counts what is carried out, subroutines anew at every call."""

        done = 0

        def execute(self, charString: Any) -> None:
            """Carry out one charstring."""
            self.done += len(charString.bytecode or charString.program or ()) + 1
            if self.done > MOST_STEPS:
                raise Unset("a glyph of the font is too intricate")
            super().execute(charString)

    font["CFF "].cff[0].CharStrings[name].outlineExtractor = Counted


@lru_cache(maxsize=8)
def _face(data: bytes) -> _Face:
    try:
        return _Face(data)
    except ImportError:
        raise
    except Exception as slip:  # a broken font can fail the reader in many ways
        raise Unset(f"the font cannot be read ({type(slip).__name__})") from None


def _contours(moves: list[tuple[str, Any]]) -> list[np.ndarray]:
    loops: list[list[np.ndarray]] = []
    for move, spots in moves:
        points = [np.array(spot, dtype=float) for spot in spots if spot is not None]
        if move == "moveTo":
            loops.append([points[0]])
        elif move == "lineTo":
            loops[-1].append(points[0])
        elif move == "curveTo":
            loops[-1].extend(_cubic(loops[-1][-1], *points))
        elif move == "qCurveTo":
            if spots[-1] is None:  # a closed contour of off-curve points alone
                start = (points[0] + points[-1]) / 2
                loops.append([start])
                points.append(start)
            for control, end in _quadratics(points):
                loops[-1].extend(_quadratic(loops[-1][-1], control, end))
    return [np.array(loop) for loop in loops if len(loop) >= 3]


def _quadratics(points: list[np.ndarray]) -> list[tuple[np.ndarray, np.ndarray]]:
    """TrueType's runs of controls: an end lies half way between neighbours."""
    *controls, end = points
    if not controls:
        return [(end, end)]
    ends = [(a + b) / 2 for a, b in pairwise(controls)]
    return list(zip(controls, [*ends, end], strict=True))


def _quadratic(a: np.ndarray, b: np.ndarray, c: np.ndarray) -> list[np.ndarray]:
    return [
        (1 - t) ** 2 * a + 2 * t * (1 - t) * b + t * t * c
        for t in (k / CURVE_STEPS for k in range(1, CURVE_STEPS + 1))
    ]


def _cubic(a: np.ndarray, b: np.ndarray, c: np.ndarray, d: np.ndarray) -> list[np.ndarray]:
    return [
        (1 - t) ** 3 * a + 3 * t * (1 - t) ** 2 * b + 3 * t * t * (1 - t) * c + t**3 * d
        for t in (k / CURVE_STEPS for k in range(1, CURVE_STEPS + 1))
    ]
