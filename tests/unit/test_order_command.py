"""`posy order` and `posy cost`: who gets what, several makings side by side, and what is refused."""

import json
import re
import subprocess
import tomllib

import pytest

from posy.compiler.command import main
from posy.compiler.house.kinds import like
from posy.compiler.house.page import PRICED
from posy.compiler.making.pipeline import check
from posy.compiler.sheets import pdf
from posy.compiler.sheets.html import Sheet, paragraph, table
from posy.compiler.sheets.stamp import Stamp, stamp_of
from posy.stdlib.house_rows import NEEDED, house_rows

BAR = """piece "Bar <one>"
  metal silver-925
measure wide = 3 mm, from 2 mm to 6 mm, help "width"
series sizes: wide 3 mm to 4 mm, metal silver-925 to gold-750-yellow
bar slab: size 10 x wide x 2 mm
"""
PAIR = """piece "Pair"
  metal silver-925
casting left: left 8 mm
  disc face: across 9 mm, thick 1.6 mm
  ear-post post: at back of face, bought, metal gold-750-white
casting right: right 8 mm
  disc face: across 9 mm, thick 1.6 mm
  ear-post post: at back of face, bought, metal gold-750-white
"""
OWN = 'stone eye: round 5 mm, gem garnet, weighs 0.52 ct, lot "A-113"\nbezel cup: for eye\n'
DATED = 'date = 2025-03-20\nsource = "a list"\n'
PRICES = f"""[cost]
currency = "EUR"
[alloy.silver-925]
per-gram = "1.50 EUR"
{DATED}[alloy.gold-750-yellow]
per-gram = "60 EUR"
{DATED}[casting.any]
fee = "10 EUR"
"""


@pytest.fixture
def bench(tmp_path, monkeypatch):
    """A folder to work in, without a browser."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(pdf, "browser", lambda: None)
    (tmp_path / "bar.posy").write_text(BAR, "utf-8")
    (tmp_path / "bench.toml").write_text(PRICES, "utf-8")
    return tmp_path


def told(capsys, *words):
    code = main([*words, "--show", "data"])
    return code, json.loads(capsys.readouterr().out)


def test_a_series_is_reckoned_side_by_side(bench, capsys, posy):
    """10 x wide x 2 mm of 10.36 and 15.58 g/cm3: 0.62, 0.83, 0.93 and 1.25 g, each cast for 10."""
    code, data = told(capsys, "cost", "bar.posy", "--series", "--date", "2025-03-31")
    assert code == 0
    made = {one["making"]: one for one in data["makings"]}
    grams = {name: one["metals"][0]["grams"] for name, one in made.items()}
    prices = {name: one["sums"][-1]["amount"] for name, one in made.items()}
    assert sorted(grams.values()) == ["0.62", "0.83", "0.93", "1.25"]
    assert sorted(prices.values()) == ["10.93", "11.25", "65.80", "85.00"]
    lines = posy("cost", "bar.posy", "--series", "--date", "2025-03-31").out.splitlines()
    rows = [line.split() for line in lines if line.split()[:1] == ["price"] and line.split()[1] != "before"]
    price = [word for row in rows for word in row if word[:1].isdigit()]  # a wide table comes in parts
    assert sorted(price) == ["10.93", "11.25", "65.80", "85.00"]


def test_no_quote_while_a_price_is_missing(bench, capsys):
    code, data = told(capsys, "cost", "bar.posy", "--metal", "platinum-950", "--quote", "--date", "2025-03-31")
    assert code == 1 and data["files"] == []
    assert {one["name"] for one in data["remarks"]} == {"price-missing"}
    assert data["makings"][0]["sums"][-1]["amount"] is None
    assert not (bench / "out").exists()


def test_a_house_without_prices_is_told_what_to_write(bench, capsys):
    (bench / "bench.toml").write_text("", "utf-8")
    code, data = told(capsys, "cost", "bar.posy")
    assert code == 1 and data["makings"] == []
    assert data["remarks"][-1]["name"] == "no-prices" and "posy start --bench" in data["remarks"][-1]["do"]


def test_a_bench_to_fill_in_asks_for_prices_and_has_none(bench, capsys):
    """It is written once; as it is, it says nothing; with the sample of every key it is read without a fault."""
    (bench / "bench.toml").unlink()
    assert main(["start", "--bench"]) == 0
    written = (bench / "bench.toml").read_text("utf-8")
    assert main(["start", "--bench"]) != 0 and (bench / "bench.toml").read_text("utf-8") == written
    capsys.readouterr()
    assert tomllib.loads(written) == {} and not re.search(r'= "?\d', written)
    _, data = told(capsys, "cost", "bar.posy")
    assert [one["name"] for one in data["remarks"]] == ["no-prices"]
    head, *lines = written.partition("# [")[2].splitlines()
    samples = [row for table, rows in house_rows().items() if table.partition(".")[0] in PRICED for row in rows.values()]
    assert [line[4:] for line in lines if line.startswith("# # ")] == [
        row.says + (" It must be given." if row.usual == NEEDED else "") for row in samples
    ]
    keys = iter(samples)
    filled = [f"[{head}"] + [
        line[2:] if line.startswith("# [") else f"{row.key} = {like(row)}"
        for line in lines if line and not line.startswith("# # ")
        for row in ([None] if line.startswith("# [") else [next(keys)])
    ]  # fmt: skip
    (bench / "bench.toml").write_text("\n".join(filled), "utf-8")
    _, data = told(capsys, "cost", "bar.posy", "--date", "2025-03-31")
    wrong = [one["text"] for one in data["remarks"] if one["name"].startswith("house") or one["name"] == "no-prices"]
    assert wrong and all(" has both " in text for text in wrong), "the samples of either way to say a price"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("cost", "bar.posy", "--date", "31.3.2025"), "no date such as 2025-03-31"),
        (("cost", "bar.posy", "--metal", "18k", "--series"), "leave out --metal"),
        (("order", "bar.posy", "--to", "castor"), "caster"),
        (("order", "bar.posy", "--count", "0"), "from 1 to"),
        (("order", "bar.posy", "--as", "json"), "without a mesh"),
    ],
)
def test_what_makes_no_sense_is_refused(bench, capsys, words, said):
    assert main(list(words)) == 2
    assert said in capsys.readouterr().err


def test_each_casting_has_its_mesh_and_bought_parts_are_told_apart(bench, capsys):
    (bench / "pair.posy").write_text(PAIR, "utf-8")
    code, data = told(capsys, "order", "pair.posy", "--tolerance", "0.02mm")
    assert code == 0
    names = {one["file"].rpartition("/")[2] for one in data["files"]}
    assert {"pair-left.stl", "pair-right.stl", "pair.3mf", "pair-caster.html", "pair-caster.zip"} <= names
    assert not any("setter" in name or "stones" in name for name in names)  # it has no stones
    record = json.loads((bench / "out/pair-order/caster/pair-caster.json").read_text("utf-8"))
    assert [row["casting"] for row in record["castings"]] == ["left", "right"]
    assert {row["metal"] for row in record["bought"]} == {"gold-750-white"}


def test_what_an_earlier_order_left_is_taken_away(bench, capsys):
    assert told(capsys, "order", "bar.posy", "--shrink", "1.25%")[0] == 0
    caster = bench / "out/bar-order/caster"
    assert (caster / "bar-shrink-1.25.stl").is_file()
    assert told(capsys, "order", "bar.posy")[0] == 0
    assert sorted(path.name for path in caster.glob("*.stl")) == ["bar.stl"]


def test_stones_that_are_there_are_not_ordered(bench, capsys):
    (bench / "own.posy").write_text(OWN, "utf-8")
    assert told(capsys, "order", "own.posy", "--to", "stones", "--tolerance", "0.02mm")[0] == 0
    record = json.loads((bench / "out/own-order/stones/own-stones.json").read_text("utf-8"))
    (row,) = record["stones"]
    assert (row["lot"], row["there_already"], row["to_order"], row["ct_each"]) == ("A-113", True, 0, "0.520")
    page = (bench / "out/own-order/stones/own-stones.html").read_text("utf-8")
    assert "There already" in page and "To order" not in page


def test_without_a_browser_one_line_says_so(bench, posy):
    err = posy("order", "bar.posy", "--to", "caster").err
    assert err.count(pdf.NO_BROWSER) == 1
    assert not list((bench / "out").rglob("*.pdf"))


def test_whatever_stands_in_a_text_is_text_on_the_sheet(bench):
    assert main(["order", "bar.posy", "--to", "caster", "--show", "lines"]) == 0
    page = (bench / "out/bar-order/caster/bar-caster.html").read_text("utf-8")
    assert "Bar &lt;one&gt;" in page and "<one>" not in page
    assert "<script" not in page and "http" not in page.replace("http://www.w3.org/2000/svg", "").replace("http-equiv", "")
    sheet = Sheet('For "us"</style>', "a\\b 'c'", Stamp("f", "0" * 64), [paragraph("<b>"), table(("x", "y"), [("1", "2 g")])])
    assert b"<b>" not in sheet.html() and sheet.html().count(b"</style>") == 1


def test_the_revision_is_that_of_git_and_a_changed_text_is_told(bench):
    built = check("bar.posy")
    assert stamp_of(built).revision == ""
    git = ["git", "-c", "user.name=a", "-c", "user.email=a@b.example", "-c", "commit.gpgsign=false"]
    try:
        for words in (["init", "-q"], ["add", "."], ["commit", "-qm", "first"]):
            subprocess.run([*git, *words], check=True, capture_output=True)
    except (OSError, subprocess.CalledProcessError):
        pytest.skip("no git to ask")
    head = subprocess.run(["git", "rev-parse", "HEAD"], check=True, capture_output=True, text=True).stdout.strip()
    stamp = stamp_of(built, "2025-03-31")
    assert (stamp.revision, stamp.changed, stamp.date) == (head, False, "2025-03-31")
    hook = bench / "program"
    hook.write_text(f"#!/bin/sh\ntouch {bench}/ran\n", "utf-8")
    hook.chmod(0o755)
    subprocess.run(["git", "config", "core.fsmonitor", str(hook)], check=True)
    (bench / "bar.posy").write_text(BAR.replace("10 x", "11 x"), "utf-8")
    changed = stamp_of(check("bar.posy"))
    assert (changed.revision, changed.changed) == (head, True)
    assert "changed since" in " ".join(changed.lines)
    assert not (bench / "ran").exists()  # nothing of the project's own is run


def test_the_setter_is_told_how_a_pearl_is_held_and_that_a_bezel_is_closed_below(bench):
    text = 'piece "Two"\ncasting drop\n  stone moon: pearl 6 mm, gem pearl\n  pearl-cup cap: for moon\n'
    text += "casting top\n  stone eye: round 5 mm, gem garnet, right 12 mm\n  bezel cup: for eye{}, foot 4 mm\n"
    for blind in ("", ", blind"):
        (bench / "two.posy").write_text(text.format(blind), "utf-8")
        main(["order", "two.posy", "--into", str(bench / "sent")])
        (sheet,) = [path.read_text("utf-8") for path in (bench / "sent").rglob("*setter*.html")]
        assert "peg and glue" in sheet and "pearl-cup, pearl" not in sheet.lower()
        assert ("none, closed" in sheet) == bool(blind)
        assert "Light hole" in sheet, "each says one or the other"


def test_what_is_wrong_with_the_metal_is_told_in_a_line_where_files_are_written(bench, capsys, posy):
    (bench / "thin.posy").write_text('piece "Thin"\n  metal silver-925\ndisc plate-body: across 9 mm, thick 1.5 mm\ndrill hole: across 2 mm, at face of plate-body, right 3.3 mm, in plate-body\n', "utf-8")
    wanted = "in the finished metal ("
    assert f"{wanted}thin-wall" in posy("show", "thin.posy").err
    for words in (["--reckoning"], []):  # no price is told of what is not made
        assert main(["cost", "thin.posy", "--date", "2025-03-31", *words]) == 1
        assert "posy why thin-wall" in capsys.readouterr().err
    main(["show", "bar.posy"])
    assert wanted not in capsys.readouterr().err


def test_what_is_engraved_by_hand_is_told_to_those_who_hold_the_metal(bench, capsys):
    line = 'engrave name: letters "A <b>", tall 1 mm, at face of slab, in slab, by-hand\n'
    eye = "casting two: up 12 mm\n  stone eye: round 5 mm, gem garnet\n  bezel cup: for eye\n"
    (bench / "bar.posy").write_text(BAR + line + eye, "utf-8")
    assert main(["order", "bar.posy", "--to", "all", "--into", "out"]) == 0
    (told,) = json.loads(next(bench.rglob("bar-caster.json")).read_text("utf-8"))["by_hand"]
    assert told == {"name": "name", "what": '"A <b>"', "on": "slab", "tall_mm": 1.0, "deep_mm": 0.2}
    for sheet in ("caster", "setter"):
        text = next(bench.rglob(f"bar-{sheet}.html")).read_text("utf-8")
        assert "Engraved by hand, after casting" in text and "A &lt;b&gt;" in text
