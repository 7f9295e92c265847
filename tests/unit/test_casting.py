"""The casting plan: sprues of the text and proposed, the flask by hand, remarks, files."""

import json
import math

import numpy as np
import pytest
from manifold3d import Manifold

from posy.compiler.casting import figures, pouring, proposal
from posy.compiler.casting.figures import line_of
from posy.compiler.casting.plan import plan_of
from posy.compiler.casting.sheet import drawings, page
from posy.compiler.casting.sprues import Sites, Sprue, sprues_of
from posy.compiler.casting.tree import Flask, Tree, Wax, standing, tree, wax_of, weights
from posy.compiler.command import main
from posy.compiler.making.pipeline import build
from posy.compiler.measures.alike import groups
from posy.compiler.measures.closest import nearest
from posy.compiler.measures.skin import Skin, from_manifold

RULES = {"hot-spot", "starved", "sprue-thin", "misrun", "flask-full"}
FLASK = Flask(60.0, 90.0, wall=6.5, top=25.0, gap=5.0, stem=8.0, button=25.0, button_tall=12.0, angle=90.0)


@pytest.fixture(autouse=True)
def coarse(monkeypatch):
    monkeypatch.setattr(proposal, "TRIAL", 25_000)


def cast(folder, text, cells=30_000, house=""):
    """The piece with its plan; remarks by name."""
    (folder / "piece.posy").write_text(text)
    (folder / "bench.toml").write_text(house)
    plans = []

    def pour(built, piece):
        plans.append(plan_of(built, piece, cells=cells))
        return tuple(one.pour for one in plans[0].casts)

    built = build(str(folder / "piece.posy"), pour=pour, tolerance=0.02)
    return built, plans[0], {fault.code for fault in built.faults} & (RULES | {"idle-waiver"})


# -- the flask, by hand ------------------------------------------------------------------------


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


# -- sprues ------------------------------------------------------------------------------------

BALL = """piece "Ball on a neck"
disc plate-body: across 8 mm, thick 2 mm
rod neck: wire 1.2 mm, long 14 mm, out 1 mm
ball knob: across 6 mm, out 12 mm
"""


def test_a_sprue_is_no_metal(tmp_path):
    plain = build(str(_text(tmp_path, "a", BALL)), check_metal=False)
    sprued = build(str(_text(tmp_path, "b", BALL + "sprue feed: at back of plate-body\n")), check_metal=False)
    assert not [f for f in sprued.faults if f.level.value == "fault"]
    (one,), (two,) = plain.parts, sprued.parts
    assert one.volume == two.volume
    assert np.array_equal(one.points, two.points) and np.array_equal(one.triangles, two.triangles)


def _text(folder, name, text):
    path = folder / f"{name}.posy"
    path.write_text(text)
    return path


def test_poured_through_the_neck_the_ball_is_a_hot_spot_and_is_not_when_poured_into_it(tmp_path):
    thin, fat = "sprue feed: at back of plate-body, wire 3 mm\n", "sprue feed: at (0, 0, 18 mm), wire 4.5 mm\n"
    built, plan, found = cast(tmp_path, BALL + thin)
    assert "hot-spot" in found
    remark = next(f for f in built.faults if f.code == "hot-spot")
    assert built.features[[f.name for f in built.features].index("knob")].name == remark.feature
    assert np.linalg.norm(np.array(remark.place) - [0, 0, 15]) < 3
    _, plan, found = cast(tmp_path, BALL + fat)
    assert "hot-spot" not in found and "sprue-thin" not in found
    assert plan.casts[0].sprues[0].across == 4.5


def test_the_proposal_pours_into_the_ball(tmp_path):
    _, plan, found = cast(tmp_path, BALL)
    (one,) = plan.casts
    assert any(np.linalg.norm(s.at - [0, 0, 15]) < 3.2 for s in one.sprues)
    assert not found
    assert one.proposal.before.lost > 10 * one.pouring.lost


@pytest.mark.parametrize("way", [(0, 0, 1), (0, 0, -1), (1, 0, 0), (0, -1, 0), (0.36, 0.48, -0.8), (-0.6, 0, 0.8)])
def test_the_line_told_for_a_proposed_sprue_puts_it_there(tmp_path, way):
    at = np.array([1.25, -0.5, 3.0])
    line = line_of(Sprue(at, np.array(way, dtype=float), 2.6, 8.0), 0)
    text = _text(tmp_path, "a", 'piece "Bar"\nbar block: size 10 x 6 x 3 mm\n' + line + "\n")
    found = []

    def pour(built, piece):
        found.extend(sprues_of(piece, [Skin(p.points, p.triangles, p.owner) for p in built.parts], [""])[0])
        return ()

    built = build(str(text), pour=pour)
    assert not [f for f in built.faults if f.level.value == "fault"]
    (one,) = found
    assert one.at == pytest.approx(at) and one.way == pytest.approx(way, abs=0.02) and one.across == 2.6


def test_a_thin_sprue_is_told_and_the_thickness_told_cures_it(tmp_path):
    text = 'piece "Block"\nbar block: size 10 x 8 x 5 mm\nsprue feed: at back of block, wire {}\n'
    built, _, found = cast(tmp_path, text.format("1.2 mm"))
    assert "sprue-thin" in found
    edit = next(f for f in built.faults if f.code == "sprue-thin").edit
    wide = float(edit.value.removesuffix(" mm"))
    for _ in range(3):  # a thicker sprue warms what it stands on
        built, _, found = cast(tmp_path, text.format(f"{wide} mm"))
        if "sprue-thin" not in found:
            break
        wide = float(next(f for f in built.faults if f.code == "sprue-thin").edit.value.removesuffix(" mm"))
    assert "sprue-thin" not in found


def test_a_body_without_a_sprue_is_starved(tmp_path):
    two = 'piece "Two"\nbar left: size 6 x 4 x 2 mm, left 8 mm\nbar right: size 6 x 4 x 2 mm, right 8 mm\n'
    assert "starved" in cast(tmp_path, two + "sprue feed: at back of left, wire 2.5 mm\n")[2]
    both = two + "sprue feed: at back of left, wire 3 mm\nsprue more: at back of right, wire 3 mm\n"
    assert "starved" not in cast(tmp_path, both)[2]


def test_a_long_thin_wall_may_not_fill_and_a_thicker_one_does(tmp_path):
    text = 'piece "Leaf"\nbar leaf: size 40 x 6 x {} mm\nsprue feed: at (20 mm, 0 mm), lean 90 deg, wire 2 mm\n'
    house = '[pour]\nspeed = 100\n'
    assert "misrun" in cast(tmp_path, text.format("0.35"), 120_000, house)[2]
    assert "misrun" not in cast(tmp_path, text.format("1.2"), house=house)[2]


def test_a_flask_too_small_is_told_and_a_waiver_is_not_idle(tmp_path):
    small = '[flask]\ninside = "25 mm"\ntall = "45 mm"\n'
    bar = 'piece "Bar"\nbar block: size 30 x 4 x 2 mm\n'
    assert "flask-full" in cast(tmp_path, bar, house=small)[2]
    assert "flask-full" not in cast(tmp_path, bar)[2]
    built, _, found = cast(tmp_path, bar + 'waive flask-full because "it is cast in two"\n', house=small)
    assert "idle-waiver" not in found
    assert next(f for f in built.faults if f.code == "flask-full").level.value == "hint"
    assert not [f for f in build(built.path, check_metal=True).faults if f.code == "idle-waiver"]


@pytest.mark.parametrize("name", ["alder-solitaire", "pilot-signet", "comet-halo"])
def test_sprues_proposed_leave_little_of_the_spots_there_are_without(name):
    """Of three pieces of the gallery: a ring with a head, a heavy one, a pendant in a halo."""
    from pathlib import Path

    path = Path(__file__).parents[2] / "examples" / f"{name}.posy"
    plans = []

    def pour(built, piece):
        plans.append(plan_of(built, piece, cells=60_000))
        return ()

    built = build(str(path), pour=pour, tolerance=0.02)
    one = plans[0].casts[0]
    assert one.proposal.before.lost > 50
    assert one.pouring.lost < 0.1 * one.proposal.before.lost
    kept = {"seat", "prong", "grains", "engraving"}
    for sprue in one.sprues:  # none on a seat, a prong, a letter
        owner = one.pouring.skin.owner[nearest(one.pouring.skin, sprue.at)[1]]
        assert built.features[owner].word not in kept
        assert sprue.across >= 1.5


# -- the command -------------------------------------------------------------------------------


def test_the_plan_is_written_told_and_the_same_every_time(tmp_path, monkeypatch, posy):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("posy.compiler.casting.plan.FINE", 60_000)
    (tmp_path / "bench.toml").write_text('[pour]\nsuperheat = "65 C"\n\n[flask]\ninside = "60 mm"\n')
    (tmp_path / "ball.posy").write_text(BALL)
    told = posy("cast", "ball.posy").out
    assert "out/ball-cast.html" in told and "metal to weigh out" in told
    assert "Left out of this: how metal flows" in told and "Molten metal" in told
    first = {path.name: path.read_bytes() for path in (tmp_path / "out").iterdir()}
    assert set(first) >= {"ball-cast.html", "ball-cast.svg"}
    assert b"<script" not in first["ball-cast.html"] and b"http://" not in first["ball-cast.html"].replace(
        b"http://www.w3.org/2000/svg", b""
    )
    report = json.loads(posy("cast", "ball.posy", "--show", "data").out)
    assert report["command"] == "cast"
    (one,) = report["pieces"][0]["castings"]
    heat = next(row for row in one["worked_out_with"] if row["name"] == "superheat")
    assert heat["value"] == 65.0 and "bench.toml" in heat["source"]
    assert one["flask"]["inside"] == 60.0
    assert one["freezing"]["heat_balance"] < 0.01
    assert {path.name: path.read_bytes() for path in (tmp_path / "out").iterdir()} == first


def test_ctrl_c_leaves_nothing_half_written(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "ball.posy").write_text(BALL)

    def stopped(*given, **more):
        raise KeyboardInterrupt

    monkeypatch.setattr(pouring, "freeze", stopped)
    assert main(["cast", "ball.posy"]) == 130
    assert sorted(path.name for path in tmp_path.iterdir()) == ["ball.posy"]


def test_a_series_is_planned_each_under_its_name(tmp_path, monkeypatch, posy):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("posy.compiler.casting.plan.FINE", 20_000)
    (tmp_path / "bar.posy").write_text(
        'piece "Bar"\nmeasure long = 12 mm\nbar block: size long x 4 x 2 mm\n'
        "series lengths: long 12 mm to 16 mm\n"
    )
    told = posy("cast", "bar.posy", "--series", "--no-colour").out
    assert "One of each in silver-925: 2 castings" in told
    assert len(list((tmp_path / "out").glob("*.html"))) == 2


def test_a_page_of_a_piece_in_two_metals_has_both(tmp_path):
    text = 'piece "Two metals"\nbar block: size 10 x 5 x 2 mm\nball dot: across 4 mm, out 3 mm, metal gold-750-yellow\n'
    _, plan, _ = cast(tmp_path, text)
    assert [one.alloy.name for one in plan.casts] == ["silver-925", "gold-750-yellow"]
    html = page(plan, drawings(plan)).decode()
    assert html.count("<figure>") == 2 and "silver-925:" in html and "gold-750-yellow:" in html


def test_a_sprue_written_in_a_casting_is_of_that_casting(tmp_path):
    """Though both lie in the same place."""
    text = (
        'piece "Locket"\ncasting front\n  disc f: across 10 mm, thick 1.2 mm\n'
        "casting rear\n  disc r: across 10 mm, thick 1.2 mm\n  sprue pour: at back of r, wire 2.5 mm\n"
    )
    _, plan, _ = cast(tmp_path, text)
    front, rear = plan.casts
    assert [s.feature >= 0 for s in rear.sprues] == [True]
    assert all(s.feature < 0 for s in front.sprues)


def test_a_block_of_a_metre_has_no_more_cells_than_are_let() -> None:
    from posy.compiler.freezing.grid import fitting

    assert fitting(np.array([20.0, 8.0, 3.0]), 8.0, 200_000) < 1.0
    pitch = fitting(np.array([900.0, 700.0, 500.0]), 8.0, 200_000)
    assert np.prod(np.ceil(np.array([900.0, 700.0, 500.0]) / pitch)) <= 200_000


# -- which part, how often, where ------------------------------------------------------------------


def test_metal_beside_a_cut_is_of_the_part_it_is_cut_in(tmp_path):
    """The bore lays bare the inside of the shank: what stands there is the shank."""
    text = 'piece "Ring"\nband shank: finger us 7, wide 4 mm, thick 2 mm\nbore: of shank\n'
    built = build(str(_text(tmp_path, "ring", text)), tolerance=0.02, check_metal=False)
    (part,) = built.parts
    skin = Skin(part.points, part.triangles, part.owner)
    owner_of = pouring.metal_at(skin, built.piece)
    inside = part.points[np.argmin(np.hypot(part.points[:, 0], part.points[:, 2]))]
    names = [feature.name for feature in built.features]
    assert "bore" in {names[k] for k in part.owner}, "the mesh knows the bore"
    assert names[owner_of(inside)] == "shank"


PAIR = """piece "Pair"
casting drop: row 2, every 30 mm
  disc plate-body: across 9 mm, thick 2.5 mm
  bar tail: size 2 x 6 x 2 mm, down 6 mm
"""


def test_castings_alike_are_planned_once_and_the_line_told_stands_in_their_block(tmp_path):
    built, plan, _ = cast(tmp_path, PAIR)
    assert len([part for part in built.parts if not part.bought]) == 2
    (one,) = plan.casts
    assert one.castings == ("drop 1", "drop 2") and one.called == "drop 1 and drop 2"
    lines = [figures.kept(sprue, k, one).partition("write in drop: ")[2] for k, sprue in enumerate(one.sprues)]
    assert lines and all(lines)
    again, other, _ = cast(tmp_path, PAIR + "".join(f"  {line}\n" for line in lines))
    assert not [fault for fault in again.faults if fault.level.value == "fault"]
    (same,) = other.casts  # each stands on both, where it was proposed
    assert np.allclose([s.at for s in same.sprues], [s.at for s in one.sprues], atol=0.02)
    assert all(sprue.feature >= 0 for sprue in same.sprues)


def test_castings_that_differ_are_planned_each():
    skins = [from_manifold(Manifold.cube(size)) for size in ((2, 3, 4), (4, 2, 3), (2, 3, 4.01))]
    assert groups(skins, ["silver"] * 3) == [[0, 1], [2]]
    assert groups(skins[:2], ["silver", "gold"]) == [[0], [1]]
    bent = from_manifold(Manifold.cube((2, 3, 4)) + Manifold.cube((1, 1, 9)) + Manifold.cube((7, 1, 1)))
    other = from_manifold((Manifold.cube((2, 3, 4)) + Manifold.cube((1, 1, 9)) + Manifold.cube((7, 1, 1))).mirror((1, 0, 0)))
    assert groups([bent, other], [0, 0]) == [[0, 1]]


def test_a_band_is_poured_behind_and_the_line_says_the_place(tmp_path):
    text = 'piece "Band"\nband shank: finger us 7, wide 3 mm, thick 1.8 mm\n'
    _, plan, _ = cast(tmp_path, text)
    (one,) = plan.casts
    said = [line_of(sprue, k) for k, sprue in enumerate(one.sprues)]
    assert any(line.startswith(f"sprue feed-{'abcde'[k]}: at bottom of shank, wire") for k, line in enumerate(said))
    assert one.tree.room > 1 and not one.tree.alone


def test_a_place_is_told_only_where_a_line_would_put_one_sprue(tmp_path):
    """Three discs of one line have three backs; a disc of a workpiece is out of a line's reach."""
    for text in ("disc feet: across 6 mm, thick 2 mm, row 3, every 5 mm\n",
                 "workpiece work\n  disc feet: across 6 mm, thick 2 mm\n"):  # fmt: skip
        built = build(str(_text(tmp_path, "feet", f'piece "Feet"\n{text}')), tolerance=0.02, check_metal=False)
        (part,) = built.parts
        assert Sites(built.piece, Skin(part.points, part.triangles, part.owner)).places == []
    built = build(str(_text(tmp_path, "foot", 'piece "Foot"\ndisc foot: across 6 mm, thick 2 mm\n')), check_metal=False)
    (part,) = built.parts
    told = Sites(built.piece, Skin(part.points, part.triangles, part.owner)).places
    assert "back of foot" in [one.place for one in told]


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
