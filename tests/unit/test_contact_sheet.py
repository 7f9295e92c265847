"""The committed picture of all examples is the one their texts make today."""

from __future__ import annotations

import re
from pathlib import Path

from drawings import alike

from posy.compiler.command import main

EXAMPLES = Path(__file__).parents[2] / "examples"
SHEET = EXAMPLES / "contact-sheet.svg"
TOLERANCE = "0.02mm"
STALE = f"stale: run posy draw examples/*.posy --tolerance {TOLERANCE} --sheet examples/{SHEET.name}"


def test_the_contact_sheet_is_fresh(tmp_path: Path) -> None:
    pieces = sorted(EXAMPLES.glob("*.posy"))
    made = tmp_path / SHEET.name
    words = [*map(str, pieces), "--tolerance", TOLERANCE, "--sheet", str(made)]
    assert main(["draw", *words]) == 0
    held, new = SHEET.read_bytes(), made.read_bytes()
    assert _titles(held) == _titles(new), STALE
    assert held == new or alike(held, new), STALE
    assert len(held) < 1_500_000


def test_every_piece_stands_on_the_sheet_under_its_title() -> None:
    titles = _titles(SHEET.read_bytes())
    for piece in EXAMPLES.glob("*.posy"):
        title = re.search(r'^piece "([^"]+)"', piece.read_text("utf-8"), re.M)
        assert title and title[1] in titles, piece.name


def _titles(svg: bytes) -> list[str]:
    return re.findall(r"<text[^>]*>([^<]*)</text>", svg.decode("utf-8"))
