"""Whole pieces drawn from the records of the words: what each takes, of what kind, between what figures.

A piece is refused with a fault, or made of closed metal; never a traceback. Its text tidied means the same; made
by a session that has made all before it, it is what a session that begins with it makes, byte for byte.
POSY_PIECES says how many are drawn (CI: 80).
"""

from __future__ import annotations

import os
import random
from collections.abc import Callable

import trimesh

from posy.compiler.files.formats import Wanted
from posy.compiler.files.outputs import files_of
from posy.compiler.making.pipeline import all_words, build
from posy.compiler.making.result import Built
from posy.compiler.making.session import Session
from posy.compiler.terminal.child import result_of
from posy.lang.faults import is_fatal
from posy.lang.loader import Texts
from posy.lang.tidy import tidied
from posy.lang.words import Kind, Take, Word

PIECES = int(os.environ.get("POSY_PIECES", "40"))
COARSE = 0.05  # mm, keeps the makes short; the work is the same
OPENING = """piece "Trial"
  metal {}
stone gems: round 2.5 mm, gem garnet, row 3, every 3.4 mm
{}
seat: for gems
prong claws: for gems, count 4, wire 0.8 mm
"""
BASES = (
    "bar base: size 16 x 9 x 2.4 mm, under gems", "disc base: across 14 mm, thick 2.2 mm, under gems",
    "bar base: size 14 x 6 x 2 mm, under gems, corner 1 mm, soften 0.3 mm",
)  # fmt: skip
LEFT_OUT = ("piece", "stone", "sprue", "series", "expect")  # stand in every piece, or make no metal of it


class Drawn:
    """A text being drawn: the names that stand in it so far."""

    def __init__(self, number: int) -> None:
        self.dice = random.Random(number)
        self.names, self.lines = ["base"], 0
        metal = self.dice.choice(("silver-925", "gold-750-yellow", "platinum-950"))
        self.text = OPENING.format(metal, self.dice.choice(BASES))

    def line(self, word: Word) -> None:
        """A line of ``word`` with what it needs and some of what it may take."""
        self.lines += 1
        name, dice = f"n{self.lines}", self.dice
        chosen = {dice.choice(names) for names in word.one_of}
        said = []
        for take in word.takes:
            others = {one for names in word.one_of for one in names}
            wanted = take.name in chosen if take.name in others else take.needed or dice.random() < 0.2
            value = VALUES[take.kind](self, take) if wanted and take.kind in VALUES else None
            if value is not None:
                said.append(f"{take.name} {value}".rstrip())
        if word.places and dice.random() < 0.6:
            said += dice.choice((
                [f"right {dice.uniform(-6, 6):.2f} mm", f"out {dice.uniform(-1, 3):.2f} mm"],
                [f"at {dice.choice(('face', 'ends', 'back', 'rim'))} of {dice.choice(self.names)}"],
                [f"up {dice.uniform(-3, 3):.1f} mm", f"tilt {dice.randint(-90, 90)} deg"],
            ))  # fmt: skip
        dice.shuffle(said)
        between = dice.choice((", ", ",  ", ","))
        line = f"{word.name} {name}: {between.join(said)}" if said else f"{word.name} {name}"
        self.text += f"{line}{dice.choice(('', '   # as drawn', '  '))}\n{dice.choice(('', '', chr(10)))}"
        self.names.append(name)

    def length(self, take: Take) -> str:
        least = take.least if take.least is not None else take.over or 0.0
        most = take.most if take.most is not None else 50.0
        low, high = max(least, 0.2), max(min(most, 8.0), max(least, 0.2))
        value = self.dice.choice((low, high, *[self.dice.uniform(low, high) for _ in range(8)]))
        return f"{value:.2f} mm"


def _figure(low: float, high: float, form: str) -> Callable[[Drawn, Take], str]:
    """A figure within the take's bounds and these."""

    def value(drawn: Drawn, take: Take) -> str:
        least = low if take.least is None else take.least * (100 if form.endswith("%") else 1)
        most = high if take.most is None else take.most * (100 if form.endswith("%") else 1)
        return form.format(drawn.dice.uniform(least, max(least, min(most, high))))

    return value


VALUES: dict[Kind, Callable[[Drawn, Take], str]] = {
    Kind.LENGTH: Drawn.length,
    Kind.ANGLE: _figure(-90, 90, "{:.0f} deg"),
    Kind.COUNT: _figure(1, 12, "{:.0f}"),
    Kind.NUMBER: _figure(0, 4, "{:.1f}"),
    Kind.PERCENT: _figure(1, 99, "{:.0f} %"),
    Kind.TEXT: lambda drawn, take: drawn.dice.choice(('"AB"', '"ø 750"', '"Q"', '""')),
    Kind.FLAG: lambda drawn, take: "",
    Kind.CHOICE: lambda drawn, take: str(drawn.dice.choice(sorted(take.choices)[:40])) if take.choices else "silver-925",
    Kind.SIZE: lambda drawn, take: (
        " x ".join(f"{drawn.dice.uniform(0.4, 9):.1f}" for _ in range(drawn.dice.choice(take.parts or (2, 3)))) + " mm"
    ),
    Kind.COUNTS: lambda drawn, take: f"{drawn.dice.randint(1, 4)} x {drawn.dice.randint(1, 4)}",
    Kind.STONE_SIZE: lambda drawn, take: f"{drawn.dice.uniform(1, 5):.1f} mm",
    Kind.PLACES: lambda drawn, take: drawn.dice.choice((
        f"{drawn.dice.choice(('ends', 'face', 'back'))} of {drawn.dice.choice(drawn.names)}", "gems",
        f"({drawn.dice.uniform(-5, 5):.1f}, {drawn.dice.uniform(-3, 3):.1f}, 0 mm)",
    )),
    Kind.PATH: lambda drawn, take: f"{drawn.dice.choice(('rim', 'edge'))} of {drawn.dice.choice(drawn.names)}",
    Kind.PART: lambda drawn, take: drawn.dice.choice(drawn.names),
    Kind.STONES: lambda drawn, take: "gems",
}  # fmt: skip


def drawn(number: int) -> str:
    """The text of one piece."""
    words = [word for word in all_words().values() if word.name not in LEFT_OUT and word.group not in ("blocks", "stones")]
    text = Drawn(number)
    for word in text.dice.choices(words, k=text.dice.randint(1, 2)):
        text.line(word)
    return text.text


def made(text: str, session: Session) -> Built:
    return build("trial.posy", files=Texts({"trial.posy": text}), tolerance=COARSE, session=session)


def test_a_piece_is_refused_or_made_of_closed_metal() -> None:
    kept, sound = Session(), 0
    wanted = Wanted(("stl", "3mf"), 0.0, False)
    for number in range(PIECES):
        text = drawn(number)
        plain, again = made(text, Session()), made(text, kept)
        tidy, unread = tidied(text, "trial.posy")
        if not unread:
            assert tidied(tidy, "trial.posy") == (tidy, [])
        other = made(tidy, kept)
        codes = [[fault.code for fault in one.faults] for one in (plain, again, other)]
        assert codes[0] == codes[1] == codes[2], (number, text, codes)
        assert result_of(plain) == result_of(again) == result_of(other), (number, text)
        if not plain.parts:
            assert is_fatal(plain.faults), (number, text)
            continue
        for part in plain.parts:
            mesh = trimesh.Trimesh(part.points, part.triangles, process=False)
            assert mesh.is_watertight and mesh.is_winding_consistent and mesh.volume > 0, (number, text)
        if not is_fatal(plain.faults):
            sound += 1
            assert files_of(plain, "a", wanted, None)[0] == files_of(again, "a", wanted, None)[0], (number, text)
    assert sound > PIECES / 20  # the trial means something
