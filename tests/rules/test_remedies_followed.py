"""What a remark on metal says to do, done to the letter: the remark is gone and no fault came of it."""

from __future__ import annotations

from pathlib import Path

import pytest

from posy.compiler.judging.done import done
from posy.compiler.making.pipeline import build
from posy.lang.faults import Fault, Level
from posy.lang.loader import Texts

CASES = Path(__file__).with_name("cases")
NAMES = (
    "bare-corner", "bare-corner.beside", "blind-seat.far", "blocked-loop", "blocked-loop.behind", "blocked-loop.bought", "blocked-loop.disc", "blocked-loop.linked",
    "broken-seat", "broken-seat.channel", "broken-seat.flat", "broken-seat.shared", "covered-table.arch",
    "crossed-hole.copied", "deep-seat.cave", "hemmed-prong", "leans.tags", "loose-stone", "loose-stone.proud",
    "printer-detail", "prong-astray", "prong-astray.missed", "prong-astray.off-0-25",
    "sharp-on-skin.knife", "shut-stone.milgrain", "slender", "stone-in-metal.medal", "stone-in-metal.mirrored", "tight-link", "tight-link.hole", "tight-link.station", "weak-joint.head", "weak-joint.row",
)  # fmt: skip
SHARED = """stone row: cushion-cabochon 3 x 3 mm, gem garnet, row 4, gap 0.15 mm
bar frame: size 22 x 6 x 2.2 mm, corner 0.5 mm, under row
seat: for row, in frame
prong claws: for row, shared, wire 1.6 mm, bite 25 %
"""


def told(text: str) -> list[Fault]:
    return list(build("p.posy", files=Texts({"p.posy": text})).faults)


@pytest.mark.parametrize(("rule", "text"), [
    *((name.partition(".")[0], (CASES / f"{name}.posy").read_text("utf-8")) for name in NAMES),
    ("prong-astray", SHARED),
], ids=[*NAMES, "prong-astray of a shared pair whose line says the usual bite"])  # fmt: skip
def test_what_is_said_cures(rule: str, text: str) -> None:
    before = told(text)
    one = next(found for found in before if found.code == rule)
    new = done(text, one)
    assert new is not None and new != text, one.remedy
    after = told(new)
    assert [found for found in after if found.code == rule and found.level is not Level.HINT] == [], one.remedy
    assert {f.code for f in after if f.level is Level.FAULT} <= {f.code for f in before}, one.remedy
