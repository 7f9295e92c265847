"""The command line: exit codes, where output goes, and that a user never sees a traceback.

The build is a stand-in here; test_command_pieces.py runs the commands on real pieces."""

from __future__ import annotations

import json
import sys
import types
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from texts import CORNERS, FACES

from posy.compiler.command import main
from posy.compiler.making.result import Built, FeatureInfo, Stone
from posy.compiler.metal.part import Part
from posy.compiler.terminal import options as shared
from posy.lang.faults import Fault, Level, Span
from posy.lang.words import Kind, Take, Word

LINE = Span("cube.posy", 2, 1, 2, 4, 10, 13)


def cube(path: str, faults: tuple[Fault, ...] = ()) -> Built:
    part = Part("silver-925", CORNERS * 10, FACES, np.zeros(12, np.int32), 1000.0, 1000.0, error=0.4)
    stone = Stone(1, 0, "round", (2.5,), "garnet", 0.0721, 0.0718, np.eye(3, 4))
    return Built(
        path, "Cube", "silver-925", "a note", {"edge": (10.0, "mm")},
        (FeatureInfo("frame", "bar", LINE),), (part,), (stone,), faults,
        files_read=(path,), texts={path: 'piece "Cube"\nbar frame\n'},
    )  # fmt: skip


class Bench:
    """What the stand-in build gives, and what it was asked."""

    def __init__(self) -> None:
        self.faults: tuple[Fault, ...] = ()
        self.error: BaseException | None = None
        self.asked: list[dict[str, Any]] = []

    def build(self, path: str, **asked: Any) -> Built:
        self.asked.append({"path": path, **asked})
        if self.error:
            raise self.error
        if not Path(path).exists():
            fault = Fault("file-not-read", f"{path} is not there")
            return Built(path, "", "silver-925", "", {}, faults=(fault,))
        built = cube(path, self.faults)
        if asked.get("metal") is None:
            return built
        part = replace(built.parts[0], metal=asked["metal"])
        return replace(built, metal=asked["metal"], parts=(part,))

    def check(self, path: str, **asked: Any) -> Built:
        return self.build(path, **asked)

    def all_words(self) -> Mapping[str, Word]:
        takes = (
            Take("size", Kind.SIZE, "length, width, height", needed=True, parts=(3,), over=0.0),
            Take("corner", Kind.LENGTH, "how round", default="0.5 mm", most=5.0),
        )
        return {
            "bar": Word("bar", "A block.", "shapes", takes, example="bar a: size 1 x 1 x 1 mm",
                        offers={"rim": "the edge of its face"}),
            "seat": Word("seat", "A seat for stones.", "settings", places=False),
        }  # fmt: skip


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Bench:
    made = Bench()
    module = types.ModuleType("posy.compiler.making.pipeline")
    module.__dict__.update(
        build=made.build, check=made.check, all_words=made.all_words, Progress=object,
        read=lambda path, files: made.check(path), measured=lambda built: (),
    )
    monkeypatch.setitem(sys.modules, "posy.compiler.making.pipeline", module)
    session = types.ModuleType("posy.compiler.making.session")
    session.__dict__.update(Session=object)
    monkeypatch.setitem(sys.modules, "posy.compiler.making.session", session)
    monkeypatch.chdir(tmp_path)
    (tmp_path / "cube.posy").write_text('piece "Cube"\nbar frame\n')
    return made


def warning() -> Fault:
    return Fault("thin-wall", "the wall is thin", LINE, Level.WARNING)


def test_build_writes_the_usual_files_beside_the_piece(bench, capsys):
    assert main(["make", "cube.posy", "--set", "edge=10mm", "--tolerance", "0.01mm"]) == 0
    assert sorted(path.name for path in Path("out").iterdir()) == ["cube.3mf", "cube.json", "cube.stl"]
    asked = bench.asked[0]
    assert dict(asked["settings"]) == {"edge": "10mm"}
    assert asked["tolerance"] == 0.01
    out = capsys.readouterr().out
    assert "Cube, 10.36 g of silver-925 as cast, 1 stone 0.072 ct" in out
    assert str(Path("out/cube.stl")) in out


def test_build_into_a_folder_in_other_formats(bench: Bench) -> None:
    assert (main(["make", "cube.posy", "--as", "obj,ply", "--into", "print", "--shrink", "2%"]) == 0)
    assert sorted(path.name for path in Path("print").iterdir()) == ["cube-shrink-2.obj", "cube-shrink-2.ply"]


def test_faults_write_nothing_and_keep_what_is_there(bench, capsys):
    Path("out").mkdir()
    Path("out/cube.stl").write_bytes(b"good")
    bench.faults = Fault("no-room", "no room for the seat", LINE),
    assert main(["make", "cube.posy"]) == shared.FAULTS
    assert Path("out/cube.stl").read_bytes() == b"good"
    shown = capsys.readouterr()
    assert "no-room" in shown.err
    assert "no files written" in shown.out


def test_warnings_count_when_strict(bench: Bench) -> None:
    bench.faults = warning(),
    assert main(["make", "cube.posy", "--strict"]) == shared.FAULTS
    assert not Path("out").exists()
    assert main(["make", "cube.posy"]) == shared.DONE
    assert main(["check", "cube.posy"]) == shared.DONE
    assert main(["check", "cube.posy", "--strict"]) == shared.FAULTS


@pytest.mark.parametrize(
    "words",
    [
        ["make"],
        ["make", "cube.posy", "--as", "stp"],
        ["make", "cube.posy", "--tolerance", "0.005"],
        ["make", "cube.posy", "--tolerance", "nan mm"],
        ["make", "cube.posy", "--tolerance", "5mm"],
        ["make", "cube.posy", "--shrink", "0.0125"],
        ["make", "cube.posy", "--shrink", "-1%"],
        ["make", "cube.posy", "--set", "edge"],
        ["make", "cube.posy", "--set", "edge=1mm", "--set", "edge=2mm"],
        ["make", "cube.posy", "--metal", "silver-926"],
        ["make", "cube.posy", "sub/../cube.posy", "--into", "out"],
        ["make", "cube.posy", "--what"],
        ["weigh", "cube.posy", "cube.posy"],
        ["watch"],
        ["bild", "cube.posy"],
        ["cube.posy"],
        ["words", "barr"],
        ["start", "///"],
        [],
    ],
)
def test_wrong_use_is_told_in_one_line(bench, words, capsys):
    assert main(words) == shared.WRONG_USE
    assert not Path("out").exists()
    err = capsys.readouterr().err
    if words:
        assert err.startswith("posy: ")
        assert err.count("\n") == 1
        assert "Traceback" not in err


@pytest.mark.parametrize(
    ("words", "hint"),
    [
        (["mak", "cube.posy"], "write: posy make cube.posy"),
        (["build", "cube.posy"], "write: posy make cube.posy"),
        (["explain", "thin-wall"], "write: posy why thin-wall"),
        (["new", "x"], "write: posy start x"),
        (["cube.posy"], "posy make cube.posy"),
        (["check", "cube.posy", "--format", "json"], "--show data"),
        (["check", "cube.posy", "--format=short"], "--show lines"),
        (["check", "cube.posy", "--notes"], "--hints"),
        (["make", "cube.posy", "-o", "x"], "--into x"),
        (["check", "cube.posy", "--strikt"], "did you mean '--strict'?"),
        (["check", "cube.posy", "--metal"], "--metal needs NAME after it"),
        (["check", "cube.posy", "--metal", "--strict"], "--metal needs NAME after it"),
        (["check", "cube.posy", "--strict=yes"], "stands alone"),
        (["check"], "as in: posy check ring.posy"),
        (["check", "-x.posy"], "./-x.posy"),
        (["weigh", "a.posy", "b.posy"], "leave out b.posy"),
        (["make", "cube.posy", "--metal", "gold-18k"], "gold-750-yellow"),
        (["weigh", "cube.posy", "--metal", "18 kt yelow"], "gold-750-yellow or gold-750-yellow-3n"),
        (["make", "cube.posy", "--metal", "950"], "platinum-950"),
        (["weigh", "cube.posy", "--metal", "17k"], "posy words metal lists all"),
        (["make", "cube.posy", "--metal", "silver-926"], "like it are silver-925"),
        (["make", "cube.posy", "--tolerance", "0.005"], "write 0.005mm"),
        (["make", "cube.posy", "--shrink", "1.25"], "write 1.25%"),
        (["make", "cube.posy", "--as", "stk"], "did you mean 'stl'?"),
        (["words", "barr"], "did you mean 'bar'?"),
    ],
)
def test_wrong_use_comes_with_a_hint(bench, words, hint, capsys):
    assert main(words) == shared.WRONG_USE
    assert hint in capsys.readouterr().err


def test_options_may_stand_between_pieces(bench: Bench) -> None:
    Path("two.posy").write_text("x")
    assert main(["check", "cube.posy", "--show", "lines", "two.posy"]) == 0
    assert [asked["path"] for asked in bench.asked] == ["cube.posy", "two.posy"]


def test_after_two_dashes_all_are_names(bench: Bench) -> None:
    Path("-x.posy").write_text("x")
    assert main(["check", "--", "-x.posy"]) == 0
    assert [asked["path"] for asked in bench.asked] == ["-x.posy"]


def test_a_missing_piece_and_a_bad_folder_are_file_trouble(bench, capsys):
    assert main(["make", "gone.posy"]) == shared.FILE_TROUBLE
    assert main(["check", "gone.posy"]) == shared.FILE_TROUBLE
    Path("out").write_text("a file where the folder should be")
    assert main(["make", "cube.posy"]) == shared.FILE_TROUBLE
    assert "file-not-written" in capsys.readouterr().err
    assert Path("out").read_text() == "a file where the folder should be"


def test_a_fault_of_ours_leaves_its_details_in_a_file(bench, capsys):
    bench.error = ZeroDivisionError("secret")
    assert main(["make", "cube.posy"]) == shared.OUR_BUG
    shown = capsys.readouterr()
    assert shown.err.count("\n") == 1
    assert "Traceback" not in shown.err + shown.out
    note = Path(shown.err.split()[-1])
    assert "ZeroDivisionError: secret" in note.read_text()
    note.unlink()


def test_interrupting_and_running_out_of_memory_are_quiet(bench, capsys):
    bench.error = KeyboardInterrupt()
    assert main(["make", "cube.posy"]) == shared.INTERRUPTED
    bench.error = MemoryError()
    assert main(["make", "cube.posy"]) == shared.OUR_BUG
    assert "not enough memory" in capsys.readouterr().err


def test_json_is_one_document(bench: Bench, capsys: pytest.CaptureFixture[str]) -> None:
    bench.faults = warning(),
    for words in (["make", "cube.posy"], ["check", "cube.posy"], ["weigh", "cube.posy"]):
        assert main([*words, "--show", "data"]) == 0
        shown = capsys.readouterr()
        assert shown.err == ""
        record = json.loads(shown.out)
        assert record["posy"] == 1
        assert record["command"] == words[0]
        piece = record if words[0] == "weigh" else record["pieces"][0]
        assert piece["remarks"][0]["name"] == "thin-wall"


def test_no_colour_outside_a_terminal(bench: Bench, capsys: pytest.CaptureFixture[str]) -> None:
    bench.faults = warning(),
    main(["make", "cube.posy"])
    main(["weigh", "cube.posy"])
    shown = capsys.readouterr()
    assert "\x1b" not in shown.out + shown.err


def test_weigh_lists_every_alloy_and_the_stones(bench: Bench, posy) -> None:
    from posy.stdlib.alloys import ALLOYS

    told = posy("weigh", "cube.posy", "--metal", "18k").out
    listed = [name for name in ALLOYS if f"  {name} " in told]
    assert listed == [name for name in ALLOYS if "750" in name]
    out = posy("weigh", "cube.posy", "--metal", "gold-750-yellow").out
    assert out.startswith("Cube: 15.58 g of gold-750-yellow as cast, before finishing.\nYour caster's alloy may")
    assert all(name in out for name in ALLOYS)
    assert "1 garnet, round 2.5 mm, 0.072 ct each" in out


def test_new_writes_a_piece_once(bench: Bench, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["start", "Reed bar"]) == 0
    text = Path("reed-bar.posy").read_text()
    assert 'piece "Reed bar"' in text
    Path("reed-bar.posy").write_text("mine now")
    assert main(["start", "reed-bar.posy"]) == shared.FILE_TROUBLE
    assert Path("reed-bar.posy").read_text() == "mine now"
    assert main(["start", "pieces/leaf"]) == 0
    assert 'piece "Leaf"' in Path("pieces/leaf.posy").read_text()


def test_words_in_every_form(bench: Bench, capsys: pytest.CaptureFixture[str], posy) -> None:
    out = posy("words").out
    assert out.index("  bodies ") < out.index("  settings ") and " bar" in out
    assert main(["words", "bar"]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "(length x width x thickness, mm, at the bench 10 x 3 x 1.5 mm to 40 x 8 x 3 mm, needed)" in out
    assert "(length, mm, to 5 mm, usual 0.5 mm)" in out
    assert "rim of …" in out
    assert "bar: A block.\n" in posy("words", "--show", "lines").out
    record = json.loads(posy("words", "--show", "data").out)
    told = {word["name"]: word for word in record["words"]}
    assert {"bar", "seat"} <= set(told)
    assert told["bar"]["takes"][0]["over"] == 0.0
