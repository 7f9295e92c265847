"""Low cups on a shank that falls away below them: what reaches down to it leaves no skin beside the light."""

import numpy as np
import pytest
from texts import Texts

from posy.compiler.making.pipeline import build
from posy.compiler.measures.rays import spots_on, straight_in

RING = (
    "band shank: finger us 6, wide {wide} mm, thick 1.6 mm, profile half-round\n"
    "stone main: round 5 mm, gem garnet, at top of shank, out 3 mm\n"
    "stone sides: round 3 mm, gem garnet, next-to main, on shank, level back, gap 1.5 mm, out 0.9 mm\n"
    "{word} cup: for main, on shank\n"
    "{word} cups: for sides, on shank\n"
    "bore: of shank\n"
)
THIN, SQUARE, SKIN = 0.2, 0.7, 0.25  # mm; cosine between opposite faces; mm2 of both together


@pytest.mark.parametrize(("word", "wide"), [("collet", "2"), ("collet", "2.2"), ("bezel", "2.4")])
def test_no_skin_of_metal_is_left(word: str, wide: str) -> None:
    made = build("p.posy", files=Texts({"p.posy": RING.format(word=word, wide=wide)}))
    skin = made.piece.skin_measures.skin
    spots = spots_on(skin, 0.1, 12_000)
    far, met, square = straight_in(skin, spots, 2 * THIN)
    assert spots.share * ((met >= 0) & (far < THIN) & (square > SQUARE)).sum() < SKIN


def test_clearing_the_finger_is_no_cut_into_the_shank() -> None:
    flat = RING.format(word="bezel", wide="2.4").replace(", profile half-round", "")
    made = build("p.posy", files=Texts({"p.posy": flat}))
    assert "cut-shank" not in {one.code for one in made.faults}


@pytest.mark.parametrize("out", ["4.2 mm", "4.4 mm"])
def test_a_pearl_cup_low_over_a_domed_band_stands_on_a_foot_that_follows_it(out: str) -> None:
    """Straight down inside the cup's edge metal goes on into the band: no wedge of air runs round its stalk."""
    text = (
        "band shank: finger us 7, wide 2.8 mm, thick 1.9 mm, profile d, open 4 mm, at-head\n"
        f"stone moon: pearl 6 mm, gem pearl, at pick(ends of shank, 1), left 1.5 mm, out {out}\n"
        "pearl-cup cup: for moon, on shank\n"
    )
    piece = build("p.posy", files=Texts({"p.posy": text})).piece
    stone, grid = piece.stone_measures.stones[0], piece.skin_measures.skin.grid
    turn = np.radians(np.arange(0.0, 360.0, 15.0))
    for radius in (0.9, 1.1, 1.25):
        own = np.column_stack((radius * np.cos(turn), radius * np.sin(turn), np.full(len(turn), -2.9)))
        far, met = grid.cast(stone.world(own), np.tile(-stone.turn[2], (len(turn), 1)))
        assert (met >= 0).all() and (far > 1.2).all()
