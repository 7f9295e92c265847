"""Faults rendered: as a bench ticket, in one line, as plain data."""

from __future__ import annotations

import json

import pytest

from posy.lang.faults import Fault, Level, Span
from posy.lang.folding import fold, in_columns, width_of
from posy.lang.source import Source
from posy.lang.tickets import Tickets, in_a_line, json_record, marked

WIDTHS = 40, 60, 80, 120


def fault_at(text: str, part: str, **more: object) -> tuple[Tickets, Fault]:
    start = text.index(part)
    span = Source(text, "p.posy").span(start, start + len(part))
    return Tickets({"p.posy": text}), Fault("some-code", "it is wrong", span, **more)  # type: ignore[arg-type]


def test_the_ticket() -> None:
    text = "bar a: size 3 mm\nball: across 2\n"
    tickets, fault = fault_at(text, "2", seen="2", limit="a length", remedy="add mm: 2 mm")
    assert tickets.all([fault]).split("\n") == [
        "p.posy", "", "fault    it is wrong", "line 2   ball: across [2]", "now      2   wanted a length",
        "do       add mm: 2 mm", "ask      posy why some-code",
    ]


def shown(text: str, part: str) -> str:
    tickets, fault = fault_at(text, part)
    return tickets.full(fault).split("\n")[1].removeprefix("line 1   ")


def test_the_place_is_marked_inside_the_line() -> None:
    assert shown("a\tb  c", "b") == "a    [b]  c"
    assert shown("大小 bad", "小") == "大[小] bad"
    assert shown("e\u0301 bad", "bad") == "e\u0301 [bad]"
    # What is blank in front is left out, but not where it is what the fault is about.
    assert shown("    ball", "ball") == "[ball]"
    assert shown("    ball", "    ") == "[    ]ball"


def test_the_mark_is_clear_in_a_line_with_brackets_of_its_own() -> None:
    assert shown('piece "a [b]" metal', "metal") == 'piece "a [b]" [[metal]]'
    assert shown('piece "a ]] b" metal', "metal") == 'piece "a ]] b" [[[metal]]]'


def test_nothing_to_mark_still_shows_where() -> None:
    assert marked("ball: ", Span("p", 1, 7, 1, 7), 99) == "ball: [ ]"


def test_long_lines_are_cut_around_the_place() -> None:
    line = shown("a" * 500 + " bad " + "b" * 500, "bad")
    tickets, fault = fault_at("a" * 500 + " bad " + "b" * 500, "bad")
    told = tickets.full(fault)
    assert line.startswith("…") and "[bad]" in told and told.count("\n") < 8


def test_a_place_over_several_lines_marks_the_first() -> None:
    text = "measure a = (1 mm +\n  2 g)\n"
    tickets, fault = fault_at(text, "1 mm +\n  2 g")
    assert "measure a = ([1 mm +] … to line 2" in tickets.full(fault)


def test_the_users_line_comes_first() -> None:
    text = "word dot\n  ball: across 3 g\ndot a: right 2 mm\n"
    source = Source(text, "p.posy")
    place = source.span(text.index("3 g"), text.index("3 g") + 3)
    call = source.span(text.index("dot a"), text.index("dot a") + 5)
    fault = Fault("c", "m", place, trail=(call,))
    assert Tickets({"p.posy": text}).full(fault).split("\n")[1:4] == [
        "line 3   [dot a]: right 2 mm",
        "line 2   ball: across [3 g]",
        "         (in a word used there)",
    ]
    assert in_a_line(fault) == "p.posy line 3 fault c: m"


@pytest.mark.parametrize(("path", "inside"), [
    ("shop/claws.posy", "inside   shop/claws.posy, line 2\n         rod: wire [wide]"),
    ("<standard words>/settings/prong.posy", "inside   the word prong\nask"),
])  # fmt: skip
def test_a_place_in_another_file_names_it(path: str, inside: str) -> None:
    """With the line there, unless it is posy's own, which is no user's to mend."""
    texts = {"p.posy": "leaf a", path: "x\n  rod: wire wide"}
    told = Tickets(texts).full(Fault("c", "m", Span(path, 2, 13, 2, 17), trail=(Span("p.posy", 1, 1, 1, 5),)))
    assert f"line 1   [leaf] a\n{inside}" in told


def test_several_places_and_levels_and_colour() -> None:
    text = "ball a: across 1 mm\nball a: across 2 mm\n"
    source = Source(text, "p.posy")
    first, second = source.span(5, 6), source.span(25, 26)
    fault = Fault("name-taken", "m", second, Level.WARNING, also=((first, "first used here"),))
    plain = Tickets({"p.posy": text}).full(fault)
    assert plain.split("\n")[:4] == [
        "warning  m", "line 2   ball [a]: across 2 mm", "line 1   ball [a]: across 1 mm",
        "         (first used here)",
    ]
    coloured = Tickets({"p.posy": text}, colour=True).full(fault)
    assert "\x1b[1;33mwarning\x1b[0m" in coloured and "\x1b" not in plain


def test_an_option_is_told_by_its_name() -> None:
    fault = Fault("out-of-range", "m", Span("--set", 1, 8, 1, 12))
    told = Tickets({"--set": "across=3 mm"}).all([fault])
    assert told.startswith("fault    m\n--set    across=[3 mm]")


def test_a_file_is_named_once_above_its_remarks() -> None:
    spans = [Span("a.posy", 1, 1, 1, 2), Span("a.posy", 2, 1, 2, 2), Span("b.posy", 1, 1, 1, 2)]
    told = Tickets({}).all(Fault("c", "m", span) for span in spans)
    assert told.count("a.posy") == told.count("b.posy") == 1


@pytest.mark.parametrize("width", WIDTHS)
def test_no_row_is_wider_than_the_screen(width: int) -> None:
    text = "stone row: round 2.5 mm, gem garnet, " * 4 + "大小大小" * 20 + " row 5, every 2.6 mm"
    tickets, fault = fault_at(
        text, "every 2.6 mm", seen="0.10 mm apart", limit="0.15 mm or more", reason="x" * 200,
        remedy="take smaller stones, or set them further apart " * 3,
    )  # fmt: skip
    told = Tickets(tickets.sources, width=width).all([fault]).split("\n")
    assert max(map(width_of, told)) <= width
    both = "now      0.10 mm apart   wanted 0.15 mm or more"
    assert (both in told) == (width >= len(both))


def test_folding_keeps_blanks_within_a_row_and_breaks_at_blanks_only() -> None:
    assert fold("size  5 x 3 mm, corner", 16) == ["size  5 x 3 mm,", "corner"]
    assert fold("a-very-long-name here", 16, "  ") == ["  a-very-long-na", "  me here"]
    assert in_columns([("name", "what it is")], 80) == ["  name  what it is"]
    assert in_columns([("a-rather-long-name", "what it is")], 40) == [
        "  a-rather-long-name", "    what it is",
    ]  # fmt: skip


def test_nothing_in_a_text_can_steer_the_terminal() -> None:
    text = "ball \x1b[2Jbad"
    tickets, fault = fault_at(text, "bad")
    assert "\x1b" not in tickets.full(fault)


def test_without_text_or_place() -> None:
    assert Tickets({}).full(Fault("c", "m")) == "fault    m\nask      posy why c"
    assert in_a_line(Fault("c", "m", remedy="r")) == "fault c: m (do: r)"
    _, fault = fault_at("a b", "b")
    assert Tickets({}).full(fault) == "fault    it is wrong\nask      posy why some-code"


def test_json_records_are_plain_data() -> None:
    _, fault = fault_at("a b", "b", seen="1", place=(1.0, 2.0, 3.0), feature="f")
    record = json_record(fault)
    assert json.loads(json.dumps(record)) == record
    assert record["name"] == "some-code" and record["spot"] == [1.0, 2.0, 3.0]
    assert record["where"] == {
        "file": "p.posy", "line": 1, "column": 3, "to_line": 1, "to_column": 4,
        "characters": [2, 3],
    }  # fmt: skip
