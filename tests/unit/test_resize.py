"""`posy resize`: what grows, what goes to a size that is sold, what stays."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from posy.compiler.command import main
from posy.compiler.making.pipeline import build
from posy.compiler.making.resize import factor_of, fingers_of, refitted, resized
from posy.compiler.metal.part import Part
from posy.compiler.words.standard import all_words
from posy.lang.loader import Folder
from posy.lang.parse import parse
from posy.stdlib.stock_sizes import next_size, stock_sizes

PIECE = """\
piece "Lock keeper"
  metal silver-925
measure across = 2.5 mm, from 2 mm to 3 mm
measure rope = 0.9 mm
stone row: round across, gem garnet, row 3, every across + 0.3 mm
stone big: oval 7 x 5 mm, gem citrine, up 9 mm  # the middle one
bar frame: size (3 * (across + 0.3 mm) + 2 mm) x 5 x 2.4 mm, under row
seat: for row, in frame
prong claws: for row, shared, wire rope
bezel cup: for big, wall 0.7 mm
bail loops: at ends of frame, up 1.6 mm, wire 1.1 mm, inside 2 mm, chain 4 x 0.8 mm
"""


def _new(text: str, factor: float) -> str:
    file, faults = parse(text, "piece.posy")
    assert faults == []
    return resized(file, all_words(), factor)


@pytest.mark.parametrize(
    "line",
    [
        "measure across = 3 mm, from 2.4 mm to 3.6 mm",
        "measure rope = 0.9 mm",  # only a wire goes by it
        "stone row: round across, gem garnet, row 3, every across + 0.36 mm",
        "stone big: oval 8 x 6 mm, gem citrine, up 10.8 mm  # the middle one",
        "bar frame: size (3 * (across + 0.36 mm) + 2.4 mm) x 6 x 2.9 mm, under row",
        "bezel cup: for big, wall 0.7 mm",
        "bail loops: at ends of frame, up 1.9 mm, wire 1.1 mm, inside 2 mm, chain 4 x 0.8 mm",
    ],
)
def test_a_fifth_larger(line: str) -> None:
    assert line in _new(PIECE, 1.2).split("\n")


def test_the_finger_stays_and_a_weight_grows_by_the_cube() -> None:
    ring = 'band shank: finger "us 7", wide 3 mm, thick 1.8 mm\nstone one: round 0.5 ct, gem diamond\n'
    wanted = 'band shank: finger "us 7", wide 3.6 mm, thick 2.15 mm\nstone one: round 0.86 ct, gem diamond\n'
    assert _new(ring, 1.2) == wanted


def test_the_same_size_changes_only_stones_that_are_not_sold() -> None:
    assert _new(PIECE, 1.0) == PIECE
    assert _new("stone s: round 5.1 mm, gem ruby\n", 1.0) == "stone s: round 5 mm, gem ruby\n"


@pytest.mark.parametrize(("said", "factor"), [("120%", 1.2), ("80 %", 0.8), ("1.5", 1.5), ("big", None)])
def test_how_a_size_is_said(said: str, factor: float | None) -> None:
    assert factor_of(said) == factor


def test_sizes_sold_are_in_order_and_the_nearest_is_taken() -> None:
    assert next_size("round", (3.36,)) == (3.4,)
    assert next_size("oval", (8.4, 6.0)) == (8.0, 6.0)
    assert next_size("tapered-baguette", (4.567, 2.0, 1.0)) == (4.57, 2.0, 1.0)
    for sizes in stock_sizes().values():
        assert len(set(sizes)) == len(sizes)


def test_nothing_is_written_unless_asked(tmp_path: Path, posy) -> None:
    piece = tmp_path / "lock.posy"
    piece.write_text('piece "Lock"\n  metal silver-925\nbar b: size 10 x 4 x 2 mm\n')
    before = piece.read_text()
    said = posy("resize", str(piece), "150%").out
    assert piece.read_text() == before
    assert "size 15 x 6 x 3 mm" in said
    assert "becomes" in said
    assert main(["resize", str(piece), "150%", "--apply"]) == 0
    assert piece.read_text() == before.replace("10 x 4 x 2", "15 x 6 x 3")


def test_a_good_text_is_not_changed_into_one_with_faults(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Rings for a chain stay as they are; farther apart, one no longer reaches the other."""
    piece = tmp_path / "links.posy"
    rings = 'piece "Links"\n  metal silver-925\njump-ring a: wire 1 mm, inside 4 mm\n'
    rings += "jump-ring b: right 4.9 mm, wire 1 mm, inside 4 mm\n"
    piece.write_text(rings)
    assert main(["resize", str(piece), "300%", "--apply"]) == 1
    told = capsys.readouterr()
    assert piece.read_text() == rings
    assert "Nothing is written" in told.out
    assert "loose-piece" in told.err


def test_each_changed_line_stands_with_what_it_becomes(tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    piece = Path("bars.posy")
    piece.write_text('piece "Bars"\n  metal silver-925\nbar a: size 10 x 4 x 2 mm\nbar b: size 4 x 10 x 2 mm\n')
    main(["resize", str(piece), "50%"])
    rows = [row.split(None, 1)[1] for row in capsys.readouterr().out.splitlines()[:6]]
    assert rows == [
        "line 3", "bar a: size 10 x 4 x 2 mm", "bar a: size 5 x 2 x 1 mm",
        "line 4", "bar b: size 4 x 10 x 2 mm", "bar b: size 2 x 5 x 1 mm",
    ]  # fmt: skip


PAIR = """\
measure his = "uk V"
casting her
  band ring: finger uk J, wide 3 mm, thick 1.8 mm
casting him: right 30 mm
  band other: finger his, wide 5 mm, thick 2 mm
"""


def test_another_finger_size_changes_that_alone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys) -> None:
    file, _ = parse(PAIR, "pair.posy")
    his, hers = fingers_of(file)
    assert "her" in hers.names and "ring" in hers.names
    assert {"him", "other", "his"} <= set(his.names)
    assert refitted(file, [his], "uk W") == PAIR.replace('"uk V"', '"uk W"')
    assert refitted(file, [hers, his], "us 7") == PAIR.replace("uk J", "us 7").replace("uk V", "us 7")

    monkeypatch.chdir(tmp_path)
    Path("pair.posy").write_text("piece \"Pair\"\n  metal silver-925\n" + PAIR)
    assert main(["resize", "pair.posy", "uk K"]) == 2  # whose?
    assert "say whose" in capsys.readouterr().err
    assert main(["resize", "pair.posy", "them", "uk K"]) == 2
    assert main(["resize", "pair.posy", "uk 99"]) == 2
    assert main(["resize", "pair.posy", "her", "uk", "K", "--apply"]) == 0
    assert "finger uk K, wide 3 mm" in Path("pair.posy").read_text()


CROSS = """\
piece "Cross"
  metal silver-925
path edge: closed, through (-1.5, -12.5) to (1.5, -12.5) to (1.5, 12.5) to (-1.5, 12.5 mm)
plate body: outline edge, thick 1.6 mm
bail eye: at (0, 12.5 mm), wire 1 mm, inside 3 mm
"""


def test_a_unit_after_a_run_of_spots_serves_them_all_and_a_finding_keeps_its_place() -> None:
    larger = _new(CROSS, 2.0)
    assert "through (-3, -25) to (3, -25) to (3, 25) to (-3, 25 mm)" in larger
    assert "bail eye: at (0, 25 mm), wire 1 mm, inside 3 mm" in larger


@pytest.mark.parametrize(
    ("said", "long", "tall"),
    [("body tall 32 mm", 32.0, 32.0), ("body 1.5 in", 38.1, 38.1), ("body wide 6 mm", 6.0, 50.0), ("40 mm", 40.0, 40.0)],
)  # fmt: skip
def test_to_a_length(said: str, long: float, tall: float, tmp_path: Path, monkeypatch, capsys) -> None:
    """A loop stays as it is and is not counted."""
    monkeypatch.chdir(tmp_path)
    Path("cross.posy").write_text(CROSS)
    main(["resize", "cross.posy", said, "--apply"])
    assert f"and {long:.2f} mm then" in capsys.readouterr().out
    after = build("cross.posy", files=Folder("cross.posy"))
    spots = np.concatenate([part.points[part.triangles[_owned(part, tall > 0)]].reshape(-1, 3) for part in after.parts])
    assert float(np.ptp(spots[:, 1])) == pytest.approx(tall or long, abs=0.06)


def _owned(part: Part, by_the_plate: bool) -> np.ndarray:
    """The faces of the plate, the second line of the text, or all."""
    return part.owner == 1 if by_the_plate else part.owner >= -1


def test_a_length_of_what_is_not_there_is_told(tmp_path: Path, monkeypatch, capsys) -> None:
    monkeypatch.chdir(tmp_path)
    Path("cross.posy").write_text(CROSS)
    assert main(["resize", "cross.posy", "bodi", "32 mm"]) == 2
    assert "no metal is called bodi in cross.posy; what is made of metal there: body, eye" in capsys.readouterr().err


def test_what_grows_by_a_scale_is_left_to_it() -> None:
    """A text worked out from one measure keeps its reference figure, and stays one that can be set anew."""
    text = (
        'piece "Star"\n  metal gold-750-white\nmeasure across = 20 mm, from 16 mm to 30 mm\n'
        "measure k = across / 20 mm\nbar stem: size across / 2 x 1.6 mm * k x 1.8 mm, right 5.4 mm * k\n"
        "stone main: round 3 mm * k, gem diamond, out 1.7 mm\n"
    )
    new = _new(text, 1.2)
    assert "across = 24 mm" in new and "k = across / 20 mm" in new
    assert "1.6 mm * k x 2.15 mm, right 5.4 mm * k" in new and "round 3 mm * k, gem diamond, out 2.05 mm" in new
    # Nothing that grows stands above it: the figure below is one like any other.
    assert "thick 2.4 mm * half" in _new("measure half = 1 / 2\ndisc d: across 9 mm, thick 2 mm * half\n", 1.2)


PETALS = """plate petal: marquise 9 x 4 mm, thick 1.4 mm, turn 90 deg, up 6 mm
wheel petals: of petal, times 6
disc heart: across 6 mm, thick 1.8 mm
bail loop: at top of petals, inside 3 mm
"""


@pytest.mark.parametrize("whose", ["", "petals", "petal"])
def test_a_length_is_that_of_the_body_not_of_its_findings(tmp_path, monkeypatch, capsys, whose: str) -> None:
    """Six petals of 9 mm whose middles stand 6 mm up reach 10.5 mm either way."""
    monkeypatch.chdir(tmp_path)
    Path("leaf.posy").write_text(PETALS, "utf-8")
    assert main(["resize", "leaf.posy", *([whose] if whose else []), "30 mm"]) == 0
    told = capsys.readouterr().out
    assert f"{whose or 'The metal without loop'} is 21.00 mm on its longest side now, and 29.9" in told


def test_what_does_not_grow_is_told_so(tmp_path, monkeypatch, capsys) -> None:
    monkeypatch.chdir(tmp_path)
    Path("leaf.posy").write_text(PETALS, "utf-8")
    assert main(["resize", "leaf.posy", "loop", "10 mm"]) == 2
    assert "loop does not come to 10 mm" in capsys.readouterr().err


def test_rings_that_go_on_one_finger_are_resized_together(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    text = (
        "band shank: finger us 6, wide 2.2 mm, thick 1.8 mm\n"
        'casting wedding\n  band other: finger "us 6", wide 2.2 mm, thick 1.8 mm, next-to shank\n'
    )
    Path("set.posy").write_text(text)
    assert main(["resize", "set.posy", "us 8", "--apply"]) == 0
    assert Path("set.posy").read_text() == text.replace("us 6", "us 8")
