"""Remedies that change the text: shown line by line, written only when asked, comments kept."""

import re

import pytest

from posy.compiler.command import main
from posy.compiler.judging.mend import changes, mended
from posy.compiler.judging.remark import Remark
from posy.compiler.making.pipeline import check
from posy.lang.loader import Texts

TEXT = """\
# For a doll.
measure w = 0.3 mm
stone row: round 2.8 mm, gem diamond, row 5, every 3.02 mm   # the row
bar frame: size 18 x 6 x 2.6 mm, under row
seat: for row, in frame
prong claws: for row, shared, bite 18 %, wire w * 2, rise 0.1 mm, foot 0.9 mm # claws
hollow back
  in frame
  wall 0.7 mm   # at the sides
  roof 1.6 mm
bail loops: at ends of frame, wire 0.6 mm
"""


def mend(text):
    built = check("p.posy", files=Texts({"p.posy": text}))
    return mended(built.faults, {"p.posy": text}).texts.get("p.posy", text)


def test_only_values_change_and_an_expression_keeps_its_measure():
    wanted = (
        TEXT.replace("wire w * 2", "wire max(w * 2, 0.68 mm)")
        .replace("rise 0.1 mm", "rise 0.30 mm")
        .replace("wall 0.7 mm ", "wall 0.80 mm ")
        .replace("wire 0.6 mm", "wire 0.80 mm")
    )
    assert mend(TEXT) == wanted


def test_a_mended_text_has_nothing_left_to_mend():
    once = mend(TEXT)
    left = check("p.posy", files=Texts({"p.posy": once})).faults
    assert [f.code for f in left if isinstance(f, Remark) and f.level.value != "hint"] == []


@pytest.mark.parametrize("newline", ["\n", "\r\n"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
def test_line_ends_and_marks_of_the_file_stay(newline, mark):
    text = mark + TEXT.replace("\n", newline)
    assert mend(text) == mark + mend(TEXT).replace("\n", newline)


ROUND = "stone one: round 2.5 mm, gem diamond\nbar frame: size 9 x 9 x 3 mm, under one\n"


@pytest.mark.parametrize(
    ("line", "wanted"),
    [
        ("bead-line rim: along rim of frame, bead 0.5 mm, inset 0.1 mm\n",
         "bead-line rim: along rim of frame, bead 0.5 mm, inset 0.25 mm\n"),
        ("bead-line rim: along rim of frame, bead 0.28 mm, pitch 0.3 mm # fine\n",
         "bead-line rim: along rim of frame, bead 0.35 mm, pitch 0.3 mm # fine\n"),
        ("ball rim: along rim of frame, across 0.5 mm, inward 0.25 mm, fit 0.52 mm  # row\n",
         "ball rim: along rim of frame, across 0.5 mm, inward 0.25 mm, fit 0.52 mm, inset 0.25 mm  # row\n"),
        ("ball rim\n  along rim of frame\n  across 0.5 mm\n    # under it\n"
         "  inward 0.25 mm  # in\n"
         "  fit 0.52 mm\n",
         "ball rim\n  along rim of frame\n  across 0.5 mm\n    # under it\n"
         "  inward 0.25 mm  # in\n"
         "  fit 0.52 mm\n  inset 0.25 mm\n"),
    ],
)  # fmt: skip
def test_a_missing_clause_is_added_in_the_style_of_its_line(line, wanted):
    text = "bar frame: size 9 x 9 x 3 mm\n" + line
    assert mend(text) == "bar frame: size 9 x 9 x 3 mm\n" + wanted


def test_a_waived_finding_is_not_mended():
    text = "bar frame: size 9 x 9 x 3 mm\nbail loops: at ends of frame, wire 0.6 mm\n"
    text += 'waive thin-loop on loops because "so"\n'
    assert mend(text) == text


@pytest.fixture
def piece(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    path = tmp_path / "p.posy"
    path.write_text(TEXT, "utf-8")
    return path


def test_the_changes_are_shown_and_nothing_written(piece, capsys):
    main(["check", "p.posy", "--mend", "--no-colour"])
    said = capsys.readouterr().out
    assert re.search(r"\n  now     wall 0.7 mm   # at the sides\n  mended  wall 0.8\d mm   # at the sides\n", said)
    assert piece.read_text("utf-8") == TEXT


def test_apply_writes_and_checks_again(piece, capsys):
    assert main(["check", "p.posy", "--plan", "--strict"]) == 1
    assert main(["check", "p.posy", "--plan", "--mend", "--apply", "--strict", "--no-colour"]) == 0
    assert "thin-wall" not in capsys.readouterr().out.split("p.posy: ")[-1]
    assert piece.read_text("utf-8") == mend(TEXT)
    assert [path.name for path in piece.parent.iterdir()] == ["p.posy"]


def test_apply_alone_is_wrong_use(piece):
    assert main(["check", "p.posy", "--apply"]) == 2


def test_a_word_file_of_ones_own_is_left_alone():
    """The user's line is mended, not the word it uses."""
    files = {
        "p.posy": 'from "loops.posy" take eyes\nbar frame: size 9 x 9 x 3 mm\n'
        "eyes both: at ends of frame, thickness 0.6 mm\n",
        "loops.posy": "word eyes\n  takes at: places\n  takes thickness: length\n"
        "  jump-ring eye: at at, right 1.5 mm, wire thickness, inside 2 mm\n",
    }
    built = check("p.posy", files=Texts(files))
    texts = mended(built.faults, files).texts
    assert list(texts) == ["p.posy"]
    assert "thickness 0.80 mm" in texts["p.posy"]
    assert changes(files, texts).startswith("p.posy line ")
