"""Running a piece against the toy bench: what the bench is asked, names, words, files, caps."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from posy.lang import program as front
from posy.lang.loader import Texts
from posy.lang.outcome import Outcome
from posy.lang.program import load_words, read_piece, run
from posy.lang.values import LENGTH, Bare, ByWeight, Quantity

sys.path.insert(0, str(Path(__file__).parents[1]))

from toy_bench import METALS, WORDS, ToyBench
from word_bodies import check_words


def go(
    text: str, files: dict[str, str] | None = None, standard: Any = None, **settings_: Any
) -> tuple[ToyBench, Outcome]:
    bench = ToyBench()
    texts = Texts({"p.posy": text, **(files or {})})
    program = read_piece("p.posy", texts, bench.core_words(), standard, METALS)
    return bench, run(program, bench, settings_)


def fine(text: str, **more: Any) -> tuple[ToyBench, Outcome]:
    bench, outcome = go(text, **more)
    assert outcome.faults == []
    return bench, outcome


def codes(outcome: Outcome) -> list[str]:
    return [fault.code for fault in outcome.faults]


def test_arguments_are_plain_values_in_base_units() -> None:
    bench, _ = fine(
        "bar frame: size 2 x 0.5 x 0.1 in, corner 1 cm, turn 30 deg, grid 3 x 4, every 2 mm\n"
        "stone s: round 0.25 ct, gem garnet, row 7\n"
        'stone o: oval 3 x 2 mm, gem "ruby"\n'
        "seat: for s, in frame\n"
        "path l: through (1, 2 mm) over (3, 4, 5 mm) to (0, 0), closed\n"
        'letters: in frame, text "a ""b""", heights 1 mm to 2 mm\n'
        "weigh: mass 2 ct, factor 0.5, table 2 x 3 x 4\n"
    )
    plain = [{k: a.value for k, a in call.arguments.items()} for call in bench.calls]
    assert plain[0]["size"] == pytest.approx((50.8, 12.7, 2.54))
    assert plain[0]["corner"] == 10 and plain[0]["turn"] == 30
    assert plain[0]["grid"] == (3, 4) and plain[0]["every"] == (2.0,)
    assert plain[1] == {"round": ByWeight(0.05), "gem": "garnet", "row": 7}
    assert plain[2] == {"oval": (3.0, 2.0), "gem": "ruby"}
    assert plain[3]["hole"] == pytest.approx(0.55) and not bench.calls[3].given("hole")
    assert bench.calls[3].given("for") and plain[3]["for"].name == "s"
    assert plain[4] == {"through": ((1, 2, 0, "to"), (3, 4, 5, "over"), (0, 0, 0, "to")), "closed": True}
    assert plain[5]["text"] == 'a "b"' and plain[5]["heights"] == (1, 2)
    assert plain[6] == {"mass": pytest.approx(0.4), "factor": 0.5, "table": (2, 3, 4)}


def test_places_of_arguments_are_those_of_the_values() -> None:
    text = "ball b: across 2 mm, right 3 mm"
    bench, _ = fine(text)
    call = bench.calls[0]
    span = call.arguments["right"].span
    assert text[span.start : span.end] == "3 mm"
    assert text[call.span.start : call.span.end] == "ball b"


def test_a_default_sees_the_other_clauses() -> None:
    bench, _ = fine("disc: across 9 mm\ndisc: across 9 mm, thick 2 mm\n")
    assert [call.get("thick") for call in bench.calls] == [pytest.approx(0.9), 2]


def test_full_names_are_unique() -> None:
    bench, _ = fine(
        "ball: across 1 mm\nball: across 1 mm\nball a: across 1 mm\n"
        "each k from 1 to 2\n  ball a: across 1 mm\n"
        "workpiece g\n  ball a: across 1 mm\n  ball: across 1 mm\n"
        "word w\n  ball a: across 1 mm\n  ball: across 1 mm\nw\nw\nw named\n"
    )
    names = [call.name for call in bench.calls]
    assert names == [
        "ball", "ball 2", "a", "a 2", "a 3", "g.a", "g.ball", "w.a", "w.ball", "w 2.a", "w 2.ball", "named.a",
        "named.ball",
    ]
    assert len(set(names)) == len(names)


def test_words_bundle_and_groups_open_and_close() -> None:
    word = "word dot\n  takes wide: length, default 1 mm\n  ball tip: across wide\n"
    bench, _ = fine(word + "dot a\ndot b: right 3 mm, wide 2 mm\nball: across 1 mm, at tip of a\n")
    assert bench.log == ["make a.tip", "bundle a", "open b", "make b.tip", "close b", "make ball"]
    assert bench.calls[0].trail[0].line == 4 and bench.calls[1].trail[0].line == 5
    assert bench.calls[1].get("across") == 2


def test_a_key_that_is_also_a_placing_clause_is_the_words_own() -> None:
    word = "word dot\n  takes at: places\n  ball tip: across 1 mm, at at\n"
    bench, _ = fine(word + "bar f: size 9 x 9 x 1 mm\ndot a: at ends of f\n")
    assert bench.log[1:] == ["make a.tip", "bundle a"]
    assert len(bench.calls[1].get("at").names) == 2


def test_keys_not_given_leave_clauses_out_and_flags_are_false() -> None:
    word = (
        "word dot\n  takes wide: length\n  takes big: flag\n"
        "  disc a: across 9 mm, thick wide\n"
        "  when big\n    ball: across 5 mm\n  when given(wide)\n    ball: across wide\n"
    )
    bench, _ = fine(word + "dot\ndot: wide 2 mm, big\n")
    assert [call.word.name for call in bench.calls] == ["disc", "disc", "ball", "ball"]
    assert not bench.calls[0].given("thick") and bench.calls[1].given("thick")


def test_bodies_see_names_above_their_word_and_not_those_of_the_caller() -> None:
    text = (
        "measure wide = 1 mm\nword dot\n  ball: across wide\n"
        "workpiece g\n  measure wide = 2 mm\n  dot\n  ball: across wide\n"
    )
    bench, _ = fine(text)
    assert [call.get("across") for call in bench.calls] == [1, 2]


def test_standard_words_use_each_other_in_any_order() -> None:
    text = (
        'word outer\n  help "o"\n  example "outer: wide 2 mm"\n  takes wide: length\n'
        "  inner: wide wide\n"
        "word inner\n  takes wide: length, default 1 mm, from 0.5 mm to 3 mm\n"
        "  ball b: across wide\n"
    )
    words, faults = load_words(text, "<standard words>/settings.posy")
    assert faults == [] and check_words(words, WORDS) == []
    assert words["outer"].example == "outer: wide 2 mm" and words["outer"].group == "settings"
    take = words["inner"].take("wide")
    assert take is not None
    assert (take.least, take.most, take.default) == (0.5, 3, "1 mm")
    assert dict(words["inner"].offers) == {"b": "the part called b"}
    bench, _ = fine("outer: wide 2 mm\nouter\n", standard=words)
    assert [call.name for call in bench.calls] == ["outer.inner.b", "outer 2.inner.b"]
    assert [call.get("across") for call in bench.calls] == [2, 1]
    assert [span.path for span in bench.calls[0].trail] == ["p.posy", "<standard words>/settings.posy"]


def test_standard_words_in_a_circle_are_found() -> None:
    words, _ = load_words("word a\n  b\nword b\n  each k from 1 to 2\n    a\n", "s.posy")
    assert {fault.code for fault in check_words(words, WORDS)} == {"word-in-itself"}
    # and even unchecked they end
    _, outcome = go("a\n", standard=words)
    assert "too-deep" in codes(outcome) or "too-much-work" in codes(outcome)


def test_faults_in_a_word_carry_the_users_line() -> None:
    word = "word dot\n  takes wide: length\n  ball: across wide, turn 3 mm\n"
    _, outcome = go(word + "dot: wide 2 mm\n")
    (fault,) = outcome.faults
    assert (fault.code, fault.span.line, [s.line for s in fault.trail]) == (
        "wrong-kind",
        3,
        [4],
    )  # type: ignore[union-attr]


def test_measures_set_from_outside() -> None:
    text = (
        'measure wide = 2 mm, from 1 mm to 3 mm, help "w"\nmeasure twice = wide * 2\n'
        "measure gem = garnet\nworkpiece g\n  measure inner = 1 mm\n"
    )
    _, outcome = fine(text, wide="2.5 mm", gem="ruby")
    assert outcome.measures["twice"].value == Quantity(5.0, LENGTH)
    assert outcome.measures["gem"].value == Bare("ruby")
    wide = outcome.measures["wide"]
    assert (wide.set, wide.help, wide.range and wide.range.shown()) == (True, "w", "1 mm to 3 mm")
    assert list(outcome.measures) == ["wide", "twice", "gem"]
    _, outcome = go(text, inner="1 mm")
    assert codes(outcome) == ["unknown-measure"]
    _, outcome = fine(text, wide=Quantity(3.0, LENGTH))
    assert outcome.measures["twice"].value == Quantity(6.0, LENGTH)


def test_places_of_settings_are_those_of_their_text() -> None:
    given_ = {"wide": "2.5 mm", "high": "2 g + 1 mm"}
    _, outcome = go("measure wide = 1 mm\nmeasure high = 1 mm\n", **given_)
    (fault,) = outcome.faults
    text = front.settings_text(given_)["--set"]
    assert fault.span is not None and fault.span.path == "--set"
    assert text[fault.span.start : fault.span.end] == "2 g + 1 mm"
    assert (fault.span.line, fault.span.column) == (2, 6)


def test_a_series_lists_every_making_and_each_can_be_run() -> None:
    text = (
        "measure wide = 2 mm, from 1 mm to 3 mm\nball: across wide\n"
        "series s: wide 1 to 2 mm, metal sterling to platinum-950\n"
    )
    bench, outcome = fine(text)
    (series,) = outcome.series
    makings = list(series.settings())
    assert [metal for _, metal in makings] == ["silver-925", "platinum-950"] * 2
    made = []
    program = read_piece("p.posy", Texts({"p.posy": text}), bench.core_words(), None, METALS)
    for setting, metal in makings:
        again = ToyBench()
        result = run(program, again, setting, metal)
        assert result.faults == [] and result.metal == metal
        made.append(again.calls[0].get("across"))
    assert made == [1, 1, 2, 2]


def test_title_notes_metal_waivers() -> None:
    _, outcome = fine(
        'piece "T"\n  metal sterling\n  note "a"\n  note "b"\nmeasure m = 1 mm\n'
        'word dot\n  ball tip: across m\ndot d\nwaive thin-wall on tip of d because "so"\n'
        'waive prong-thin because "all"\n'
    )
    assert (outcome.title, outcome.metal, outcome.notes) == ("T", "silver-925", ("a", "b"))
    assert [(w.rule, w.feature, w.because) for w in outcome.waivers] == [
        ("thin-wall", "d.tip", "so"),
        ("prong-thin", None, "all"),
    ]
    program = read_piece("p.posy", Texts({"p.posy": "ball: across 1 mm\n"}), WORDS)
    assert run(program, ToyBench(), None, "gold").faults[0].code == "unknown-metal"


# --- files


# --- caps: hostile files end soon, with a fault that says why


# --- nothing raises


@pytest.mark.parametrize(
    ("metal", "remedy"),
    [
        ("silver - 925", "write it as one name: silver-925"),
        ("silver -925", "write it as one name: silver-925"),
        ("(silver-925)", "write it as one name: silver-925"),
        ("silver + 925", "write it as one name: silver-925"),
        ("platinum/950", "write it as one name: platinum-950"),
        ("gold + silver", "one of silver-925"),
        ("silver-925 to platinum-950", "one of silver-925"),
        ("nosuch(3)", "one of silver-925"),
        ("5 mm", "one of silver-925"),
    ],
)
def test_a_metal_that_is_no_name_is_a_fault(metal: str, remedy: str) -> None:
    _, outcome = go(f'piece "Bar"\n  metal {metal}\nball: across 1 mm\n')
    assert outcome.metal is None
    assert [fault.code for fault in outcome.faults] == ["wrong-kind"]
    assert remedy in (outcome.faults[0].remedy or "")


@pytest.mark.parametrize("metal", ["sterling", "silver-925", '"silver-925"'])
def test_a_metal_that_is_a_name_is_taken(metal: str) -> None:
    _, outcome = go(f'piece "Bar"\n  metal {metal}\nball: across 1 mm\n')
    assert (outcome.metal, outcome.faults) == ("silver-925", [])


def test_the_language_needs_no_numpy() -> None:
    """`posy check` must start fast: the room may not pull in the numeric libraries."""
    code = (
        "import sys, posy.lang.program, posy.lang.tickets, posy.lang.codes;"
        "sys.exit(any(name in sys.modules for name in ('numpy', 'trimesh', 'manifold3d')))"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_what_several_lines_of_one_word_meet_is_told_once():
    from texts import made

    text = """band shank: finger us 7, wide 2.2 mm, thick 1.8 mm, open 8 mm
stone drop: round 4 mm, gem amethyst, at right of shank, out 2 mm
collet cup: for drop, on shank
"""
    assert [fault.code for fault in made(text).faults] == ["no-places"]
