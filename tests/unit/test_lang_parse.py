"""From lines to the tree: shapes, places, recovery, and that nothing raises."""

from __future__ import annotations

import logging
import sys
import time
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lark import Lark

from posy.lang import parse as parse_module
from posy.lang import tree
from posy.lang.faults import Span
from posy.lang.parse import parse, parse_value
from posy.lang.source import Source, decode

sys.path.insert(0, str(Path(__file__).parents[1]))

from suite_runner import SUITE


def plain(node: Any) -> Any:
    """An expression in a compact form without places."""
    match node:
        case tree.Name(name):
            return name
        case tree.Number(_, text, unit):
            return text + (f" {unit}" if unit else "")
        case tree.Quoted(text):
            return f'"{text}"'
        case tree.Paren(inner):
            return "()", plain(inner)
        case tree.Spot(parts) | tree.Sized(parts):
            return type(node).__name__, *map(plain, parts)
        case tree.Invoke(function, arguments):
            return function.name, *map(plain, arguments)
        case tree.Of(names, thing):
            return "of", *(name.name for name in names), plain(thing)
        case tree.Minus(count, inner) | tree.Negate(count, inner):
            return type(node).__name__, count, plain(inner)
        case tree.Arithmetic(members, operators) | tree.Run(members, operators):
            made = [plain(members[0])]
            for operator, member in zip(operators, members[1:], strict=True):
                made += [operator, plain(member)]
            return tuple(made)
        case tree.Logic(operator, members):
            return operator, *map(plain, members)
        case tree.Compare(left, operator, right):
            return plain(left), operator, plain(right)
    raise AssertionError(node)


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("2.5mm", "2.5 mm"),
        ("2.5 mm", "2.5 mm"),
        (".5in", ".5 in"),
        ("21x4.8x2.2 mm", ("Sized", "21", "4.8", "2.2 mm")),
        ("21mmx4mm x 2", ("Sized", "21 mm", "4 mm", "2")),
        ("a x b", ("Sized", "a", "b")),
        ("a-b", "a-b"),
        ("a - b", ("a", "-", "b")),
        ("2-1", ("2", "-", "1")),
        ("a + b * c", ("a", "+", ("b", "*", "c"))),
        ("a * b + c x d", ("Sized", (("a", "*", "b"), "+", "c"), "d")),
        ("-a * b", (("Minus", 1, "a"), "*", "b")),
        ("- -2", ("Minus", 2, "2")),
        ("-ends of a", ("Minus", 1, ("of", "ends", "a"))),
        ("p of q of a", ("of", "p", "q", "a")),
        ("p of pick(ends of a, 1)", ("of", "p", ("pick", ("of", "ends", "a"), "1"))),
        ("a of b * 2", (("of", "a", "b"), "*", "2")),
        ("a < b + c", ("a", "<", ("b", "+", "c"))),
        ("a x b is c x d", (("Sized", "a", "b"), "is", ("Sized", "c", "d"))),
        ("a is not b", ("a", "is not", "b")),
        ("not a < b and c or d", ("or", ("and", ("Negate", 1, ("a", "<", "b")), "c"), "d")),
        ("1 mm to 2 mm over 3 mm", ("1 mm", "to", "2 mm", "over", "3 mm")),
        ("1 to a or b", ("1", "to", ("or", "a", "b"))),
        ("(1, 2 mm) to (3, 4)", (("Spot", "1", "2 mm"), "to", ("Spot", "3", "4"))),
        ("(1, 2, 3 mm)", ("Spot", "1", "2", "3 mm")),
        ("((a))", ("()", ("()", "a"))),
        ('"a ""b"" (c, #d"', '"a "b" (c, #d"'),
        ("40%", "40 %"),
        ("min(a, 2) / max(b)", (("min", "a", "2"), "/", ("max", "b"))),
        ("Größe2 + 大", ("Größe2", "+", "大")),
        ("e\u0301te\u0301", "\xe9t\xe9"),  # names come in normal form C
        ("in", "in"),
        ("2 in x in of a", ("Sized", "2 in", ("of", "in", "a"))),
    ],
)
def test_values(text: str, wanted: Any) -> None:
    node, faults = parse_value(Source(text, "t"))
    assert (plain(node), faults) == (wanted, ())


def test_every_kind_of_line() -> None:
    file, faults = parse((SUITE / "good.posy").read_text(encoding="utf-8"), "good")
    assert faults == []
    kinds = {type(line) for line in file.lines}
    assert {
        tree.Piece, tree.Measure, tree.Feature, tree.Group, tree.Each, tree.When, tree.Waive, tree.Expect,
        tree.Series,
    } <= kinds
    text = 'word a\n  help "h"\n  takes b: length\n  ball\nfrom "c.posy" take d, e\n'
    lines = parse(text, "t")[0].lines
    assert isinstance(lines[0], tree.WordBlock) and isinstance(lines[0].lines[0], tree.Help)
    assert [take.kind.name for take in lines[0].takes] == ["length"]
    assert isinstance(lines[1], tree.TakeFrom) and len(lines[1].names) == 2


def nodes(node: Any) -> Any:
    """All nodes below ``node``."""
    if is_dataclass(node) and not isinstance(node, Span):
        yield node
        for part in fields(node):
            yield from nodes(getattr(node, part.name))
    elif isinstance(node, tuple):
        for part in node:
            yield from nodes(part)


def test_places_are_exact() -> None:
    text = (SUITE / "good.posy").read_text(encoding="utf-8")
    file, _ = parse(text, "good")
    seen = 0
    for node in nodes(file.lines):
        said = text[node.span.start : node.span.end]
        rows = text[: node.span.start].split("\n")
        assert (node.span.line, node.span.column) == (len(rows), len(rows[-1]) + 1)
        if isinstance(node, tree.Name):
            assert said == node.name
        elif isinstance(node, tree.Number):
            assert said.startswith(node.text) and said.endswith(node.unit or "")
        elif isinstance(node, tree.Quoted):
            assert said[1:-1].replace('""', '"') == node.text
        elif isinstance(node, tree.Paren | tree.Spot):
            assert said[0] + said[-1] == "()"
        else:
            assert said == said.strip() and said
            again, wrong = parse_value(Source(said, "t"))
            if isinstance(node, tree.Run | tree.Arithmetic | tree.Sized | tree.Of | tree.Minus):
                assert wrong == () and plain(again) == plain(node)
        seen += 1
    assert seen > 200


def test_comments_survive_with_their_places() -> None:
    text = "# own\nbar a: size 2 mm  # beside\n  # inside\n  corner 1 mm\n"
    file, _ = parse(text, "t")
    assert [(c.text, c.span.line) for c in file.comments] == [("# own", 1), ("# beside", 2), ("# inside", 3)]


def test_clauses_above_and_below_are_the_same_but_for_their_mark() -> None:
    above = parse("bar a: size 2 mm, corner 1 mm", "t")[0].lines[0]
    below = parse("bar a\n  size 2 mm,\n  corner 1 mm", "t")[0].lines[0]
    assert isinstance(above, tree.Feature) and isinstance(below, tree.Feature)
    assert [c.key.name for c in above.clauses] == [c.key.name for c in below.clauses]
    assert [c.below for c in above.clauses] == [False, False]
    assert [c.below for c in below.clauses] == [True, True]


def test_same_text_same_tree_and_kept() -> None:
    assert parse("ball: across 2 mm", "t")[0] is parse("ball: across 2 mm", "t")[0]
    first = parse("ball: across", "t")[1]
    first.clear()  # a caller's list is its own
    assert parse("ball: across 2,5 mm", "t")[1] == parse("ball: across 2,5 mm", "t")[1] != []


def test_a_thousand_bad_lines_are_capped() -> None:
    _, faults = parse("bar bar bar: bar bar\n" * 5000, "t")
    assert len(faults) == 101 and faults[-1].code == "too-many-faults"


def test_the_grammar_has_no_conflicts(caplog: pytest.LogCaptureFixture) -> None:
    """Reduce/reduce conflicts raise; shift/reduce ones lark settles in silence, but logs."""
    text = Path(parse_module.__file__).with_name("grammar.lark").read_text(encoding="utf-8")
    with caplog.at_level(logging.DEBUG, logger="lark"):
        Lark(text, parser="lalr", start=["line", "clauses", "value"], debug=True)
        assert "conflict" not in caplog.text.lower()
        caplog.clear()
        Lark('start: a a\na: "x" a?', parser="lalr", debug=True)  # the test itself is able
        assert "conflict" in caplog.text.lower()


# --- nothing raises, and nothing takes long

PIECES = st.sampled_from(
    [
        "bar", "frame", "measure", "each", "when", "otherwise", "word", "takes", "group", "from", "expect",
        "waive", "series", "piece", "help", "x", "of", "to", "over", "and", "or", "not", "is", "in", "by",
        "mm", "deg", "ct", "2", "2.5", "0", ":", ",", "=", "(", ")", "+", "-", "*", "/", "<", ">=", "%",
        '"a"', '"', "#c", "\n", "\n  ", "\n    ", "\t", " ", "é", "\x00", "\r", "posy", "take", "because",
        "on", "ball", "across", "at", "ends", "k", "1", "each k from 1 to",
    ]
)


@settings(max_examples=300, deadline=None)
@given(st.text(max_size=300))
def test_parse_takes_any_text(text: str) -> None:
    file, _ = parse(text, "t")
    assert file.text == text


@settings(max_examples=300, deadline=None)
@given(st.binary(max_size=300))
def test_parse_takes_any_bytes(data: bytes) -> None:
    text, slips = decode(data, "t")
    file, faults = parse(text, "t")
    assert file.text == text
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        # Of the characters that do not show, the first of each row is told.
        codes = {fault.code for fault in (*slips, *faults)}
        assert codes & {"not-utf8", "hidden-character", "line-too-long"}


@settings(max_examples=600, deadline=None)
@given(st.lists(PIECES, max_size=60).map(" ".join))
def test_parse_takes_any_order_of_its_own_words(text: str) -> None:
    file, faults = parse(text, "t")
    for fault in faults:
        assert fault.span is not None and 0 <= fault.span.start <= fault.span.end <= len(text)
        assert fault.message and "\n" not in fault.message
    for node in nodes(file.lines):
        assert 0 <= node.span.start <= node.span.end <= len(text)


@pytest.mark.parametrize(
    "text",
    [
        "measure a = " + "-" * 1900 + "1",
        "when " + "not " * 480 + "a",
        "measure a = " + "b of " * 390 + "c",
        "measure a = " + "1 + " * 480 + "1",
        "measure a = " + "(" * 40 + "1" + ")" * 40,
        "measure a = (" + ",\n 1" * 3000 + ")",
        'letters: text "' + '""' * 900,
        "a " * 900,
        "\n".join(f"measure a{k} = b{k}" for k in range(5000)),
        ("(" * 900 + "\n") * 500,
        ", \n" * 20_000,
    ],
    ids=range(11),
)
def test_hostile_texts_cost_bounded_time(text: str) -> None:
    """Far above what a good machine takes, so that it fails only on runaway growth."""
    start = time.perf_counter()
    parse(text, "t")
    assert time.perf_counter() - start < 10
