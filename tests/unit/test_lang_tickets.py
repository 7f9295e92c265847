"""Faults rendered: for people, one line, as plain data."""

from __future__ import annotations

import json

from posy.lang.faults import Fault, Level
from posy.lang.snippet import Snippets, json_record, short
from posy.lang.source import Source


def fault_at(text: str, part: str, **more: object) -> tuple[Snippets, Fault]:
    start = text.index(part)
    span = Source(text, "p.posy").span(start, start + len(part))
    return Snippets({"p.posy": text}), Fault("some-code", "it is wrong", span, **more)  # type: ignore[arg-type]


def test_the_full_form() -> None:
    text = "bar a: size 3 mm\nball: across 2\n"
    snippets, fault = fault_at(
        text, "2\n"[:1], seen="2", limit="a length", remedy="add mm: 2 mm"
    )
    assert snippets.full(fault).split("\n") == [
        "fault[some-code]: it is wrong",
        "  --> p.posy:2:14",
        "   |",
        " 2 | ball: across 2",
        "   |              ^",
        "  seen: 2",
        "  limit: a length",
        "  try: add mm: 2 mm",
    ]


def carets(text: str, part: str) -> tuple[str, str]:
    snippets, fault = fault_at(text, part)
    lines = snippets.full(fault).split("\n")
    return lines[3].split("| ", 1)[1], lines[4].split("| ", 1)[1]


def test_carets_stand_below_tabs_and_wide_characters() -> None:
    assert carets("a\tb  c", "b") == ("a    b  c", "     ^")
    # Each of these two characters takes two columns on a terminal.
    assert carets("大小 bad", "bad") == ("大小 bad", "     ^^^")
    assert carets("大小 bad", "小") == ("大小 bad", "  ^^")
    # A combining mark takes none.
    assert carets("e\u0301 bad", "bad") == ("e\u0301 bad", "  ^^^")


def test_long_lines_are_cut_around_the_place() -> None:
    text = "a" * 500 + " bad " + "b" * 500
    line, under = carets(text, "bad")
    assert len(line) < 110 and line.startswith("… ") and line.endswith(" …")
    assert line[under.index("^") : under.rindex("^") + 1] == "bad"


def test_a_place_over_several_lines_marks_the_first() -> None:
    text = "measure a = (1 mm +\n  2 g)\n"
    snippets, fault = fault_at(text, "1 mm +\n  2 g")
    assert snippets.full(fault).split("\n")[4] == "   |              ^^^^^^ … to line 2"


def test_the_users_line_comes_first() -> None:
    text = "word dot\n  ball: across 3 g\ndot a: right 2 mm\n"
    source = Source(text, "p.posy")
    place = source.span(text.index("3 g"), text.index("3 g") + 3)
    call = source.span(text.index("dot a"), text.index("dot a") + 5)
    full = Snippets({"p.posy": text}).full(Fault("c", "m", place, trail=(call,)))
    assert full.index("dot a: right") < full.index("across 3 g")
    assert full.count("-->") == 1 and "called from there: p.posy:2:16" in full
    assert short(Fault("c", "m", place, trail=(call,))).startswith("p.posy:3:1: fault[c] m")


def test_also_and_levels_and_colour() -> None:
    text = "ball a: across 1 mm\nball a: across 2 mm\n"
    source = Source(text, "p.posy")
    first, second = source.span(5, 6), source.span(25, 26)
    fault = Fault("name-taken", "m", second, Level.WARNING, also=((first, "first used here"),))
    plain = Snippets({"p.posy": text}).full(fault)
    assert plain.startswith("warning[name-taken]: m") and "first used here: p.posy:1:6" in plain
    assert "\x1b" not in plain
    assert "\x1b[1;33m" in Snippets({"p.posy": text}, colour=True).full(fault)


def test_nothing_in_a_text_can_steer_the_terminal() -> None:
    text = "ball \x1b[2Jbad"
    snippets, fault = fault_at(text, "bad")
    assert "\x1b" not in snippets.full(fault)


def test_without_text_or_place() -> None:
    assert Snippets({}).full(Fault("c", "m")) == "fault[c]: m"
    assert short(Fault("c", "m", remedy="r")) == "-: fault[c] m (r)"
    _, fault = fault_at("a b", "b")
    assert Snippets({}).full(fault) == "fault[some-code]: it is wrong\n  --> p.posy:1:3"


def test_json_records_are_plain_data() -> None:
    _, fault = fault_at("a b", "b", seen="1", place=(1.0, 2.0, 3.0), feature="f")
    record = json_record(fault)
    assert json.loads(json.dumps(record)) == record
    assert record["schema"] == 1 and record["place"] == [1.0, 2.0, 3.0]
    assert record["span"] == {
        "path": "p.posy",
        "line": 1,
        "column": 3,
        "end_line": 1,
        "end_column": 4,
        "start": 2,
        "end": 3,
    }
