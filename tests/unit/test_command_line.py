"""The command line: exit codes, where output goes, and that a user never sees a traceback.

The build is a stand-in here; test_command_pieces.py runs the commands on real pieces.
"""

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

from posy.compiler.command import COMMANDS, main
from posy.compiler.making.result import Built, FeatureInfo, Stone
from posy.compiler.metal.part import Part
from posy.compiler.terminal import options as shared
from posy.lang.faults import Fault, Level, Span
from posy.lang.words import Kind, Take, Word

CORNERS = np.array([[x, y, z] for x in (0, 1) for y in (0, 1) for z in (0, 1)], np.float64)
FACES = np.array(
    [
        [0, 1, 3], [0, 3, 2], [4, 6, 7], [4, 7, 5], [0, 4, 5], [0, 5, 1],
        [2, 3, 7], [2, 7, 6], [0, 2, 6], [0, 6, 4], [1, 5, 7], [1, 7, 3],
    ],
    np.int32,
)  # fmt: skip
LINE = Span("cube.posy", 2, 1, 2, 4, 10, 13)


def cube(path: str, faults: tuple[Fault, ...] = ()) -> Built:
    part = Part(
        "silver-925", CORNERS * 10, FACES, np.zeros(12, np.int32), 1000.0, 1000.0, error=0.4
    )
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
    module.__dict__.update(build=made.build, check=made.check, all_words=made.all_words)
    monkeypatch.setitem(sys.modules, "posy.compiler.making.pipeline", module)
    session = types.ModuleType("posy.compiler.making.session")
    session.__dict__.update(Session=object)
    monkeypatch.setitem(sys.modules, "posy.compiler.making.session", session)
    monkeypatch.chdir(tmp_path)
    (tmp_path / "cube.posy").write_text('piece "Cube"\nbar frame\n')
    return made


def warning() -> Fault:
    return Fault("thin-wall", "the wall is thin", LINE, Level.WARNING)


def test_build_writes_the_usual_files_beside_the_piece(
    bench: Bench, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["build", "cube.posy", "--set", "edge=10mm", "--tolerance", "0.01mm"]) == 0
    assert sorted(path.name for path in Path("out").iterdir()) == [
        "cube.3mf",
        "cube.json",
        "cube.stl",
    ]
    asked = bench.asked[0]
    assert dict(asked["settings"]) == {"edge": "10mm"}
    assert asked["tolerance"] == 0.01
    out = capsys.readouterr().out
    assert "Cube, silver-925 10.360 g, 1 stone 0.072 ct" in out
    assert str(Path("out/cube.stl")) in out


def test_build_into_a_folder_in_other_formats(bench: Bench) -> None:
    assert (
        main(["build", "cube.posy", "--as", "obj,ply", "--into", "print", "--shrink", "2%"])
        == 0
    )
    assert sorted(path.name for path in Path("print").iterdir()) == [
        "cube-shrink-2.obj",
        "cube-shrink-2.ply",
    ]


def test_faults_write_nothing_and_keep_what_is_there(
    bench: Bench, capsys: pytest.CaptureFixture[str]
) -> None:
    Path("out").mkdir()
    Path("out/cube.stl").write_bytes(b"good")
    bench.faults = (Fault("no-room", "no room for the seat", LINE),)
    assert main(["build", "cube.posy"]) == shared.FAULTS
    assert Path("out/cube.stl").read_bytes() == b"good"
    shown = capsys.readouterr()
    assert "no-room" in shown.err
    assert "no files written" in shown.out


def test_warnings_count_when_strict(bench: Bench) -> None:
    bench.faults = (warning(),)
    assert main(["build", "cube.posy", "--strict"]) == shared.FAULTS
    assert not Path("out").exists()
    assert main(["build", "cube.posy"]) == shared.DONE
    assert main(["check", "cube.posy"]) == shared.DONE
    assert main(["check", "cube.posy", "--strict"]) == shared.FAULTS


@pytest.mark.parametrize(
    "words",
    [
        ["build"],
        ["build", "cube.posy", "--as", "stp"],
        ["build", "cube.posy", "--tolerance", "0.005"],
        ["build", "cube.posy", "--tolerance", "nan mm"],
        ["build", "cube.posy", "--tolerance", "5mm"],
        ["build", "cube.posy", "--shrink", "0.0125"],
        ["build", "cube.posy", "--shrink", "-1%"],
        ["build", "cube.posy", "--set", "edge"],
        ["build", "cube.posy", "--set", "edge=1mm", "--set", "edge=2mm"],
        ["build", "cube.posy", "--metal", "silver-926"],
        ["build", "cube.posy", "sub/../cube.posy", "--into", "out"],
        ["build", "cube.posy", "--what"],
        ["weigh", "cube.posy", "cube.posy"],
        ["watch"],
        ["bild", "cube.posy"],
        ["cube.posy"],
        ["words", "barr"],
        ["new", "///"],
        [],
    ],
)
def test_wrong_use_is_told_in_one_line(
    bench: Bench, words: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
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
        (["bild", "cube.posy"], "did you mean `build`?"),
        (["cube.posy"], "posy build cube.posy"),
        (["build", "cube.posy", "--metal", "silver-926"], "did you mean `silver-925`?"),
        (["build", "cube.posy", "--tolerance", "0.005"], "write 0.005mm"),
        (["build", "cube.posy", "--shrink", "1.25"], "write 1.25%"),
        (["build", "cube.posy", "--as", "stk"], "did you mean `stl`?"),
        (["words", "barr"], "did you mean `bar`?"),
    ],
)
def test_wrong_use_comes_with_a_hint(
    bench: Bench, words: list[str], hint: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(words) == shared.WRONG_USE
    assert hint in capsys.readouterr().err


def test_options_may_stand_between_pieces(bench: Bench) -> None:
    Path("two.posy").write_text("x")
    assert main(["check", "cube.posy", "--format", "short", "two.posy"]) == 0
    assert [asked["path"] for asked in bench.asked] == ["cube.posy", "two.posy"]


def test_a_missing_piece_and_a_bad_folder_are_file_trouble(
    bench: Bench, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["build", "gone.posy"]) == shared.FILE_TROUBLE
    assert main(["check", "gone.posy"]) == shared.FILE_TROUBLE
    Path("out").write_text("a file where the folder should be")
    assert main(["build", "cube.posy"]) == shared.FILE_TROUBLE
    assert "file-not-written" in capsys.readouterr().err
    assert Path("out").read_text() == "a file where the folder should be"


def test_a_fault_of_ours_leaves_its_details_in_a_file(
    bench: Bench, capsys: pytest.CaptureFixture[str]
) -> None:
    bench.error = ZeroDivisionError("secret")
    assert main(["build", "cube.posy"]) == shared.OUR_BUG
    shown = capsys.readouterr()
    assert shown.err.count("\n") == 1
    assert "Traceback" not in shown.err + shown.out
    note = Path(shown.err.split()[-1])
    assert "ZeroDivisionError: secret" in note.read_text()
    note.unlink()


def test_interrupting_and_running_out_of_memory_are_quiet(
    bench: Bench, capsys: pytest.CaptureFixture[str]
) -> None:
    bench.error = KeyboardInterrupt()
    assert main(["build", "cube.posy"]) == shared.INTERRUPTED
    bench.error = MemoryError()
    assert main(["build", "cube.posy"]) == shared.OUR_BUG
    assert "not enough memory" in capsys.readouterr().err


def test_json_is_one_document(bench: Bench, capsys: pytest.CaptureFixture[str]) -> None:
    bench.faults = (warning(),)
    for words in (["build", "cube.posy"], ["check", "cube.posy"], ["weigh", "cube.posy"]):
        assert main([*words, "--format", "json"]) == 0
        shown = capsys.readouterr()
        assert shown.err == ""
        record = json.loads(shown.out)
        assert record["posy"] == 1
        assert record["command"] == words[0]
        piece = record if words[0] == "weigh" else record["pieces"][0]
        assert piece["findings"][0]["code"] == "thin-wall"


def test_no_colour_outside_a_terminal(bench: Bench, capsys: pytest.CaptureFixture[str]) -> None:
    bench.faults = (warning(),)
    main(["build", "cube.posy"])
    main(["weigh", "cube.posy"])
    shown = capsys.readouterr()
    assert "\x1b" not in shown.out + shown.err


def test_weigh_lists_every_alloy_and_the_stones(
    bench: Bench, capsys: pytest.CaptureFixture[str]
) -> None:
    from posy.stdlib.alloys import ALLOYS

    assert main(["weigh", "cube.posy", "--metal", "gold-750-yellow"]) == 0
    out = capsys.readouterr().out
    assert out.startswith("Cube, gold-750-yellow: 15.580 g (within 0.0063 g by the mesh)")
    assert all(name in out for name in ALLOYS)
    assert "1 garnet, round 2.5 mm, 0.072 ct each" in out


def test_new_writes_a_piece_once(bench: Bench, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["new", "Reed bar"]) == 0
    text = Path("reed-bar.posy").read_text()
    assert 'piece "Reed bar"' in text
    Path("reed-bar.posy").write_text("mine now")
    assert main(["new", "reed-bar.posy"]) == shared.FILE_TROUBLE
    assert Path("reed-bar.posy").read_text() == "mine now"
    assert main(["new", "pieces/leaf"]) == 0
    assert 'piece "Leaf"' in Path("pieces/leaf.posy").read_text()


def test_words_in_every_form(bench: Bench, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["words"]) == 0
    out = capsys.readouterr().out
    assert out.index("shapes") < out.index("  bar ") < out.index("settings")
    assert main(["words", "bar"]) == 0
    out = capsys.readouterr().out
    assert "size, 2 x 1 x 3, over 0 mm, needed" in out
    assert "length, to 5 mm, else 0.5 mm" in out
    assert "rim of …" in out
    assert main(["words", "--as", "json"]) == 0
    record = json.loads(capsys.readouterr().out)
    assert [word["name"] for word in record["words"]] == ["bar", "seat"]
    assert record["words"][0]["takes"][0]["over"] == 0.0
    assert main(["words", "bar", "--as", "md"]) == 0
    assert "| `corner` | length" in capsys.readouterr().out


def test_help_names_every_command_and_exit_code(
    bench: Bench, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["--help"]) == 0
    out = capsys.readouterr().out
    assert all(name in out for name in COMMANDS)
    for name in COMMANDS:
        assert main([name, "--help"]) == 0
        shown = capsys.readouterr().out
        assert "exit codes:" in shown
        assert "130" in shown
    assert main(["--version"]) == 0
    assert capsys.readouterr().out.startswith("posy ")
