"""Every example with one of its figures changed, and each remedy told of that followed: python
tests/wear/remedies.py [--every N] [NAME ...]

A figure becomes 0.6 and 1.5 times what it is. Of each warning and fault that comes: whether its remedy names a
figure, whether the remark is gone when that is written, and whether another fault came; and how many texts are
told more than two remarks."""

from __future__ import annotations

import re
import sys
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from posy.compiler.judging.done import done
from posy.compiler.judging.remark import Remark
from posy.compiler.making.pipeline import build
from posy.lang.faults import Fault, Level
from posy.lang.loader import Texts

HOME = Path(__file__).parents[2] / "examples"
FIGURE = re.compile(r'(?<![\w."+-])(\d+(?:\.\d+)?)(?= (?:mm|deg|%))')
FACTORS = 0.6, 1.5
MANY = 2


def variants(text: str):
    """Each text with one figure changed, and what was changed."""
    start = 0
    for number, line in enumerate(text.split("\n"), 1):
        for found in FIGURE.finditer(line.partition("#")[0]) if not line.startswith(("piece", "waive")) else ():
            for factor in FACTORS:
                new = f"{float(found[1]) * factor:.4g}"
                at = start + found.start()
                yield f"line {number}: {found[1]} to {new}", text[:at] + new + text[at + len(found[1]) :]
        start += len(line) + 1


def told(text: str, files: dict[str, str]) -> list[Fault]:
    found = build("p.posy", files=Texts({**files, "p.posy": text})).faults
    return [one for one in found if not (isinstance(one, Remark) and one.waived)]


def gist(one: Fault) -> tuple[str, str]:
    return one.code, one.message.partition(" (")[0]


def _shown(one: Fault) -> str:
    return f"{one.code}: {one.message}; {one.seen}; do {one.remedy}"


def main(words: list[str]) -> int:
    every = int(words[words.index("--every") + 1]) if "--every" in words else 1
    names = {word for word in words if not word.startswith("-") and not word.isdigit()}
    files = {str(p.relative_to(HOME)): p.read_text("utf-8") for p in sorted(HOME.rglob("*.posy"))}
    tally, by_code, many, k = Counter(), {}, Counter(), 0
    for path, text in files.items():
        if "/" in path or (names and path.removesuffix(".posy") not in names):
            continue
        known = {gist(one) for one in told(text, files)}
        for what, changed in variants(text):
            k += 1
            if k % every:
                continue
            tally["texts"] += 1
            before = [one for one in told(changed, files) if one.level is not Level.HINT]
            fresh = [one for one in before if gist(one) not in known]
            if len(fresh) > MANY:
                tally["many"] += 1
                codes = ", ".join(sorted(one.code for one in fresh))
                print(f"MANY {len(fresh)} {path} {what}: {codes}", flush=True)
                many[tuple(sorted({one.code for one in fresh}))] += 1
            for one in fresh:
                tally["remarks"] += 1
                new = done(changed, one)
                row = by_code.setdefault(one.code, Counter())
                if new is None:
                    row["silent"] += 1
                    print(f"SILENT {path} {what}; {_shown(one)}", flush=True)
                    continue
                after = told(new, files)
                same = [a for a in after if gist(a) == gist(one) and a.level is not Level.HINT]
                worse = [a for a in after if a.level is Level.FAULT and gist(a) not in {gist(b) for b in before}]
                verdict = "same" if same or new == changed else "worse" if worse else "cured"
                row[verdict] += 1
                tally[verdict] += 1
                if verdict != "cured":
                    left = "; ".join(f"{a.code}: {a.message}, {a.seen}" for a in (same or worse))
                    print(f"{verdict.upper()} {path} {what}; {_shown(one)}; {left}", flush=True)
    for code, row in sorted(by_code.items()):
        print(code, dict(row))
    print(dict(tally), many.most_common(12))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
