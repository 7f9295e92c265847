"""Texts as files: row ends, indentation, continuation, comments, caps."""

from __future__ import annotations

import pytest

from posy.lang import layout, rows
from posy.lang.layout import lay_out
from posy.lang.source import Source, decode


def shape(text: str) -> list[object]:
    """Lines as nested lists of their texts."""
    source = Source(text, "t")

    def one(lines: list[layout.Logical]) -> list[object]:
        made: list[object] = []
        for line in lines:
            made.append(text[line.start : line.end])
            if line.below:
                made.append(one(line.below))
        return made

    return one(lay_out(source).lines)


def codes(text: str) -> list[str]:
    return [fault.code for fault in lay_out(Source(text, "t")).faults]


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
@pytest.mark.parametrize("last", [True, False])
def test_line_ends_marks_and_last_newlines_change_nothing(end: str, mark: str, last: bool) -> None:
    parts = ["a", "  b", "  c", "d"]
    text = mark + end.join(parts) + (end if last else "")
    assert shape(text) == ["a", ["b", "c"], "d"]
    assert codes(text) == []


def test_places_count_the_original_text() -> None:
    text = "\ufeffa\r\n  b # c\r\n"
    source = Source(text, "t")
    laid = lay_out(source)
    b = laid.lines[0].below[0]
    span = source.span(b.start, b.end)
    assert text[span.start : span.end] == "b"
    assert (span.line, span.column, span.end_column) == (2, 3, 4)
    first = source.span(laid.lines[0].start, laid.lines[0].end)
    assert (first.column, first.start) == (1, 1)  # the mark counts as an offset, not as a column
    (comment,) = laid.comments
    assert comment.text == "# c"
    assert text[comment.span.start : comment.span.end] == "# c"


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("", []),
        ("\n\n   \n", []),
        ("# only\n  # comments", []),
        ("a,\n  b\nc", ["a,\n  b", "c"]),
        ("a,\nb\nc", ["a,\nb", "c"]),
        ("a,\n\n# why\n  b", ["a,\n\n# why\n  b"]),
        ("a: b, # why\n  c", ["a: b, # why\n  c"]),
        ("a (b\n  c\n)\nd", ["a (b\n  c\n)", "d"]),
        ("a (b\n  (c) d\n  e) f\ng", ["a (b\n  (c) d\n  e) f", "g"]),
        # a comma with nothing to carry on to is let go
        ("a\n  b,\n  c,\nd", ["a", ["b,\n  c"], "d"]),
        ("a: b,\nc: d", ["a: b", "c: d"]),
        ("a: b,\nmeasure c = 1", ["a: b", "measure c = 1"]),
        # parentheses, commas and # in texts and comments mean nothing
        ('a "(,#"\nb', ['a "(,#"', "b"]),
        ('a "x "" ("\nb', ['a "x "" ("', "b"]),
        ("a # (\nb", ["a", "b"]),
        ("a\n  b\n    c\n  d\ne", ["a", ["b", ["c"], "d"], "e"]),
    ],
)
def test_shapes(text: str, wanted: list[object]) -> None:
    assert shape(text) == wanted
    assert codes(text) == []


def test_a_forgotten_parenthesis_takes_only_deeper_lines() -> None:
    text = "a (b\n  c\nd\ne"
    assert codes(text) == ["parenthesis-not-closed"]
    assert [entry for entry in shape(text) if isinstance(entry, str)][1:] == ["d", "e"]


def test_tabs_are_told_once_and_read_as_four() -> None:
    assert codes("a\n\tb\n\tc\nd\n\te") == ["tab-indent"]
    assert shape("a\n\tb\n    c\n\td") == ["a", ["b", "c", "d"]]


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("a\n    b\n  c", "indent-mismatch"),
        ("  a\n  b", "indent-mismatch"),
        ('a "b\nc', "text-not-closed"),
        ("a\x00b", "hidden-character"),
        ("a\u200bb", "hidden-character"),
        ("a # \u202e", "hidden-character"),
        ("a\ud800", "hidden-character"),
        ("a\ufeffb", "hidden-character"),
        ("a\ufffd", "not-utf8"),
        (",", "unreadable"),
        ("a" * (rows.MOST_CHARACTERS + 1), "line-too-long"),
        ("a\n" * (rows.MOST_ROWS + 1), "file-too-long"),
        ("a\n" * (layout.MOST_SIZE // 2 + 1), "file-too-large"),
        ("(" * 41 + ")" * 41, "too-deep"),
        ("a,\n" * 10_000, "line-too-long"),
        ("\n".join(" " * k + "a" for k in range(30)), "too-deep"),
    ],
)
def test_faults(text: str, code: str) -> None:
    assert codes(text) == [code]


def test_caps_stand_where_they_are_said_to() -> None:
    assert codes("(" * 40 + ")" * 40) == []
    assert codes("a" * rows.MOST_CHARACTERS) == []
    assert codes("a\n" * rows.MOST_ROWS) == []
    assert codes("\n".join(" " * k + "a" for k in range(24))) == []


def test_bytes_that_are_not_utf8() -> None:
    text, faults = decode(b'piece "Caf\xe9"', "t")
    assert faults == [] and "\ufffd" in text
    assert decode("a".encode("utf-16"), "t")[1][0].code == "not-utf8"
    assert decode(b"\xef\xbb\xbfa", "t")[0] == "\ufeffa"
