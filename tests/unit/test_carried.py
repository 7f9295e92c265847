"""What is repeated or bent takes along the stones it holds, each once, and no others."""

from __future__ import annotations

import numpy as np
import pytest
from texts import checked, faults

from posy.compiler.making.pipeline import _laid_out, build
from posy.lang.loader import Texts


def stones_of(text):
    """The stones of a piece by the lines that laid them."""
    return _laid_out("piece.posy", {}, None, Texts({"piece.posy": text}))[1].bench.stones()


def spots(text):
    """Where all stones of a piece stand, (n, 3) mm, in order of place, and the names of its remarks."""
    built = checked(text)
    assert faults(built) == []
    found = np.concatenate([one.frames[:, :, 3] for one in stones_of(text)])
    return found[np.lexsort(found.round(6).T)], {f.code for f in built.faults}


HEAD = """bar frame: size 20 x 4 x 2 mm
stone one: tapered-baguette 4 x 2.5 x 1.5 mm, gem ruby, at face of frame, right 6 mm, out 3 mm, turn 20 deg
basket head: for one, on frame
"""
FACE = """disc face: across 16 mm, thick 2.2 mm
stone one: round 2 mm, gem ruby, at face of face, right 4 mm, level table
flush set: for one, in face
"""
PEARL = """bar frame: size 24 x 6 x 2 mm
stone moon: pearl 7.5 mm, gem pearl, at face of frame, right 7 mm, out 4.2 mm
pearl-cup cup: for moon
"""


@pytest.mark.parametrize("text, line, count", [
    (HEAD, "mirror other: of head", 2),
    (HEAD, "copy other: of head, left 12 mm", 2),
    (HEAD, "mirror other: of frame + head, up 10 mm", 2),
    (HEAD, "mirror other: of one\nmirror heads: of head", 2),
    (HEAD, "mirror heads: of head\nmirror other: of one", 2),
    (HEAD, "copy second: of frame, up 10 mm", 1),  # its claws stay, and so does the stone
    (FACE, "wheel more: of set, times 5", 5),
    (FACE, "copy second: of face, up 20 mm", 2),
    (FACE, "wheel more: of set, times 5\ncopy second: of face, up 20 mm", 10),
    (PEARL, "mirror other: of cup", 2),
])  # fmt: skip
def test_a_setting_takes_its_stones_along(text, line, count):
    found, codes = spots(text + line + "\n")
    assert len(found) == count
    assert "empty-seat" not in codes


def test_claws_turned_about_their_stone_leave_it_alone():
    text = "bar frame: size 20 x 4 x 2 mm\nstone one: round 4 mm, gem ruby, out 5 mm\n"
    claws = "prong claws: for one, count 2, foot 3.2 mm\nwheel more: of claws, times 4, by 45 deg\n"
    assert len(spots(text + claws)[0]) == 1


def test_a_mirrored_setting_has_its_stones_mirrored():
    one, other = stones_of(HEAD + "mirror other: of head\n")
    assert other.frames[0] == pytest.approx(one.frames[0] * [[-1], [1], [1]])


def test_a_bent_bar_takes_along_the_stones_set_in_it():
    text = (
        "bar strap: size 50 x 4 x 1.6 mm\nstone dots: round 1.2 mm, gem ruby, at face of strap, level table, "
        "row 5, every 4 mm\nflush set: for dots, in strap\nbend ring: of strap, inside 16 mm\n"
    )
    found, codes = spots(text)
    assert np.ptp(np.hypot(found[:, 0], found[:, 2])) < 1e-6  # all as far from the finger
    assert not codes & {"empty-seat", "unset-stone"}


def test_a_setting_is_copied_again_by_itself_and_so_is_a_copy():
    """Neither takes what the other copied along, and each cuts its seats."""
    text = FACE.replace("16 mm", "24 mm").replace("right 4 mm", "right 3 mm").replace("round 2", "round 1.5")
    text += "wheel inner: of set, times 6\ncopy again: of set, right 4 mm\nwheel outer: of again, times 8\n"
    found, codes = spots(text)
    assert len(found) == 6 + 8
    assert np.hypot(*found[:, :2].T).round(6).tolist().count(7.0) == 8
    assert not codes & {"empty-seat", "unset-stone", "crowded-stones"}


def test_a_light_hole_that_meets_no_metal_is_told():
    text = "bar frame: size 20 x 6 x 2 mm\nstone one: round 4 mm, gem ruby, at face of frame, out 3 mm\n"
    made = build("p.posy", files=Texts({"p.posy": text + "azure light: for one, in frame\n"}), check_metal=False)
    (told,) = [f for f in made.faults if f.code == "idle-cut"]
    assert "drill light: at centres of one, in frame, across 2 mm" in (told.remedy or "")
    text += "drill light: at centres of one, in frame, across 2 mm\n"
    (part,) = build("p.posy", files=Texts({"p.posy": text}), check_metal=False).parts
    assert part.volume == pytest.approx(20 * 6 * 2 - np.pi * 2, rel=1e-3)


STRIP = "bar b: size 40 x 8 x 3 mm\n"
WRITTEN = {
    "basket": ("stone {s}: pear 6 x 4 mm, gem ruby, at face of b, {way} 10 mm, out 3 mm{turn}\n"
               "basket {h}: for {s}, on b\n"),
    "bead-set": ("stone {s}: round 1.5 mm, gem ruby, at face of b, {way} 10 mm, row 4, every 1.8 mm, inward 0.1 mm\n"
                 "bead-set {h}: for {s}, in b\n"),
    "channel": ("stone {s}: round 2 mm, gem ruby, at face of b, {way} 10 mm, row 5, gap 0.1 mm, inward 0.5 mm\n"
                "channel {h}: for {s}, in b\n"),
    "collet": ("stone {s}: round 4 mm, gem ruby, at face of b, {way} 10 mm, out 3 mm\ncollet {h}: for {s}, on b\n"),
}  # fmt: skip


@pytest.mark.parametrize("name", WRITTEN)
def test_a_setting_made_again_is_the_same_as_written_again(name):
    """Its metal, what it cuts into other metal, and its stones."""
    one = WRITTEN[name].format(s="s", h="h", way="right", turn="")
    two = WRITTEN[name].format(s="t", h="k", way="left", turn=", turn 180 deg")
    pieces = [
        build("p.posy", files=Texts({"p.posy": STRIP + one + more}), tolerance=0.02, check_metal=False)
        for more in (two, "mirror z: of h\n", "wheel z: of h, times 2\n")
    ]
    written, *again = [(sum(part.volume for part in made.parts), len(made.stones)) for made in pieces]
    for volume, stones in again:
        assert stones == written[1]
        assert volume == pytest.approx(written[0], rel=1e-5)
