"""A move that a remedy names is in the words that the line takes where it stands: followed, it joins."""

from __future__ import annotations

import re

import pytest
from texts import made

PLATE = "piece \"Tag\"\n  metal silver-925\nplate tag: rectangle 12 x 10 mm, thick 1.5 mm\n"
LINES = {
    "beside it": "disc bit: across 2 mm, thick 1 mm, right 7.4 mm",
    "at its right": "disc bit: across 2 mm, thick 1 mm, at right of tag, right 1.4 mm",
    "at its top": "disc bit: across 2 mm, thick 1 mm, at top of tag, right 1.4 mm",
    "at its left": "disc bit: across 2 mm, thick 1 mm, at left of tag, right 1.4 mm",
    "turned": "jump-ring bit: wire 1 mm, inside 2.8 mm, at (0, 6 mm), turn 90 deg, out 2.9 mm",
    "leaning": "jump-ring bit: wire 1 mm, inside 2.8 mm, at (8.2 mm, 1 mm), lean -90 deg",
    "on end": "bail bit: at top of tag, inside 3 mm, out 2.4 mm",
    "behind": "bail bit: at (0, 5 mm), inside 3 mm, inward 1.8 mm, turn 90 deg",
    "three at once": "jump-ring bit: row 3, every 4.5 mm, tilt 20 deg, wire 1 mm, inside 2 mm, out 3.1 mm",
    "in a turned block": "workpiece arm: right 6 mm, turn 30 deg\n  disc bit: across 2 mm, thick 1 mm, right 1.9 mm",
    "in a leaning block": "workpiece arm: right 7.2 mm, tilt 90 deg\n  disc bit: across 2 mm, thick 1 mm, down 1 mm",
}  # fmt: skip


def loose(text: str) -> list[str]:
    found = made(text).faults
    assert not [one for one in found if one.code in ("unreadable", "unknown-clause")]
    return [one.remedy or "" for one in found if one.code == "loose-piece"]


def moved(line: str, remedy: str) -> str:
    """A line with each of the moves of a remedy added to it."""
    (said,) = re.findall(r"^move [\w.-]+ (.+?), so that (?:[\w.-]+|all of it) overlaps tag", remedy)
    return _with(line, said)


@pytest.mark.parametrize("stands", LINES)
def test_a_part_moved_as_told_is_joined(stands: str) -> None:
    *before, line = LINES[stands].split("\n")
    start = "\n".join((PLATE.rstrip(), *before, ""))
    (remedy,) = loose(f"{start}{line}\n")
    assert loose(f"{start}{moved(line, remedy)}\n") == []


def test_what_the_other_stands_on_is_not_moved_but_the_other() -> None:
    """Moved, the foot would take along what stands at its face."""
    text = "disc foot: across 3 mm, thick 1 mm\ndisc stem: across 9 mm, thick 3 mm, at face of foot, out 1 mm"
    (remedy,) = loose(f"{text}\n")
    assert remedy.startswith("move stem 1.15 mm inward, so that it overlaps foot")
    assert loose(f"{text}, inward 1.15 mm\n") == []


STONES = """piece "Stones"
  metal gold-585-yellow
plate body: oval 9 x 8 mm, thick 1.2 mm
"""
MOVED = {
    "a pearl's cup": ("stone pearl: pearl 6 mm, gem pearl, down 5.5 mm, tilt 90 deg, out 0.6 mm\npearl-cup: for pearl",
                      "stone-in-metal"),
    "two stones": ("stone one: round 3 mm, gem ruby, at face of body\n"
                   "stone two: round 3 mm, gem ruby, at top of body, left 2.5 mm, tilt -90 deg, lean 0 deg", "stone-overlap"),
    "a stone as width x height": ("stone one: round 3 mm, gem ruby, right 3.2 mm\n"
                                  "stone two: pear 5 x 7 mm, gem ruby, turn -15 deg, up 0.8 mm", "stone-overlap"),
    "upright stones' heads": ("stone one: pear 5 x 7 mm, gem ruby, left 2.9 mm, up 0.8 mm, turn -15 deg\n"
                              "stone two: round 5.5 mm, gem ruby, right 2.9 mm, down 0.8 mm, inward 0.2 mm\n"
                              "basket head-one: for one, tip vee\nbasket head-two: for two", "no-tool-room"),
}  # fmt: skip


@pytest.mark.parametrize("what", MOVED)
def test_what_is_moved_as_told_is_told_no_more(what: str) -> None:
    lines, code = MOVED[what]

    def remedies(text: str) -> list[str]:
        found = made(text).faults
        return [one.remedy or "" for one in found if one.code == code]

    text = f"{STONES}{lines}\n"
    (remedy,) = remedies(text)
    mover = re.match(r"move (?:the )?(\w+)", remedy)
    assert mover is not None
    name = {"loop": "eye"}.get(mover[1], mover[1])
    line = next(one for one in lines.split("\n") if f" {name}:" in one)
    assert remedies(text.replace(line, _with(line, remedy))) == []


def _with(line: str, said: str) -> str:
    """A line moved as it is said: by the clauses to be written in it, where its place is turned, else by the way."""
    written = re.search(r"write ((?:\w+ -?[\d.]+ mm(?:, )?)+) in its line", said)
    for word, figure in re.findall(r"(\w+) (-?[\d.]+) mm", written[1] if written else ""):
        new = f"{word} {figure} mm"
        line = re.sub(rf"\b{word} [\d.]+ mm", new, line) if f" {word} " in line else f"{line}, {new}"
    steps = [] if written else re.findall(r"([\d.]+) mm (?:to the )?(right|left|up|down|out|inward)\b", said)
    assert written or steps, said
    for figure, word in steps:
        before = re.search(rf"\b{word} ([\d.]+) mm", line)
        if before is None:
            line += f", {word} {figure} mm"
        else:
            line = line.replace(before[0], f"{word} {float(before[1]) + float(figure):.2f} mm")
    return line


@pytest.mark.parametrize(
    ("lines", "told"),
    [
        ("tube one: outside 10 mm, inside 8 mm, long 3 mm\ntube two: outside 7.8 mm, inside 6 mm, long 3 mm\n"
         "bar tie: size 2 x 1.5 x 1 mm, right 4 mm\n", "widen the gap"),
        ("bar one: size 4 x 4 x 3 mm\nbar two: size 4 x 4 x 3 mm, right 4.1 mm\n"
         "bar tie: size 4 x 1.5 x 1 mm, right 2 mm\n", "move two 0.25 mm left"),
    ],
)  # fmt: skip
def test_a_ring_about_the_axis_of_another_is_not_moved_over_to_it(lines: str, told: str) -> None:
    found = made(lines).faults
    (remedy,) = [one.remedy or "" for one in found if one.code == "closing-gap"]
    assert told in remedy
