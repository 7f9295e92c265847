"""What metal is for: by the word that made it, by words of one's own, and by the geometry alone."""

from __future__ import annotations

import pytest

from posy.compiler.bench.roles import SAID, Role
from posy.compiler.judging import judge
from posy.compiler.making import pipeline
from posy.compiler.words.standard import all_words
from posy.lang.loader import Texts


def laid_out(text: str):
    judge.STRICT = True
    _, piece = pipeline._laid_out("p.posy", {}, None, Texts({"p.posy": text}))
    return piece


def codes(text: str, metal: bool = False) -> list[str]:
    judge.STRICT = True
    make = pipeline.build if metal else pipeline.check
    faults = make("p.posy", files=Texts({"p.posy": text})).faults
    assert not [f for f in faults if f.code == "unknown-role"]
    return [fault.code for fault in faults]


def grips(text: str) -> set[tuple[str, str]]:
    """(line of a prong, line of a stone) wherever the rules see a prong at a stone."""
    piece = laid_out(text)
    return {
        (piece.call(grip.feature).name.split(".")[0], piece.call(int(piece.stones.line[grip.stone])).name)
        for grip in piece.grips
    }  # fmt: skip


def test_roles_a_text_may_name_are_names_and_the_standard_words_use_them():
    used = {role for word in all_words().values() for role in word.roles}
    assert used <= set(Role)
    assert set(SAID) <= used
    assert all(role.replace("-", "").isalpha() for role in SAID)


def test_every_standard_word_that_is_given_stones_holds_them_or_is_a_finding_on_their_heads():
    for word in all_words().values():
        given = any(take.kind.value == "stones" for take in word.takes)
        if word.body is not None and given:
            assert {Role.SETTING, Role.FINDING} & word.roles, word.name


TWO = """stone centre: round 5 mm, gem sapphire
stone near: round 1.5 mm, gem diamond, right 3.6 mm
"""


def test_a_prong_is_judged_against_the_stones_it_is_for():
    assert grips(TWO + "prong claws: for centre, count 4, start 0 deg, wire 1 mm\n") == {("claws", "centre")}


def test_bare_rods_are_judged_by_where_they_stand():
    rods = "rod claws: at (2.9 mm, 0 mm, 0 mm - 1.5 mm), wire 0.9 mm, long 4 mm\n"
    assert grips(TWO + rods) == {("claws", "centre"), ("claws", "near")}


def test_a_word_of_ones_own_says_what_it_is_for():
    body = """  takes for: stones, needed
  rod post: at (2.9 mm, 0 mm, 0 mm - 1.5 mm), wire 0.9 mm, long 4 mm
"""
    silent = f"word claw\n{body}{TWO}claw claws: for centre\n"
    said = f"word claw\n  serves as setting, prong\n{body}{TWO}claw claws: for centre\n"
    assert grips(silent) == {("claws", "centre"), ("claws", "near")}
    assert grips(said) == {("claws", "centre")}


def test_what_a_word_is_for_goes_for_the_words_it_is_made_of():
    text = """word claw
  takes for: stones, needed
  prong inner: for for, count 4, start 0 deg, wire 1 mm
"""
    assert grips(f"{text}{TWO}claw claws: for centre\n") == {("claws", "centre")}


def test_stones_of_several_lines_and_single_stones_are_told_apart():
    text = """word pair
  stone first: round 2 mm, gem diamond
  stone second: round 2 mm, gem diamond, right 3 mm
pair stones
stone third: round 2 mm, gem diamond, right 1.5 mm, up 2 mm
prong claws: for stones, count 4
each one in third
  prong own: for one, count 3
"""
    found = grips(text)
    assert ("own", "third") in found
    assert ("claws", "third") not in found
    assert {("claws", "stones.first"), ("claws", "stones.second")} <= found


def test_copies_keep_what_they_are_for_and_bare_copies_go_by_where_they_stand():
    text = """stone left: round 3 mm, gem garnet, left 4 mm
prong claws: for left, count 4
"""
    alone = text + "stone right: round 3 mm, gem garnet, right 4 mm\ncopy again: of claws, right 8 mm\n"
    assert grips(alone) == {("claws", "left"), ("claws", "right")}
    group = """workpiece half
  stone left: round 3 mm, gem garnet, left 4 mm
  prong claws: for left, count 4
mirror other: of half, swap left-right
"""
    piece = laid_out(group)
    assert len(piece.stones.kind) == 2
    assert set(piece.stones.line.tolist()) == {int(piece.stones.feature[0])}
    assert {grip.stone for grip in piece.grips} == {0, 1}


def test_a_post_for_the_ear_is_no_prong():
    near = TWO + "disc pad: across 8 mm, thick 1 mm, under centre, inward 3 mm\n"
    way = "at (2.7 mm, 0 mm, 0 mm - 3 mm), wire 0.8 mm, long 8 mm"
    assert ("post", "centre") in grips(f"{near}rod post: {way}\n")
    assert grips(f"{near}ear-post post: {way}\n") == set()


def test_a_word_serves_as_a_post_by_saying_so():
    peg = "  takes thick: length, default 0.5 mm\n  rod post: wire thick, long 10 mm\n"
    plate = "disc medal: across 9 mm, thick 1.2 mm\n"
    assert "thin-post" not in codes(f"word spike\n{peg}{plate}spike one\n")
    found = codes(f"word spike\n  serves as finding, ear-post\n{peg}{plate}spike one\n")
    assert "thin-post" in found


def test_figures_are_handed_through_words():
    piece = laid_out("disc medal: across 12 mm, thick 1.2 mm\near-post post: at back of medal, long 14 mm\n")
    stem = next(f for f, call in piece.with_role(Role.EAR_POST) if call.name == "post.stem")
    call = piece.call(stem.index)
    assert call.get("long") is None
    assert call.figure("long") == 14
    assert call.figure("wire") == 0.8
    assert call.figure("height") is None


@pytest.mark.parametrize(("setting", "broken"), [("serves as setting", False), ("", True)])
def test_only_a_setting_may_leave_its_own_seat_open(setting, broken, monkeypatch):
    monkeypatch.setattr("posy.compiler.judging.causes._follow", frozenset)  # each remark told by itself
    text = f"""word tray
  {setting or 'help "a plate under a stone"'}
  takes for: stones, needed
  plate base: rectangle 3.2 x 8 mm, thick 2.4 mm, under for
  seat rest: for for, in base
stone one: round 4 mm, gem garnet
tray holder: for one
"""
    assert ("broken-seat" in codes(text, metal=True)) is broken
    assert "stone-near-edge" in codes(text)


def test_a_thin_collet_is_a_thin_bezel():
    cup = "stone one: round 4 mm, gem garnet\ncollet cup: for one, wall {} mm\n"
    assert "thin-bezel" in codes(cup.format(0.44))
    assert "thin-bezel" not in codes(cup.format(0.52))
    assert "thick-bezel" in codes(cup.format(0.76))
    assert {"thick-bezel", "thin-bezel", "low-bezel", "high-bezel"}.isdisjoint(codes(cup.format(0.7)))
