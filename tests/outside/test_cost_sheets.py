"""Costs and quotes of five pieces, reckoned again from bench.toml: in silver and gold, in both at once, with
bought parts, with a flat stone let in. Stones weigh by the trade's formulas (rub.dendritics.com; diamonds
pricescope.com), a flat stone by its volume."""

import json
import math
import re
from collections import Counter
from fractions import Fraction

import pytest
from orders import ALLOYS, COUNT, DATE, HOUSE, SLAB, TOML, Order, figures, marking, page

from posy.compiler.command import main

PIECES = ("comet-halo", "terrace-row", "kelp-brooch", "two-tide-ring", "slab")
LINES = HOUSE.splitlines()
HOUR = Fraction(TOML["rate"]["bench"]["per-hour"].split()[0])


@pytest.fixture(scope="module", params=PIECES)
def costed(request, tmp_path_factory):
    """An order of a piece, and its cost and quote beside it."""
    folder = tmp_path_factory.mktemp("shop")
    if request.param == "slab":
        (folder / "slab.posy").write_text(SLAB, "utf-8")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("posy.compiler.sheets.pdf.browser", lambda: None)
        order = Order(folder, request.param)
        words = ["cost", str(order.text), "--date", DATE, "--tolerance", "0.005mm", "--reckoning", "--quote"]
        assert main([*words, "--into", str(folder / "out"), "--show", "lines"]) == 0
    (made,) = json.loads((folder / "out" / f"{request.param}-cost.json").read_text("utf-8"))["makings"]
    return order, made, page(folder / "out" / f"{request.param}-cost.html"), page(folder / "out" / f"{request.param}-quote.html")


def money(text):
    return Fraction(text.split()[0])


def to_digits(value, digits=2):
    """To so many decimals, halves up."""
    return Fraction(math.floor(value * 10**digits + Fraction(1, 2)), 10**digits)


def stones(order):
    return order.table("stones", "stones") if order.built.stones else []


def a_gram(alloy):
    """As it is bought; else the fine metal in it, by its fineness, and alloying."""
    said = TOML["alloy"].get(alloy, {})
    if "per-gram" in said:
        return money(said["per-gram"])
    fine = money(TOML["fine"][ALLOYS[alloy]["family"]]["per-gram"]) * Fraction(ALLOYS[alloy]["fineness"]) / 1000
    return to_digits(fine + money(said.get("alloying", "0 EUR")), 4)


def of_metal(metal):
    """Bought, lost, refined, cast: of grams as they are told."""
    grams, gram, said = Fraction(metal["grams"]), a_gram(metal["metal"]), TOML["casting"]["any"]
    loss, scrap, refining = (Fraction(said[key].split()[0]) / 100 for key in ("loss", "scrap", "refining"))
    for share in (1, loss, scrap * refining):
        yield "metal", to_digits(gram * grams * share)
    yield "casting", money(said["fee"]) * metal["castings"]
    yield "casting", to_digits(money(said["per-gram"]) * grams)
    yield "hallmarking", money(TOML["hallmark"]["any"]["fee"])


def of_stones(order, made):
    for row in stones(order):
        said = next(one for one in TOML["stone"].values()
                    if one["gem"] == row["gem"] and figures(row["size_mm"])[0] <= figures(one.get("to", "99"))[0])  # fmt: skip
        if "each" in said:
            yield "stones", int(row["a_piece"]) * money(said["each"])
            continue
        told = [re.match(r"([\d.]+) ct at", line["how_much"]) for line in made["lines"]]
        (carats,) = (one[1] for one in told if one and abs(float(one[1]) - int(row["a_piece"]) * float(row["ct_each"])) < 0.01)
        yield "stones", to_digits(Fraction(carats) * money(said["per-carat"]))


def of_work(order, grams):
    settings = order.table("setter", "settings") if order.built.stones else []
    for (name, _), count in Counter((row["setting"], row["size_mm"]) for row in settings).items():
        said = next(one for one in TOML["setting"].values() if one["kind"].rstrip("s") in name)
        yield "setting", count * (money(said["each"]) if "each" in said else HOUR * Fraction(said["time"].split()[0]) / 60)
    for said in TOML["step"].values():
        count = {"piece": 1, "gram": grams, "stone": len(settings)}[said.get("per", "piece")]
        count *= len(re.findall(rf"^{said['word']} ", order.text.read_text("utf-8"), re.MULTILINE)) if "word" in said else 1
        if count:
            price = money(said["each"]) if "each" in said else HOUR * Fraction(said["time"].split()[0]) / 60
            yield "work", to_digits(price * count)
    for row in order.record("caster")["bought"]:
        yield "bought parts", row["count"] * money(TOML["bought"][row["name"].rpartition(".")[2]]["each"])


def test_grams_come_of_the_meshes(costed):
    """Each casting's mesh, by its volume, is of the metal that the order has it in."""
    order, made, *_ = costed
    cast = sorted(order.table("caster", "castings"), key=lambda row: float(row["volume_mm3"]))
    meshes = sorted(order.meshes, key=lambda mesh: mesh.volume)
    grams, castings = Counter(), Counter()
    for row, mesh in zip(cast, meshes, strict=True):
        grams[row["metal"]] += mesh.volume * float(ALLOYS[row["metal"]]["density"]) / 1000
        castings[row["metal"]] += 1
    assert {one["metal"]: one["castings"] for one in made["metals"]} == castings
    assert all(float(one["grams"]) == order.near(grams[one["metal"]]) for one in made["metals"])


def test_the_cost_is_reckoned_again_from_bench_toml(costed):
    order, made, sheet, _ = costed
    grams = sum(Fraction(metal["grams"]) for metal in made["metals"])
    lines = [*(line for metal in made["metals"] for line in of_metal(metal)), *of_stones(order, made), *of_work(order, grams)]
    assert Counter((line["part"], Fraction(line["amount"])) for line in made["lines"]) == Counter(lines)
    assert made["missing"] == []
    cost = sum(amount for _, amount in lines)
    markup = to_digits(cost * 80 / 100)
    total = Fraction(math.ceil((cost + markup + to_digits((cost + markup) * 21 / 100)) / 5) * 5)
    tax = to_digits(total * 21 / 121)
    sums = {row["what"].partition(",")[0]: Fraction(row["amount"]) for row in made["sums"]}
    assert sums == {key: value for key, value in {
        "cost": cost, "markup": markup, "rounding": total - tax - cost - markup, "price before tax": total - tax,
        "tax": tax, "price": total,
    }.items() if value or key != "rounding"}  # fmt: skip
    rows = sheet.xpath("//table[contains(@class, 'cost')]/tbody/tr")
    assert len(rows) == len(lines)
    for row, line in zip(rows, made["lines"], strict=True):  # what a line says it is of, multiplied
        much, amount = (row.xpath(f"string(td[{k}])") for k in (3, 4))
        assert (much, amount) == (line["how_much"], f"{float(line['amount']):,.2f}")
        shares = math.prod(figures(much)) / 100 ** much.count("%")
        assert figures(amount)[0] == pytest.approx(shares, rel=6e-3, abs=0.006), (much, amount)
    foot = [figures(row.xpath("string(td[4])"))[0] for row in sheet.xpath("//table[contains(@class, 'cost')]/tfoot/tr")]
    assert foot == [float(row["amount"]) for row in made["sums"]]
    marks = [[cell.text_content() for cell in row] for row in sheet.xpath("//h2[.='Marking']/following-sibling::table//tbody/tr")]
    assert marks == [[one["metal"], f"{one['grams']} g as cast", marking(one["metal"], float(one["grams"]))] for one in made["metals"]]


def test_each_figure_says_the_line_it_comes_from(costed):
    """Key and table of that line of bench.toml fit what is reckoned, and its date and source are those of the table."""
    heads = {"metal": ("alloy", "fine", "casting"), "casting": ("casting",), "stones": ("stone",), "hallmarking": ("hallmark",),
             "setting": ("setting", "rate"), "work": ("step", "rate"), "bought parts": ("bought",)}  # fmt: skip
    for line in costed[1]["lines"]:
        told = re.findall(r"bench\.toml, line (\d+)(?: \(([^)]*)\))?", line["source"])
        assert told, line
        for number, more in told:
            key = LINES[int(number) - 1].split(" =")[0]
            head, name = re.findall(r"^\[(\w+)\.([\w-]+)\]", "\n".join(LINES[:int(number)]), re.MULTILINE)[-1]
            assert head in heads[line["part"]] and key in TOML[head][name], (line, LINES[int(number) - 1])
            said = TOML[head][name]
            assert more == (f"{said['source']}, {said['date']}" if "source" in said else "")
    tax = next(row for row in costed[1]["sums"] if row["what"].startswith("tax"))
    assert LINES[figures(tax["source"])[0].__int__() - 1] == 'tax = "21 %"'


def test_a_quote_tells_the_price_and_none_of_the_houses_figures(costed):
    order, made, _, quote = costed
    total, net, tax = (next(Fraction(row["amount"]) for row in made["sums"] if row["what"].partition(",")[0] == key)
                       for key in ("price", "price before tax", "tax"))  # fmt: skip
    known = {float(one) for one in (total, net, tax)} | {float(one["grams"]) for one in made["metals"]}
    known |= {float(row["a_piece"]) for row in stones(order)} | {one for row in stones(order) for one in figures(row["size_mm"])}
    carats = [(float(row["a_piece"]) * float(row["ct_each"]), 0.0006 * float(row["a_piece"])) for row in stones(order)]
    shown = [value for cell in quote.xpath("//td | //dd") for value in figures(re.sub(r"\d+ karat", "", cell.text_content()))]
    assert len(shown) >= 4 + len(stones(order))
    for value in shown:
        assert any(abs(value - one) < 0.004 for one in known) or any(abs(value - one) < off for one, off in carats), value
    said = quote.text_content()
    assert f"{float(total):,.2f} EUR" in said and "2025-04-30" in said
    cost = next(row["amount"] for row in made["sums"] if row["what"] == "cost")
    for secret in ("markup", "bench.toml", f"{float(cost):,.2f}", "a list", "78.40", "casting"):
        assert secret not in said


def test_a_flat_stone_weighs_by_its_volume(costed):
    """An oval of 12 x 8 mm, upright all round: pi/4 of its square, its thickness, 2.75 g/cm3 (talk.jewelry), 0.2 g a carat."""
    order, _, sheet, quote = costed
    if order.name == "slab":
        sheets = [sheet, quote, order.page("setter"), order.page("stones")]
        assert all("flat oval" in one.text_content() and "tablet" not in one.text_content() for one in sheets)
        assert order.table("setter", "settings")[0]["light_hole_mm"] == ""
        (row,) = stones(order)
        long, wide, thick = figures(row["size_mm"])
        assert (long, wide, int(row["to_order"])) == (12, 8, COUNT)
        assert float(row["ct_each"]) == pytest.approx(math.pi / 4 * long * wide * thick * 2.75 / 200, rel=0.02)
