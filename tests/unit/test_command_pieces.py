"""The commands on real pieces: from a text on disk to files, weights and explanations."""

from __future__ import annotations

import hashlib
import io
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
import trimesh

from posy.compiler.command import main
from posy.compiler.commands.words import with_blocks
from posy.compiler.making.pipeline import all_words
from posy.compiler.rules import all_rules
from posy.compiler.terminal import options as shared
from posy.lang.codes import CODES

BAR = """\
piece "Quay bar"
  metal silver-925

measure long = 20 mm, from 10 mm to 40 mm

bar frame: size long x 5 mm x 2 mm
series lengths: long 18 mm to 20 mm, metal silver-925 to gold-750-yellow
"""
# 20 x 5 x 2 mm of sterling silver at 10.36 g/cm3 (table of alloys)
BAR_GRAMS = 20 * 5 * 2 * 10.36 / 1000


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    Path("bar.posy").write_text(BAR)
    return tmp_path


def test_a_bar_weighs_what_it_must(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["make", "bar.posy", "--show", "data"]) == 0
    capsys.readouterr()
    summary = json.loads(Path("out/bar.json").read_text())
    assert summary["metal_weight"]["grams"] == pytest.approx(BAR_GRAMS, abs=0.0005)
    assert summary["box_mm"]["size"] == [20.0, 5.0, 2.0]
    assert summary["text_sha256"] == hashlib.sha256(BAR.encode()).hexdigest()
    for row in summary["files"]:
        content = Path("out", row["file"]).read_bytes()
        assert hashlib.sha256(content).hexdigest() == row["sha256"]
    back = trimesh.load(io.BytesIO(Path("out/bar.stl").read_bytes()), file_type="stl")
    assert back.is_watertight
    assert back.volume == pytest.approx(200.0, rel=1e-6)


def test_measures_and_metal_from_outside(capsys: pytest.CaptureFixture[str], posy) -> None:
    words = ["weigh", "bar.posy", "--set", "long=30mm", "--metal", "gold-18k-yellow"]
    record = json.loads(posy(*words, "--show", "data").out)
    assert record["metal"] == "gold-750-yellow"
    # 30 x 5 x 2 mm at 15.58 g/cm3 (table of alloys)
    assert record["metal_weight"]["grams"] == pytest.approx(300 * 15.58 / 1000, abs=0.0005)
    assert main(["check", "bar.posy", "--set", "long=50mm"]) == shared.FAULTS
    assert main(["check", "bar.posy", "--set", "lnog=30mm"]) == shared.FAULTS
    assert "long" in capsys.readouterr().out


def test_a_series_is_made_in_one_go(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["make", "bar.posy", "--series", "--as", "stl,json"]) == 0
    stems = [f"bar-long-{long}mm-{metal}" for long in (18, 20) for metal in ("gold-750-yellow", "silver-925")]
    assert sorted(path.name for path in Path("out").iterdir()) == [
        *(f"{stem}.{kind}" for stem in stems for kind in ("json", "stl")),
        "bar-series.csv", "bar-series.json",
    ]  # fmt: skip
    summary = json.loads(Path("out/bar-long-18mm-gold-750-yellow.json").read_text())
    assert summary["metal_weight"]["grams"] == pytest.approx(180 * 15.58 / 1000, abs=0.0005)
    Path("bar.posy").write_text(BAR.rpartition("series")[0])
    assert main(["make", "bar.posy", "--series"]) == shared.WRONG_USE


def test_a_slip_is_shown_with_its_line(capsys: pytest.CaptureFixture[str]) -> None:
    Path("bar.posy").write_text(BAR.replace("size long", "size lon"))
    assert main(["check", "bar.posy"]) == shared.FAULTS
    out = capsys.readouterr().out
    assert out.startswith("bar.posy\n")
    assert "line 6   bar frame: size [lon] x 5 mm x 2 mm" in out
    assert "did you mean 'long'?" in out
    assert main(["check", "bar.posy", "--show", "lines"]) == shared.FAULTS
    line, read = capsys.readouterr().out.splitlines()
    assert line.startswith("bar.posy line 6 fault unknown-name: ") and "nothing more is found" in read


def test_what_is_waived_shows_everywhere(capsys: pytest.CaptureFixture[str]) -> None:
    Path("bar.posy").write_text(BAR + 'waive thin-wall on frame because "a trial"\n')
    for command in ("make", "check", "weigh"):
        main([command, "bar.posy"])
        shown = capsys.readouterr()
        assert ("set aside by line 8: thin-wall on frame, because a trial" in shown.out + shown.err)
        main([command, "bar.posy", "--show", "data"])
        assert '"because": "a trial"' in capsys.readouterr().out
    assert json.loads(Path("out/bar.json").read_text())["waivers"][0]["name"] == "thin-wall"


def test_a_missing_piece(capsys: pytest.CaptureFixture[str]) -> None:
    for command in ("make", "check", "weigh"):
        assert main([command, "gone.posy"]) == shared.FILE_TROUBLE
    shown = capsys.readouterr()
    assert "gone.posy" in shown.err + shown.out
    assert "Traceback" not in shown.err + shown.out


def test_the_starter_builds_without_findings(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["start", "Reed bar"]) == 0
    assert main(["make", "reed-bar.posy", "--strict", "--as", "stl"]) == 0, capsys.readouterr()
    back = trimesh.load(io.BytesIO(Path("out/reed-bar.stl").read_bytes()), file_type="stl")
    assert back.is_watertight
    assert back.body_count == 1


def test_stones_stand_beside_the_metal_when_asked_for() -> None:
    assert main(["start", "reed"]) == 0
    assert main(["make", "reed.posy", "--as", "3mf,glb,obj", "--stones"]) == 0
    for kind in ("3mf", "glb", "obj"):
        content = io.BytesIO(Path(f"out/reed.{kind}").read_bytes())
        lot = trimesh.load(content, file_type=kind, force="mesh")
        assert lot.is_watertight, kind
        assert lot.body_count == 4, kind  # the metal and three stones


def test_stones_in_a_mirror_are_written_outside_out() -> None:
    """Volumes as trimesh finds them: of each closed body by itself, so that none makes up for another."""
    row = "plate sheet: oval 20 x 12 mm, thick 2 mm\n"
    row += "stone drop: pear 3 x 2 mm, gem ruby, at face of sheet, right 6 mm, turn 20 deg, both-sides, level table\n"
    row += "flush sunk: for drop, in sheet\n"
    row += "bar stem: size 6 x 6 x 2 mm, left 12 mm\n"
    row += "stone dot: round 1.5 mm, gem ruby, at face of stem, level table\nflush seat-dot: for dot, in stem\n"
    row += "mirror others: of stem + dot + seat-dot\n"
    Path("pairs.posy").write_text(row)
    assert main(["make", "pairs.posy", "--as", "3mf,glb,obj", "--stones"]) == 0
    for kind in ("3mf", "glb", "obj"):
        content = io.BytesIO(Path(f"out/pairs.{kind}").read_bytes())
        lot = trimesh.load(content, file_type=kind, force="mesh").split()
        assert len(lot) == 5, kind  # the metal and four stones
        assert min(one.volume for one in lot) > 0, kind


def test_every_word_has_its_page(capsys: pytest.CaptureFixture[str], posy) -> None:
    for name in all_words():
        assert main(["words", name]) == 0
        assert capsys.readouterr().out.startswith(f"{name}: ")
    record = json.loads(posy("words", "--show", "data").out)
    assert [word["name"] for word in record["words"]] == list(with_blocks())


def test_every_code_and_rule_is_explained(capsys: pytest.CaptureFixture[str], posy) -> None:
    for code in [*CODES, *all_rules(), "file-not-written", "mesh-not-closed"]:
        assert main(["why", code]) == 0
        assert capsys.readouterr().out.startswith(code)
    assert main(["why", "unknown-nam"]) == shared.WRONG_USE
    assert "did you mean 'unknown-name'?" in capsys.readouterr().err
    assert "mesh-not-closed" in posy("why").out


def test_two_processes_write_the_same_bytes(folder: Path) -> None:
    assert main(["start", "reed"]) == 0

    def build(seed: str, into: str) -> dict[str, bytes]:
        subprocess.run(
            [sys.executable, "-m", "posy.compiler.command", "make", "reed.posy",
             "--as", "stl,3mf,obj,ply,glb,json", "--into", into],
            env={**os.environ, "PYTHONHASHSEED": seed}, check=True, timeout=120,
            stdout=subprocess.DEVNULL,
        )  # fmt: skip
        return {path.name: path.read_bytes() for path in sorted(Path(into).iterdir())}

    one, two = build("1", "one"), build("2", "two")
    assert len(one) == 6
    assert one == two


def test_a_weight_comes_with_what_is_wrong_with_the_metal(capsys: pytest.CaptureFixture[str]) -> None:
    """A price is not to be told by the weight of a piece that cannot be made."""
    Path("slip.posy").write_text("disc pad: across 9 mm, thick 3 mm\nstone s: round 4 mm, gem ruby, at face of pad\n")
    assert main(["weigh", "slip.posy", "--show", "data"]) == 1
    record = json.loads(capsys.readouterr().out)
    assert "stone-in-metal" in json.dumps(record["remarks"]) and record["metal_weight"]["grams"] > 1
