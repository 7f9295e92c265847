"""Figures that are handed on, worked out again: by trimesh and manifold3d on the written meshes, from the
tables as plain text, and from the text of the piece. Sapphire and ruby by the trade's formula for round
coloured stones, width2 x depth x density x 0.0018 (rub.dendritics.com)."""

import csv
import json

import numpy as np
import pytest
import trimesh
from lxml import html
from manifold3d import Manifold, Mesh64
from orders import ALLOYS, GEMS, figures, rows_of

from posy.compiler.casting import proposal
from posy.compiler.casting.plan import plan_of
from posy.compiler.casting.sheet import drawings, page
from posy.compiler.command import main
from posy.compiler.making.pipeline import build

MELTS = rows_of("melts")
ROW = """piece "Ferry row"
  metal silver-925
measure long = 12 mm, from 8 mm to 30 mm
bar frame: size long x 5 x 3 mm
stone row: round 2 mm, gem sapphire, row 3, every 2.6 mm, on frame, level table
flush set: for row, in frame
"""
LATER = ROW.replace("12 mm", "16.5 mm").replace("row 3", "row 4")
GOLD = LATER.replace("silver-925", "gold-750-yellow")
OWN = """piece "Quay plate"
  metal gold-750-yellow
bar plate: size 16 x 7 x 3 mm
stone one: round 3.02 mm, gem sapphire, deep 1.9 mm, weighs 0.14 ct, lot "S-12", left 4 mm, on plate, level table
stone two: round 3.1 mm, gem ruby, lot "R 7/b", right 4 mm, on plate, level table
flush set-one: for one, in plate
flush set-two: for two, in plate
"""


def solid(folder, text):
    """The written mesh of a text, as trimesh and the kernel read it."""
    path = folder / "mesh.posy"
    path.write_text(text, "utf-8")
    assert main(["make", str(path), "--as", "stl", "--into", str(folder / "out"), "--show", "lines"]) == 0
    (stl,) = (folder / "out").glob("mesh*.stl")
    mesh = trimesh.load_mesh(stl)
    stl.unlink()
    return mesh, Manifold(Mesh64(mesh.vertices.astype(float), mesh.faces.astype(np.uint64)))


def grams(mesh, alloy):
    return mesh.volume * float(ALLOYS[alloy]["density"]) / 1000


def carats(count):
    """Depth of a brilliant: 61 % of its width, nearly; the formula is told to 4 %."""
    return pytest.approx(count * 4 * 1.22 * float(GEMS["sapphire"]["density"]) * 0.0018, rel=0.04)


def told(capsys, *words):
    capsys.readouterr()
    assert main([*words, "--show", "data"]) == 0
    return json.loads(capsys.readouterr().out)


def test_history_since_and_compare_come_of_the_meshes(tmp_path, capsys):
    texts = {"silver-925": ROW, "silver": LATER, "gold-750-yellow": GOLD}
    meshes = {name: solid(tmp_path, text) for name, text in texts.items()}
    path = tmp_path / "row.posy"
    for text in texts.values():
        path.write_text(text, "utf-8")
        assert main(["make", str(path), "--into", str(tmp_path / "out"), "--show", "lines"]) == 0
    rows = told(capsys, "history", str(path))["revisions"]
    alloys = ["silver-925", "silver-925", "gold-750-yellow"]
    for row, (mesh, _), alloy, count in zip(rows, meshes.values(), alloys, (3, 4, 4), strict=True):
        assert row["grams"] == pytest.approx(grams(mesh, alloy), rel=2e-3) and row["metal"] == alloy
        assert (row["stones"], row["carats"]) == (count, carats(count))
    path.write_text(LATER, "utf-8")
    (tmp_path / "was.posy").write_text(ROW, "utf-8")
    changes = told(capsys, "compare", str(tmp_path / "was.posy"), str(path))
    (was, old), (now, new) = list(meshes.values())[:2]
    by = {(one["of"], one["name"]): one for one in changes["changes"]}
    weight = by["weight", "silver-925"]
    before, after = grams(was, "silver-925"), grams(now, "silver-925")
    assert figures(weight["was"])[0] == pytest.approx(before, rel=2e-3)
    assert figures(weight["now"])[0] == pytest.approx(after, rel=2e-3)
    assert figures(weight["by"]) == [pytest.approx(after - before, abs=2e-3), pytest.approx(100 * (after / before - 1), abs=0.2)]
    size = by["size", ""]
    for said, mesh in ((size["was"], was), (size["now"], now)):
        assert figures(said) == pytest.approx(list(mesh.extents), abs=0.006)
    assert figures(by["carats", ""]["was"]) == [carats(3)] and figures(by["carats", ""]["now"]) == [carats(4)]
    assert by["measure", "long"]["by"] == "+4.5 mm" and figures(by["stones", "sapphire round"]["now"]) == [4, 2]
    metal = changes["metal_mm3"]
    assert metal["added"] == pytest.approx((new - old).volume(), rel=5e-3)
    assert metal["removed"] == pytest.approx((old - new).volume(), rel=5e-3)
    path.write_text(GOLD, "utf-8")
    since = told(capsys, "since", str(path), "1")
    assert since["metal_mm3"] == pytest.approx(metal, rel=1e-6)
    weights = {one["name"]: one for one in since["changes"] if one["of"] == "weight"}
    assert figures(weights["gold-750-yellow"]["now"])[0] == pytest.approx(grams(now, "gold-750-yellow"), rel=2e-3)


def test_stones_that_are_there_stand_on_the_sheets_with_their_lot_and_weight(tmp_path, monkeypatch):
    monkeypatch.setattr("posy.compiler.sheets.pdf.browser", lambda: None)
    path = tmp_path / "real.posy"
    path.write_text(OWN, "utf-8")
    words = ["order", str(path), "--to", "setter,stones", "--into", str(tmp_path), "--show", "lines"]
    assert main(words) == 0
    home = tmp_path / "real-order"

    def table(receiver, what):
        with (home / receiver / f"real-{what}.csv").open(newline="", encoding="utf-8") as stream:
            return {row["lot"]: row for row in csv.DictReader(stream)}

    stones, settings = table("stones", "stones"), table("setter", "settings")
    assert set(stones) == set(settings) == {"S-12", "R 7/b"}
    for lot, wide, ct, number in (("S-12", 3.02, 0.14, "1"), ("R 7/b", 3.1, None, "2")):
        row = stones[lot]
        assert figures(row["size_mm"]) == [wide] == figures(settings[lot]["size_mm"])
        assert (row["there_already"], row["to_order"], row["numbers"], settings[lot]["number"]) == ("True", "0", number, number)
        by_formula = wide**2 * 0.61 * wide * float(GEMS["ruby"]["density"]) * 0.0018
        assert float(row["ct_each"]) == (ct or pytest.approx(by_formula, rel=0.04)) == float(row["ct_total"])
    assert 1.2 < float(settings["S-12"]["depth_below_girdle_mm"]) < 1.9 * 0.75  # of a stone 1.9 mm deep
    for receiver in ("setter", "stones"):
        said = html.parse(str(home / receiver / f"real-{receiver}.html")).getroot().text_content()
        assert "S-12" in said and "R 7/b" in said


@pytest.mark.parametrize("alloy", ["silver-925", "gold-585-yellow", "palladium-950"])
def test_the_casting_page_melts_and_pours_by_the_tables(tmp_path, monkeypatch, alloy):
    """Silver with both ends published, gold with the upper alone, palladium with none."""
    monkeypatch.setattr(proposal, "TRIAL", 15_000)
    path = tmp_path / "bar.posy"
    path.write_text(f'piece "Bar"\n  metal {alloy}\nbar frame: size 12 x 5 x 3 mm\n', "utf-8")
    plans = []
    built = build(str(path), tolerance=0.02, pour=lambda *made: plans.append(plan_of(*made, cells=15_000)) or ())
    tree = html.fromstring(page(plans[0], drawings(plans[0])))
    rows = {row.xpath("string(td[1])"): row.xpath("string(td[2])") for row in tree.xpath("//tr[td]")}
    own, usual = ALLOYS[alloy], MELTS[ALLOYS[alloy]["family"]]
    top = float(own["melts_to"] or usual["liquidus"])
    low = float(own["melts_from"] or (top - 20 if own["melts_to"] else usual["solidus"]))
    assert figures(rows["melting"])[:2] == [low, top]
    assert ("not published" in rows["melting"]) == (not own["melts_to"])
    heat = [float(usual[f"superheat{key}"]) for key in ("_low", "_high", "")]
    assert figures(rows["metal as poured"]) == [top + one for one in heat]
    assert figures(rows["flask as poured"]) == [float(usual[f"flask{key}"]) for key in ("_low", "_high", "")]
    assert figures(rows["solidus"]) == [low] and figures(rows["liquidus"]) == [top]
    whole, count, *parts = figures(rows["metal to weigh out"])
    assert sum(parts) == pytest.approx(whole, abs=0.21)
    assert parts[0] == pytest.approx(count * 0.18 * float(own["density"]), abs=0.06)  # 12 x 5 x 3 mm each
    wax, times, dense = figures(rows["wax"].replace("cm3", ""))
    assert times == pytest.approx(float(own["density"]) / dense, rel=0.01)
    assert wax == pytest.approx(dense / float(own["density"]) * sum(parts[:3]), rel=0.02)
    assert built.parts
