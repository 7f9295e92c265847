"""Sheets of four pieces, printed by a browser and read by others: every figure on them is worked out
again, from the mesh as trimesh reads it, from the tables as plain text, and from bench.toml."""

import csv
import hashlib
import io
import json
import math
import os
import re
import shutil
import tomllib
import zipfile
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
import trimesh
from lxml import html

import posy.compiler.command
from posy.compiler.command import main
from posy.compiler.making.pipeline import build
from posy.compiler.sheets.pdf import browser, printed

ROOT = Path(posy.compiler.command.__file__).parents[1]
HOUSE = """name = "Bench at the harbour"
[sheet]
finishing = "8 %"
resin = "1.12 g/cm3"
spares = "10 %"
valid = "30 days"
[pour]
wax = "0.95 g/cm3"
[cost]
currency = "EUR"
markup = "80 %"
tax = "21 %"
round-to = "5 EUR"
rounding = "up"
[fine.gold]
per-gram = "78.40 EUR"
date = 2025-03-20
source = "a list"
[alloy.gold-750-white]
alloying = "3.10 EUR"
date = 2025-03-20
source = "a list"
[alloy.silver-925]
per-gram = "1.35 EUR"
date = 2025-03-20
source = "a list"
[casting.any]
fee = "15 EUR"
per-gram = "0.90 EUR"
loss = "4 %"
scrap = "12 %"
refining = "15 %"
[stone.melee]
gem = "diamond"
to = "2.5 mm"
per-carat = "420 EUR"
date = 2025-03-20
source = "a list"
[stone.pear]
gem = "aquamarine"
each = "140 EUR"
date = 2025-03-20
source = "a list"
[stone.garnets]
gem = "rhodolite"
each = "9.50 EUR"
date = 2025-03-20
source = "a list"
[rate.bench]
per-hour = "48 EUR"
[setting.grain]
kind = "beads"
each = "4.50 EUR"
[setting.claw]
kind = "prong"
time = "12 min"
[step.polish]
time = "40 min"
[hallmark.any]
fee = "7.20 EUR"
"""
TOML = tomllib.loads(HOUSE)
COUNT, SHRINK, DATE, FINE = 3, 0.0125, "2025-03-31", "0.005mm"
# Piece -> what its text says: alloy, prong wire or wall, how much of a prong lies over the girdle.
PIECES = {
    "comet-halo": {"alloy": "gold-750-white", "pages": (2, 5)},
    "terrace-row": {"alloy": "silver-925", "pages": (2, 4)},
    "island-cab": {"alloy": "silver-925", "pages": (2, 4)},
    "alder-solitaire": {"alloy": "platinum-950-iridium", "pages": (2, 4)},
}


def rows_of(table):
    """A table of stdlib as plain rows."""
    lines = [line for line in (ROOT / f"stdlib/tables/{table}.tsv").read_text("utf-8").splitlines() if not line.startswith("#")]
    return {row[next(iter(row))]: row for row in csv.DictReader(lines, delimiter="\t")}


ALLOYS, GEMS, EXEMPT = rows_of("alloys"), rows_of("gems"), rows_of("hallmarks")


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    """Orders of four pieces, each to all; the terrace row with shrinkage allowed for."""
    folder = tmp_path_factory.mktemp("shop")
    (folder / "bench.toml").write_text(HOUSE, "utf-8")
    for name in PIECES:
        shutil.copy(ROOT / f"examples/{name}.posy", folder)
        shrink = ["--shrink", "1.25%"] if name == "terrace-row" else []
        words = ["order", str(folder / f"{name}.posy"), "--count", str(COUNT), "--date", DATE, *shrink]
        assert main([*words, "--tolerance", FINE, "--show", "lines", "--into", str(folder / "out")]) == 0
    return folder


@pytest.fixture(scope="module")
def pieces(shop):
    return {name: build(str(shop / f"{name}.posy"), tolerance=0.005, check_metal=False) for name in PIECES}


def home(shop, name, receiver):
    return shop / "out" / f"{name}-order" / receiver


def record(shop, name, receiver):
    return json.loads((home(shop, name, receiver) / f"{name}-{receiver}.json").read_text("utf-8"))


def table(shop, name, receiver, what):
    with (home(shop, name, receiver) / f"{name}-{what}.csv").open(newline="", encoding="utf-8") as stream:
        return list(csv.DictReader(stream))


def mesh(shop, name):
    (path,) = home(shop, name, "caster").glob("*.stl")
    return trimesh.load_mesh(path)


def size_factor(name):
    return 1 / (1 - SHRINK) if name == "terrace-row" else 1.0


def page(shop, name, receiver):
    tree = html.parse(str(home(shop, name, receiver) / f"{name}-{receiver}.html")).getroot()
    for gone in tree.xpath("//style | //script"):
        gone.getparent().remove(gone)
    return tree


def facts(tree):
    return {div.xpath("string(dt)"): div.xpath("string(dd)") for div in tree.xpath("//dl/div")}


def figures(text):
    return [float(one.replace(",", "")) for one in re.findall(r"-?\d[\d,]*\.?\d*", text)]


# -- the caster


@pytest.mark.parametrize("name", PIECES)
def test_the_casters_weights_and_sizes_come_of_the_mesh(shop, name):
    """Volume by trimesh times the published density; the mesh of 0.005 mm lies within 0.7 % of the
    round metal it stands for."""
    solid, row = mesh(shop, name), ALLOYS[PIECES[name]["alloy"]]
    assert solid.is_watertight
    volume = solid.volume / size_factor(name) ** 3
    grams = volume * float(row["density"]) / 1000
    said = facts(page(shop, name, "caster"))
    near = {"rel": 7e-3, "abs": 0.006}
    assert figures(said["As cast, each"])[0] == pytest.approx(grams, **near)
    assert figures(said["Finished, each, about"]) == pytest.approx([0.92 * grams, grams], **near)
    assert figures(said[f"As cast, all {COUNT}"])[0] == pytest.approx(COUNT * grams, rel=7e-3)
    assert figures(said["Resin pattern, each"])[0] == pytest.approx(solid.volume * 1.12 / 1000, **near)
    assert figures(said["Wax pattern, each"])[0] == pytest.approx(solid.volume * 0.95 / 1000, **near)
    assert figures(said["Size of the metal"]) == pytest.approx(list(solid.extents / size_factor(name)), abs=0.006)
    assert said["How many"] == str(COUNT)
    (cast,) = table(shop, name, "caster", "castings")
    assert float(cast["density_g_cm3"]) == float(row["density"])
    assert float(cast["volume_mm3"]) == pytest.approx(volume, rel=7e-3)
    assert figures(cast["melts_c"]) == [float(row[key]) for key in ("melts_from", "melts_to") if row[key]]
    weights = [figures(said[key])[0] for key in ("As cast, each", "Resin pattern, each", "Wax pattern, each")]
    assert [float(cast[key]) for key in ("cast_g", "resin_g", "wax_g")] == weights
    assert said["Metal"] == row["title"]


def marking(alloy, grams):
    """What UK law asks of so many grams: exempt below the family's mass, doubtful within 1 % of it."""
    below = float(EXEMPT[ALLOYS[alloy]["family"]]["exempt_below"])
    if abs(grams - below) <= 0.01 * below:
        return "at or near the limit"
    return "exempt" if grams < below else "needs a hallmark"


@pytest.mark.parametrize("name", PIECES)
def test_hallmarking_goes_by_the_weight_of_the_mesh(shop, name):
    alloy = PIECES[name]["alloy"]
    grams = mesh(shop, name).volume / size_factor(name) ** 3 * float(ALLOYS[alloy]["density"]) / 1000
    assert facts(page(shop, name, "caster"))[f"UK hallmark, {alloy}"] == marking(alloy, grams)


@pytest.mark.parametrize("name", PIECES)
def test_checksums_sizes_and_the_drawings_figures(shop, name):
    folder, tree = home(shop, name, "caster"), page(shop, name, "caster")
    for row in table(shop, name, "caster", "files"):
        data = (folder / row["file"]).read_bytes()
        assert (int(row["bytes"]), row["sha256"]) == (len(data), hashlib.sha256(data).hexdigest())
        assert row["sha256"] in tree.text_content()
    for row in record(shop, name, "caster")["files"]:
        assert hashlib.sha256((folder / row["file"]).read_bytes()).hexdigest() == row["sha256"]
    (drawing,) = tree.xpath("//*[local-name()='svg']")
    texts = [one.text for one in drawing.xpath(".//*[local-name()='text']")]
    numbers = {float(one) for one in texts if re.fullmatch(r"\d+\.?\d*", one)}
    extents = mesh(shop, name).extents / size_factor(name)
    for extent in extents:
        assert min(abs(extent - one) for one in numbers) < 0.006
    assert {one for one in numbers if min(abs(extents - one)) >= 0.006} == set()
    assert any(re.search(r"\d:1, mm$", one) for one in texts)
    shrunk = figures(re.search(r"The meshes are.*", tree.text_content())[0])
    assert shrunk == ([pytest.approx(1 / 0.9875, abs=1e-4), 1.25] if name == "terrace-row" else [pytest.approx(1.0 if name != "alder-solitaire" else 1.5)])


# -- the setter


def local(built, number, points):
    """Points as a stone sees them: its girdle at z = 0."""
    frame = built.stones[number - 1].frame
    return (np.asarray(points) - frame[:, 3]) @ frame[:, :3]


def cut_mesh(built, number):
    """The stone itself, by the table of cuts, in its own frame."""
    from posy.compiler.bench.stone_solid import stone_mesh

    kind = built.piece.stones.of(number - 1)
    return np.asarray(stone_mesh(kind.figures)[0])


@pytest.mark.parametrize("name", PIECES)
def test_the_setters_figures_come_of_mesh_and_text(shop, pieces, name):
    built, solid = pieces[name], mesh(shop, name)
    spots = solid.vertices / size_factor(name)
    rows = table(shop, name, "setter", "settings")
    assert [int(row["number"]) for row in rows] == list(range(1, len(built.stones) + 1))
    for row in rows[:: max(1, len(rows) // 6)]:
        number = int(row["number"])
        stone = cut_mesh(built, number)
        assert figures(row["size_mm"])[0] == pytest.approx(np.ptp(stone[:, 0]), abs=0.03)
        assert float(row["depth_below_girdle_mm"]) == pytest.approx(max(0.0, -stone[:, 2].min()), abs=0.006)
        seen = local(built, number, spots)
        reach = np.hypot(seen[:, 0] / np.abs(stone[:, 0]).max(), seen[:, 1] / np.abs(stone[:, 1]).max())
        rim = seen[(reach > 0.85) & (reach < 1.35) & (seen[:, 2] < 4.0)]
        top = rim[:, 2].max()
        above = stone[:, 2].max() if row["spare_above"] == "table" else 0.0
        assert float(row["spare_mm"]) == pytest.approx(top - above, abs=0.02), (name, row)


# What the texts say: (wire, over the girdle or None), by piece and the words of a setting. The share of a
# prong over the girdle and the room round a stone are the words' own usual figures, told by posy words.
TOLD = {
    ("comet-halo", "basket, prongs"): (0.95, 0.95 * 0.25),
    ("alder-solitaire", "basket, prongs"): (0.9, 0.9 * 0.25),
    ("island-cab", "bezel"): (0.7, None),
    ("terrace-row", "shared prongs"): (0.85, None),
}


@pytest.mark.parametrize(("name", "setting"), TOLD)
def test_prongs_and_walls_are_as_the_text_has_them(shop, name, setting):
    wire, over = TOLD[name, setting]
    rows = [row for row in table(shop, name, "setter", "settings") if row["setting"] == setting]
    assert rows
    for row in rows:
        assert float(row["wire_mm"]) == pytest.approx(wire, abs=0.006)
        assert over is None or float(row["over_girdle_mm"]) == pytest.approx(over, abs=0.006)
        assert float(row["clearance_mm"]) == 0.04


@pytest.mark.parametrize("name", PIECES)
def test_every_number_on_the_setters_sheet_stands_in_its_data(shop, name):
    """Drawings apart, whatever figure the sheet shows is one of settings.csv, of the gems' table or a count."""
    tree = page(shop, name, "setter")
    rows, gems = table(shop, name, "setter", "settings"), record(shop, name, "setter")["gems"]
    known = {abs(value) for row in rows for cell in row.values() for value in figures(cell)}
    known |= {float(one) for gem in gems for one in gem["mohs"]} | {float(COUNT), float(len(rows))}
    for gem in gems:
        table_row = GEMS[gem["gem"]]
        assert gem["mohs"] == [float(table_row["mohs_low"]), float(table_row["mohs_high"])]
        assert (gem["torch"], gem["ultrasonic"], gem["steam"]) == tuple(table_row[k] for k in ("torch", "ultrasonic", "steam"))
    known |= set(range(1, len(rows) + 1))
    for part in tree.xpath("//table | //dl"):
        for cell in part.xpath(".//td | .//dd"):
            if cell.getparent().xpath("string(dt)") == "Metal" or "notes" in cell.attrib:
                continue
            text = cell.text_content()
            if any(text and text in (GEMS[gem["gem"]]["notes"], GEMS[gem["gem"]]["title"]) for gem in gems):
                continue
            for value in figures(text):
                assert abs(value) in known, (name, text)
    drawings = tree.xpath("//*[local-name()='svg']//*[local-name()='text']")
    assert {str(n) for n in range(1, len(rows) + 1)} <= {one.text for one in drawings}


# -- stones


def test_stones_are_counted_and_weighed_again(shop, pieces):
    """Carats of coloured stones: length x width x depth x density x factor, DN rub.dendritics.com; of
    diamonds D2 x depth x 0.0061, as PS pricescope.com relays it. Spares: a tenth, by bench.toml."""
    for name, built in pieces.items():
        rows = table(shop, name, "stones", "stones")
        assert sum(int(row["a_piece"]) for row in rows) == len(built.stones)
        for row in rows:
            each = int(row["a_piece"])
            small = figures(row["size_mm"])[0] <= 2.5
            spares = math.ceil(each * COUNT / 10) if small else 0
            assert (int(row["spares"]), int(row["to_order"])) == (spares, each * COUNT + spares)
            number = int(row["numbers"].split()[0])
            stone = cut_mesh(built, number)
            long, wide = (np.ptp(stone[:, k]) for k in (0, 1))
            deep, density = np.ptp(stone[:, 2]), float(GEMS[row["gem"]]["density"])
            factor = {"round": 0.0061 if row["gem"] == "diamond" else 0.0018 * density, "pear": 0.0018 * density,
                      "cabochon": 0.0027 * density}[row["cut"]]
            carats = float(row["ct_each"])
            assert carats == pytest.approx(long * wide * deep * factor, rel=0.03, abs=0.0006)
            assert float(row["ct_total"]) == pytest.approx(carats * int(row["to_order"]), rel=0.05)
            text = page(shop, name, "stones").text_content()
            assert all(row[key] in text for key in ("size_mm", "to_order", "ct_each", "ct_total"))
    sizes = {row["size_mm"]: row["calibrated"] for name in pieces for row in table(shop, name, "stones", "stones")}
    assert sizes["1.5"] == sizes["9 x 6"] == sizes["2.8"] == "True"


# -- zips and PDFs


@pytest.mark.parametrize("name", PIECES)
def test_a_zip_is_opened_by_others(shop, name, tmp_path):
    import lib3mf

    for receiver in ("caster", "setter", "stones"):
        pack = zipfile.ZipFile(home(shop, name, receiver).parent / f"{name}-{receiver}.zip")
        assert pack.testzip() is None
        files = {one: pack.read(one) for one in pack.namelist()}
        assert files == {path.name: path.read_bytes() for path in home(shop, name, receiver).iterdir()}
        for one, data in files.items():
            if one.endswith(".csv"):
                rows = list(csv.reader(io.StringIO(data.decode("utf-8"), newline="")))
                assert len({len(row) for row in rows}) == 1 and len(rows) > 1
    pack = zipfile.ZipFile(home(shop, name, "caster").parent / f"{name}-caster.zip")
    (model,) = (one for one in pack.namelist() if one.endswith(".3mf"))
    target = tmp_path / model
    target.write_bytes(pack.read(model))
    wrapper = lib3mf.get_wrapper()
    held = wrapper.CreateModel()
    held.QueryReader("3mf").ReadFromFile(str(target))
    meshes = held.GetMeshObjects()
    assert meshes.MoveNext() and meshes.GetCurrentMeshObject().IsManifoldAndOriented()


needs_browser = pytest.mark.skipif(
    browser() is None and os.environ.get("POSY_ALL_OUTSIDE") != "1", reason="no browser to print with"
)


@needs_browser
@pytest.mark.parametrize("name", PIECES)
def test_the_pdfs_have_their_pages_and_their_text(shop, name):
    from pypdf import PdfReader

    fewest, most = PIECES[name]["pages"]
    counts = {}
    for receiver in ("caster", "setter", "stones"):
        reader = PdfReader(home(shop, name, receiver) / f"{name}-{receiver}.pdf")
        text = [one.extract_text() for one in reader.pages]
        counts[receiver] = len(text)
        title = page(shop, name, receiver).xpath("string(//h1)")
        assert title in text[0] and DATE in text[0]
        for number, one in enumerate(text, start=1):
            assert f"{number} of {len(text)}" in one and title in one
            assert len(one) > 100, (receiver, number)  # no page is left empty
    assert counts["caster"] == fewest and counts["stones"] == 1 and 2 <= counts["setter"] <= most


@needs_browser
def test_a_sheet_takes_a4_and_letter(shop):
    from pypdf import PdfReader

    sheet = (home(shop, "comet-halo", "setter") / "comet-halo-setter.html").read_bytes()
    papers = {"A4": (595, 842), "Letter": (612, 792)}
    pages = {f"{name}.html": sheet.replace(b"@page{", b"@page{size:%s;" % name.encode(), 1) for name in papers}
    made = printed(pages, browser())
    readers = {name: PdfReader(io.BytesIO(made[f"{name}.html"])) for name in papers}
    assert abs(len(readers["A4"].pages) - len(readers["Letter"].pages)) <= 1
    for name, size in papers.items():
        box = readers[name].pages[0].mediabox
        assert (float(box.width), float(box.height)) == pytest.approx(size, abs=1.5)
    text = [" ".join("".join(one.extract_text() for one in reader.pages).split()) for reader in readers.values()]
    assert sorted(re.findall(r"\d+\.\d\d", text[0])) == sorted(re.findall(r"\d+\.\d\d", text[1]))


def test_the_same_order_is_the_same_bytes(shop, tmp_path):
    words = ["order", str(shop / "terrace-row.posy"), "--count", str(COUNT), "--date", DATE, "--shrink", "1.25%"]
    assert main([*words, "--tolerance", FINE, "--show", "lines", "--to", "setter,stones", "--into", str(tmp_path)]) == 0
    for receiver in ("setter", "stones"):
        again = tmp_path / "terrace-row-order" / f"terrace-row-{receiver}.zip"
        assert again.read_bytes() == (home(shop, "terrace-row", receiver).parent / again.name).read_bytes()


# -- cost


def money(text):
    return Fraction(text.split()[0])


def cents(value):
    """To the cent, halves up."""
    return Fraction(math.floor(value * 100 + Fraction(1, 2)), 100)


def four(value):
    return Fraction(math.floor(value * 10000 + Fraction(1, 2)), 10000)


@pytest.mark.parametrize("name", ["comet-halo", "terrace-row"])
def test_the_cost_is_reckoned_again_from_bench_toml(shop, name, capsys):
    words = ["cost", str(shop / f"{name}.posy"), "--date", DATE, "--tolerance", FINE, "--reckoning", "--quote"]
    assert main([*words, "--into", str(shop / "out"), "--show", "lines"]) == 0
    capsys.readouterr()
    record = json.loads((shop / "out" / f"{name}-cost.json").read_text("utf-8"))
    (made,) = record["makings"]
    alloy = PIECES[name]["alloy"]
    grams = Fraction(made["metals"][0]["grams"])
    assert float(grams) == pytest.approx(
        mesh(shop, name).volume / size_factor(name) ** 3 * float(ALLOYS[alloy]["density"]) / 1000, rel=7e-3
    )
    if alloy == "silver-925":
        gram = money(TOML["alloy"][alloy]["per-gram"])
    else:
        gram = money(TOML["fine"]["gold"]["per-gram"]) * Fraction(ALLOYS[alloy]["fineness"]) / 1000
        gram += money(TOML["alloy"][alloy]["alloying"])
    gram = four(gram)
    casting = TOML["casting"]["any"]
    loss, scrap, refining = (Fraction(casting[key].split()[0]) / 100 for key in ("loss", "scrap", "refining"))
    expected = [
        cents(gram * grams), cents(gram * grams * loss), cents(gram * grams * scrap * refining),
        money(casting["fee"]), cents(money(casting["per-gram"]) * grams),
    ]
    hour = money(TOML["rate"]["bench"]["per-hour"])
    if name == "comet-halo":  # one pear in a basket, 18 diamonds in a halo, 0.0127 ct each by the formula
        carats = Fraction("0.228")
        expected += [Fraction(140), cents(carats * 420), hour * 12 / 60, 18 * Fraction("4.50")]
    else:  # five garnets in shared prongs
        expected += [5 * Fraction("9.50"), 5 * hour * 12 / 60]
    expected += [hour * 40 / 60, Fraction("7.20")]
    assert sorted(Fraction(line["amount"]) for line in made["lines"]) == sorted(expected)
    cost = sum(expected)
    before = cost + cents(cost * 80 / 100)
    total = Fraction(math.ceil((before + cents(before * 21 / 100)) / 5) * 5)
    tax = cents(total * 21 / 121)
    sums = {row["what"].partition(",")[0]: Fraction(row["amount"]) for row in made["sums"]}
    assert sums == {
        "cost": cost, "markup": cents(cost * 80 / 100), "rounding": total - tax - before,
        "price before tax": total - tax, "tax": tax, "price": total,
    }
    said = html.parse(str(shop / "out" / f"{name}-cost.html")).getroot().text_content()
    assert all(f"{float(Fraction(line['amount'])):,.2f}" in said for line in made["lines"])
    assert all(line["source"].startswith(("bench.toml", "750 parts", "12 min", "40 min")) for line in made["lines"])
    rows = html.parse(str(shop / "out" / f"{name}-cost.html")).getroot().xpath("//table[contains(@class, 'cost')]/tbody/tr")
    assert len(rows) == len(expected)
    for row in rows:  # what a line says it is of, multiplied
        much, amount = (row.xpath(f"string(td[{k}])") for k in (3, 4))
        shares = math.prod(figures(much)) / 100 ** much.count("%")
        assert float(amount.replace(",", "")) == pytest.approx(shares, rel=6e-3, abs=0.006), (much, amount)
    said = html.parse(str(shop / "out" / f"{name}-cost.html")).getroot()
    assert marking(alloy, float(grams)) in [cell.text_content() for cell in said.xpath("//td")]
    tree = html.parse(str(shop / "out" / f"{name}-quote.html")).getroot()
    stones = table(shop, name, "stones", "stones")
    known = {float(total), float(total - tax), float(tax), float(grams)}
    known |= {float(row["a_piece"]) for row in stones} | {one for row in stones for one in figures(row["size_mm"])}
    carats = [(float(row["a_piece"]) * float(row["ct_each"]), 0.0006 * float(row["a_piece"])) for row in stones]
    shown = [value for cell in tree.xpath("//td | //dd") for value in figures(cell.text_content())]
    assert len(shown) >= 6
    for value in shown:
        near = any(abs(value - one) < 0.004 for one in known) or any(abs(value - one) < off for one, off in carats)
        assert near, (name, value)
    quote = tree.text_content()
    assert f"{float(total):,.2f} EUR" in quote and "2025-04-30" in quote
    for secret in ("markup", "bench.toml", f"{float(cost):,.2f}", "a list", "78.40", "casting"):
        assert secret not in quote
