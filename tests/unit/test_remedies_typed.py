"""Remedies that one can type: each names a clause and a figure, and is followed as it is told."""

import re
from dataclasses import replace

import pytest
from texts import told_tried as told

from posy.compiler.judging.done import done
from posy.compiler.judging.remark import Remark
from posy.compiler.making.changed import written
from posy.compiler.making.pipeline import build
from posy.compiler.making.result import unseen
from posy.compiler.making.tried import built_and_tried
from posy.lang.faults import Fault, Level
from posy.lang.follow import followed
from posy.lang.loader import Texts
from posy.lang.parse import parse

PLATE = """disc tag: across 12 mm, thick 1.4 mm, out 0.5 mm
bail loop: at top of tag, wire 1 mm
  inside 2 mm
"""


@pytest.mark.parametrize(("said", "new"), [
    ("write line 1 as: disc tag: across 14 mm, thick 1.4 mm, out 0.5 mm",
     PLATE.replace("across 12", "across 14")),
    ("write line 3 as: inside 3 mm, and write line 1 as: disc tag: across 9 mm",
     "disc tag: across 9 mm\nbail loop: at top of tag, wire 1 mm\n  inside 3 mm\n"),
    ("write below line 3: stand; or move it", f"{PLATE}  stand\n"),
    ("write below the last line: bore: of tag", f"{PLATE}bore: of tag\n"),
    ("take line 3 out, and write line 2 as: bail loop: at top of tag",
     "disc tag: across 12 mm, thick 1.4 mm, out 0.5 mm\nbail loop: at top of tag\n"),
])  # fmt: skip
def test_lines_told_by_their_number_are_written_as_told(said, new):
    """By both readers of remedies, and as what differs between two texts is told."""
    line = parse(PLATE, "p.posy")[0].lines[1]
    assert done(PLATE, Remark("made-up", "a remark", line.head, remedy=said)) == new
    assert followed(PLATE, Fault("made-up", "a fault", line.head, remedy=said)) == new
    assert followed(PLATE, Fault("made-up", "", line.head, remedy=written({"p": PLATE}, {"p": new}))) == new


BRANCHES = """measure big = {}
disc tag: across 16 mm, thick 1.5 mm
when big is 1
  bail loop: at top of tag, inside 5 mm, wire 0.5 mm
otherwise
  bail loop: at top of tag, inside 5.2 mm, wire 0.6 mm
"""


@pytest.mark.parametrize(("big", "old"), [(1, "wire 0.5 mm"), (0, "wire 0.6 mm")])
def test_of_one_name_in_two_branches_the_line_that_did_work_is_changed(big, old):
    text = BRANCHES.format(big)
    one = next(one for one in build("p.posy", files=Texts({"p.posy": text})).faults if one.code == "thin-loop")
    said = replace(one, remedy="write wire 1 mm in the line of loop", edit=None)
    assert done(text, said) == text.replace(old, "wire 1 mm")


STILTS = """disc ground: across 9 mm, thick 1.6 mm
stone one: round 5 mm, gem sapphire, out 4 mm
prong claws: for one, count 4, wire 1 mm, foot 2.55 mm
"""
SLIT = "disc tag: across 16 mm, thick 1.6 mm\npierce slot: rectangle 8 x 0.1 mm, at face of tag, in tag\n"
TORQUE = """path wrist: inside 60 x 50 mm, open 25 mm, outset 2 mm
wire bangle: along wrist, round 4 mm
stone garnets: cabochon 8 mm, gem garnet, at ends of bangle, right 1.5 mm, lean 90 deg
bezel caps: for garnets, blind, foot 2.5 mm
"""
DROP = """stone pearl: pearl 9 mm, gem pearl
pearl-cup cup: for pearl
bail loop: at top of cup, inside 4 mm
"""
BERRY = "disc leaf: across 14 mm, thick 1.4 mm\nball berry: at right of leaf, right 2 mm, across 3 mm\n"
NAME = 'plate name: letters "Anna", tall 9 mm, thick 1.2 mm\n'
BY_HAND = """disc tag: across 16 mm, thick 1 mm
engrave words: letters "ANNA", at face of tag, tall 3 mm, deep 0.9 mm, by-hand, in tag
"""


@pytest.mark.parametrize(("text", "rule", "said"), [
    (STILTS, "footless-prong", r"write foot 2\.6\d mm in the line of claws"),
    (SLIT, "closing-gap", r"write rectangle 8 x 0\.1\d mm in the line of slot"),
    (TORQUE, "small-bangle", r"write open 3\d\.\d\d mm in the line of wrist"),
    (DROP, "stone-in-metal", r"say 'above' in the line of cup"),
    (BERRY, "unattached-bead", r"move berry 1\.\d\d mm left"),
    (NAME, "loose-piece", r"write spacing -0\.\d\d mm in the line of name"),
    (BY_HAND, "thin-wall", r"write deep 0\.20 mm in the line of words"),
])  # fmt: skip
def test_a_remedy_names_a_clause_and_a_figure_that_was_tried(text, rule, said):
    """Followed to the letter the remark is gone, and no fault comes."""
    one = told(text)[rule]
    assert re.match(said, one.remedy) and one.then.startswith("tried, it is gone")
    after = told(done(text, one))
    assert rule not in after and Level.FAULT not in {other.level for other in after.values()}


HOLLOW = """bar block: size 18 x 8 x 6 mm
hollow inner: in block, wall 0.5 mm, roof 0.5 mm
"""


def test_the_wall_and_the_roof_of_a_hollow_are_answered_each_by_itself():
    found = built_and_tried("p.posy", files=Texts({"p.posy": HOLLOW})).built.faults
    thin = [one for one in found if one.code == "thin-wall" and one.level is not Level.HINT]
    assert len(thin) == 2 and all(one.then == "tried, it is gone" for one in thin)


TAG = 'disc tag: across 16 mm, thick 1.5 mm\nengrave words: letters "ANNA", at face of tag, tall 3 mm, in tag{}\n'


def test_what_is_cut_by_hand_is_no_loss_of_what_is_seen():
    """It is no more in the mould, and meant so; what else hides the letters is one."""
    before, after = (build("p.posy", files=Texts({"p.posy": TAG.format(more)})) for more in ("", ", by-hand"))
    assert before.shown["words"] > 0 and not unseen(before, after, 0.5)


CLAWED = "disc tag: across 16 mm, thick 2 mm\nstone one: round 4 mm, gem garnet, on tag\n"


def test_what_is_done_after_a_line_below_the_others_is_done_too():
    line = parse(CLAWED, "p.posy")[0].lines[1]
    said = "hold it: write prong claws: for one, below all these lines; then write foot 2.12 mm in the line of claws"
    new = done(CLAWED, Remark("made-up", "a remark", line.head, remedy=said))
    assert new == f"{CLAWED}prong claws: for one, foot 2.12 mm\n"
