"""Texts with one value damaged at random, and whether any line of theirs does nothing and says nothing:
python tests/wear/silent.py [--texts N] [--first SEED]

A line of work is in the plan, and where it adds or cuts metal something of it is on the skin; or it bears a
remark, or the piece is refused."""

from __future__ import annotations

import random
import re
import sys
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from posy.compiler.bench.plan import is_by_hand
from posy.compiler.making.pipeline import all_words, build
from posy.compiler.making.result import Built
from posy.compiler.making.session import _should_cut
from posy.compiler.pages.scenes import PIECE, scenes
from posy.lang import tree
from posy.lang.faults import Span, is_fatal
from posy.lang.loader import Texts

HOME = Path(__file__).parents[2]
FIGURE = re.compile(r"(?<![\w.\"-])\d+(?:\.\d+)?(?= ?(?:mm|deg|%|,|$))")
CLAUSE = re.compile(r", [a-z-]+ [^,\n]+")
FACTORS = "0", "0.01", "0.3", "3", "20"


def texts() -> Iterator[tuple[str, dict[str, str]]]:
    """The examples, and the scenes of the reference, by name."""
    home = HOME / "examples"
    files = {str(path.relative_to(home)): path.read_text("utf-8") for path in sorted(home.rglob("*.posy"))}
    yield from ((name, {**files, PIECE: text}) for name, text in files.items() if "/" not in name)
    for name, scene in scenes().items():
        word = all_words().get(name)
        yield name, dict(scene.with_example(word.example if word else ""))


def damaged(text: str, chance: random.Random) -> str:
    """``text`` with a figure changed, a clause left out, or one name put for another."""
    how = chance.choice(("figure", "figure", "clause", "name"))
    found = list((CLAUSE if how == "clause" else FIGURE).finditer(text))
    if how == "name":
        names = sorted(set(re.findall(r"^\s*[a-z-]+ ([a-z][\w-]*):", text, re.MULTILINE)))
        found = [one for name in names for one in re.finditer(rf"(?<=[ (]){name}(?=[,)\s])", text)]
    if not found:
        return text
    one = chance.choice(found)
    new = "" if how == "clause" else chance.choice(names) if how == "name" else ""
    if how == "figure":
        new = f"{float(one[0]) * float(chance.choice(FACTORS)):.4g}"
    return text[: one.start()] + new + text[one.end() :]


def idle(built: Built) -> list[str]:
    """The lines of a text that are done, leave nothing in the plan or on the metal, and bear no remark."""
    if built.piece is None or is_fatal(built.faults):
        return [one.message for one in built.faults if one.code == "not-worked-out"]
    bench = built.piece.bench
    told = {span.line for one in built.faults for span in (*one.trail, one.span) if span is not None}
    shown = np.zeros(len(bench.lines) + 1)
    for part in built.parts:
        np.add.at(shown, part.owner, 1.0)
    work = {
        step.feature for step in bench.plan().steps
        if not is_by_hand(step) and bench.features[step.feature].source is None  # copies keep their owner
        and (step.work == "add" or _should_cut(bench, step.feature))
    }  # fmt: skip
    made: dict[Span, list[int]] = {}
    for k, call in enumerate(bench.lines):
        made.setdefault((*call.trail, call.span)[0], []).append(k)
    found = []
    for line in _lines(built.piece.source_lines._trees[PIECE].lines):
        mine, where = made.get(line.head, []), f"line {line.span.line}: {line.word.name}"
        if line.span.line in told:
            continue
        if not mine:
            found.append(f"{where} is not in the plan")
        elif built.parts and work.intersection(mine) and not shown[mine].any():
            found.append(f"{where} is not to be seen")
    return found


def _lines(lines: tuple[tree.Line, ...]) -> Iterator[tree.Feature]:
    for line in lines:
        if isinstance(line, tree.Feature):
            yield line
        elif isinstance(line, tree.Group):
            yield from _lines(line.lines)


def main(words: list[str]) -> int:
    count = int(words[words.index("--texts") + 1]) if "--texts" in words else 400
    first = int(words[words.index("--first") + 1]) if "--first" in words else 0
    known, bad = list(texts()), 0
    for seed in range(first, first + count):
        chance = random.Random(seed)
        name, files = chance.choice(known)
        text = damaged(files[PIECE], chance)
        made = build(PIECE, files=Texts({**files, PIECE: text}))
        for said in idle(made):
            bad += 1
            print(f"seed {seed} {name}: {said}\n{text}", flush=True)
    print(f"{count} texts, {bad} lines that do nothing and say nothing")
    return int(bad > 0)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
