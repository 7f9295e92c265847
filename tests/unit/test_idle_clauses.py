"""A placing clause moves what is made, or a fault tells that it does not: none is left out in silence."""

from __future__ import annotations

import numpy as np
import pytest

from posy.compiler.commands.words import with_blocks
from posy.compiler.making.pipeline import build, check
from posy.compiler.making.result import Built
from posy.compiler.pages.word_text import page
from posy.lang.faults import Level
from posy.lang.loader import Texts
from posy.lang.placing import GROUNDS, PLACING

GROUND = """disc medal: across 60 mm, thick 2 mm
path way: through (-9, 0, 2) over (0, 2, 2) to (9, 0, 2 mm)
path rim: round 30 mm, on medal
"""
LAID = (
    'engrave mark: letters "AB", tall 2 mm, in medal', "engrave mark: stroke 1 mm, in medal",
    'pierce mark: letters "AB", tall 2 mm, in medal', "wire mark: round 1 mm", "twist mark: wire 0.6 mm",
    "ball mark: across 1 mm, number 3", "ball mark: across 1 mm, fit 3 mm",
    "stone mark: round 1 mm, gem ruby, gap 0.3 mm", "stone mark: round 1 mm, gem ruby, number 3",
)  # fmt: skip
VALUES = {
    "row": "row 2, every 3 mm", "circle": "circle 3, radius 2 mm", "grid": "grid 2 x 2, every 3 mm",
    "stretch": "stretch 10 % to 70 %", "number": "number 4", "both-sides": "both-sides", "around": "around 20 deg",
    "set-by": "set-by left",
} | {name: f"{name} 0.4 mm" for name in ("right", "left", "up", "down", "out", "inward", "fit", "inset")} | {
    name: f"{name} 12 deg" for name in ("turn", "tilt", "lean", "swivel")
}  # fmt: skip
# Those that another of VALUES stands for, or that only say more of one.
WITH_OTHERS = {*GROUNDS, "anchor", "every", "radius", "start", "staggered", "bordered"}


def laid(line: str) -> Built:
    return check("p.posy", files=Texts({"p.posy": GROUND + line}))


def made(built: Built) -> tuple[str, bytes]:
    assert built.piece is not None
    bench = built.piece.bench
    return bench.plan().digest(), bench.features[-1].frames.tobytes()


@pytest.mark.parametrize("path", ["way", "rim"])
@pytest.mark.parametrize("line", LAID)
def test_each_clause_changes_what_lies_along_a_path_or_is_told(line: str, path: str) -> None:
    plain = laid(f"{line}, along {path}")
    assert plain.piece is not None and len(plain.piece.bench.features) == 4
    assert {take.name for take in PLACING} == WITH_OTHERS | set(VALUES)
    silent = []
    for name, said in VALUES.items():
        if f", {name} " in line:
            continue
        changed = laid(f"{line}, along {path}, {said}")
        if set(changed.faults) <= set(plain.faults) and made(changed) == made(plain):
            silent.append(said)
    assert silent == []


def test_what_does_nothing_is_told_at_its_clause() -> None:
    (fault,) = [one for one in laid("engrave mark: stroke 1 mm, in medal, along way, number 3").faults if one.code == "clause-idle"]
    assert (fault.message, fault.remedy) == ("number says nothing on this line", "leave number out")


@pytest.mark.parametrize("line", [LAID[0], LAID[1].replace("1 mm", "1 mm, cut flat")])
def test_letters_and_strokes_move_alike(line: str) -> None:
    """A path drawn at the back is raised to the face by 'out', and the work moved up the face by 'up'."""
    bar = "bar medal: size 30 x 8 x 2 mm\npath way: through (-12, 0) to (12, 0 mm)\n"
    (part,) = build("p.posy", files=Texts({"p.posy": f"{bar}{line}, deep 0.4 mm, along way, out 2 mm, up 1 mm"})).parts
    floor = part.points[np.abs(part.points[:, 2] - 1.6) < 1e-6]
    assert floor[:, 1].min() == pytest.approx(0.0 if "letters" in line else 0.5, abs=0.05)
    assert floor[:, 1].max() == pytest.approx(2.0 if "letters" in line else 1.5, abs=0.05)


@pytest.mark.parametrize(("first", "idle"), [("blows", True), ("dip", False)])
def test_blows_that_a_hollow_takes_away_are_told(first: str, idle: bool) -> None:
    """Hammered before the hollow is cut nothing is left of the blows; after it they fall in the hollow."""
    lines = ["engrave dip: stroke 7.4 mm, cut round, deep 0.8 mm, along around of ring, in ring",
             "hammered blows: upon ring, every 2 mm, inset 2 mm"]
    text = "\n".join(['band ring: finger "uk V", wide 9 mm, thick 2 mm', *sorted(lines, reverse=first == "blows")])
    found = build("p.posy", files=Texts({"p.posy": text}), check_metal=False).faults
    assert ("idle-cut" in {one.code for one in found}) == idle


def test_stones_that_make_no_row_are_told_once() -> None:
    text = """band shank: finger "us 6 1/2", wide 2.6 mm, thick 1.8 mm, profile d
stone one: round 2.5 mm, gem ruby, on shank, out 1.8 mm
stone two: oval 3 x 4 mm, gem ruby, on shank, around 14.4 deg, both-sides, out 1.8 mm
basket head: for one + two, shared, on shank"""
    (fault,) = [one for one in check("p.posy", files=Texts({"p.posy": text})).faults if one.level is Level.FAULT]
    assert fault.code == "not-offered" and "leave 'shared' out" in (fault.remedy or "")


def test_a_word_with_a_path_of_its_own_lists_no_clause_that_needs_the_common_one():
    """`along` of a bead-line is its own: its beads take a stretch of it, and `number` is never told of it."""
    for word in with_blocks().values():
        own = {take.name: take for take in word.takes}
        listed = " ".join(page(word, 400)).partition("Where it stands")[2].partition(".")[0]
        for take in PLACING if word.places else ():
            lone = take.goes_with and set(take.goes_with) <= set(own) and take.name not in own
            assert not lone or f" {take.name}," not in f"{listed},", (word.name, take.name)
    rows = (laid(f"bead-line b: along rim{more}").piece for more in ("", ", stretch 0 % to 50 %"))
    grains = [len(one.bench.features[-1].frames) for one in rows if one is not None]
    assert grains[1] == pytest.approx(grains[0] / 2, abs=2)  # an open row has one more
