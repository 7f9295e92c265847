"""Letters against another shaper: Pillow's HarfBuzz sets the same texts as wide, kerning and all."""

from __future__ import annotations

import io

import numpy as np
import pytest

from posy.compiler.geometry.outlines import signed_area
from posy.compiler.words.letters import Filled, Unset, _face, set_text, standard_font

ImageFont = pytest.importorskip("PIL.ImageFont", reason="Pillow (comes with plotnine)")
features = pytest.importorskip("PIL.features")


@pytest.mark.skipif(not features.check("raqm"), reason="this Pillow was built without HarfBuzz")
@pytest.mark.parametrize("text", ["AVATAR", "Tom & Ty", "WAVE", "NT", "ROWAN & ISLA", "11.7"])
def test_a_text_is_as_wide_as_harfbuzz_sets_it(text: str) -> None:
    font = ImageFont.truetype(io.BytesIO(standard_font()), 1000, layout_engine=ImageFont.Layout.RAQM)
    # 1000 units to the em: at a size of 1000 pixels a unit is a pixel.
    face = _face(standard_font())
    assert face.font["head"].unitsPerEm == 1000
    ours = set_text(text, face.capital, 0.0, standard_font()).wide
    assert ours == pytest.approx(font.getlength(text, features=["-liga"]), abs=0.5)


def test_kerning_brings_letters_closer_and_spacing_adds_to_it() -> None:
    close = set_text("AV", 3.0, 0.0, standard_font())
    apart = set_text("AV", 3.0, 0.5, standard_font())
    one, two = (set_text(sign, 3.0, 0.0, standard_font()).wide for sign in "AV")
    assert close.wide < one + two - 0.1
    assert apart.wide == pytest.approx(close.wide + 0.5)


def test_bolder_strokes_gain_their_figure_and_keep_the_height() -> None:
    """An H is wider by the figure, and stands on its line; an o gains a strip half as wide along both its rims
    (Steiner's formula, 1840: what a round rim gains besides, that of its eye loses)."""
    face = _face(standard_font("block"))
    for bolder in (0.0, 0.2, 0.5):
        scale = (8 - bolder) / face.capital
        for sign in "Ho":
            (letter,) = set_text(sign, 8.0, 0.0, "block", bolder).letters
            loops = [np.array(loop) for loop in letter.loops]
            drawn = [loop * scale for loop in face.glyph(sign)[0]]
            if sign == "o":
                rims = sum(np.linalg.norm(loop - np.roll(loop, 1, axis=0), axis=1).sum() for loop in drawn)
                areas = (sum(signed_area(loop) for loop in one) for one in (loops, drawn))
                assert next(areas) == pytest.approx(next(areas) + rims * bolder / 2, rel=2e-3)
            else:
                assert np.ptp(loops[0][:, 0]) == pytest.approx(np.ptp(drawn[0][:, 0]) + bolder, abs=1e-3)
                low, high = loops[0][:, 1].min(), loops[0][:, 1].max()
                assert (low, high) == pytest.approx((0, 8), abs=1e-6)
    with pytest.raises(Filled, match="'e'"):
        set_text("Ie", 8.0, 0.0, "block", 1.6)


def _hostile() -> bytes:
    """A font whose A calls subroutines that call subroutines: 40 to the power of 8 of them."""
    from fontTools.fontBuilder import FontBuilder
    from fontTools.misc.psCharStrings import T2CharString

    builder = FontBuilder(1000, isTTF=False)
    builder.setupGlyphOrder([".notdef", "A"])
    builder.setupCharacterMap({65: "A"})
    plain = T2CharString(program=[0, 0, "rmoveto", 100, 0, 0, 100, "rlineto", "endchar"])
    bomb = T2CharString(program=[0, 0, "rmoveto", 8 - 107, "callgsubr", "endchar"])
    builder.setupCFF("Bomb", {"FullName": "Bomb"}, {".notdef": plain, "A": bomb}, {})
    cff = builder.font["CFF "].cff
    cff.GlobalSubrs.append(T2CharString(program=["return"]))
    for level in range(8):
        cff.GlobalSubrs.append(T2CharString(program=[level - 107, "callgsubr"] * 40 + ["return"]))
    builder.setupHorizontalMetrics({".notdef": (500, 0), "A": (500, 0)})
    builder.setupHorizontalHeader()
    builder.setupNameTable({"familyName": "Bomb", "styleName": "Regular"})
    builder.setupOS2()
    builder.setupPost()
    builder.font.recalcBBoxes = False  # it would carry the glyph out itself
    held = io.BytesIO()
    builder.save(held)
    return held.getvalue()


def test_a_font_without_end_is_refused() -> None:
    with pytest.raises(Unset, match="intricate"):
        set_text("A", 3.0, 0.0, _hostile())
