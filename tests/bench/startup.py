"""Time the start of the commands a bench jeweler runs all day, each in a cold process.

    python tests/bench/startup.py [--repeats 7] [--text]

Prints a Markdown table: the median of wall seconds and of the processor seconds the child used
(user and system; steadier than wall on a shared machine), and the wall seconds over those of
importing the two libraries that `posy check --plan` cannot do without. `--text` prints the 200-line
piece that is checked and does nothing else. Compiled modules are kept (the first run is thrown
away), processes are fresh, and the commands take turns, so that a busy moment meets them all. Nothing is asserted: a machine's pace is no property of the program.
"""

from __future__ import annotations

import argparse
import os
import resource
import subprocess
import sys
import tempfile
from pathlib import Path
from statistics import median
from time import perf_counter

LINES = 200
LIBRARIES = "import numpy, lark"

HEAD = """\
# A regatta chain: level bars and drops side by side, all of one family.
piece "Regatta chain"
  metal silver-925
  note "Links are cast as one tree and parted afterwards."

waive wet-stone because "cleaned by hand before setting"
waive loose-piece because "the links are joined by jump rings after casting"

measure pitch = 3.2 mm, from 2.8 mm to 4 mm, help "from stone to stone"
measure wire = 0.9 mm, from 0.8 mm to 1.2 mm, help "prongs"
measure grain = 0.45 mm, from 0.4 mm to 0.6 mm, help "beads along the edges"

# A bar with a row of stones, hollow behind and beaded round.
word level-bar
  help "A bar with a row of round stones, shared prongs and a beaded edge."
  example "level-bar link: stones 5, across 3 mm"
  takes stones: count, default 5, from 2 to 12, help "how many"
  takes across: length, default 3 mm, from 2 mm to 4 mm, help "diameter of each stone"
  takes tall: length, default 3 mm, from 2.5 mm to 3.5 mm, help "thickness of the bar"

  stone row: round across, gem garnet, row stones, every across + 0.33 mm
  bar frame: size (stones * (across + 0.33 mm) + 2 mm) x (across + 3 mm) x tall, corner 0.6 mm, under row
  hollow back: in frame, wall 1 mm, roof 1.7 mm
  seat: for row, in frame
  prong claws: for row, shared, wire 0.85 mm, foot 0.9 mm
  bead-line border: along rim of frame, bead 0.45 mm, inset 0.3 mm
  bail loops: at ends of frame, up 1.5 mm, out 0.2 mm, wire 1.1 mm, inside 2.2 mm

# A round tray with one stone in a bezel and grains round it.
word lantern
  help "A round tray, a stone in a bezel, grains round it."
  example "lantern drop: across 5 mm"
  takes across: length, default 5 mm, from 4 mm to 8 mm, help "diameter of the stone"
  takes grains: count, default 12, from 6 to 24, help "grains on the tray"

  disc tray: across across + 5 mm, thick 1.5 mm, inward 2.6 mm
  stone eye: round across, gem garnet
  bezel cup: for eye, wall 0.7 mm
  ball grain: circle grains, radius (across + 3.6 mm) / 2, across 1 mm, inward 1.4 mm
  jump-ring ear: up (across + 5 mm) / 2 + 1.2 mm, inward 1.9 mm, turn 90 deg, wire 1.1 mm, inside 2.4 mm

"""

# One link, told in full lines as a user would who does not teach words; {} are its own figures.
LINK = """\
# Link {n}
workpiece link-{n}: up {up} mm
  measure across-{n} = {across} mm, from 2 mm to 4 mm, help "stones of link {n}"
  measure wide-{n} = {stones} * (across-{n} + 0.33 mm) + 2 mm
  stone row-{n}: round across-{n}, gem {gem}, row {stones}, every across-{n} + 0.33 mm
  bar frame-{n}: size wide-{n} x (across-{n} + 3 mm) x 3 mm, corner 0.6 mm, under row-{n}
  hollow back-{n}: in frame-{n}, wall 1 mm, roof 1.7 mm
  seat: for row-{n}, in frame-{n}
  prong claws-{n}: for row-{n}, shared, wire 0.85 mm, foot 0.9 mm
  bead-line border-{n}: along rim of frame-{n}, bead grain, inset 0.3 mm
  bail loops-{n}: at ends of frame-{n}, up 1.5 mm, out 0.2 mm, wire 1.1 mm, inside 2.2 mm
"""

TREE = """\
# Test links {n}: a bar of our own word, and three lanterns in a row
level-bar extra-{n}
  stones {stones}
  across {across} mm
  right 60 mm
  up {up} mm
each k from 1 to 3
  when k is 2
    lantern lamp: across 6 mm, grains 14, right 70 mm + k * 16 mm, up {up} mm
  otherwise
    lantern lamp: across {across} mm + 2 mm, grains 10, right 70 mm + k * 16 mm, up {up} mm
"""

GEMS = "garnet", "sapphire", "spinel"


def text(lines: int = LINES) -> str:
    """A piece of ``lines`` lines of real work without a fault or warning; the same every time."""
    parts, n = [HEAD], 0
    while "".join(parts).count("\n") < lines:
        n += 1
        figures = {
            "n": n,
            "up": 18 * n,
            "across": (2.6, 3, 2.8)[n % 3],
            "stones": 3 + n % 4,
            "gem": GEMS[n % 3],
        }
        parts.append((TREE if n % 3 == 0 else LINK).format(**figures))
    body = "".join(parts).splitlines()[:lines]
    while body and body[-1].endswith(("link-" + str(n), "3", "otherwise", "is 2")):
        body.pop()  # never end on a line that opens a block
    body += ["# end"] * (lines - len(body))
    return "\n".join(body) + "\n"


def timed(command: list[str], folder: str, environment: dict[str, str]) -> tuple[float, float]:
    """Wall and processor seconds of one cold process."""
    before, start = resource.getrusage(resource.RUSAGE_CHILDREN), perf_counter()
    done = subprocess.run(command, cwd=folder, env=environment, capture_output=True, text=True)
    took, after = perf_counter() - start, resource.getrusage(resource.RUSAGE_CHILDREN)
    if done.returncode:
        raise RuntimeError(f"{' '.join(command)} ended with {done.returncode}:\n{done.stdout}{done.stderr}")
    return took, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def main() -> int:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--repeats", type=int, default=11)
    parser.add_argument("--text", action="store_true", help="print the piece and stop")
    options = parser.parse_args()
    if options.text:
        sys.stdout.write(text())
        return 0
    posy = [sys.executable, "-m", "posy.compiler"]
    rows = {
        "python -c pass": [sys.executable, "-c", "pass"],
        LIBRARIES: [sys.executable, "-c", "import numpy, lark"],
        f"posy check --plan, {LINES} lines": [*posy, "check", "--plan", "chain.posy"],
        "posy check --plan, 2 lines": [*posy, "check", "--plan", "disc.posy"],
        "posy check, 2 lines": [*posy, "check", "disc.posy"],
        "posy words": [*posy, "words"],
        "posy words seat": [*posy, "words", "seat"],
        "posy why thin-wall": [*posy, "why", "thin-wall"],
        "posy why unit-missing": [*posy, "why", "unit-missing"],
        "posy --help": [*posy, "--help"],
    }
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "chain.posy").write_text(text(), "utf-8")
        (Path(folder) / "disc.posy").write_text('piece "Disc"\ndisc blank: across 10 mm, thick 1.5 mm\n', "utf-8")
        environment = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
        environment.setdefault("PYTHONPYCACHEPREFIX", str(Path(tempfile.gettempdir()) / "posy-startup-pyc"))
        times: dict[str, list[tuple[float, float]]] = {name: [] for name in rows}
        for turn in range(options.repeats + 1):
            for name, command in rows.items():
                took = timed(command, folder, environment)
                if turn:  # the first one compiles the modules
                    times[name].append(took)
    print("| started cold | wall s | user + sys s | over the libraries |\n| --- | --- | --- | --- |")
    medians = {name: [median(column) for column in zip(*runs, strict=True)] for name, runs in times.items()}
    for name, (wall, processor) in medians.items():
        print(f"| {name} | {wall:.3f} | {processor:.3f} | {wall / medians[LIBRARIES][0]:.2f} |")
    return 0


if __name__ == "__main__":
    sys.exit(main())
