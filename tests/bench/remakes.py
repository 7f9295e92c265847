"""Memory over many saves: `posy watch` beside a piece that is saved again and again.

    python tests/bench/remakes.py                          # 300 saves of the row pendant
    python tests/bench/remakes.py 2000 --piece knoll-pave  # some minutes
    python tests/bench/remakes.py 300 --page               # with the live page, whose packets it makes too

One figure of the piece goes round a cycle of 40 values, so no text comes twice in a row. Told every tenth of
the way: memory (resident, MB) of the watching process and of its child, and the seconds from save to weight.
Flat is what the last half adds: below a twentieth of what is there.
"""

from __future__ import annotations

import argparse
import json
import os
import re
import signal
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
ROUND = 40


def texts(piece: str) -> list[str]:
    """The piece with the last figure in mm of its text made larger step by step."""
    text = (ROOT / "examples" / f"{piece}.posy").read_text("utf-8")
    figure = [*re.finditer(r"(\d+\.\d+) mm", text)][-1]
    return [
        f"{text[: figure.start(1)]}{float(figure[1]) * (1 + 0.002 * step):.4f}{text[figure.end(1) :]}"
        for step in range(ROUND)
    ]


def children(process: int) -> list[int]:
    """The processes started by ``process``."""
    listed = Path(f"/proc/{process}/task/{process}/children").read_text().split()
    return [int(one) for one in listed]


def resident(process: int) -> float:
    """Resident memory, MB."""
    found = re.search(r"VmRSS:\s+(\d+) kB", Path(f"/proc/{process}/status").read_text())
    return int(found[1]) / 1024 if found else 0.0


def main() -> int:
    """Save, wait for the word on it, look at memory; 1 where it grows."""
    told = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    told.add_argument("number", type=int, nargs="?", default=300)
    told.add_argument("--piece", default="terrace-row")
    told.add_argument("--page", action="store_true")
    asked = told.parse_args()
    forms = texts(asked.piece)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "piece.posy"
        path.write_text(forms[-1], "utf-8")
        words = [sys.executable, "-m", "posy.compiler", "watch", str(path), "--show", "data"]
        watch = subprocess.Popen(
            [*words, *(["--page"] if asked.page else [])], stdout=subprocess.PIPE, text=True, start_new_session=True
        )
        try:
            return _followed(watch, path, forms, asked.number)
        finally:
            os.killpg(watch.pid, signal.SIGINT)
            watch.wait(20)


def _followed(watch: subprocess.Popen[str], path: Path, forms: list[str], number: int) -> int:
    assert watch.stdout is not None
    rows, waits = [], []
    _word(watch)
    for step in range(number):
        beside = path.with_suffix(".tmp")
        beside.write_text(forms[step % ROUND], "utf-8")
        start = time.monotonic()
        beside.replace(path)
        _word(watch, waits, start)
        if (step + 1) % max(1, number // 10) == 0:
            child = max(map(resident, children(watch.pid)), default=0.0)
            rows.append((step + 1, resident(watch.pid), child))
            print(f"{step + 1:6} saves: watching {rows[-1][1]:6.1f} MB, making {child:6.1f} MB, "
                  f"save to weight {statistics.median(waits):.2f} s", flush=True)  # fmt: skip
            waits.clear()
    (_, first, made), (_, last, at_end) = rows[len(rows) // 2], rows[-1]
    grown = max(last / first, at_end / made) - 1
    print(f"the last half adds {grown:.1%}; load {os.getloadavg()[0]:.1f}")
    return grown > 0.05


def _word(watch: subprocess.Popen[str], waits: list[float] | None = None, start: float = 0.0) -> None:
    """Read on to the last word on a save; the first tells how long it took."""
    assert watch.stdout is not None
    while line := watch.stdout.readline():
        record = json.loads(line)
        if "checked" not in record:
            continue
        if waits is not None and not record["checked"]:
            waits.append(time.monotonic() - start)
        if record["checked"]:
            return
    raise SystemExit("the watch has ended")


if __name__ == "__main__":
    sys.exit(main())
