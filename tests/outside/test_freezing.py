"""Freezing against closed solutions and what every foundry handbook tells.

Sources: H. S. Carslaw and J. C. Jaeger, Conduction of Heat in Solids, 2nd ed. (1959), chapter XI (Neumann:
11.2; Schwarz, metal against a mould that conducts too: 11.2 with the region x < 0) and 13.5 (outside a
cylinder); N. Chvorinov (1940) by way of D. R. Askeland and P. P. Phule, Essentials of Materials Science
and Engineering (2004); the correction for round shapes: M. C. Flemings, Solidification Processing (1974).
Sections are from memory."""

import math

import numpy as np
import pytest
from manifold3d import Manifold

from posy.compiler.freezing.freeze import freeze
from posy.compiler.freezing.grid import Grid, Rod, grid_of
from posy.compiler.freezing.heat import Melt, Mould, Pour, chvorinov
from posy.compiler.freezing.modulus import modulus
from posy.compiler.freezing.pools import pools, smoothed
from posy.compiler.measures.skin import from_manifold

# A metal that freezes at one temperature, poured just there, in investment.
PURE = Melt(0.3, 1.036e-2, 0.28, 0.28, 105.0, 961.0, 962.0)
STERLING = Melt(0.25, 1.036e-2, 0.28, 0.28, 118.0, 780.0, 899.0, 0.25)
INVESTMENT = Mould(0.0005, 0.0011)
FLASK = Pour(962.0, 550.0)


def line_of_cells(metal, mould, width):
    """Mould, then metal, along x: one cell wide the other ways."""
    share = np.concatenate([np.zeros(mould), np.ones(metal)])[:, None, None]
    fine = np.repeat(np.repeat(np.repeat(share > 0.5, 2, 0), 2, 1), 2, 2)
    one = np.ones(1)
    widths = np.full(metal + mould, width), one, one
    return Grid(np.zeros(3), width, 0, widths, share, np.zeros_like(share), fine)


def front(melt, mould, pour):
    """The front goes as this times the root of time, mm/s^0.5: Neumann's and Schwarz' solution."""
    solid = melt.conductivity / (melt.density * melt.heat_solid)
    liquid = melt.conductivity / (melt.density * melt.heat_liquid)
    inside = math.sqrt(melt.conductivity * melt.density * melt.heat_solid)
    outside = math.sqrt(mould.conductivity * mould.capacity)
    over = max(pour.metal - melt.top, 0.0)

    def lacks(root):  # heat of freezing at the front, less what solid takes and liquid brings
        fall = (melt.solidus - pour.mould) / (1 + inside / outside / math.erf(root))
        taken = melt.conductivity * fall / math.erf(root) * math.exp(-(root**2)) / math.sqrt(math.pi * solid)
        q = root * math.sqrt(solid / liquid)
        brought = melt.conductivity * over * math.exp(-(q**2)) / math.erfc(q) / math.sqrt(math.pi * liquid)
        return melt.density * melt.latent * root * math.sqrt(solid) - taken + brought

    low, high = 1e-6, 3.0
    for _ in range(80):
        low, high = ((low + high) / 2, high) if lacks((low + high) / 2) < 0 else (low, (low + high) / 2)
    return 2 * low * math.sqrt(solid)


def worst_front(melt, mould, pour, depth, cells, beyond, *, step=0.05, rounds=2, wide=2):
    """How far the front is off at most, as a share, while it goes from a third of ``depth`` to all of it."""
    width, speed, found = depth / cells, front(melt, mould, pour), []
    grid = line_of_cells(wide * cells, beyond * cells, width)
    done = freeze(grid, melt, mould, pour, lambda t, share: found.append((t, share * wide * depth)),
                  step=step, until=(depth / speed) ** 2, rounds=rounds)  # fmt: skip
    times, fronts = np.array(found).T
    true = speed * np.sqrt(times)
    late = true > depth / 3
    return float(np.abs(fronts[late] / true[late] - 1).max()), done


def test_schwarz_silver_against_investment():
    """Metal at its melting point against a mould: within 1 % on every grid, one round a step as shipped."""
    for cells in (5, 10, 20):
        off, done = worst_front(PURE, INVESTMENT, FLASK, 1.0, cells, 20, rounds=1)
        assert off < 0.01
        assert done.balance < 1e-9


def test_schwarz_with_a_mould_that_conducts_nearly_as_well():
    """A sharp front in metal and mould of one kind; halving the grid halves the error or better."""
    alike = Melt(0.05, 7e-3, 0.5, 0.5, 200.0, 1000.0, 1001.0), Mould(0.02, 2e-3), Pour(1001.0, 20.0)
    coarse, fine = (worst_front(*alike, 10.0, cells, 3)[0] for cells in (10, 20))
    assert fine < 0.6 * coarse
    assert fine < 0.01


def test_neumann_with_superheat():
    """Liquid above its melting point: the heat it brings holds the front back; finer steps come nearer."""
    hot = Melt(0.05, 7e-3, 0.5, 0.5, 200.0, 1000.0, 1001.0), Mould(0.02, 2e-3), Pour(1081.0, 20.0)
    coarse, fine = (worst_front(*hot, 10.0, 20, 3, step=step, wide=4)[0] for step in (0.1, 0.025))
    assert fine < 0.7 * coarse
    assert fine < 0.02


def test_a_plate_freezes_by_chvorinovs_rule():
    """A wide plate of 1.6 mm: modulus 0.8 mm."""
    width = 0.1
    share = np.concatenate([np.zeros(140), np.ones(16), np.zeros(140)])[:, None, None]
    fine = np.repeat(np.repeat(np.repeat(share > 0.5, 2, 0), 2, 1), 2, 2)
    one = np.ones(1)
    grid = Grid(np.zeros(3), width, 0, (np.full(296, width), one, one), share, np.zeros_like(share), fine)
    true = chvorinov(PURE, INVESTMENT, FLASK) * 0.8**2
    assert frozen_at(grid, 0.99, 0.05) == pytest.approx(0.98 * true, rel=0.03)


def round_time(modulus_mm, radius, outward):
    """When a round shape of that modulus is solid: heat into the mould outside a surface held at one
    temperature, ``outward`` of the root of its Fourier number."""
    heat = PURE.density * (PURE.latent + 0.28) * modulus_mm
    drop = 961.5 - FLASK.mould
    low, high = 0.0, 100.0
    for _ in range(60):
        time = (low + high) / 2
        fourier = INVESTMENT.spread * time / radius**2
        taken = INVESTMENT.capacity * drop * radius * outward(math.sqrt(fourier))
        low, high = (time, high) if taken < heat else (low, time)
    return low


def frozen_at(grid, share, step):
    """When that share of the metal is solid."""
    seen = []
    freeze(grid, PURE, INVESTMENT, FLASK, lambda t, s: seen.append((t, s)), step=step)
    times, shares = np.array(seen).T
    return float(np.interp(share, shares, times))


def test_a_sphere_freezes_sooner_than_a_plate_by_the_known_correction():
    """Outside a sphere the heat taken is k dT (t / R + 2 (t / pi a)^0.5), exactly. Grid halved twice."""
    skin = from_manifold(Manifold.sphere(2.5, 96))
    true = round_time(2.5 / 3, 2.5, lambda f: 2 * f / math.sqrt(math.pi) + f * f)
    plate = chvorinov(PURE, INVESTMENT, FLASK) * (2.5 / 3) ** 2
    assert true < 0.6 * plate
    off = [
        frozen_at(grid_of(skin, pitch=pitch, depth=10.0), 0.99, 0.025) / (0.98 * true) - 1
        for pitch in (0.8, 0.4, 0.2)
    ]
    assert abs(off[0]) > 2 * abs(off[1]) > 4 * abs(off[2])
    assert abs(off[2]) < 0.02


def test_a_cylinder_freezes_between_them():
    """Outside a cylinder, for short times: Carslaw and Jaeger 13.5 (8), integrated."""
    skin = from_manifold(Manifold.cylinder(8.0, 1.5, 1.5, 96, True))
    root = math.sqrt(math.pi)
    true = round_time(0.75, 1.5, lambda f: 2 * f / root + f**2 / 2 - f**3 / (6 * root) + f**4 / 16)
    sphere = round_time(0.75, 2.25, lambda f: 2 * f / root + f * f)
    assert sphere < true < chvorinov(PURE, INVESTMENT, FLASK) * 0.75**2
    grid = grid_of(skin, pitch=0.2, depth=10.0)
    k = grid.shape[2] // 2
    thin = Grid(grid.low, 0.2, grid.rim, (grid.widths[0], grid.widths[1], np.ones(1)),
                grid.share[:, :, k : k + 1], grid.added[:, :, k : k + 1], grid.fine[:, :, 2 * k : 2 * k + 2])  # fmt: skip
    assert frozen_at(thin, 0.99, 0.025) == pytest.approx(0.98 * true, rel=0.03)


def test_all_the_heat_of_freezing_is_in_the_books():
    """What metal gives off, the mould takes; the part that is heat of freezing is mass times latent heat."""
    solid = Manifold.cube((6.0, 4.0, 2.0)) - Manifold.cylinder(2.0, 1.0, 1.0, 32).translate((2, 2, 0))
    skin = from_manifold(solid)
    done = freeze(grid_of(skin, most=20_000), STERLING, INVESTMENT, Pour(980.0, 550.0))
    assert done.balance < 0.01
    assert done.latent == pytest.approx(skin.volume * STERLING.density * STERLING.latent, rel=0.01)


def poured(solid, rods=(), cells=60_000):
    """A shape in sterling with its sprues."""
    skin = from_manifold(solid)
    grid = grid_of(skin, rods, most=cells)
    done = freeze(grid, STERLING, INVESTMENT, Pour(980.0, 550.0))
    return done, pools(done, [rod.end for rod in rods])


def test_a_stepped_wedge_freezes_from_its_thin_end():
    """The thickest step last, and each before the next thicker."""
    steps = Manifold()
    for k in range(4):
        steps += Manifold.cube((6.0, 8.0, 1.0 + k)).translate((5.99 * k, 0, 0))
    done, found = poured(steps)
    last = [p for p in found if p.late > 0.05]
    assert len(last) == 1 and last[0].at[0] > 17.9
    times = smoothed(done)
    middles = [tuple(done.grid.index(np.array([[5.99 * k + 3, 4, (1 + k) / 2]]))[0]) for k in range(4)]
    assert list(np.argsort([times[m] for m in middles])) == [0, 1, 2, 3]


BALL = (
    Manifold.sphere(3.0, 48) + Manifold.cylinder(10.0, 0.8, 0.8, 32).translate((0, 0, 1))
    + Manifold.cube((8, 8, 2), True).translate((0, 0, 11))
)  # fmt: skip


def test_a_ball_on_a_thin_neck_is_cut_off_and_is_not_with_the_sprue_on_it():
    """Poured through the plate, the neck freezes before the ball; poured into the ball, nothing is late."""
    by_plate = Rod(np.array([0, 0, 11.5]), np.array([0, 0, 18.0]), 2.5, 3.0, 6.0)
    found = [p for p in poured(BALL, [by_plate])[1] if p.late > 0.05 and p.volume > 4]
    assert len(found) == 1
    assert np.linalg.norm(found[0].at) < 3.0 and found[0].volume > 60
    assert 3.0 < found[0].gate[2] < 10.0  # the neck froze
    by_ball = Rod(np.array([0, 0, -2.0]), np.array([0, 0, -10.0]), 4.5, 4.5, 8.0)
    assert [p for p in poured(BALL, [by_ball])[1] if p.late > 0.05 and p.volume > 4] == []


@pytest.mark.parametrize(
    "solid, whole, most",
    [
        (Manifold.sphere(3.0, 96), 1.0, 1.0),
        (Manifold.cylinder(60.0, 2.0, 2.0, 96, True), 2 * 60 / (2 * 62), 1.0),
        (Manifold.cube((40, 40, 2), True), 3200 / (3200 + 320), 1.0),
    ],
    ids=["sphere, R / 3", "long cylinder, R / 2", "plate, half its thickness"],
)
def test_the_modulus_of_plain_shapes(solid, whole, most):
    """Volume by surface, as any handbook lists it; of the heaviest place without the far ends."""
    found = modulus(from_manifold(solid))
    assert found.whole == pytest.approx(whole, rel=0.01)
    assert found.most == pytest.approx(most, rel=0.1)
