"""Remedies tried on the text before they are told: what works, what brings another, and what goes along."""

import re

import pytest
from texts import told_tried as told

from posy.compiler.judging import off_stones
from posy.compiler.judging.agreed import agreed
from posy.compiler.judging.done import Way, done, for_all, told_anew
from posy.compiler.judging.levers import levers
from posy.compiler.judging.lines_of import heads_of
from posy.compiler.judging.remark import Remark
from posy.compiler.making import outcomes, trials
from posy.compiler.making import tried as trying
from posy.compiler.making.pipeline import build
from posy.compiler.making.result import is_same_there, unseen
from posy.lang.faults import Fault, Level
from posy.lang.loader import Texts
from posy.lang.parse import parse

PLATE = """disc tag: across 12 mm, thick 1.4 mm, out 0.5 mm
bail loop: at top of tag, wire 1 mm
  inside 2 mm
"""


@pytest.mark.parametrize(("remedy", "old", "new"), [
    ("move tag 0.20 mm right and 0.10 mm up, or make it smaller", "out 0.5 mm",
     "out 0.5 mm, right 0.20 mm, up 0.10 mm"),
    ("move tag 0.20 mm inward", "out 0.5 mm", "out 0.30 mm"),
    ("raise tag by 0.25 mm", "out 0.5 mm", "out 0.75 mm"),
    ("let tag down by 0.25 mm", "out 0.5 mm", "out 0.25 mm"),
    ("make tag 1.80 mm thick, or smaller", "thick 1.4 mm", "thick 1.80 mm"),
    ("make tag 0.30 mm thicker there", "thick 1.4 mm", "thick 1.70 mm"),
    ("write inside 2.50 mm: make its inside larger", "inside 2 mm", "inside 2.50 mm"),
    ("write thick 2 mm in the line of tag", "thick 1.4 mm", "thick 2 mm"),
    ("say 'sunk 40 %'", "inside 2 mm", "inside 2 mm\n  sunk 40 %"),
    ("write 'swivel 30 deg' in place of 'out' at tag: it then stays", ", out 0.5 mm", ", swivel 30 deg"),
    ("turn it over there: add tilt 180 deg", "inside 2 mm", "inside 2 mm\n  tilt 180 deg"),
    ("turn it over with 'lean 180 deg'; where it follows a path, say 'facing away'", "inside 2 mm",
     "inside 2 mm\n  lean 180 deg"),
    ("stand it at an end that looks up, or turn it there: 'wire 1 mm' more", "wire 1 mm", "wire 2.00 mm"),
    ("it stands in a hole: add 'wire 1.25 mm' to its line", "wire 1 mm", "wire 1.25 mm"),
    ("turn it as it is to hang, 'turn 180 deg' at tag", "out 0.5 mm", "out 0.5 mm, turn 180 deg"),
    ("stand the links 'inside 2.2 mm', as their joint does", "inside 2 mm", "inside 2.2 mm"),
    ("leave 'wire' out", ", wire 1 mm", ""),
    ("put the line of tag below that of loop: it then goes round it", PLATE,
     "".join([*PLATE.splitlines(True)[1:], PLATE.splitlines(True)[0]])),
    ("in the lines of tag and loop write up 1 mm and leave wire out", PLATE.partition(", ")[2],
     "thick 1.4 mm, out 0.5 mm, up 1 mm\nbail loop: at top of tag\n  inside 2 mm\n  up 1 mm\n"),
    ("move tag and loop 0.5 mm up", "out 0.5 mm\nbail loop: at top of tag, wire 1 mm\n  inside 2 mm",
     "out 0.5 mm, up 0.5 mm\nbail loop: at top of tag, wire 1 mm\n  inside 2 mm\n  up 0.5 mm"),
    ("write thick 2 mm in the line of tag; then write wire 2 mm in the line of loop", "thick 1.4 mm, out 0.5 mm\nbail loop: at top of tag, wire 1 mm",
     "thick 2 mm, out 0.5 mm\nbail loop: at top of tag, wire 2 mm"),
    ("write thick 2 mm, out 0.7 mm in the line of tag, so that it stays", "thick 1.4 mm, out 0.5 mm",
     "thick 2 mm, out 0.7 mm"),
    ("write wire 1.8 mm, inside 2.5 mm", "wire 1 mm\n  inside 2 mm", "wire 1.8 mm\n  inside 2.5 mm"),
    ("move the loop 3.06 mm to the left: in its line that is 'up 3.06 mm'", "inside 2 mm",
     "inside 2 mm\n  up 3.06 mm"),
    ("move tag 3 mm down: write out 1.20 mm, right 3.00 mm in its line", "out 0.5 mm", "out 1.20 mm, right 3.00 mm"),
])  # fmt: skip
def test_each_form_of_a_remedy_is_read_as_a_change_of_text(remedy, old, new):
    line = parse(PLATE, "p.posy")[0].lines[1]
    assert done(PLATE, Remark("made-up", "a remark", line.head, remedy=remedy)) == PLATE.replace(old, new)


def test_what_stands_in_the_middle_of_a_piece_is_not_moved_aside_by_a_figure_sought():
    """Out and inward it is; what stands beside the middle is moved that way too."""
    text = (
        "band shank: finger us 6, wide 2 mm, thick 1.8 mm\n"
        "stone centre: round 5 mm, gem ruby, on shank, out 0.6 mm\nstone side: round 2 mm, gem ruby, on shank, around 40 deg\n"
    )
    built = build("p.posy", files=Texts({"p.posy": text}))
    moves = {}
    for name, line in heads_of(text, "p.posy"):
        one = Remark("made-up", "a remark", line.head, figure=0.4, bound=0.5, seen="0.40 mm", feature=name, parts=(name,))
        moves[name] = {lever.key for lever in levers(built.piece, one, text) if not lever.now}
    assert moves["centre"] == {"out"}
    assert moves["side"] == {"out", "right"}


@pytest.mark.parametrize("remedy", ["say 'blind', if it is closed on purpose", "set both loops level", ""])
def test_what_is_left_to_the_reader_is_not_done(remedy):
    line = parse(PLATE, "p.posy")[0].lines[1]
    assert done(PLATE, Remark("made-up", "a remark", line.head, remedy=remedy)) is None


ROW = """bar frame: size 18 x 6 x 2.6 mm
stone row: round 2.8 mm, gem diamond, row 5, every 3.02 mm, at face of frame, level table
seat: for row, in frame
prong claws: for row, shared, bite 18 %, wire 0.5 mm
bail loops: at ends of frame, wire 0.6 mm
"""


def test_what_goes_by_the_same_change_is_told_with_it_and_as_grave():
    found = told(ROW)
    assert set(found) == {"thin-prong", "thin-loop"}
    assert found["thin-prong"].then.startswith("tried, it is gone, and gone with it, told here alone: line 4, claws hardly laps over")
    assert found["thin-loop"].then == "tried, it is gone"


@pytest.mark.parametrize(("path", "wide", "said"), [
    ("inside 58 mm, outset 1 mm, arc -90 deg to 90 deg", 4, "cut it away under the stone: write seat: for bud, in stem"),
    ("inside 58 mm, outset 1 mm, arc -90 deg to 90 deg", 2.6, "raise the stones by 1.28 mm; then say 'blind' in the line of head"),
    ("through (-2.6, 0) to (2.6, 0 mm)", 2.6, "raise the stones by 1.29 mm; then say 'blind' in the line of head"),
])  # fmt: skip
def test_a_stone_in_narrow_wire_is_cut_free_where_that_leaves_metal_and_else_raised(path, wide, said):
    """Along an arc as round a whole ring; a piece no longer than its cup is closed below."""
    text = f"path way: {path}\nwire stem: along way, flat {wide} x 2 mm\n"
    text += "stone bud: round 4.2 mm, gem garnet, at middle of stem, out 1.7 mm\nbezel head: for bud, on stem\n"
    found = told(text)["stone-in-metal"]
    assert found.remedy.startswith(said)
    assert found.then.startswith("tried, it is gone")


def test_no_remedy_tried_that_brings_another_is_called_a_cure():
    """A hole made smaller leaves the wall, but the ring's wire then does not go through."""
    text = """disc tag: across 12 mm, thick 1.2 mm
drill eye: at face of tag, up 4.6 mm, across 1.5 mm, in tag
jump-ring link: hangs-in eye, wire 1.2 mm, inside 5 mm
"""
    then = told(text)["thin-wall"].then
    assert then.startswith("tried, it is gone") or "another comes" in then


CATCH = """casting base
  bar shell: size 20 x 10 x 3 mm
casting lid
  bar cover: size 20 x 10 x 3 mm, right 20.4 mm
  ball stop: at left of cover, across 2 mm, left 0.4 mm
"""


def test_a_figure_is_sought_where_no_remedy_names_one_that_will_do():
    found = told(CATCH)["castings-meet"]
    assert found.then == "tried, it is gone"
    assert found.remedy.startswith(("write ", "move ")) and " mm" in found.remedy


def test_a_text_that_is_not_made_and_a_piece_that_is_sound_are_left(monkeypatch):
    monkeypatch.setattr(trials.Bench, "trial", lambda *_: pytest.fail("nothing is to be tried"))
    assert "unknown-word" in told("brick wall: size 2 x 2 x 2 mm\n")
    assert told("disc tag: across 12 mm, thick 1.4 mm\n") == {}


def test_without_tries_left_all_is_told_as_it_is(monkeypatch):
    monkeypatch.setattr(trials, "WORK", 0)
    found = told(ROW)
    assert len(found) == 3 and not any(one.then for one in found.values())

LOOPED = """stone garnet: cushion 6 x 6 mm, gem garnet
basket cup: for garnet
bail lower: at bottom of cup, left 0.5 mm, stand, wire 1 mm, inside 2.2 mm
"""
FLOATING = """bar frame: size 20 x 7 x 2.2 mm
stone row: round 2 mm to 3.5 mm to 2 mm, gem sapphire, at face of frame, out 2.2 mm, row 5, gap 0.25 mm
seat: for row, in frame
prong claws: for row, shared, wire 0.8 mm
"""
LOCKET = """casting base
  disc shell: across 20 mm, thick 3 mm, inward 3 mm
  pierce well: round 17.4 mm, at face of shell, deep 1.8 mm, in shell
  locket-catch snap: at right of shell, in shell, reach 1.7 mm, bump 0.5 mm
casting lid
  disc cover: across 20 mm, thick 3.4 mm
  hollow photo: in cover, wall 1.8 mm, roof 1.4 mm, rebate 0.6 x 0.8 mm
  locket-catch dimple: at right of cover, in cover, other, tilt 180 deg, reach 1.7 mm, bump 0.5 mm
"""


def test_a_loop_is_moved_off_a_stone_the_least_way_and_told_as_it_is_seen():
    """Metal that the loop stood in is there for it when it is moved by less than its wire."""
    found = told(LOOPED)["stone-in-metal"]
    assert re.match(r"move lower 0\.\d\d mm (inward|down: write right 0\.\d\d mm in its line)", found.remedy)
    assert found.then == "tried, it is gone"


def test_a_row_that_floats_is_let_down_by_all_it_floats():
    found = told(FLOATING)
    assert set(found) == {"unattached-bead"}
    assert found["unattached-bead"].remedy.startswith("let row down by 2.20 mm")
    assert found["unattached-bead"].then == "tried, it is gone"


def test_halves_that_are_shut_are_not_moved_apart():
    """The one lies on the other: the lip stands farther in, by its own wall, and the lid stays where it is."""
    found = told(LOCKET)["castings-meet"]
    assert found.remedy == "write round 16.48 mm in the line of base.well" and found.then == "tried, it is gone"


def test_remedies_are_worked_out_for_what_is_told_alone(monkeypatch):
    """Six cups, one bail in each: the way off its stone is looked for once, not for each cup in each trial."""
    asked = []
    off = off_stones.off_the_stone
    monkeypatch.setattr(off_stones, "off_the_stone", lambda *told: asked.append(told) or off(*told))
    text = "stone six: round 3 mm, gem garnet, circle 6, radius 4 mm\ncollet cups: for six\nbail eye: at top of cups\n"
    found = build("p.posy", files=Texts({"p.posy": text})).faults
    (one,) = (one for one in found if one.code == "stone-in-metal")
    assert one.count == 6 and one.remedy and len(asked) <= 1
    untold = build("p.posy", files=Texts({"p.posy": text}), told=False).faults
    assert {one.code for one in untold} == {one.code for one in found} and len(asked) <= 1


def test_a_figure_sought_is_the_least_that_cures():
    """A band with bearings too near its edges: by what 0.07 mm changes 2.28 mm is reckoned, and less does."""
    text = 'piece "p"\n  metal gold-750-yellow\nband ring: finger us 6, wide 1.9 mm, thick 1.8 mm, profile d\n' \
        "stone melee: round 1.3 mm, gem diamond, inward 0.15 mm, along around of ring, gap 0.25 mm, stretch -18 % to 18 %\n" \
        "bead-set grains: for melee, in ring\n"
    (one,) = told(text).values()
    assert one.code == "thin-beside" and one.then.startswith("tried, it is gone")
    assert one.remedy.startswith("write wide 2.15 mm in the line of ring")
    assert "thin-beside" in told(text.replace("wide 1.9 mm", "wide 2.1 mm"))


LEAF = """spots axis: left 11 mm, turn 90 deg
casting base
  plate shell: heart 24 x 24 mm, upright, thick 2.8 mm, inward 2.8 mm
  hinge half: at axis, in shell, long 8 mm, pin-in
  locket-catch snap: at right of shell, in shell, reach 1.3 mm
"""


@pytest.mark.parametrize(("remedy", "old", "new"), [
    ("turn the place of both halves by 24 deg more: the edge runs so there", "turn 90 deg", "turn 114.00 deg"),
    ("write reach 1.5 mm, bump 0.3 mm in both halves", "reach 1.3 mm", "reach 1.5 mm, bump 0.3 mm"),
])  # fmt: skip
def test_what_is_said_of_both_halves_is_done(remedy, old, new):
    line = dict(heads_of(LEAF, "p.posy"))["base.half" if "turn" in remedy else "base.snap"].head
    assert done(LEAF, Fault("expectation", "", line, remedy=remedy)) == LEAF.replace(old, new)


def test_of_a_cured_remark_no_way_is_told_that_is_none_and_none_twice():
    idle = [Way("move a 1 mm right", {"p": "a"}), Way("make it 2.17 mm tall", {"p": "b"})]
    remedy = "move a 1 mm right, or make it 2.17 mm tall, or say 'style heavy'"
    said = told_anew(remedy, "write tall 2.17 mm", {"p": "b"}, idle)
    assert said == "write tall 2.17 mm; or say 'style heavy'"
    assert told_anew(remedy, "make it 2.17 mm tall", {}, idle[:1]) == "make it 2.17 mm tall; or say 'style heavy'"


def test_what_hides_a_line_is_no_cure():
    """A rope sunk into a plate is made and not seen."""
    text = "plate face: rectangle 16 x 13 mm, thick 2.8 mm\nball knob: across 2 mm, out {} mm\n"
    before, after = (build("p.posy", files=Texts({"p.posy": text.format(out)})) for out in (2.8, 0.4))
    assert unseen(before, after, 0.1) == ["knob"] and unseen(after, before, 0.1) == []


def test_a_line_goes_into_the_block_it_is_told_for():
    text = "casting top\n  disc tag: across 12 mm, thick 1.4 mm\n\ncasting end\n  ball knob: across 2 mm\n"
    line = parse(text, "p.posy")[0].lines[0].head
    remedy = "write drill eye: in tag, below both lines in the block of top"
    new = done(text, Remark("made-up", "", line, remedy=remedy))
    assert new == text.replace("1.4 mm\n", "1.4 mm\n  drill eye: in tag\n")


SPLIT = """split-shank shank: finger us 6, wide 3 mm, thick 1.9 mm, gap 2.4 mm, profile flat
stone rose: cushion 7 x 7 mm, gem garnet, on shank, over-finger 6.5 mm
basket head: for rose, on shank, double
stone melee: round 1.2 mm, gem diamond, along arms of shank, gap 0.15 mm, stretch 25 % to 85 %
bead-set grains: for melee, in shank
"""


def test_what_cures_and_brings_another_is_told_with_what_answers_that():
    """A wider shank brings the stones into the head, a little more between them takes them off it."""
    found = told(SPLIT)["thin-beside"]
    assert re.match(r"write wide 3\.\d\d mm in the line of shank; then write gap 0\.\d\d mm in the line of melee", found.remedy)
    assert found.then == "tried, it is gone"
    new = done(SPLIT, found)
    assert "wide 3 mm" not in new and "gap 0.15 mm" not in new and told(new) == {}


def test_a_way_to_a_text_that_is_not_made_is_none():
    """A roof that takes the room of the lip of the lid's catch."""
    remark = Remark("thin-loop", "a remark", parse(ROW, "p.posy")[0].lines[4].head, remedy="write wire 30 mm, or wire 0.9 mm")
    bench = trials.Bench(lambda texts, _: build("p.posy", files=Texts(texts)), build("p.posy", files=Texts({"p.posy": ROW})))
    assert bench.cure(remark, bench.built, bench.texts) is None
    (_, came), *_ = bench.failed[outcomes.gist(remark)]
    assert came.trouble.startswith("tried, it is no way out: then line 5")


def test_a_figure_named_once_others_are_cured_is_not_told_beside_its_own():
    line = parse(PLATE, "p.posy")[0].lines[1]
    one = Remark("tips-forward", "it tips", line.head, remedy="move the loop 0.10 mm out or more, or higher")
    later = Way("move the loop 3.75 mm out or more, or higher", {})
    told = trying._failed(one, [(later, outcomes.Outcome(trouble="tried, it goes, but another comes: line 2"))])
    assert (told.remedy, told.then) == (one.remedy, "tried with what else is told, it goes, but another comes: line 2")


def test_what_a_line_for_several_is_to_do_is_told_for_all_of_them():
    each = {"left": "move left 0.09 mm inward; or say 'hole 40 %'", "right": "move right 0.07 mm inward"}
    told = for_all(each["left"], each)
    assert told == "move left 0.09 mm inward; then move right 0.07 mm inward; or say 'hole 40 %'"
    each["right"] = each["right"].replace("0.07", "0.09")
    assert for_all(each["left"], each) == "move left and right 0.09 mm inward; or say 'hole 40 %'"


def test_remarks_that_write_one_clause_name_the_figure_that_answers_all():
    path, span = "p.posy", next(iter(dict(heads_of(PLATE, "p.posy")).values())).span
    said = ("write thick 1.60 mm in the line of tag", "write thick 2.00 mm in the line of tag; or take wire",
            "write thick 9.00 mm in the line of tag")
    faults = [Remark(f"rule-{k}", "", span, Level.WARNING, remedy=one) for k, one in enumerate(said)]
    told = [one.remedy for one in agreed(faults, {path: PLATE})]
    assert told == ["write thick 2.00 mm in the line of tag", *said[1:]]


def test_no_way_that_makes_another_remark_worse_is_a_cure():
    known, worse = (Remark("loose", "", None, Level.FAULT, figure=far, bound=0.0) for far in (0.1, 0.4))
    assert outcomes.fresh_by([known], [worse], False) == [worse]
    assert not outcomes.fresh_by([worse], [known], False)


def test_metal_that_is_the_same_about_the_place_of_a_remark_did_not_cure_it():
    text = "bar ground: size 10 x 6 x 1.2 mm\nbar a: size 3 x 4 x 2 mm, left 1.57 mm\nbar b: size 3 x 4 x 2 mm, right 1.57 mm\n"
    before, other, moved = (
        build("p.posy", files=Texts({"p.posy": one}))
        for one in (text, text.replace("10 x 6", "10 x 6.2"), text.replace("left 1.57", "left 1.6"))
    )
    (gap,) = [one for one in before.faults if one.code == "closing-gap"]
    assert is_same_there(before, other, gap)
    assert not is_same_there(before, moved, gap)


def test_what_was_told_before_is_not_new_because_a_line_put_in_takes_part_in_it():
    """A seat that a remedy cuts is one part more of a thin wall that stood there."""
    before = Remark("thin-beside", "thin", figure=0.13, bound=0.3, place=(1.0, 0.0, 0.0), parts=frozenset({"boat"}))
    after = Remark("thin-beside", "thin", figure=0.13, bound=0.3, place=(1.1, 0.0, 0.0), parts=frozenset({"boat", "seat"}))
    worse = Remark("thin-beside", "thin", figure=0.05, bound=0.3, place=(1.1, 0.0, 0.0), parts=frozenset({"boat", "seat"}))
    else_where = Remark("thin-beside", "thin", figure=0.2, bound=0.3, place=(5.0, 0.0, 0.0), parts=frozenset({"boat", "seat"}))
    assert outcomes.fresh_by([before], [after], hints=False) == []
    assert outcomes.fresh_by([before], [worse, else_where], hints=False) == [worse, else_where]
