"""The kept parse tables: those of the grammar as it is, and reading the same trees."""

from __future__ import annotations

from pathlib import Path

import pytest
from lark import Lark, Token
from lark.exceptions import UnexpectedInput

from posy.lang import build, tables
from posy.lang import parse as parsing
from posy.lang.line_reader import Refused
from posy.lang.line_reader import Token as LineToken
from posy.lang.parse import parse

HERE = Path(tables.__file__).parent
GRAMMAR = (HERE / "grammar.lark").read_text(encoding="utf-8")
EXAMPLES = sorted((HERE.parent / "examples").rglob("*.posy"))


@pytest.mark.parametrize("name", [tables.KEPT, tables.LARKS])
def test_the_kept_tables_are_those_of_the_grammar(name):
    kept = tables._kept(name)
    assert kept is not None
    # Another lark than the one they were made with reckons them anew; only the grammar must fit.
    assert kept["made-from"].partition(", ")[2] == tables.made_from(GRAMMAR).partition(", ")[2], (
        "make them anew: python -m posy.lang.tables"
    )


class _Plain:
    """Lark in the place of our reader."""

    def __init__(self, lark):
        self.lark = lark

    def read(self, text, start):
        try:
            return self.lark.parse(text, start=start)
        except UnexpectedInput:
            raise Refused from None


@pytest.fixture
def reckoned_anew(monkeypatch):
    """Lark itself, as if nothing had been kept."""
    parsing._parse.cache_clear()
    lark = Lark(
        GRAMMAR, parser="lalr", start=tables.STARTS, maybe_placeholders=False, transformer=parsing._build
    )
    monkeypatch.setattr(parsing, "_grammar", lambda: _Plain(lark))
    monkeypatch.setattr(parsing, "_lark", lambda: lark)
    monkeypatch.setattr(build, "Token", Token)
    yield
    parsing._parse.cache_clear()


# Lines that can be read and lines that cannot: what was expected is told from the tables too.
SLIPS = 'bar frame: size 2 x\nbar: : \nmeasure a = (1 + \n??\nbar b: at ends of\nwhen a is is b\n'


def test_kept_and_fresh_tables_read_alike(reckoned_anew):
    texts = [(path.read_text("utf-8"), path.name) for path in EXAMPLES] + [(SLIPS, "slips.posy")]
    fresh = [parse(*text) for text in texts]
    parsing._parse.cache_clear()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(parsing, "_grammar", lambda: tables.line_reader(parsing._build))
        patch.setattr(parsing, "_lark", tables.parser)
        patch.setattr(build, "Token", LineToken)
        assert [parse(*text) for text in texts] == fresh
    assert fresh[-1][1]  # the slips were told


def test_tables_that_cannot_be_read_are_made_anew(monkeypatch, tmp_path):
    monkeypatch.setattr(tables, "KEPT", "no-such-file.json")
    monkeypatch.setattr(tables, "LARKS", "no-such-file-either.json")
    assert tables._kept(tables.KEPT) is None
    assert tables.parser().grammar  # only a parser worked out from the text has it
    assert tables.line_reader(parsing._build).read("stone one: round 2 mm", "line")


def test_the_same_grammar_gives_the_same_tables():
    assert tables.tables(GRAMMAR) == tables.tables(GRAMMAR)
