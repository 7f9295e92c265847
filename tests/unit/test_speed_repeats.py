"""A piece made short and put back is the piece the kernel alone makes: volume, holes, closure,
owners, weight."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from test_speed_strips import check_alike, finished, laid_out

from posy.compiler.metal import solids
from posy.compiler.metal.folds import Fold, Folds

ROW = "stone row: round 2 mm, gem garnet, line 16, every 2.2 mm, out 2 mm\n"
BAR = "bar frame: size 38 x 5 x 2.4 mm, corner 0.6 mm\n"
BACK = "hollow back: in frame, wall 0.9 mm, roof 1.1 mm\n"
SEAT = "seat: for row, in frame\n"
RODS = "rod claws: at gaps of row, out 0.5 mm, turn 90 deg, line 2, every 1.7 mm, across 0.7 mm, long 2 mm, tip round\n"
EDGE = "bead-line edge: along rim of frame, bead 0.45 mm, inset 0.3 mm\n"
# Text after the head, and how many stretches are left out of it.
PIECES = {
    "seats and rods": (ROW + BAR + BACK + SEAT + RODS, 1),
    "each prong a step of its own": (ROW + BAR + BACK + SEAT + "prong claws: for row, shared, wire 0.7 mm\n", 1),
    "beads of another pitch": (ROW + BAR + BACK + SEAT + RODS + EDGE, 1),
    "loops in a group": (ROW + BAR + SEAT + "bail loops: at ends of frame, up 1 mm, wire 1 mm, inside 2 mm\n", 1),
    "one prong stands out": (
        ROW.replace("line 16", "line 26").replace("row:", "row: right 0.3 mm,")
        + BAR.replace("38", "62") + SEAT + RODS + "rod odd: right 1 mm, up 2.1 mm, across 0.9 mm, long 4 mm\n", 2,
    ),
    "up and down": (
        "stone row: round 2 mm, gem garnet, line 16, every 2.2 mm, out 2 mm, turn 90 deg\n"
        "bar frame: size 5 x 38 x 2.4 mm\n" + SEAT + RODS, 1,
    ),
    "a field both ways": (
        "stone row: round 1.5 mm, gem garnet, grid 11 x 10, every 1.7 mm, out 1.6 mm\n"
        "bar frame: size 20 x 18 x 1.8 mm, corner 1 mm\n" + SEAT
        + "rod claws: grid 12 x 11, every 1.7 mm, out 1 mm, across 0.55 mm, long 1.3 mm, tip round\n", 2,
    ),
    "two alloys": (ROW + BAR + SEAT + RODS.replace("\n", ", metal gold-585-yellow\n"), 1),
    "added, then cut through": (ROW + BAR + RODS + "drill holes: at centres of row, out 3 mm, across 1 mm, deep 4 mm\n", 1),
    "parts built by themselves": (
        BAR + "group cups: line 16, every 2.2 mm\n"
        "  tube cup: outside 1.8 mm, inside 1 mm, height 1.5 mm, out 2 mm\n"
        "  drill hole: out 4 mm, across 0.5 mm, deep 5 mm, right 0.7 mm\n", 1,
    ),
    "too short to pay": (ROW.replace("line 16", "line 5") + BAR + SEAT + RODS, 0),
    "turned as a whole": (
        ROW.replace("out 2 mm", "out 2 mm, turn 33 deg") + "bar frame: size 38 x 5 x 2.4 mm, turn 33 deg\n" + SEAT, 0,
    ),
    "no two alike": ("stone row: round 1.6 mm to 2.2 mm to 1.6 mm, gem garnet, line 16, gap 0.2 mm, out 2 mm\n" + BAR + SEAT, 0),
}  # fmt: skip


@pytest.mark.parametrize("name", PIECES)
def test_as_the_kernel_alone(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    text, stretches = PIECES[name]
    used: list[int] = []
    asked, carried_out = solids.repeats_of, solids.Workshop._alloys

    def told(*given):
        found = asked(*given)
        used.append(0 if found is None else len(found.folds.folds))
        return found

    def sure(*given):
        found = carried_out(*given)
        assert found is not None, "made short, but not put back"
        return found

    bench = laid_out(text, tmp_path)
    with monkeypatch.context() as patch:
        patch.setattr(solids, "repeats_of", told)
        patch.setattr(solids.Workshop, "_alloys", sure)
        fast = finished(bench, plain=False)
    plain = finished(bench, plain=True)
    assert used == [stretches]
    check_alike(bench, fast, plain, within=1e-8)


def test_what_runs_through_is_shortened() -> None:
    """Closed form: a stretch of 3 mm left out four times from x = 2 on."""
    folds = Folds((Fold(0, 2.0, 3.0, 4),))
    points = np.array([[-5.0, 1.0, 2.0], [15.0, 1.0, 2.0]])
    assert folds.short(points).tolist() == [[-5.0, 1.0, 2.0], [3.0, 1.0, 2.0]]


def test_copies_in_the_stretch_are_left_out() -> None:
    folds = Folds((Fold(0, 2.0, 3.0, 4),))
    boxes = np.array([[x - 0.5, 0, 0, x + 0.5, 1, 1] for x in (1.5, 2.5, 13.5, 14.5)])
    assert folds.left_out(boxes, 0).tolist() == [False, True, True, False]
    assert folds.periods(boxes[[0, 3]], 0).tolist() == [0, 4]
