"""The kept parse tables: those of the grammar as it is, and reading the same trees."""

from __future__ import annotations

from pathlib import Path

import pytest

from posy.lang import parse as parsing
from posy.lang import tables
from posy.lang.parse import parse

HERE = Path(tables.__file__).parent
GRAMMAR = (HERE / "grammar.lark").read_text(encoding="utf-8")
EXAMPLES = sorted((HERE.parent / "examples").rglob("*.posy"))


def test_the_kept_tables_are_those_of_the_grammar():
    kept = tables._kept()
    assert kept is not None
    # Another lark than the one they were made with reckons them anew; only the grammar must fit.
    assert kept["made-from"].partition(", ")[2] == tables.made_from(GRAMMAR).partition(", ")[2], (
        "make them anew: python -m posy.lang.tables"
    )


@pytest.fixture
def reckoned_anew(monkeypatch):
    """A parser as if nothing had been kept."""
    parsing._parse.cache_clear()
    fresh = tables.fresh(GRAMMAR, transformer=parsing._build)
    monkeypatch.setattr(parsing, "_grammar", lambda: fresh)
    yield
    parsing._parse.cache_clear()


# Lines that can be read and lines that cannot: what was expected is told from the tables too.
SLIPS = 'bar frame: size 2 x\nbar: : \nmeasure a = (1 + \n??\nbar b: at ends of\nwhen a is is b\n'


def test_kept_and_fresh_tables_read_alike(reckoned_anew):
    texts = [(path.read_text("utf-8"), path.name) for path in EXAMPLES] + [(SLIPS, "slips.posy")]
    fresh = [parse(*text) for text in texts]
    parsing._parse.cache_clear()
    with pytest.MonkeyPatch.context() as patch:
        kept = tables.parser(parsing._build)
        patch.setattr(parsing, "_grammar", lambda: kept)
        assert [parse(*text) for text in texts] == fresh
    assert fresh[-1][1]  # the slips were told


def test_tables_that_cannot_be_read_are_made_anew(monkeypatch):
    monkeypatch.setattr(tables, "KEPT", "no-such-file.json")
    assert tables._kept() is None
    assert tables.parser(parsing._build).parse("stone one: round 2 mm", start="line")
