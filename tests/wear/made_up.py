"""Whole pieces made up at random from the word records: what a jeweler might write, and much that none would."""

from __future__ import annotations

import random
from collections.abc import Sequence

from posy.compiler.bench.roles import SAID
from posy.compiler.making.pipeline import all_words, check
from posy.lang.faults import is_fatal
from posy.lang.loader import Texts
from posy.lang.placing import PLACING
from posy.lang.words import Kind, Take, Word

METALS = "silver-925", "gold-585-yellow", "gold-750-white", "platinum-950", "bronze"
GEMS = "garnet", "diamond", "sapphire", "opal", "emerald"
BODIES = (
    "bar {n}: size {a} x {b} x {c} mm, corner 0.5 mm",
    "disc {n}: across {a} mm, thick {c} mm",
    "dome {n}: across {a} mm, height {c} mm",
    "band {n}: finger us 7, wide {b} mm, thick {c} mm",
    "tube {n}: outside {a} mm, inside {b} / 2 * 1 mm, long {c} mm",
    "plate {n}: marquise {a} x {b} mm, thick {c} mm",
)  # fmt: skip


class Piece:
    """One made-up text; the same for the same ``seed``."""

    def __init__(self, seed: int) -> None:
        self.chance = random.Random(seed)
        self.bodies: list[str] = []
        self.stones: list[str] = []
        self.paths: list[str] = []
        self.measures: list[str] = []
        self.count = 0

    def text(self) -> str:
        """The whole of it."""
        pick = self.chance
        lines = [f'piece "Made-up {pick.randint(1, 99)}"', f"  metal {pick.choice(METALS)}"]
        lines += [""] * pick.randint(0, 2)
        for _ in range(pick.randint(0, 2)):
            name = self.name("m")
            lines.append(f"measure {name} = {self.figure(0.5, 4)} mm, from 0.1 mm to 9 mm")
            self.measures.append(name)
        lines += self.body()
        for _ in range(pick.randint(1, 6)):
            for _ in range(3):  # most guesses at a word are a fault, and one fault is enough for a piece
                known = list(self.bodies), list(self.stones), list(self.paths)
                more = pick.choice((self.body, self.setting, self.odd, self.odd, self.odd, self.block))()
                if pick.random() < 0.04 or not _fatal("\n".join([*lines, *more, ""])):
                    lines += more
                    break
                self.bodies, self.stones, self.paths = known
        if pick.random() < 0.3:
            lines.insert(pick.randint(2, len(lines)), f"# a remark {pick.randint(1, 9)}")
        return "\n".join(lines) + "\n"

    def name(self, start: str) -> str:
        """A new name."""
        self.count += 1
        return f"{start}{self.count}"

    def figure(self, least: float, most: float) -> str:
        """A figure, most often a plain one."""
        value = round(self.chance.uniform(least, most), self.chance.choice((0, 1, 1, 2)))
        return f"{max(value, round(least, 2)):g}"

    def body(self) -> list[str]:
        """A body, here or there."""
        name = self.name("b")
        a, b, c = self.figure(4, 20), self.figure(2, 8), self.figure(0.8, 3)
        line = self.chance.choice(BODIES).format(n=name, a=a, b=b, c=c)
        if self.bodies and self.chance.random() < 0.6:
            line += f", at {self.chance.choice(('face', 'ends', 'top'))} of {self.chance.choice(self.bodies)}"
        if self.chance.random() < 0.3:
            line += f", turn {self.chance.randint(-180, 180)} deg"
        self.bodies.append(name)
        if self.chance.random() < 0.3:
            self.paths.append(self.name("p"))
            return [line, f"path {self.paths[-1]}: through (0, 0) to ({a} mm, {b} mm) to ({self.figure(8, 12)} mm, 0 mm)"]
        return [line]

    def setting(self) -> list[str]:
        """Stones and what holds them."""
        pick, name = self.chance, self.name("s")
        size = self.figure(1.5, 5)
        where = f"at face of {self.bodies[-1]}, out 0.2 mm" if pick.random() < 0.7 else f"up {self.figure(0, 9)} mm"
        laid = pick.choice(("", f", row {pick.randint(2, 5)}, gap 0.3 mm", f", circle {pick.randint(3, 7)}, radius 6 mm"))
        lines = [f"stone {name}: round {size} mm, gem {pick.choice(GEMS)}, {where}{laid}"]
        self.stones.append(name)
        for word in pick.sample(("seat", "prong", "bezel", "flush", "basket", "bead-set"), pick.randint(1, 2)):
            held = f", in {self.bodies[-1]}" if word in ("seat", "flush", "bead-set") else ""
            lines.append(f"{word} {self.name('h')}: for {name}{held}")
        return lines

    def odd(self) -> list[str]:
        """Any word there is with any clauses it takes."""
        words = all_words()
        word = words[self.chance.choice(sorted(words))]
        name = self.name("o")
        clauses = [self.clause(take, word) for take in self.chosen(word)]
        if word.places and self.chance.random() < 0.5:
            clauses.append(self.clause(self.chance.choice(PLACING), word))
        said = ", ".join(one for one in clauses if one)
        if "serves" not in word.name and word.stands:
            self.bodies.append(name)
        return [f"{word.name} {name}: {said}" if said else f"{word.name} {name}"]

    def chosen(self, word: Word) -> Sequence[Take]:
        """What the word needs, one of each choice of clauses, and some of the rest."""
        needed = [take for take in word.takes if take.needed]
        for group in word.one_of:
            needed += [take for take in word.takes if take.name == self.chance.choice(group)]
        rest = [take for take in word.takes if take not in needed]
        return list(dict.fromkeys([*needed, *self.chance.sample(rest, min(len(rest), self.chance.randint(0, 3)))]))

    def clause(self, take: Take, word: Word) -> str:
        """A clause with a value of its kind."""
        value = self.value(take, word)
        return take.name if value == "" else f"{take.name} {value}" if value is not None else ""

    def value(self, take: Take, word: Word) -> str | None:
        """A value that may be right; None where there is none to give."""
        pick = self.chance
        least = take.least if take.least is not None else take.over or 0.0
        most = min(take.most if take.most is not None else 8.0, 12.0)
        figure = self.figure(max(least, 0.0) or 0.3, max(most, least, 0.4))
        if take.like and pick.random() < 0.7:
            return take.like.removeprefix(f"{take.name} ")
        if self.measures and take.kind is Kind.LENGTH and pick.random() < 0.2:
            return f"{pick.choice(self.measures)} * {self.figure(0.2, 2)}"
        match take.kind:
            case Kind.LENGTH:
                return f"{figure} mm"
            case Kind.ANGLE:
                return f"{pick.randint(-180, 180)} deg"
            case Kind.MASS:
                return f"{figure} g"
            case Kind.COUNT:
                return str(pick.randint(max(int(least), 1), max(int(min(most, 7)), int(least), 1)))
            case Kind.NUMBER:
                return figure
            case Kind.PERCENT:
                return f"{pick.randint(1, 99)} %"
            case Kind.TEXT:
                return f'"{pick.choice(("us 7", "Ada", "7", "Ø"))}"'
            case Kind.FLAG:
                return ""
            case Kind.CHOICE:
                return pick.choice(list(take.choices)) if take.choices else pick.choice(METALS)
            case Kind.SIZE | Kind.STONE_SIZE:
                return " x ".join(self.figure(0.8, 6) for _ in range(pick.choice(take.parts or (1,)))) + " mm"
            case Kind.COUNTS:
                return f"{pick.randint(1, 3)} x {pick.randint(1, 3)}"
            case Kind.LENGTHS:
                return f"{figure} mm to {self.figure(0.5, 4)} mm"
            case Kind.POINTS:
                return f"(0, 0) to ({self.figure(2, 6)}, {self.figure(1, 6)} mm) over (9, 2 mm) to (12, 5 mm)"
            case Kind.PLACES:
                return f"{pick.choice(('face', 'ends', 'back', 'top'))} of {pick.choice(self.bodies)}"
            case Kind.PATH:
                return pick.choice((f"rim of {pick.choice(self.bodies)}", *self.paths))
            case Kind.PART:
                return pick.choice(self.bodies)
            case Kind.STONES:
                return pick.choice(self.stones) if self.stones else None
        return f"{figure} mm"

    def block(self) -> list[str]:
        """Lines in a block, or a word of its own."""
        pick, kept = self.chance, (list(self.bodies), list(self.stones), list(self.paths))
        inner = [f"  {line}" for line in pick.choice((self.body, self.setting, self.odd))()]
        self.bodies, self.stones, self.paths = kept
        kind = pick.choice(("each", "when", "workpiece", "casting", "word"))
        if kind == "each":
            return [f"each k from 1 to {pick.randint(1, 3)}", *inner]
        if kind == "when":
            return [f"when {pick.randint(1, 3)} < 3", *inner, "otherwise", "  ball: across 2 mm"]
        if kind == "word":
            role = pick.choice([str(one.value) for one in SAID])
            own = [f"word w{self.count}", f"  serves as {role}", "  takes wide: length, default 2 mm, from 1 mm to 4 mm",
                   "  ball: across wide", f"w{self.count} own{self.count}: at face of {self.bodies[0]}, wide 3 mm"]
            return own
        return [f"{kind} {self.name('g')}: up {self.figure(0, 6)} mm", *inner]


def _fatal(text: str) -> bool:
    """Whether a text has a fault before there is metal."""
    return is_fatal(check("a.posy", files=Texts({"a.posy": text})).faults)


def piece(seed: int) -> str:
    """A made-up text."""
    return Piece(seed).text()
