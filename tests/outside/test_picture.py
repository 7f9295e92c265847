"""Pictures against optics and against the renderer's own reference.

Sources: Fresnel's equations and the law of refraction (any textbook of optics; M. Born and E. Wolf,
Principles of Optics); optical constants of P. B. Johnson and R. W. Christy (1972) and A. D. Rakic and
others (1998), see stdlib/tables/reflectances.tsv; PNG read by Pillow."""

from __future__ import annotations

import importlib
import io
import sys
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from posy.compiler.command import main
from posy.compiler.making.pipeline import build
from posy.compiler.picture.png import png
from posy.stdlib.alloys import ALLOYS
from posy.stdlib.optics import CONSTANTS, Constants, polished, reflectance

EXAMPLES = Path(__file__).parents[2] / "examples"
STONE = """piece "One stone"
  metal silver-925

disc plate: across 4 mm, thick 1 mm
stone one: round 6 mm, gem {gem}, out 6 mm
"""


@pytest.fixture(scope="module")
def mi():
    from posy.compiler.picture.render import renderer

    return renderer()


def _ball(mi, look: dict) -> np.ndarray:
    """The middle of a ball in even white light, as the renderer sees it."""
    t = mi.ScalarTransform4f().look_at([0, -9, 0], [0, 0, 0], [0, 0, 1])
    film = {"type": "hdrfilm", "width": 16, "height": 16, "rfilter": {"type": "box"}, "pixel_format": "rgb"}
    scene = {
        "type": "scene", "integrator": {"type": "path"}, "light": {"type": "constant"},
        "camera": {"type": "perspective", "fov": 4, "to_world": t, "film": film,
                   "sampler": {"type": "independent", "sample_count": 64}},
        "ball": {"type": "sphere", "look": look},
    }  # fmt: skip
    return np.array(mi.render(mi.load_dict(scene), seed=3)).mean(axis=(0, 1))


@pytest.mark.parametrize(("element", "alloy"), [("Au", "gold-999"), ("Ag", "silver-999"), ("Pt", "platinum-950")])
def test_a_ball_reflects_as_published(mi, element, alloy):
    """In red, green and blue light: our polished metal against the renderer's own conductor, which is
    given the published n and k and works out Fresnel's equations itself."""
    from posy.compiler.picture.set import _metal

    def rgb(what):
        return {"type": "rgb", "value": [getattr(one, what) for one in CONSTANTS[element]]}

    exact = _ball(mi, {"type": "conductor", "eta": rgb("n"), "k": rgb("k")})
    ours = _ball(mi, _metal(alloy, "polished"))
    if alloy != "platinum-950":  # pure metals to the figure
        assert ours == pytest.approx(exact, rel=0.02)
        assert exact == pytest.approx(reflectance(element), rel=0.02)
    assert max(ours) == pytest.approx(max(exact), rel=0.02)  # an alloy as bright as its chief metal


def test_reflectance_is_that_of_the_handbooks():
    """Normal reflectance of gold near 650 nm is about 0.96, of silver 0.98 to 0.99, of platinum 0.66 to
    0.68 (the same constants put through Fresnel's equations by hand)."""
    assert Constants(659.5, 0.14, 3.697).reflectance == pytest.approx((0.86**2 + 3.697**2) / (1.14**2 + 3.697**2))
    gold, silver, platinum = (reflectance(name) for name in ("Au", "Ag", "Pt"))
    assert gold[0] > gold[1] > gold[2]
    assert min(silver) > 0.97
    assert 0.55 < min(platinum) < max(platinum) < 0.70


def test_every_alloy_has_a_colour_within_bounds():
    for alloy in ALLOYS.values():
        assert all(0.05 < value <= 1.0 for value in polished(alloy)), alloy.name


def _returned(mi, tmp_path: Path, gem: str) -> float:
    """Light that comes back through the table of a loose brilliant, lit from above, over black."""
    from posy.compiler.picture.render import DRAFT, light_of
    from posy.compiler.picture.rest import rest_of
    from posy.compiler.picture.set import Wish, picture_set

    text = tmp_path / f"{gem}.posy"
    text.write_text(STONE.format(gem=gem))
    built = build(str(text), check_metal=False, worn=True)
    assert built.made, built.faults
    rest = rest_of(built, "lying", "face")
    shapes = picture_set(mi, built, rest, Wish("#000000", "polished", (64, 64)))
    kept = {key: shape for key, shape in shapes.items() if not key.startswith(("metal", "ground"))}
    light = light_of(mi, kept, rest, (64, 64), DRAFT, np.pad(np.ones((128, 512, 3), np.float32), ((0, 128), (0, 0), (0, 0))))
    return float(light[26:38, 26:38].mean())


def test_a_diamond_returns_more_light_than_quartz(mi, tmp_path):
    """Critical angles by the law of refraction: 24.4 degrees in diamond, 40.2 in quartz; so a brilliant
    of quartz lets through what a diamond throws back."""
    diamond, quartz = (_returned(mi, tmp_path, gem) for gem in ("diamond", "quartz"))
    assert diamond > 1.2 * quartz
    assert np.degrees(np.arcsin(1 / 2.417)) == pytest.approx(24.4, abs=0.05)


def test_png_is_read_by_another(tmp_path):
    image = np.random.default_rng(4).integers(0, 256, (7, 5, 3), dtype=np.uint8)
    assert np.array_equal(np.array(Image.open(io.BytesIO(png(image)))), image)


@pytest.mark.parametrize("rest", ["stand", "lying", "hanging"])
def test_the_command_writes_the_same_picture_twice(tmp_path, rest, capsys):
    piece = EXAMPLES / ("dawn-eternity.posy" if rest == "stand" else "orbit-medal.posy")
    seen = []
    for k in (1, 2):
        words = ["picture", str(piece), "--draft", "--size", "144x96", "--rest", rest, "--into", str(tmp_path / str(k))]
        assert main([*words, "--tolerance", "0.05mm"]) == 0
        seen.append((tmp_path / str(k) / f"{piece.stem}-picture.png").read_bytes())
    assert seen[0] == seen[1]
    image = np.array(Image.open(io.BytesIO(seen[0])))
    assert image.shape == (96, 144, 3)
    middle, corner = image[24:72, 36:108].astype(float), image[:6, :6].astype(float)
    assert middle.std() > 2 * corner.std() + 4, "a piece stands out from its ground"
    assert capsys.readouterr().out.count("picture.png") == 2


def test_metals_side_by_side_and_a_turn(tmp_path):
    piece = str(EXAMPLES / "ripple-band.posy")
    common = ["--draft", "--size", "64x64", "--into", str(tmp_path), "--tolerance", "0.05mm"]
    assert main(["picture", piece, "--metal", "silver-925,gold-750-yellow", *common]) == 0
    strip = np.array(Image.open(tmp_path / "ripple-band-picture.png")).astype(float)
    assert strip.shape == (64, 128, 3)
    warm = strip[..., 0] - strip[..., 2]
    assert np.percentile(warm[:, 64:], 95) > np.percentile(warm[:, :64], 95) + 20, "gold is warmer"
    assert main(["picture", piece, "--turn", "2", *common]) == 0
    assert sorted(path.name for path in tmp_path.glob("*turn*")) == ["ripple-band-turn-1.png", "ripple-band-turn-2.png"]


def test_without_the_renderer_one_line_says_how_to_get_it(monkeypatch, capsys):
    monkeypatch.setitem(sys.modules, "mitsuba", None)
    assert main(["picture", str(EXAMPLES / "ripple-band.posy")]) == 2
    told = capsys.readouterr().err
    assert "posy-lang[picture]" in told and told.count("\n") == 1
    importlib.invalidate_caches()


@pytest.mark.parametrize(
    ("words", "said"),
    [(["--size", "8x8"], "out of range"), (["--ground", "mud"], "is no ground"), (["--turn", "1"], "2 to 360")],
)
def test_wrong_wishes_are_told(words, said, capsys):
    assert main(["picture", "x.posy", *words]) == 2
    assert said in capsys.readouterr().err


@pytest.mark.parametrize("kind", ["lying", "hanging", "stand"])
@pytest.mark.parametrize("look", ["face", "side", "end", "back"])
def test_a_look_is_the_view_of_a_drawing(kind, look):
    """From the same side of the piece, raised off the ground by less than half a right angle; what would be
    seen from below the ground is seen from above it."""
    from posy.compiler.drawing.views import VIEWS
    from posy.compiler.picture.rest import rest_of

    built = build(str(EXAMPLES / "dawn-eternity.posy"), check_metal=False, worn=True, tolerance=0.05)
    rest = rest_of(built, kind, look)
    view = rest.turn @ VIEWS[look].toward
    if kind != "hanging":
        view = view * (1, 1, np.sign(view[2]) or 1)
    level = view[2] if kind != "hanging" else 0.0
    assert rest.toward @ view > np.cos(np.radians(45)) or abs(view[2]) > 0.99
    assert rest.toward[2] >= np.sin(np.radians(-36)) and (kind == "hanging" or rest.toward[2] > min(level, 0.1))
    assert rest.up @ rest.toward == pytest.approx(0.0, abs=1e-9)


def test_a_customers_picture_has_its_prongs_pushed_over(tmp_path):
    """The tallest metal stands no higher over the stone than its table, as cast it does; the page has that
    metal too."""
    text = str(EXAMPLES / "alder-solitaire.posy")
    set_, cast = (build(text, check_metal=False, worn=True, finished=one, tolerance=0.02) for one in (True, False))
    assert set_.worn.bore.radius == pytest.approx(cast.worn.bore.radius, abs=0.01)
    table = max(stone.frame[2, 3] for stone in cast.stones)
    tops = [max(part.points[:, 2].max() for part in one.parts) - table for one in (set_, cast)]
    assert tops[0] < tops[1] - 0.2
    sizes = []
    for words in ([], ["--as-cast"]):
        assert main(["show", text, "--tolerance", "0.05mm", "--into", str(tmp_path), "--show", "lines", *words]) == 0
        sizes.append((tmp_path / "alder-solitaire.html").read_bytes())
    assert sizes[0] != sizes[1]
