"""Names of a text in an editor: where they are given, and renamed."""

from __future__ import annotations

from pathlib import Path

import pytest
from test_editor import PIECE, at

from posy.compiler.editor import names
from posy.compiler.editor.look import Look


def renamed(text, new):
    text, offset = at(text)
    places, why_not = names.renamed_at(Look("a.posy", text), offset, new)
    for start, end in sorted(places, reverse=True):
        text = text[:start] + new + text[end:]
    return text, why_not


def test_a_measure_is_renamed_wherever_it_is_used():
    new, _ = renamed(PIECE.replace("wide = ", "wi|de = "), "broad")
    assert new == PIECE.replace("wide", "broad")
    text = "measure a = 1 mm\neach k from 1 to 2\n  ball: across a|\nseries s: a 1 mm to 2 mm\n"
    assert renamed(text, "b")[0] == text.replace("|", "").replace(" a ", " b ").replace("across a", "across b")

    text = (
        "when 1 > 0\n  ball pin: across 1 mm\notherwise when 2 > 0\n  ball pin: across 2 mm\n"
        "otherwise\n  disc pin: across 2 mm\n  ball: at pin\nball: at pin|\n"
    )
    assert renamed(text, "post")[0] == text.replace("|", "").replace("pin", "post")


@pytest.mark.parametrize(("text", "new"), [
    ("measure a| = 1 mm\nmeasure b = a\n", "b"),
    ("measure a| = 1 mm\neach b from 1 to 2\n  ball: across a\n", "b"),
    ("measure a| = 1 mm\n", "of"), ("measure a| = 1 mm\n", "1a"), ("measure a| = 1 mm\n", "each"),
    ("ba|r f: size 1 x 1 x 1 mm\n", "bars"), ("word w|\n  ball: across 1 mm\n", "v"),
    ("measure garnet-2| = 1 mm\nball: across garnet-2\n", "a b"),
])  # fmt: skip
def test_a_name_that_would_change_the_sense_is_refused(text, new):
    after, why_not = renamed(text, new)
    assert after == text.replace("|", "") and why_not


def test_where_a_name_is_given(tmp_path):
    text, offset = at(PIECE.replace("for trio, wire", "for tr|io, wire"))
    given = names.given_at(Look("a.posy", text), offset)
    assert text[given.start : given.end] == "trio" and given.start == text.index("trio")
    given = names.given_at(Look("a.posy", text), text.index("prong"))
    assert given.path.endswith("prong.posy") and given.text[given.start : given.end] == "prong"
    assert Path(given.path).is_file()
    (tmp_path / "leaf.posy").write_text("word leaf\n  ball: across 1 mm\n", "utf-8")
    path = str(tmp_path / "a.posy")
    given = names.given_at(Look(path, 'from "leaf.posy" take leaf\nleaf one\n'), 28)
    assert Path(given.path) == tmp_path / "leaf.posy" and given.text[given.start : given.end] == "leaf"
