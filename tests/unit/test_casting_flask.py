"""The flask, its tree and what is weighed out, by hand."""

import math

import numpy as np
import pytest
from manifold3d import Manifold

from posy.compiler.casting.sprues import Sprue
from posy.compiler.casting.tree import Flask, Tree, Wax, standing, tree, wax_of, weights
from posy.compiler.measures.alike import groups
from posy.compiler.measures.skin import from_manifold

FLASK = Flask(60.0, 90.0, wall=6.5, top=25.0, gap=5.0, stem=8.0, button=25.0, button_tall=12.0, angle=90.0)


def box(wide, thick, tall):
    spans = [np.arange(-wide / 2, wide / 2 + 0.1, 0.5), np.arange(-thick / 2, thick / 2 + 0.1, 0.5),
             np.arange(0.0, tall + 0.1, 0.5)]  # fmt: skip
    return np.stack(np.meshgrid(*spans, indexing="ij"), axis=-1).reshape(-1, 3)


@pytest.mark.parametrize(
    "wide, thick, around, tiers, pitch",
    [
        # Straight out on sprues of 8 mm from a stem of 8: it begins 12 mm from the middle. Between planes
        # through the stem: 12 sin(180/n) - 1 cos(180/n) must be 2.5: n = 10 gives 2.76, n = 11 2.42.
        # Height 90 - 25 - 12 = 53: one of 6 mm and four more 11 mm apart.
        (6.0, 2.0, 10, 5, 11.0),
        # Turned the other way: 12 sin - 3 cos: n = 7 gives 2.504, n = 8 1.82; 2 mm and seven more 7 apart.
        (2.0, 6.0, 7, 8, 7.0),
    ],
)
def test_a_tree_reckoned_by_hand(wide, thick, around, tiers, pitch):
    found = standing(box(wide, thick, 10.0), 8.0, FLASK, 90.0)
    assert (found.around, found.tiers, found.room) == (around, tiers, around * tiers)
    assert found.pitch == pytest.approx(pitch)
    assert found.stem == pytest.approx((tiers - 1) * pitch + wide)


def test_a_wax_too_near_the_wall_does_not_stand():
    """4 + 8 + 11.6 mm is more than 60 / 2 - 6.5."""
    assert standing(box(2.0, 2.0, 11.0), 8.0, FLASK, 90.0).room > 0
    assert standing(box(2.0, 2.0, 11.6), 8.0, FLASK, 90.0).room == 0


def test_metal_to_weigh_out_by_hand():
    """Ten pieces of 300 mm3 on sprues of 2.5 x 8 mm, a stem of 8 x 40, a button of 25 to 8 x 12, at 10.36."""
    sprue = Sprue(np.zeros(3), np.array([0.0, 0.0, 1.0]), 2.5, 8.0)
    found = weights(10, 300.0, [sprue], Tree(5, 2, 11.0, 90.0, 40.0), FLASK, 10.36, 1.0)
    assert found.pieces == pytest.approx(31.08)
    assert found.sprues == pytest.approx(4.07, abs=0.005)
    assert found.stem == pytest.approx(20.83, abs=0.005)
    assert found.button == pytest.approx(28.93, abs=0.005)
    assert found.metal == pytest.approx(84.91, abs=0.01)
    assert found.wax == pytest.approx(3.0 + 0.393 + 2.011, abs=0.001)
    assert found.times == pytest.approx(10.36)
    assert found.slurry == pytest.approx(math.pi / 4 * 60**2 * 90 - 5403.3 - 2792.9, abs=1)


def test_wax_to_metal_as_published():
    """5 g of wax and a button of a tenth in 14K of 13.07 g/cm3: 71.89 g (riogrande.com,
    Determining-Metal-Weight-HT)."""
    flask = Flask(60.0, 90.0, 6.5, 25.0, 5.0, 8.0, 8.0, 500 / (math.pi / 4 * 64), 90.0)
    found = weights(1, 5000.0, [], Tree(1, 1, 0.0, 0.0, 0.0), flask, 13.07, 1.0)
    assert found.wax == pytest.approx(5.0)
    assert found.metal == pytest.approx(71.89, abs=0.01)


def test_a_wax_hangs_on_its_first_sprue():
    """Its foot is where the sprue stands, all of it lies beyond."""
    sprue = Sprue(np.array([0.0, 0.0, -5.0]), np.array([0.0, 0.0, -1.0]), 2.0, 7.0)
    wax = wax_of(from_manifold(Manifold.cube((6.0, 4.0, 11.0)).translate((-3.0, -2.0, -5.0))), [sprue])
    assert wax.sprue == 7.0
    assert wax.points[:, 2].min() == 0.0 and wax.points[:, 2].max() == 11.0


def test_one_alone_in_the_flask_says_why():
    """A wax 40 mm wide on a sprue of 8 at a stem of 8: none of its ways is within 30 - 6.5 mm."""
    found = tree(Wax(box(40.0, 40.0, 10.0), 8.0), FLASK)
    assert found.alone and "mm from the middle of the flask" in found.why


def test_sprues_are_joined_straight_or_round_the_piece_and_weighed():
    """Two on one side: 18 mm of 2.5 mm wire, 88.4 mm3, by hand. Opposite ones: round, clear of the metal."""
    from posy.compiler.casting.joins import joins

    skin = from_manifold(Manifold.cube((30.0, 5.0, 3.0), True))
    up, down = np.array([0.0, 0, 1]), np.array([0.0, 0, -1])
    one, two = (Sprue(np.array([x, 0, 1.5]), up, 2.5, 8.0) for x in (-9.0, 9.0))
    below = Sprue(np.array([0.0, 0, -1.5]), down, 2.0, 8.0)
    straight, bent = joins(skin, [one, two, below])
    assert straight.volume == pytest.approx(math.pi / 4 * 2.5**2 * 18.0)
    assert bent.spots[0] == pytest.approx([0, 0, -9.5]) and bent.spots[-1] == pytest.approx([-9, 0, 9.5])
    off = np.abs(bent.spots[1:-1]) - (15.0, 2.5, 1.5)
    assert np.linalg.norm(np.maximum(off, 0.0), axis=1).min() > 1.0
    assert joins(skin, [one]) == ()



def test_a_block_of_a_metre_has_no_more_cells_than_are_let() -> None:
    from posy.compiler.freezing.grid import fitting

    assert fitting(np.array([20.0, 8.0, 3.0]), 8.0, 200_000) < 1.0
    pitch = fitting(np.array([900.0, 700.0, 500.0]), 8.0, 200_000)
    assert np.prod(np.ceil(np.array([900.0, 700.0, 500.0]) / pitch)) <= 200_000


def test_castings_that_differ_are_planned_each():
    skins = [from_manifold(Manifold.cube(size)) for size in ((2, 3, 4), (4, 2, 3), (2, 3, 4.01))]
    assert groups(skins, ["silver"] * 3) == [[0, 1], [2]]
    assert groups(skins[:2], ["silver", "gold"]) == [[0], [1]]
    bent = from_manifold(Manifold.cube((2, 3, 4)) + Manifold.cube((1, 1, 9)) + Manifold.cube((7, 1, 1)))
    other = from_manifold((Manifold.cube((2, 3, 4)) + Manifold.cube((1, 1, 9)) + Manifold.cube((7, 1, 1))).mirror((1, 0, 0)))
    assert groups([bent, other], [0, 0]) == [[0, 1]]
