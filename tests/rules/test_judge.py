"""The engine: merging, places, waivers, house levels, rules that fail, JSON of findings."""

import json
from pathlib import Path

import pytest
from rule_cases import all_cases

from posy.compiler.command import main
from posy.compiler.judging import judge
from posy.compiler.judging.remark import Remark
from posy.compiler.judging.rule import Verdict
from posy.compiler.making import pipeline
from posy.compiler.making.pipeline import build, check
from posy.compiler.rules import Rule, all_rules
from posy.lang.faults import Level, Span
from posy.lang.loader import Texts
from posy.lang.outcome import Waiver
from posy.stdlib.limits import ANY, limits_of

ROW = (
    "stone row: round 2.8 mm, gem diamond, row 5, every 3.02 mm\n"
    "bar frame: size 18 x 6 x 2.4 mm, under row\n"
    "seat: for row, in frame\n"
    "prong claws: for row, shared, bite 18 %, wire 0.6 mm, rise 0.45 mm, foot 0.9 mm\n"
)


def found(text, house=None, **more):
    files = {"p.posy": text, **more}
    if house is not None:
        files["bench.toml"] = house
    judge.STRICT = True
    return check("p.posy", files=Texts(files)).faults


def only(faults, code):
    return [fault for fault in faults if fault.code == code]


def test_copies_are_told_once_with_their_number_and_the_users_clause():
    text = ROW
    (one,) = only(found(text), "thin-prong")
    assert isinstance(one, Remark)
    assert one.count == 20  # ten prongs, each but the four at the ends at two stones: 4 a stone
    assert text[one.span.start : one.span.end] == "0.6 mm"
    assert one.span.path == "p.posy"
    assert one.feature.startswith("claws.post")
    assert one.place is not None
    assert one.level is Level.WARNING
    assert (one.figure, one.bound) == (0.6, 0.66)
    assert one.reason == all_rules()["thin-prong"].why
    assert one.also == ()  # nobody is sent into a standard word


def test_a_word_of_ones_own_shows_the_place_inside_it():
    text = (
        'word peg\n  takes thickness: length, default 0.2 mm\n'
        "  path way: through (0, 0) to (5 mm, 0)\n"
        "  wire pin: along way, round thickness\n"
        "bar frame: size 9 x 6 x 2 mm\n"
        "peg one: thickness 0.25 mm\n"
    )
    (one,) = only(found(text), "printer-detail")
    assert text[one.span.start : one.span.end] == "0.25 mm"
    assert [(span.line, said) for span, said in one.also] == [(4, "made here")]


def test_a_default_is_told_at_the_head_of_the_line():
    text = "bar frame: size 9 x 6 x 2 mm\nbail loops: at ends of frame\n  wire 0.7 mm\n"
    (one,) = only(found(text), "thin-loop")
    assert text[one.span.start : one.span.end] == "0.7 mm"
    text = ROW.replace("rise 0.45 mm", "rise 0.2 mm").replace("wire 0.6 mm", "wire 0.8 mm")
    (one,) = only(found(text), "short-prong")
    assert text[one.span.start : one.span.end] == "0.2 mm"


def test_a_waiver_makes_a_note_with_its_reason():
    text = ROW + 'waive thin-prong on claws because "for a doll"\n'
    (one,) = only(found(text), "thin-prong")
    assert one.level is Level.HINT
    assert one.waived == "for a doll"
    assert one.edit is None
    assert only(found(text), "idle-waiver") == []


def test_a_waiver_covers_only_the_feature_it_names():
    text = ROW + 'waive thin-prong on frame because "why not"\n'
    faults = found(text)
    assert only(faults, "thin-prong")[0].level is Level.WARNING
    (idle,) = only(faults, "idle-waiver")
    assert idle.level is Level.HINT
    assert idle.span.line == 5


def test_a_waiver_without_a_feature_covers_all():
    text = ROW + 'waive thin-prong because "for a doll"\n'
    assert only(found(text), "thin-prong")[0].waived == "for a doll"


def test_names_that_only_begin_alike_are_not_covered():
    waiver = Waiver("thin-prong", "claw", "a doll's", Span("p.posy", 1, 1, 1, 1))
    covered = "claw", "claw.post", "claw 2", "claw 2.post"
    assert all(waiver.covers(name) for name in covered)
    assert not any(waiver.covers(name) for name in ("claws", "claws.post", None))


def test_an_unknown_rule_is_a_fault_with_a_hint():
    (one,) = found(ROW + 'waive thin-prongs because "so"\n')
    assert (one.code, one.level) == ("unknown-rule", Level.FAULT)
    assert "thin-prong" in one.remedy


def test_a_waiver_that_only_the_metal_can_need_is_not_called_idle_by_check():
    metal = next(rule.name for rule in all_rules().values() if rule.phase == "metal")
    assert only(found(ROW + f'waive {metal} because "so"\n'), "idle-waiver") == []


def _broken(_):
    raise ValueError("a bug of ours")


def test_a_rule_that_fails_is_one_note(monkeypatch):
    bad = Rule("bad-rule", "t", "plan", Level.FAULT, "w", "r", "s", _broken)
    monkeypatch.setattr(pipeline, "all_rules", lambda phase: {"bad-rule": bad})
    monkeypatch.setattr(judge, "STRICT", False)
    faults = check("p.posy", files=Texts({"p.posy": ROW})).faults
    assert [(f.code, f.level) for f in faults] == [("rule-not-measured", Level.HINT)]
    monkeypatch.setattr(judge, "STRICT", True)
    with pytest.raises(ValueError, match="a bug of ours"):
        check("p.posy", files=Texts({"p.posy": ROW}))


def test_faults_of_the_language_come_before_what_is_found_of_the_rest():
    codes = [fault.code for fault in found(ROW + "bar other: size 1 x 2\n")]
    assert codes == ["size-members", "lines-left-out", "thin-prong"]


def test_the_order_is_that_of_the_text_and_the_same_every_time():
    first, second = found(ROW), found(ROW)
    assert first == second
    lines = [fault.span.line for fault in first]
    assert lines == sorted(lines)


@pytest.mark.parametrize(
    ("level", "wanted"),
    [("fault", Level.FAULT), ("hint", Level.HINT), ("warning", Level.WARNING)],
)
def test_the_house_sets_the_level(level, wanted):
    (one,) = only(found(ROW, f'[thin-prong]\nlevel = "{level}"\n'), "thin-prong")
    assert one.level is wanted


def test_the_house_leaves_a_rule_out():
    assert only(found(ROW, '[thin-prong]\nlevel = "off"\n'), "thin-prong") == []


def test_the_house_sets_the_figure():
    assert only(found(ROW, '[thin-prong]\nleast = "0.5 mm"\nusual = 0.7\n'), "thin-prong") == []
    (one,) = only(found(ROW, '[thin-prong.silver]\nleast = "0.75 mm"\n'), "thin-prong")
    assert one.bound == 0.75
    assert one.limit == "0.75 mm or more (bench.toml)"


# Findings of the plan that rest on no row of the table: a fact of the text, not a figure of a limit.
NO_LIMIT = {
    "behind-metal", "blind-seat", "empty-seat", "letters-backward", "lone-half", "looks-aside", "nickel-skin",
    "no-bottom", "odd-outline", "unset-stone", "unshared-claws", "wet-stone",
}


@pytest.mark.parametrize("rule", [one.name for one in all_rules().values() if one.phase == "plan"])
def test_a_figure_of_the_house_is_shown_as_the_houses_and_no_other(rule):
    """The house repeats every figure of one rule: all findings that rest on them say whose they are."""
    rows = [f"[{rule}.{row.family}]" if row.family != ANY else f"[{rule}]" for row in limits_of(rule)]
    own = {}
    for head, row in zip(rows, limits_of(rule), strict=True):
        own.setdefault(head, []).append(f"{row.what} = {_written(row)}")
    house = "".join(f"{head}\n" + "\n".join(lines) + "\n" for head, lines in sorted(own.items()))
    told = []
    for case in all_cases():
        if case.rule == rule and not case.near and not case.on_metal:
            told += only(found(case.text, f'name = "Quay"\n{house}'), rule)
            assert only(found(case.text), rule)
    whose = {fault.limit.endswith("(Quay, bench.toml)") for fault in told if fault.bound != 0}
    assert (True not in whose) if rule in NO_LIMIT else whose == {True}


def _written(row):
    if row.unit in ("count", "ratio", "mohs"):
        return f"{row.figure:g}"
    return f'"{100 * row.figure:g} %"' if row.unit == "share" else f'"{row.figure:g} {row.unit}"'


def test_two_limits_of_one_figure_are_not_taken_for_one_another():
    fine = "bar frame: size 12 x 5 x 2.4 mm\nbead-line edge: along rim of frame, bead 0.25 mm\n"
    (one,) = only(found(fine), "bead-too-fine")
    house = f'[bead-too-fine]\nadvised = "{one.bound:g} mm"\n'
    (same,) = only(found(fine, house), "bead-too-fine")
    assert same.bound == one.bound
    assert "bench.toml" not in same.limit


@pytest.fixture
def piece(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    path = tmp_path / "p.posy"
    path.write_text(ROW, "utf-8")
    return path


def test_json_of_a_finding(piece, posy):
    report = json.loads(posy("check", "p.posy", "--plan", "--show", "data").out)
    assert report["posy"] == 1
    (one,) = [f for f in report["pieces"][0]["remarks"] if f["name"] == "thin-prong"]
    assert (one["figure"], one["bound"], one["count"]) == (0.6, 0.66, 20)
    assert one["mend"] == {"clause": "wire", "value": "0.68 mm"}
    assert one["because"] is None
    assert one["where"]["line"] == 4
    assert len(one["spot"]) == 3
    wanted = {"level", "text", "now", "wanted", "do", "why", "part"}
    assert wanted <= set(one)


def test_strict_lets_warnings_fail(piece):
    assert main(["check", "p.posy"]) == 0
    assert main(["check", "p.posy", "--strict"]) == 1
    piece.write_text(ROW + 'waive thin-prong because "so"\n', "utf-8")
    assert main(["check", "p.posy", "--strict"]) == 0


@pytest.mark.parametrize(
    ("line", "remedy"),
    [
        ("disc d: across 3 mm, thick 1 mm, up 3 mm", "say 'at top of frame'"),
        ("disc d: across 3 mm, thick 1 mm, along rim of frame, number 1", "put it elsewhere"),  # not beside 'at'
        ("disc d: across 3 mm, thick 1 mm, at back of frame", "say 'at top of frame'"),  # it takes its place
    ],
)
def test_no_remedy_quotes_a_clause_that_its_line_excludes(line, remedy, monkeypatch):
    def told(piece):
        name = next(one for one in piece.features if one.name == "d")
        yield Verdict("made up", name.index, "1", "2", "say 'at top of frame'", 1.0, 2.0)

    rule = Rule("made-up", "Made up.", "plan", Level.HINT, "why", "put it elsewhere", "none", told)
    text = f"bar frame: size 9 x 6 x 2 mm\n{line}\n"
    piece = check("p.posy", files=Texts({"p.posy": text})).piece
    (one,) = judge.before_metal(piece, {"made-up": rule})
    assert one.told().remedy == remedy


@pytest.mark.parametrize("name", ["castings-meet.catch", "thin-beside.window", "thin-beside", "weak-joint.hinge.near"])
def test_a_verdict_does_not_hang_on_how_fine_the_files_are_wished(name):
    text = (Path(__file__).parent / "cases" / f"{name}.posy").read_text("utf-8")
    fine, rough = (build("p.posy", files=Texts({"p.posy": text}), tolerance=one) for one in (None, 0.05))
    assert fine.faults == rough.faults
    assert sum(len(one.triangles) for one in rough.parts) < sum(len(one.triangles) for one in fine.parts)
