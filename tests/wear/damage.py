"""Damaged texts and workshop files through the commands, with caps of time and memory.

    python tests/wear/damage.py                  # 300 of them
    python tests/wear/damage.py 2000 --from 300  # others

Every example and tried text is damaged in one to three ways (cut off, doubled, noise, other figures, other
words, deep nesting ...), and so is a bench.toml that holds every row of stdlib/tables/house.tsv. Each seed
is one mutant and one command, `check` of every second. Told is whatever is not as promised:

- a traceback or a fault in posy itself, an exit code that is none of its own;
- no answer in SECONDS, more than MEMORY;
- --show data that is no JSON, or holds a figure that is none;
- a mesh that is not watertight, files after a fault, a temporary file left."""

from __future__ import annotations

import argparse
import contextlib
import io
import json
import os
import random
import re
import resource
import select
import shutil
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from harms import HARMS, SLIGHT, WORDS

ROOT = Path(__file__).parents[2]
SECONDS = 120.0  # of the clock, for one mutant; the machine may be busy
MEMORY = 3_000_000_000  # bytes of address space
SPENT = 1_000_000  # kB of a worker, after which another one takes over
COARSE = "--tolerance", "0.05mm"
COMMANDS: tuple[tuple[str, ...], ...] = (
    ("make", "a.posy", *COARSE), ("check", "a.posy", *COARSE), ("make", "a.posy", "--series", *COARSE),
    ("weigh", "a.posy", *COARSE), ("tidy", "a.posy", "--check"), ("tidy", "a.posy"), ("draw", "a.posy", *COARSE),
    ("cost", "a.posy", *COARSE), ("cost", "a.posy", "--quote", *COARSE), ("order", "a.posy", *COARSE),
    ("cast", "a.posy", "--grid", "1mm"), ("show", "a.posy", *COARSE), ("since", "a.posy", *COARSE),
    ("compare", "a.posy", "whole.posy", *COARSE), ("history", "a.posy", *COARSE), ("resize", "a.posy", "90%"),
    ("check", "a.posy", "--mend", "--apply"), ("about", "a.posy"), ("why", "bench.toml"), ("words", "gem"),
)  # fmt: skip
CODES = {0, 1, 2, 3}


def texts() -> list[str]:
    """The whole texts that are damaged; none that takes from another file."""
    files = [*sorted((ROOT / "examples").glob("*.posy")), *sorted((ROOT / "tests" / "tried").glob("*.posy"))]
    return [text for file in files if "from \"" not in (text := file.read_text("utf-8"))]


def house() -> str:
    """A bench.toml with an example of every row, and a rule of the house's own."""
    from posy.stdlib.house_rows import house_rows

    names = {"NEW": "mill-silver", "METAL": "silver-925", "FAMILY": "silver", "KIND": "any", "GEM": "garnet",
             "CURRENCY": "USD", "ANY": "one"}  # fmt: skip
    tables: dict[str, list[str]] = {"": []}
    for head, rows in house_rows().items():
        lines = tables.setdefault(re.sub(r"\b[A-Z]+\b", lambda found: names.get(found[0], "x"), head), [])
        for row in rows.values():
            other = re.search(r"Give this or ([\w-]+)", row.says)
            if other and any(line.startswith(f"{other[1]} =") for line in lines):
                continue
            plain = row.like in ("true", "false") or row.kind in ("count", "number")
            lines.append(f"{names.get(row.key, row.key)} = {row.like if plain else json.dumps(row.like)}")
    tables["thin-wall"] = ['least = "0.9 mm"', 'level = "fault"']
    return "\n".join((f"[{name}]\n" if name else "") + "\n".join(lines) + "\n" for name, lines in tables.items())


def damaged(text: str, dice: random.Random, vocabulary: list[str]) -> str:
    """``text`` after a slight harm, or one to three of any kind."""
    if dice.random() < 0.5:
        return dice.choice(SLIGHT)(text, dice, vocabulary)
    for _ in range(dice.randint(1, 3)):
        text = dice.choice(HARMS)(text, dice, vocabulary)
    return text[:200_000]


def damaged_bytes(text: str, seed: int) -> bytes:
    """``text`` damaged, the same for the same seed; a few of them no UTF-8 any more."""
    dice = random.Random(seed)
    data = damaged(text, dice, WORDS.findall(text) or ["x"]).encode("utf-8", "replace")
    if dice.random() < 0.03:
        at = dice.randrange(len(data) + 1)
        data = data[:at] + bytes(dice.choices(range(256), k=8)) + data[at:]
    return data


class Mutants:
    """The mutant and the command of every seed."""

    def __init__(self) -> None:
        self.texts = texts()
        self.house = house()
        self.vocabulary = sorted({word for text in self.texts for word in WORDS.findall(text)})

    def put(self, seed: int, folder: Path) -> list[str]:
        """Write the files of a seed into ``folder``; gives the command."""
        dice = random.Random(seed)
        whole = dice.choice(self.texts)
        (folder / "whole.posy").write_text(whole, "utf-8")
        words = list(("check", "a.posy") if seed % 2 else COMMANDS[seed // 2 % len(COMMANDS)])
        workshop = dice.random() < 0.25 or words[0] in ("cost", "order", "cast")
        harmed = whole if workshop and dice.random() < 0.8 else damaged(whole, dice, self.vocabulary)
        _write(folder / "a.posy", harmed)
        if workshop:
            _write(folder / "bench.toml", damaged(self.house, dice, self.vocabulary))
        if dice.random() < 0.3 and words[0] not in ("tidy", "words", "about", "draw", "show", "cast"):
            words += ["--show", "data"]
        return words


def _write(path: Path, text: str) -> None:
    path.write_bytes(text.encode("utf-8", "surrogatepass"))


def tried(mutants: Mutants, seed: int) -> dict[str, Any]:
    """One mutant in a folder of its own: the command, its code, seconds, and what is wrong."""
    from posy.compiler.command import main

    folder = Path(tempfile.mkdtemp(prefix="posy-damage-"))
    home, wrong, code = Path.cwd(), [], None
    out, err = io.StringIO(), io.StringIO()
    start = time.monotonic()
    try:
        words = mutants.put(seed, folder)
        os.chdir(folder)
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            try:
                code = main(words)
            except BaseException as error:
                wrong.append(f"raised {type(error).__name__}: {error}")
        wrong += _wrong(words, code, out.getvalue(), err.getvalue(), folder)
    finally:
        os.chdir(home)
        shutil.rmtree(folder, ignore_errors=True)
    return {"seed": seed, "words": words, "code": code, "seconds": time.monotonic() - start, "wrong": wrong}


def _wrong(words: list[str], code: int | None, out: str, err: str, folder: Path) -> Iterator[str]:
    if code not in CODES:
        yield f"exit code {code}: {err.strip()[-300:]}"
    if "Traceback" in out + err:
        yield "a traceback"
    if words[-1] == "data" and code in (0, 1):
        try:
            json.loads(out, parse_constant=lambda name: 1 / 0)
        except (ValueError, ZeroDivisionError):
            yield f"no JSON: {out[:200]}"
    left = [str(path.relative_to(folder)) for path in folder.rglob(".posy-*")]
    if left:
        yield f"left behind: {left}"
    meshes = sorted((folder / "out").glob("*.stl"))
    if words[0] == "make" and "--series" not in words and bool(meshes) != (code == 0):
        yield f"exit code {code} with {len(meshes)} meshes"
    for path in meshes:
        import trimesh

        if not trimesh.load(path).is_watertight:
            yield f"{path.name} is not watertight"


def worker() -> None:
    """Seeds in, a line of JSON each out."""
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    mutants, answers = Mutants(), os.fdopen(os.dup(1), "w")
    for line in sys.stdin:
        found = tried(mutants, int(line))
        answers.write(json.dumps({**found, "memory": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss}) + "\n")
        answers.flush()


def results(seeds: range) -> Iterator[dict[str, Any]]:
    """What came of each seed, tried by a worker that is ended, and begun anew, when it gives no answer."""
    process = None
    for seed in seeds:
        if process is None or process.poll() is not None:
            process = subprocess.Popen([sys.executable, __file__, "--worker"], stdin=subprocess.PIPE,
                                       stdout=subprocess.PIPE, text=True, bufsize=1)  # fmt: skip
        assert process.stdin is not None and process.stdout is not None
        process.stdin.write(f"{seed}\n")
        process.stdin.flush()
        if not select.select([process.stdout], [], [], SECONDS)[0]:
            process.kill()
            process.wait()
            yield {"seed": seed, "code": None, "seconds": SECONDS, "memory": 0, "wrong": ["no answer"]}
        elif line := process.stdout.readline():
            found = json.loads(line)
            yield found
            if found["memory"] > SPENT:  # what one mutant took is not held against the next
                process.stdin.close()
                process.wait()
        else:
            yield {"seed": seed, "code": process.wait(), "seconds": 0, "memory": 0, "wrong": ["the process ended"]}
    if process is not None and process.stdin is not None and process.poll() is None:
        process.stdin.close()
        process.wait()


def main() -> int:
    """Try the seeds asked for and tell; 1 when something is not as promised."""
    told = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    told.add_argument("number", type=int, nargs="?", default=300)
    told.add_argument("--from", type=int, default=0, dest="first")
    told.add_argument("--worker", action="store_true")
    asked = told.parse_args()
    if asked.worker:
        worker()
        return 0
    codes: Counter[str] = Counter()
    slowest, most, bad = (0.0, -1), 0, 0
    for found in results(range(asked.first, asked.first + asked.number)):
        codes[str(found["code"])] += 1
        slowest, most = max(slowest, (found["seconds"], found["seed"])), max(most, found["memory"])
        if found["wrong"]:
            bad += 1
            print(f"seed {found['seed']}: {' '.join(found.get('words', []))}: {'; '.join(found['wrong'])}", flush=True)
    codes_told = ", ".join(f"{count} x {code}" for code, count in sorted(codes.items()))
    print(f"{asked.number} mutants: {bad} not as promised; exit codes {codes_told}; slowest {slowest[0]:.1f} s "
          f"(seed {slowest[1]}); at most {most / 1e6:.2f} GB")  # fmt: skip
    return bool(bad)


if __name__ == "__main__":
    sys.exit(main())
