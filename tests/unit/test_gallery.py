"""The page of what the rules found in the examples: fresh, and it keeps what is written by hand."""

from __future__ import annotations

from pathlib import Path

import pytest

from posy.compiler.command import main
from posy.compiler.making.pipeline import build
from posy.compiler.pages.gallery import MARK, REFRESH, alike, page_of

ROOT = Path(__file__).parents[2]
PAGE = ROOT / "examples" / "REMARKS.md"

BAR = 'piece "Bar"\n  metal silver-925\n\nbar frame: size 9 x 9 x 0.7 mm\n'


def test_the_page_of_the_examples_is_fresh() -> None:
    pieces = [build(str(path)) for path in sorted((ROOT / "examples").glob("*.posy"))]
    held = PAGE.read_text("utf-8")
    assert alike(held, page_of(held, pieces)), f"stale: run {REFRESH}"


def test_the_command_to_run_is_the_one_the_page_names() -> None:
    assert MARK in PAGE.read_text("utf-8")
    assert "--page" in MARK and "--page" in REFRESH


@pytest.fixture
def bar(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "bar.posy").write_text(BAR, "utf-8")
    return tmp_path / "page.md"


def test_hand_written_words_stay(bar: Path) -> None:
    assert main(["check", "--page", "page.md", "bar.posy"]) == 0
    first = bar.read_text("utf-8")
    assert "| warning | `thin-wall` | 4 |" in first and "0.70 mm | 0.80 mm or more" in first
    bar.write_text(first.replace("# What the rules found", "# By hand"), "utf-8")
    main(["check", "--page", "page.md", "bar.posy"])
    assert bar.read_text("utf-8") == first.replace("# What the rules found", "# By hand")


def test_a_waived_finding_is_listed_with_its_reason(bar: Path) -> None:
    text = BAR + 'waive thin-wall on frame because "a trial"\n'
    (bar.parent / "bar.posy").write_text(text, "utf-8")
    main(["check", "--page", "page.md", "bar.posy"])
    assert "| set aside | `thin-wall` | 4 |" in bar.read_text("utf-8")
    assert "set aside because: a trial" in bar.read_text("utf-8")


def test_page_wants_the_metal(bar: Path) -> None:
    assert main(["check", "--plan", "--page", "page.md", "bar.posy"]) == 2
    assert not bar.exists()


def test_pages_are_alike_when_only_last_digits_differ() -> None:
    assert alike("wall 0.80 mm of 4", "wall 0.81 mm of 4")
    assert not alike("wall 0.80 mm of 4", "wall 0.80 mm of 5")
    assert not alike("wall 0.80 mm", "wall 0.90 mm")
    assert not alike("wall 0.80 mm", "roof 0.80 mm")
