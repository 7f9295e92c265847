"""A long-lived session after any edits gives the bytes of a session that begins with the text.

POSY_EDITS says how many random sequences of edits are tried (CI: 50; all 500 take some minutes)."""

from __future__ import annotations

import hashlib
import os
import random
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from posy.compiler.files.formats import Wanted
from posy.compiler.files.outputs import files_of
from posy.compiler.making.pipeline import build
from posy.compiler.making.result import Built
from posy.compiler.making.session import Session
from posy.lang.faults import is_fatal

SEQUENCES = int(os.environ.get("POSY_EDITS", "25"))
EDITS = 2
COARSE = 0.05  # mm: coarse curves keep the builds short, the work is the same


@dataclass
class Line:
    """A line of the text with figures to be drawn from ``figures``, left out or not."""

    text: str
    figures: tuple[tuple[float, ...], ...] = ()
    drawn: tuple[float, ...] = ()
    needed: bool = False
    there: bool = True

    def draw(self, dice: random.Random) -> None:
        self.drawn = tuple(dice.choice(choices) for choices in self.figures)

    def __str__(self) -> str:
        return self.text.format(*self.drawn)


def lines() -> list[Line]:
    """A piece of every kind of work: cuts, settings, beads, a group and its copy, two alloys."""
    size = 2.0, 2.2, 2.4, 2.6
    return [
        Line("# remark {0}", ((1, 2, 3),), needed=True),
        Line("measure long = {0}\nstone row: round {1} mm, gem garnet, row long, every 2.9 mm",
             ((3, 3, 10), (1.8, 2.0)), needed=True),
        Line("bar frame: size (long * 2.9 mm + {0} mm) x 5.4 x {1} mm, corner 0.5 mm, under row",
             ((6.3, 6.8), size), needed=True),
        Line("hollow back: in frame, wall {0} mm, roof 1 mm", ((0.9, 1.0),)),
        Line("seat: for row, in frame"),
        Line("drill hole: right {0} mm, up 1.6 mm, out 3 mm, across 0.7 mm, deep 5 mm", ((-1.0, 0.5, 2.0),)),
        Line("bead-line border: along rim of frame, bead {0} mm, inset 0.3 mm", ((0.4, 0.42),)),
        Line("prong claws: for row, count 4, wire {0} mm, foot 0.6 mm", ((0.6, 0.7),)),
        Line("ball knob: right {0} mm, up {1} mm, across {2} mm", ((-2.0, 1.0), (2.6, 3.0), (1.4, 2.0))),
        Line("workpiece wing: right (long * 1.45 mm + 4.15 mm)\n  ball body: across {0} mm\n  drill eye: across 0.5 mm, out 3 mm, in body",
             ((2.0, 2.4),), needed=True),
        Line("copy second: of wing, up {0} mm", ((1.5, 1.8, 4.0),)),
        Line("jump-ring loop: left (long * 1.45 mm + {0} mm), out 1 mm, wire 1 mm, inside 2 mm", ((4.05, 4.45),)),
        Line("disc spot: right 3 mm, out 0.5 mm, across {0} mm, thick 2.4 mm, metal gold-585-yellow", ((1.5, 2.0),)),
    ]


def edit(text: list[Line], dice: random.Random) -> list[Line]:
    """Change a figure, take a line out or back in, move one, or write a remark."""
    what = dice.choice(("figure", "figure", "out", "move", "remark"))
    free = [k for k, line in enumerate(text) if not line.needed]
    if what == "figure":
        dice.choice([line for line in text[1:] if line.figures]).draw(dice)
    elif what == "out":
        line = text[dice.choice(free)]
        line.there = not line.there
    elif what == "move":
        # Settings and beads change places: what is cut by what changes with it.
        a, b = sorted(dice.sample(range(3, 9), 2))
        text[a], text[b] = text[b], text[a]
    else:
        text[0].draw(dice)
    return text


def written(text: list[Line]) -> str:
    shown = [str(line) for line in text if line.there]
    return 'piece "Trial"\n  metal silver-925\n' + "\n".join(shown) + "\n"


def made(text: str, session: Session, folder: Path) -> Built:
    path = folder / "trial.posy"
    path.write_text(text, encoding="utf-8")
    return build(str(path), tolerance=COARSE, check_metal=False, session=session)


def digest(built: Built, *, files: bool) -> str:
    total = hashlib.sha256()
    for part in built.parts:
        for array in (part.points, part.triangles, part.owner):
            total.update(array.tobytes())
        total.update(repr((part.metal, part.volume, part.mesh_volume, part.error)).encode())
    total.update(repr([(fault.code, fault.span) for fault in built.faults]).encode())
    if files and not is_fatal(built.faults):
        found, _ = files_of(built, "trial", Wanted(("stl", "3mf"), 0.0, False), None)
        for name, content in sorted(found.items()):
            total.update(name.encode() + content)
    return total.hexdigest()


def sequences() -> Iterator[tuple[int, list[str]]]:
    """Texts after each edit of each sequence."""
    for number in range(SEQUENCES):
        dice = random.Random(number)
        text = lines()
        for line in text:
            line.draw(dice)
            line.there = line.needed or dice.random() < 0.6
        if any(line.text.startswith("disc") and line.there for line in text) and dice.random() < 0.7:
            text[-1].there = False  # two alloys now and then only
        texts = [written(text)]
        for _ in range(EDITS):
            text = edit(text, dice)
            texts.append(written(text))
        yield number, texts


def test_kept_work_gives_the_same_bytes(tmp_path: Path) -> None:
    session = Session()
    sound, rebuilt = 0, []
    for number, texts in sequences():
        for step, text in enumerate(texts):
            last = step == len(texts) - 1
            warm = made(text, session, tmp_path)
            sound += bool(warm.parts)
            rebuilt.append(warm.steps_rebuilt / max(warm.steps_total, 1))
            if last:
                cold = made(text, Session(), tmp_path)
                assert digest(warm, files=last) == digest(cold, files=last), (number, step, text)
    # The trial means something: nearly all texts make metal, and much of the work was kept.
    assert sound >= 0.9 * SEQUENCES * (EDITS + 1)
    assert sum(rebuilt) / len(rebuilt) < 0.5


@pytest.mark.parametrize("number", range(3))
def test_the_order_of_edits_does_not_show(tmp_path: Path, number: int) -> None:
    dice = random.Random(1000 + number)
    text = lines()
    for line in text:
        line.draw(dice)
    goal = written(text)
    found = set()
    for trial in range(4):
        session = Session()
        other = random.Random(2000 + trial)
        copy = [Line(line.text, line.figures, line.drawn, line.needed, line.there) for line in text]
        for _ in range(trial):
            copy = edit(copy, other)
            made(written(copy), session, tmp_path)
        found.add(digest(made(goal, session, tmp_path), files=False))
    assert len(found) == 1
