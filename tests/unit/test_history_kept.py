"""Revisions that posy keeps by itself, where git keeps none."""

from __future__ import annotations

import json
import os
import re
from pathlib import Path
from xml.etree import ElementTree

import pytest
from test_history import BAR, built, folder, text, tree

from posy.compiler.command import main
from posy.compiler.history import kept, lookup
from posy.compiler.history.chart import plot, step, table
from posy.compiler.history.metal import difference
from posy.compiler.history.record import make, taken_down
from posy.compiler.history.revision import Revision
from posy.compiler.making.weights import weigh
from posy.lang.loader import Texts

__all__ = ["folder", "tree"]


def kept_now(name="bar"):
    return sorted(int(one.name) for one in Path(".kept", name).iterdir())


def test_each_make_is_kept_when_the_text_is_another(folder, capsys, posy):
    text("bar.posy", BAR)
    assert main(["since", "bar.posy"]) == 1
    assert "no-history" in capsys.readouterr().err
    for long in (12, 12, 14):
        text("bar.posy", BAR.replace("12 mm", f"{long} mm"))
        assert main(["make", "bar.posy", "--as", "stl"]) == 0
    assert kept_now() == [1, 2]
    assert Path(".kept/bar/1/bar.posy").read_text("utf-8") == BAR
    figures = json.loads(Path(".kept/bar/1/figures.json").read_text("utf-8"))
    assert figures["metal_weight"]["grams"] == pytest.approx(weigh(built(BAR))[0].grams, abs=1e-3)
    capsys.readouterr()
    assert "metal: 20.00 mm3 added" in posy("since", "bar.posy", "--show", "lines").out
    assert main(["since", "bar.posy", "1", "--same"]) == 1 and main(["since", "bar.posy", "2", "--same"]) == 0
    capsys.readouterr()
    assert main(["history", "bar.posy"]) == 0
    assert len(capsys.readouterr().out.splitlines()) == 3
    # Another metal or measure from outside is not what the text says.
    assert main(["make", "bar.posy", "--metal", "gold-750-yellow"]) == 0
    assert main(["make", "bar.posy", "--set", "long=9mm"]) == 0
    assert kept_now() == [1, 2]


def test_all_texts_of_a_piece_are_kept_and_make_it_again(folder):
    Path("parts").mkdir()
    text("parts/leaf.posy", "word leaf\n  bar blade: size 3 x 5 x 2 mm\n")
    text("bar.posy", 'from "parts/leaf.posy" take leaf\nleaf one\n')
    text("bench.toml", 'name = "Our bench"\n')
    assert main(["make", "bar.posy"]) == 0
    text("parts/leaf.posy", "word leaf\n  bar blade: size 4 x 5 x 2 mm\n")
    Path("bench.toml").unlink()
    old = kept.kept_revisions("bar.posy")[0]
    found = difference(make(old).built, make(lookup.now("bar.posy"), disk=True).built)
    assert found.come_mm3 == pytest.approx(10.0)
    assert old.text("bench.toml") == 'name = "Our bench"\n'
    assert main(["make", "bar.posy"]) == 0
    assert kept_now() == [1, 2] and kept.kept_revisions("bar.posy")[0].text("bench.toml") is None


def test_where_git_keeps_the_history_posy_keeps_none(tree):
    text("bar.posy", BAR)
    assert main(["make", "bar.posy"]) == 0
    assert not Path(".kept").exists()


def test_of_many_makes_those_stay_that_lie_far_apart(folder):
    made = built(BAR)
    most = 40  # unless the house says otherwise
    for number in range(most + 12):
        words = BAR.replace("12 mm", f"{10 + number / 10:g} mm")
        text("bar.posy", words)
        # Hours apart at first, then minutes.
        seconds = 1_700_000_000 + (number * 3600 if number < 20 else 72_000 + number * 60)
        os.utime("bar.posy", (seconds, seconds))
        kept.keep(built(words) if number == 0 else _with_text(made, words))
    numbers = kept_now()
    assert len(numbers) == most
    assert numbers[:20] == list(range(1, 21))  # what lay far apart
    assert numbers[-10:] == list(range(most + 3, most + 13))  # and the last


@pytest.mark.parametrize(("makes", "wanted"), [(0, None), (1, [4]), (3, [2, 3, 4])])
def test_the_house_says_how_many_makes_are_kept(folder, makes, wanted):
    text("bench.toml", f"[history]\nmakes = {makes}\n")
    for long in (12, 13, 14, 15):
        text("bar.posy", BAR.replace("12 mm", f"{long} mm"))
        assert main(["make", "bar.posy", "--as", "stl"]) == 0
    assert (kept_now() if Path(".kept").exists() else None) == wanted


def _with_text(made, words):
    from dataclasses import replace

    return replace(made, texts={**made.texts, "bar.posy": words})


def test_what_is_not_whole_is_passed_over_and_trouble_is_a_hint(folder, capsys, posy):
    text("bar.posy", BAR)
    assert main(["make", "bar.posy"]) == 0
    for number, figures in ((2, "{"), (3, "[]"), (4, None)):
        Path(f".kept/bar/{number}").mkdir()
        if figures is not None:
            text(f".kept/bar/{number}/figures.json", figures)
    text(".kept/bar/notes.txt", "mine")
    assert [one.name for one in kept.kept_revisions("bar.posy")] == ["1"]
    text("bar.posy", BAR.replace("12 mm", "14 mm"))
    Path(".kept/bar/5").write_text("in the way", "utf-8")
    assert main(["make", "bar.posy"]) == 0
    assert kept.kept_revisions("bar.posy")[0].name == "6"
    text("bar.posy", BAR.replace("12 mm", "15 mm"))
    Path(".kept").rename(".was")
    Path(".kept").write_text("in the way", "utf-8")
    capsys.readouterr()
    assert "history-not-kept" in posy("make", "bar.posy").err
    assert Path("out/bar.stl").exists()


def test_rows_of_a_table_stand_below_one_another():
    rows = table([step("1", "2026-05-01", "first", taken_down(built(BAR))), step("12", "", "", {})])
    assert rows[0].index("stones") + len("stones") == rows[1].index("0  ") + 1
    assert rows[2].split()[1] == "-"  # a revision that could not be made
    ElementTree.fromstring(plot([step("1", "", "", {})], "A & B"))


def test_a_revision_reads_as_its_day(folder):
    revision = Revision("x", "a.posy", Texts({"a.posy": "ball: across 1 mm\r\n"}))
    assert revision.text("a.posy") == "ball: across 1 mm\n" and revision.text("b.posy") is None


def test_what_it_costs_is_told_where_the_house_has_prices(folder, capsys, posy):
    """Silver at 1.00 a gram fine is 0.925 of sterling; ten cubic mm more weigh 0.1036 g."""
    text("bench.toml", """[cost]
currency = "EUR"

[fine.silver]
per-gram = "100.00 EUR"
date = 2026-05-01
source = "our dealer"

[casting.any]
fee = "15 EUR"
""")
    text("bar.posy", BAR)
    assert main(["make", "bar.posy"]) == 0
    text("bar.posy", BAR.replace("12 mm", "13 mm"))
    capsys.readouterr()
    said = posy("since", "bar.posy", "--show", "lines").out
    old, new = (round(grams, 2) * 92.5 for grams in (120 * 0.01036, 130 * 0.01036))
    found = re.search(r"cost metal: (\S+) EUR -> (\S+) EUR", said)
    assert float(found[1]) == pytest.approx(old, abs=0.01) and float(found[2]) == pytest.approx(new, abs=0.01)
    assert re.search(r"cost cost: \S+ EUR -> \S+ EUR", said)
