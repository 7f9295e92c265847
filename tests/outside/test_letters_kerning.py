"""Letters against another shaper: Pillow's HarfBuzz sets the same texts as wide, kerning and all."""

from __future__ import annotations

import io

import pytest

from posy.compiler.words.letters import Unset, _face, set_text, standard_font

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
