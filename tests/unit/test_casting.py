"""The casting plan: sprues of the text and proposed, the flask by hand, remarks, files."""

import json

import numpy as np
import pytest

from posy.compiler.casting import figures, pouring, proposal
from posy.compiler.casting.figures import line_of
from posy.compiler.casting.plan import plan_of
from posy.compiler.casting.sheet import drawings, page
from posy.compiler.casting.sprues import Sites, Sprue, sprues_of
from posy.compiler.command import main
from posy.compiler.making.pipeline import build
from posy.compiler.measures.closest import nearest
from posy.compiler.measures.skin import Skin

RULES = {"hot-spot", "starved", "sprue-thin", "misrun", "flask-full"}


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


@pytest.mark.parametrize("gallery", [True, False])
def test_a_sprue_stands_where_a_file_reaches(tmp_path, gallery):
    """Not on the shank under a stone, inside its gallery; on the bare shank right there."""
    head = """stone opal: cabochon 12 x 10 mm, gem opal, at top of shank, out 2.4 mm, swivel 90 deg
bezel cup: for opal, wall 0.6 mm, foot 1.4 mm
gallery arcade: along girdle of opal, deep 3.2 mm, pillars 12, top 1.2 mm, inset 0.1 mm
"""
    text = f'piece "Ring"\nband shank: finger us 7 1/2, wide 3 mm, thick 2 mm, profile d\n{head if gallery else ""}'
    built = build(str(_text(tmp_path, "ring", text)), tolerance=0.02, check_metal=False)
    (part,) = built.parts
    sites = Sites(built.piece, Skin(part.points, part.triangles, part.owner))
    found = sites.near(np.array([[0.5, -0.8, 10.6]]), 2.1, 8.0, [])
    inside = np.hypot(found.at[0] / 5, found.at[1] / 6) < 0.8 and found.way[2] > 0.5
    assert inside != gallery
