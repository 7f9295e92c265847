"""Sheets of eight pieces: every figure on them is worked out again, from the mesh as trimesh reads it, from
the tables as plain text, from the text of the piece and from bench.toml."""

import hashlib
import math
import re

import numpy as np
import pytest
import trimesh
from orders import ALLOYS, COUNT, DATE, GEMS, HOUSE, SHRINK, Order, facts, figures, marking, table_of
from scipy.spatial import ConvexHull

PIECES = (
    "comet-halo", "terrace-row", "island-cab", "alder-solitaire", "fern-studs", "harbour-cluster", "dawn-eternity",
    "kelp-brooch",
)  # fmt: skip
RECEIVERS = ("caster", "setter", "stones")


@pytest.fixture(scope="module")
def orders(tmp_path_factory):
    """Orders of the pieces, not printed; of the terrace row with shrinkage allowed for."""
    folder = tmp_path_factory.mktemp("shop")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("posy.compiler.sheets.pdf.browser", lambda: None)
        return {name: Order(folder, name, shrink=name == "terrace-row") for name in PIECES}


@pytest.fixture(params=PIECES)
def order(orders, request):
    return orders[request.param]


# -- what all sheets tell


def test_paper_tables_and_records_tell_the_same(order):
    digest = hashlib.sha256(order.text.read_bytes()).hexdigest()
    plain = re.findall(r"^measure ([\w-]+) = ([\d.]+) mm", order.text.read_text("utf-8"), re.MULTILINE)
    for receiver in RECEIVERS:
        record, said = order.record(receiver), order.page(receiver).text_content()
        assert record["text_sha256"] == digest and f"text {digest[:16]} (SHA-256)" in said and DATE in said
        assert (record["count"], record["date"], record["tolerance_mm"]) == (COUNT, DATE, 0.005)
        assert record["shrink"] == (SHRINK if order.size > 1 else 0.0)
        told = {name: value for name, value, _ in record["measures"]}
        assert all(told[name] == float(value) for name, value in plain)
        for row in record["files"]:
            data = (order.home(receiver) / row["file"]).read_bytes()
            assert (row["bytes"], row["sha256"]) == (len(data), hashlib.sha256(data).hexdigest())
    record, said = order.record("caster"), facts(order.page("caster"))
    pairs = {"cast_g_each": "As cast, each", "cast_g_all": f"As cast, all {COUNT}", "resin_g_each": "Resin pattern, each",
             "wax_g_each": "Wax pattern, each", "finished_g_least": "Finished, each, about"}
    assert all(float(record[key]) == figures(said[name])[0] for key, name in pairs.items())
    assert [float(one) for one in record["box_mm"]] == figures(said["Size of the metal"])
    castings = [{key: str(value) for key, value in row.items()} for row in record["castings"]]
    assert castings == order.table("caster", "castings")
    assert [{**row, "number": str(row["number"])} for row in order.record("setter")["stones"]] == order.table("setter", "settings")
    stones = [{key: str(value) for key, value in row.items()} for row in order.record("stones")["stones"]]
    assert stones == order.table("stones", "stones")


def test_a_figure_of_the_house_stands_in_the_line_that_is_told(order):
    lines = HOUSE.splitlines()
    said = order.page("caster").text_content() + order.page("stones").text_content()
    told = re.findall(r"(resin at|wax at|take up to|Spares:) ([\d.]+) [^(]*\(bench.toml, line (\d+)\)", said)
    assert len(told) == 4
    for what, figure, line in told:
        key = {"resin at": "resin", "wax at": "wax", "take up to": "finishing", "Spares:": "spares"}[what]
        assert lines[int(line) - 1].startswith(f'{key} = "{figure} ')


# -- the caster


def test_the_casters_weights_and_sizes_come_of_the_mesh(order):
    """Volume by trimesh times the published density."""
    row, grams = ALLOYS[order.alloy], order.grams
    assert all(mesh.is_watertight for mesh in order.meshes)
    pattern = sum(mesh.volume for mesh in order.meshes) * order.size**3 / 1000
    said = facts(order.page("caster"))
    assert figures(said["As cast, each"])[0] == order.near(grams)
    assert figures(said["Finished, each, about"]) == order.near([0.92 * grams, grams])
    assert figures(said[f"As cast, all {COUNT}"])[0] == order.near(COUNT * grams)
    assert figures(said["Resin pattern, each"])[0] == order.near(pattern * 1.12)
    assert figures(said["Wax pattern, each"])[0] == order.near(pattern * 0.95)
    extents = trimesh.util.concatenate(order.meshes).extents
    assert figures(said["Size of the metal"]) == pytest.approx(list(extents), abs=0.006)
    assert (said["How many"], said["Metal"]) == (str(COUNT), row["title"])
    assert said[f"UK hallmark, {order.alloy}"] == marking(order.alloy, grams)
    rows = order.table("caster", "castings")
    paper = order.page("caster").xpath("//section[h2[starts-with(., 'Castings')]]//tbody/tr")
    assert len(rows) == len(paper)
    paper = [shown for row, shown in zip(rows, paper, strict=True) for _ in range(int(row["count"]))]
    rows = [row for row in rows for _ in range(int(row["count"]))]
    assert len(rows) == len(order.meshes) == len(paper)
    for cast, mesh, shown in zip(rows, order.meshes, paper, strict=True):
        assert float(cast["density_g_cm3"]) == float(row["density"])
        assert float(cast["volume_mm3"]) == order.near(mesh.volume)
        assert figures(cast["melts_c"]) == [float(row[key]) for key in ("melts_from", "melts_to") if row[key]]
        weights = (row["density"], 1.12 * order.size**3, 0.95 * order.size**3)
        for key, dense in zip(("cast_g", "resin_g", "wax_g"), weights, strict=True):
            assert float(cast[key]) == order.near(mesh.volume * float(dense) / 1000)
        assert [cell.text_content() for cell in shown][2:] == list(cast.values())[2:]


def test_bought_parts_are_counted_and_weighed_again(orders):
    """A pin and its rivet, sterling as the brooch: 10.36 g/cm3 as Rio Grande has it."""
    order = orders["kelp-brooch"]
    record = {row["name"].rpartition(".")[2]: row for row in order.record("caster")["bought"]}
    solids = {part.casting.rpartition(".")[2]: trimesh.Trimesh(part.points, part.triangles) for part in order.built.parts if part.bought}
    assert set(record) == set(solids) == {"pin", "rivet"}
    paper = order.page("caster").xpath("//h2[starts-with(., 'Bought')]/following-sibling::table[1]//tbody/tr")
    for (name, solid), shown in zip(solids.items(), paper, strict=True):
        row = record[name]
        assert row["count"] == solid.body_count == 1 and row["metal"] == "silver-925"
        assert float(row["grams"]) == order.near(solid.volume * 10.36 / 1000)
        cells = [cell.text_content() for cell in shown]
        assert cells == [name, row["name"], row["metal"], str(row["count"]), row["grams"]]
    assert not any(one.record("caster")["bought"] for name, one in orders.items() if name != "kelp-brooch")


def test_checksums_and_the_drawings_figures(order):
    folder, tree = order.home("caster"), order.page("caster")
    for row in order.table("caster", "files"):
        data = (folder / row["file"]).read_bytes()
        assert (int(row["bytes"]), row["sha256"]) == (len(data), hashlib.sha256(data).hexdigest())
        assert row["sha256"] in tree.text_content() and f"{len(data):,}" in tree.text_content()
    (drawing,) = tree.xpath("//*[local-name()='svg']")
    texts = [one.text for one in drawing.xpath(".//*[local-name()='text']")]
    numbers = {float(one) for one in texts if re.fullmatch(r"\d+\.?\d*", one)}
    extents = trimesh.util.concatenate(order.meshes).extents
    assert all(min(abs(extent - one) for one in numbers) < 0.006 for extent in extents)
    assert all(min(abs(extents - one)) < 0.006 for one in numbers)
    assert any(re.search(r"\d:1, mm$", one) for one in texts)
    shrunk = figures(re.search(r"The meshes are.*", tree.text_content())[0])
    usual = {row["family"]: 100 * float(row["figure"]) for row in table_of("allowances") if row["what"] == "shrink"}
    family = ALLOYS[order.alloy]["family"]
    assert shrunk == pytest.approx([1 / 0.9875, 1.25] if order.size > 1 else [usual.get(family, usual["*"])], abs=1e-4)


# -- the setter


def test_the_setters_figures_come_of_mesh_and_text(order):
    spots = trimesh.util.concatenate(order.meshes).vertices
    rows = order.table("setter", "settings")
    assert [int(row["number"]) for row in rows] == list(range(1, len(order.built.stones) + 1))
    for row in rows[:: max(1, len(rows) // 6)]:
        stone = order.stone(int(row["number"]))
        assert figures(row["size_mm"])[0] == pytest.approx(np.ptp(stone[:, 0]), abs=0.03)
        assert float(row["depth_below_girdle_mm"]) == pytest.approx(max(0.0, -stone[:, 2].min()), abs=0.006)
        seen = order.seen_from(int(row["number"]), spots)
        ways = seen[:, :2] / np.abs(stone[:, :2]).max(axis=0)
        reach = np.linalg.norm(ways, axis=1, ord=np.inf if row["cut"] == "emerald" else 2)
        top = seen[(reach > 0.85) & (reach < 1.25) & (seen[:, 2] < 4.0), 2].max()
        above = stone[:, 2].max() if row["spare_above"] == "table" else 0.0
        assert float(row["spare_mm"]) == pytest.approx(top - above, abs=0.02), row


# What the texts say: (wire, over the girdle or None), by piece and the words of a setting. The share of a
# prong over the girdle and the room round a stone are the words' own usual figures, told by posy words.
TOLD = {
    ("comet-halo", "basket, prongs"): (0.95, 0.95 * 0.25),
    ("alder-solitaire", "basket, prongs"): (0.9, 0.9 * 0.25),
    ("fern-studs", "basket, prongs"): (0.9, 0.9 * 0.25),
    ("harbour-cluster", "prongs"): (0.85, 0.85 * 0.35),
    ("island-cab", "bezel"): (0.7, None),
    ("kelp-brooch", "bezel"): (0.6, None),
    ("terrace-row", "shared prongs"): (0.85, None),
    ("harbour-cluster", "shared prongs"): (0.85, None),
    ("dawn-eternity", "shared prongs"): (0.75, None),
}


@pytest.mark.parametrize(("name", "setting"), TOLD)
def test_prongs_and_walls_are_as_the_text_has_them(orders, name, setting):
    wire, over = TOLD[name, setting]
    rows = [row for row in orders[name].table("setter", "settings") if row["setting"] == setting]
    assert rows
    for row in rows:
        assert float(row["wire_mm"]) == pytest.approx(wire, abs=0.006)
        assert over is None or float(row["over_girdle_mm"]) == pytest.approx(over, abs=0.006)
        assert float(row["clearance_mm"]) == 0.04


def test_every_number_on_the_setters_sheet_stands_in_its_data(order):
    """Drawings apart, whatever figure the sheet shows is one of settings.csv, of the gems' table or a count."""
    tree, rows = order.page("setter"), order.table("setter", "settings")
    record = order.record("setter")
    known = {abs(value) for row in rows for cell in row.values() for value in figures(cell)}
    known |= {float(one) for gem in record["gems"] for one in gem["mohs"]} | {float(COUNT), float(len(rows))}
    for gem in record["gems"]:
        table_row = GEMS[gem["gem"]]
        assert gem["mohs"] == [float(table_row["mohs_low"]), float(table_row["mohs_high"])]
        assert (gem["torch"], gem["ultrasonic"], gem["steam"]) == tuple(table_row[k] for k in ("torch", "ultrasonic", "steam"))
    known |= set(range(1, len(rows) + 1))
    for part in tree.xpath("//table | //dl"):
        for cell in part.xpath(".//td | .//dd"):
            text = cell.text_content()
            own = (GEMS[gem["gem"]][key] for gem in record["gems"] for key in ("notes", "title"))
            if cell.getparent().xpath("string(dt)") == "Metal" or (text and text in own):
                continue
            assert all(abs(value) in known for value in figures(text)), text
    drawings = tree.xpath("//*[local-name()='svg']//*[local-name()='text']")
    assert {str(n) for n in range(1, len(rows) + 1)} <= {one.text for one in drawings}
    assert sorted(n for numbers in record["order"] for n in numbers) == list(range(1, len(rows) + 1))


def chords(order, number):
    """How wide a stone is through the middle of its girdle, toward each prong just above that."""
    sides, found = ConvexHull(order.stone(number)[:, :2]).equations, []
    for mesh in order.meshes:
        seen = trimesh.Trimesh(order.seen_from(number, mesh.vertices), mesh.faces, process=False)
        cut = seen.section([0, 0, 1], [0, 0, 0.05])
        for loop in [] if cut is None else cut.discrete:
            way = loop[:-1, :2].mean(axis=0)
            across = sides[:, :2] @ (way / np.linalg.norm(way))
            found.append(sum((-sides[:, 2] / one)[one > 1e-9].min() for one in (across, -across)))
    return found


def test_a_cut_through_a_setting_has_the_figures_of_stone_and_spare(order):
    """Its width in the plane of the cut (that of a round stone whichever way), its whole depth, what is spare."""
    rows = order.table("setter", "settings")
    cuts = [
        (int(said[1]), {float(one) for one in texts if re.fullmatch(r"\d+\.?\d*", one)})
        for svg in order.page("setter").xpath("//figure/*[local-name()='svg']")
        for texts in [[one.text for one in svg.xpath(".//*[local-name()='text']")]]
        for said in [re.match(r"stone (\d+), cut through its axis, [\d.]+:1, mm", texts[-1])] if said
    ]  # fmt: skip
    assert {number for number, _ in cuts} == {numbers[0] for numbers in order.record("setter")["order"]}
    for number, shown in cuts:
        row, stone = rows[number - 1], order.stone(number)
        wide = figures(row["size_mm"])
        known = [(np.ptp(stone[:, 2]), 0.011), (float(row["spare_mm"]), 0.006)]
        widths = [(one, 0.06) for one in (wide if len(wide) == 1 else [wide[1], *chords(order, number)])]
        assert all(min(abs(one - figure) - off for figure, off in (*known, *widths)) < 0 for one in shown), (shown, known, widths)
        assert all(min(abs(one - figure) for one in shown) < off for figure, off in known if figure > 0.005)
        assert any(abs(one - figure) < off for figure, off in widths for one in shown), (shown, widths)


# -- stones


def test_every_drawing_is_as_large_as_its_scale_says(order):
    """The line of each figure, in mm of paper, over the figure told beside it."""
    found = 0
    for receiver in ("caster", "setter"):
        for drawing in order.page(receiver).xpath("//figure/*[local-name()='svg'] | //*[local-name()='svg'][@width]"):
            told = re.findall(r"([\d.]+):1\b", " ".join(drawing.itertext()))
            unit = float((drawing.get("width") or "").removesuffix("mm") or 0) / float(drawing.get("viewbox").split()[2])
            for line, text in measured_lines(drawing):
                found += 1
                assert [line * unit / text] == pytest.approx([float(told[-1])], rel=0.012 / text + 0.002)
    assert found >= 3


def measured_lines(drawing):
    """How far apart the lines at both ends of each figure of a drawing stand, in its own units, and the figure."""
    ends = [node for node in drawing.iter() if node.tag.endswith("text") and re.fullmatch(r"[\d.]+", node.text or "")]
    for node in ends:
        arrows = node.getprevious()
        line = None if arrows is None else arrows.getprevious()
        if line is None or not line.get("stroke"):
            continue
        pair = re.match(r"M(-?\d+) (-?\d+)L(-?\d+) (-?\d+)M(-?\d+) (-?\d+)L", line.get("d") or "")
        if pair is not None:  # else the number of a stone
            one, high, other, _, two, far = map(int, pair.groups())
            yield abs(two - one) if one == other else abs(far - high), float(node.text)


def test_stones_are_counted_and_weighed_again(order):
    """Carats of coloured stones: length x width x depth x density x factor, DN rub.dendritics.com; of
    diamonds D2 x depth x 0.0061, as PS pricescope.com relays it. Spares: a tenth, by bench.toml."""
    rows, text = order.table("stones", "stones"), order.page("stones").text_content()
    assert sum(int(row["a_piece"]) for row in rows) == len(order.built.stones)
    for row in rows:
        each = int(row["a_piece"])
        small = figures(row["size_mm"])[0] <= 2.5
        spares = math.ceil(each * COUNT / 10) if small else 0
        assert (int(row["spares"]), int(row["to_order"])) == (spares, each * COUNT + spares)
        stone, density = order.stone(int(row["numbers"].split()[0])), float(GEMS[row["gem"]]["density"])
        factor = {"round": 0.0061 if row["gem"] == "diamond" else 0.0018 * density, "pear": 0.0018 * density,
                  "cabochon": 0.0027 * density, "emerald": 0.0025 * density}[row["cut"]]
        carats = float(row["ct_each"])
        assert carats == pytest.approx(np.prod(np.ptp(stone, axis=0)) * factor, rel=0.03, abs=0.0006)
        assert float(row["ct_total"]) == pytest.approx(carats * int(row["to_order"]), rel=0.05)
        assert all(row[key] in text for key in ("size_mm", "to_order", "ct_each", "ct_total"))
        gem = GEMS[row["gem"]]
        assert " to ".join(dict.fromkeys(f"{float(gem[key]):g}" for key in ("mohs_low", "mohs_high"))) in text
    (foot,) = order.page("stones").xpath("//tfoot/tr")
    sums = [sum(int(row[key]) for row in rows) for key in ("a_piece", "spares", "to_order")]
    shown = [float(cell.text_content()) for cell in foot if re.fullmatch(r"[\d.]+", cell.text_content())]
    assert shown == [*sums, pytest.approx(sum(float(row["ct_total"]) for row in rows), abs=0.0011)]


def test_sizes_of_the_trade_are_marked(orders):
    """1.5 mm melee, 9 x 6 mm pears, 2.8 and 2.4 mm rounds are sold (stock-sizes.tsv and its sources); 6 x 4.29
    mm is cut to size."""
    rows = [row for order in orders.values() for row in order.table("stones", "stones")]
    sizes = {row["size_mm"]: row["calibrated"] for row in rows}
    assert sizes["1.5"] == sizes["9 x 6"] == sizes["2.8"] == sizes["2.4"] == "True" and sizes["6 x 4.29"] == "False"
