"""Faults of the text, of a line at the bench and of the metal are told at once, and what faulty lines leave is
judged: of that nothing is told that they could answer."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from texts import checked, made

from posy.compiler.command import main
from posy.compiler.judging.remark import LeftOut, remark_record, tally
from posy.lang.faults import Fault, Level, Span, in_order

HEAD = 'piece "Tray"\n  metal silver-925\n'
CLAWED = """stone eye: round 5 mm, gem garnet
disc tray: across 9 mm, thick 3.2 mm, under eye
seat home: for eye, in tray
prong claws: for eye, count 4, wire 1 mm
jump-ring hanger: up 5.4 mm, inward 1 mm, wire 1.1 mm, inside 2.4 mm
"""
# A hole that goes out at the rim, far from the first disc.
APART = """disc plate: across 20 mm, thick 1.5 mm
drill eye: across 1 mm, in plate
disc far: across 10 mm, thick 1.5 mm, right 60 mm
drill rim: across 2 mm, right 63.7 mm, in far
"""


def told(text: str) -> list[tuple[str, int]]:
    """All that is told of a text, with its line."""
    return [(one.code, one.span.line if one.span else 0) for one in made(HEAD + text, rest=True).faults]


def codes(text: str) -> list[str]:
    return [code for code, _ in told(text)]


def test_a_slip_of_the_text_and_one_met_at_the_bench_are_told_at_once():
    found = told("disc plate: across 20 mm, thick 1.5 mm\nrod bar: long 0.2 mm, wire 1 mm, domed\n"
                 "hollow back: in plate, wall 12 mm, roof 0.5 mm\ndisc lid: across 4, thick 1 mm\n")  # fmt: skip
    assert ("unit-missing", 6) in found and {line for _, line in found} >= {5, 6}


def test_figures_of_the_rest_are_told_below_the_faults_of_the_text():
    text = CLAWED.replace("wire 1 mm", "wire 0.4 mm", 1).replace("across 9 mm", "across 9")
    assert told(text) == [("unit-missing", 4), ("lines-left-out", 4), ("thin-prong", 6)]
    text = CLAWED.replace("wire 1 mm", "wire 0.4 mm", 1).replace("inside 2.4 mm", "inside 2.4")
    assert told(text) == [("unit-missing", 7), ("lines-left-out", 7), ("thin-prong", 6)]


def test_metal_far_from_a_faulty_line_is_measured():
    assert told(APART) == [("loose-piece", 5), ("thin-wall", 6)]
    found = told(APART.replace("across 1 mm", "across 1"))
    assert found == [("unit-missing", 4), ("lines-left-out", 4), ("thin-wall", 6)]


@pytest.mark.parametrize("old, new", [
    ("in plate", "in plaet"),  # it may have been meant to cut anywhere
    ("across 1 mm, in plate", "across 1, right 62 mm, in plate"),  # so far may it reach
    ("drill eye: across 1 mm, in plate", "bar lid size 2 x 2 x 2 mm"),
    ("drill eye: across 1 mm, in plate", "bar lid: size 90 x 2 x 2 deg"),  # figures alone are lengths, too
    ("metal silver-925", "metal silver-9255"), ("metal silver-925", 'metal silver-925\nwaive thin-wal because "so"'),
])  # fmt: skip
def test_metal_that_a_faulty_line_may_change_is_not(old, new):
    text = (HEAD + APART).replace(old, new)
    assert {one.level for one in made(text, rest=True).faults} == {Level.FAULT}
    assert "thin-wall" not in [one.code for one in made(text, rest=True).faults]


@pytest.mark.parametrize("line", range(len(CLAWED.splitlines())))
def test_nothing_is_missed_that_a_faulty_line_would_have_brought(line):
    """No stone without its prongs, no floating part, no shut seat, nothing of how it hangs."""
    lines = CLAWED.splitlines(keepends=True)
    lines[line] = lines[line].replace("\n", ", colour 3\n")
    assert set(codes("".join(lines))) == {"unknown-clause"}
    assert {fault.level for fault in made(HEAD + CLAWED).faults} == {Level.HINT}


def test_a_bridge_that_is_left_out_leaves_no_loose_piece():
    bridge = "disc one: across 4 mm, thick 1 mm, left 6 mm\ndisc two: across 4 mm, thick 1 mm, right 6 mm\n"
    assert codes(f"{bridge}bar tie: size 12 x 2 x 1") == ["unit-missing"]
    assert "loose-piece" in codes(bridge)


def test_a_cut_that_meets_nothing_hides_no_metal():
    found = codes(APART.replace("across 1 mm, in plate", "across 1 mm, in plate, left 12 mm"))
    assert found == ["idle-cut", "lines-left-out", "thin-wall"]


def test_a_word_of_ones_own_that_fails_leaves_none_of_its_metal():
    word = ('word lid\n  help "A lid."\n  takes wide: length, default 3 mm, help "w"\n'
            "  disc top: across wide, thick 0.3 mm\n  disc rim: across wide, thick 0\n")  # fmt: skip
    built = checked(f"{HEAD}{word}lid one: right 20 mm\n{CLAWED}")
    assert [fault.level for fault in built.faults] == [Level.FAULT]
    assert {step.feature for step in built.piece.bench.plan().steps}.isdisjoint({0, 1})
    assert not built.parts and not built.made


def test_an_expectation_that_fails_hides_nothing():
    text = "measure thin = 0.3 mm\nexpect thin > 1 mm, else \"too thin\"\ndisc lid: across 5 mm, thick thin\n"
    assert codes(text) == ["expectation", "thin-wall"]


def test_a_cap_that_stops_the_run_leaves_nothing_to_judge():
    text = "each k from 1 to 20000\n  each m from 1 to 20000\n    disc lid: across 5 mm, thick 0.3 mm\n"
    assert codes(text) == ["too-much-work"]


def test_the_gravest_come_first_then_the_place():
    def one(code: str, level: Level, line: int) -> Fault:
        return Fault(code, code, Span("p", line, 1, line, 2), level)

    mixed = [one("a", Level.HINT, 1), one("b", Level.WARNING, 2), one("c", Level.FAULT, 9), one("d", Level.FAULT, 3)]
    assert [fault.code for fault in in_order(mixed)] == ["d", "c", "b", "a"]


# -- as it is shown


@pytest.fixture
def faulty(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "tray.posy").write_text(HEAD + APART.replace("across 1 mm", "across 1"), "utf-8")
    return tmp_path


@pytest.mark.parametrize(("slip", "how"), [
    ("across 1,", "with line 4 read as 'across 1 mm'"), ("across 1 deg,", "without line 4, which was left out"),
])  # fmt: skip
def test_the_terminal_says_without_which_lines_or_how_read_the_rest_is_told(slip, how, faulty, capsys):
    tray = faulty / "tray.posy"
    tray.write_text(tray.read_text("utf-8").replace("across 1,", slip), "utf-8")
    for command in ("check", "make"):
        assert main([command, "tray.posy"]) == 1
        told = "".join(capsys.readouterr())
        text, _, rest = told.partition(f"\nthe rest is told {how}:\n")
        assert "\nfault " in text and "thin-wall" in rest and "line 4 " not in rest
    assert told.count("lines-left-out") == 0 and [one.name for one in faulty.iterdir()] == ["tray.posy"]


def test_a_line_and_data_for_programs_say_so_too(faulty, capsys):
    main(["check", "tray.posy", "--show", "lines"])
    rows = capsys.readouterr().out.splitlines()
    assert [" fault " in row for row in rows] == [True, False, True, True] and "read as 'across 1 mm'" in rows[1]
    main(["check", "tray.posy", "--show", "data"])
    (piece,) = json.loads(capsys.readouterr().out)["pieces"]
    assert [one["name"] for one in piece["remarks"]] == ["unit-missing", "lines-left-out", "loose-piece", "thin-wall"]


def test_it_is_no_remark_of_its_own():
    without = LeftOut("lines-left-out", "the rest is told without line 4", level=Level.HINT)
    assert tally([without]) == "nothing to report" and remark_record(without)["name"] == "lines-left-out"


def test_the_plan_alone_says_where_it_looked(faulty, capsys):
    (faulty / "tray.posy").write_text(HEAD + "disc far: across 4 mm, thick 1 mm\n", "utf-8")
    assert main(["check", "--plan", "tray.posy"]) == 0
    assert capsys.readouterr().out == "tray.posy: nothing to report in the text and the plan\n"


def test_stones_that_leave_no_nook_for_a_bead_are_told_as_what_they_are():
    text = ("stone field: round 7 ct, gem diamond, row 4, every 1.8 mm\n"
            "disc mound: across 12 mm, thick 2 mm, under field\nbead-set pave: for field, in mound\n")  # fmt: skip
    assert "stone-overlap" in codes(text)
