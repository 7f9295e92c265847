"""`posy draw` from texts on disk to SVG, and what it says when it cannot."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from pathlib import Path
from xml.etree import ElementTree

import pytest

from posy.compiler.command import main
from posy.compiler.terminal import options as shared

BAR = """\
piece "Quay bar"

measure long = 20 mm, from 10 mm to 40 mm
bar frame: size long x 5 x 2 mm
"""
DISC = 'piece "Tide disc"\n  metal gold-585-yellow\n\ndisc medal: across 12 mm, thick 1.2 mm\n'
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    Path("bar.posy").write_text(BAR)
    Path("disc.posy").write_text(DISC)
    return tmp_path


def said(path: str | Path) -> list[str | None]:
    """The writing on a drawing."""
    return [text.text for text in ElementTree.fromstring(Path(path).read_bytes()).iter(f"{SVG}text")]


def test_a_drawing_goes_beside_the_piece(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["draw", "bar.posy"]) == shared.DONE
    assert "Quay bar" in said("out/bar.svg")
    assert capsys.readouterr().out == f"bar.posy: {Path('out/bar.svg')}\n"


def test_into_views_figures_and_set() -> None:
    asked = ["draw", "bar.posy", "disc.posy", "--into", "sheets", "--views", "face,side"]
    assert main([*asked, "--figures"]) == shared.DONE
    assert {"20", "5", "2"} <= set(said("sheets/bar.svg"))
    assert any("gold-585-yellow" in (text or "") for text in said("sheets/disc.svg"))
    assert main(["draw", "bar.posy", "--set", "long=31mm", "--figures"]) == shared.DONE
    assert "31" in said("out/bar.svg")


def test_another_metal_has_its_colour() -> None:
    main(["draw", "bar.posy"])
    silver = Path("out/bar.svg").read_bytes()
    assert main(["draw", "bar.posy", "--metal", "gold-750-yellow"]) == shared.DONE
    gold = Path("out/bar.svg").read_bytes()
    assert silver != gold and any("gold-750-yellow" in (text or "") for text in said("out/bar.svg"))


def test_one_sheet_of_many() -> None:
    assert main(["draw", "bar.posy", "disc.posy", "--sheet", "shown/all.svg"]) == shared.DONE
    titles = [text for text in said("shown/all.svg") if text in ("Quay bar", "Tide disc")]
    assert titles == ["Quay bar", "Tide disc"]
    assert not Path("out").exists()


def test_json_names_the_files(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["draw", "bar.posy", "disc.posy", "--show", "data"]) == shared.DONE
    report = json.loads(capsys.readouterr().out)
    assert report["command"] == "draw"
    assert [Path(piece["drawing"]).name for piece in report["pieces"]] == ["bar.svg", "disc.svg"]


def test_a_faulty_piece_leaves_the_old_drawing(capsys: pytest.CaptureFixture[str]) -> None:
    main(["draw", "bar.posy"])
    before = Path("out/bar.svg").read_bytes()
    Path("bar.posy").write_text(BAR.replace("5 x 2 mm", "5 x"))
    assert main(["draw", "bar.posy"]) == shared.FAULTS
    told = capsys.readouterr()
    assert "nothing drawn" in told.out and "bar.posy\n" in told.err and "line 4   bar frame: size long x 5 [x]" in told.err
    assert Path("out/bar.svg").read_bytes() == before


@pytest.mark.parametrize(
    ("line", "told"),
    [("ball knob: across 3 mmm, out 2 mm", "1 fault, line 5 left out"),
     ("stone red: round 3 mm, gem garnet, row 2, every 1 mm", "1 fault")],
)  # fmt: skip
def test_what_there_is_of_a_faulty_piece_is_drawn_beside_and_says_so(
    line: str, told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    main(["draw", "bar.posy"])
    before = Path("out/bar.svg").read_bytes()
    Path("bar.posy").write_text(BAR + line + "\n")
    assert main(["draw", "bar.posy"]) == shared.FAULTS
    assert Path("out/bar.svg").read_bytes() == before
    assert any((text or "").startswith(f"NOT AS IT WILL BE: {told}") for text in said("out/bar-with-faults.svg"))
    assert "for a look alone" in capsys.readouterr().out
    assert main(["draw", "bar.posy", "--show", "data"]) == shared.FAULTS
    assert json.loads(capsys.readouterr().out)["pieces"][0]["drawing"] is None


def test_no_sheet_when_one_of_its_pieces_is_faulty() -> None:
    Path("disc.posy").write_text("disc medal: across 12, thick 1.2 mm\n")
    assert main(["draw", "bar.posy", "disc.posy", "--sheet", "all.svg"]) == shared.FAULTS
    assert not Path("all.svg").exists()


def test_files_that_cannot_be() -> None:
    Path("out").write_text("a file in the way")
    assert main(["draw", "bar.posy"]) == shared.FILE_TROUBLE
    assert main(["draw", "nowhere.posy"]) == shared.FILE_TROUBLE


@pytest.mark.parametrize(
    ("asked", "hint"),
    [
        (["--views", "fase"], "face"),
        (["--views", ","], "say which"),
        (["--sheet", "all.png"], ".svg"),
        (["--sheet", "all.svg", "--figures"], "--figures"),
        (["--sheet", "all.svg", "--into", "x"], "--into"),
        (["--sheet", "all.svg", "--views", "face,side"], "one view"),
        (["bar.posy"], "same file"),
    ],
)
def test_wrong_use_is_told(asked: list[str], hint: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["draw", "bar.posy", *asked]) == shared.WRONG_USE
    assert hint in capsys.readouterr().err


def test_same_bytes_from_another_process(folder: Path) -> None:
    held = []
    for seed in ("1", "77"):
        run = subprocess.run(
            [sys.executable, "-m", "posy.compiler", "draw", "disc.posy", "--into", seed, "--figures"],
            env={**os.environ, "PYTHONHASHSEED": seed}, cwd=folder, check=False, capture_output=True,
            timeout=120,
        )
        assert run.returncode == 0, run.stderr
        held.append((folder / seed / "disc.svg").read_bytes())
    assert held[0] == held[1]


def test_words_pages_from_the_command_line(capsys: pytest.CaptureFixture[str]) -> None:
    Path("mine").mkdir()
    Path("mine/bar.md").write_text("notes of mine")
    assert main(["words", "--pages", "mine"]) == shared.FILE_TROUBLE
    assert "not a page of the reference" in capsys.readouterr().err
    assert Path("mine/bar.md").read_text() == "notes of mine"
    assert main(["words", "bar", "--pages", "mine"]) == shared.WRONG_USE


def test_one_setting_is_drawn_cut_and_close_and_as_pdf_and_png(tmp_path, capsys):
    """The PDF and the PNG are as large on paper as the SVG: pypdf and pillow read them."""
    from PIL import Image
    from pypdf import PdfReader

    from posy.compiler.files.browser import browser
    from posy.compiler.sheets.pdf import DOTS

    (tmp_path / "cup.posy").write_text("stone eye: round 5 mm, gem garnet\nbezel cup: for eye\n", "utf-8")
    words = ["draw", str(tmp_path / "cup.posy"), "--stone", "1", "--tolerance", "0.02mm"]
    assert main([*words, "--also", "pdf,png", "--show", "lines"]) == 0
    out = tmp_path / "out"
    svg = (out / "cup-stone-1-cut.svg").read_text("utf-8")
    wide, tall = (float(one) for one in re.search(r'width="([\d.]+)mm" height="([\d.]+)mm"', svg).groups())
    assert (out / "cup-stone-1.svg").is_file()
    assert main([*words[:3], "9"]) == 2
    assert "has 1 stones" in capsys.readouterr().err
    if browser() is None:
        return
    box = PdfReader(out / "cup-stone-1-cut.pdf").pages[0].mediabox
    assert (float(box.width), float(box.height)) == pytest.approx((wide / 25.4 * 72, tall / 25.4 * 72), abs=1)
    assert Image.open(out / "cup-stone-1-cut.png").size == pytest.approx((wide / 25.4 * DOTS, tall / 25.4 * DOTS), abs=4)
