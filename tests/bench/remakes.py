"""Memory over many saves: `posy watch` beside a piece that is saved again and again.

    python tests/bench/remakes.py                          # 300 saves of the row pendant
    python tests/bench/remakes.py 2000 --piece knoll-pave  # some minutes
    python tests/bench/remakes.py 2000 --page              # with the live page open in Chromium: a quarter of an hour

One figure of the piece goes round a cycle of 40 values, so no text comes twice in a row. The next save comes as
soon as there is metal, and with --page as soon as the browser has drawn it; every tenth waits for the rules.
Told every tenth of the way: memory (resident, MB) of the watching process and of its child; of the page what its
scripts hold (MB) and how many nodes, after all that nobody holds was collected, and what its graphics hold
(resident, MB); and the seconds from save to weight. Flat is what the most of the last half adds to the most of the first:
below a twentieth."""

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
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT / "tests"))

from page_bench import ARGUMENTS, browser_path, until  # noqa: E402

ROUND = 40
CHECKED = 10  # saves of which one waits for the rules


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
            [*words, *(["--page"] if asked.page else [])], stdout=subprocess.PIPE, text=True, start_new_session=True,
            # A shell that starts its jobs behind it has them ignore Ctrl-C.
            preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler),
        )
        try:
            if not asked.page:
                return _followed(watch, path, forms, asked.number, None)
            assert watch.stdout is not None
            with _browser(json.loads(watch.stdout.readline())["page"]) as page:
                return _followed(watch, path, forms, asked.number, page)
        finally:
            os.killpg(watch.pid, signal.SIGINT)
            watch.wait(20)


@contextmanager
def _browser(address: str) -> Iterator[Any]:
    """The page, open in Chromium without a screen."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as player:
        browser = player.chromium.launch(executable_path=browser_path(), args=ARGUMENTS)
        page = browser.new_page(viewport={"width": 840, "height": 420}, reduced_motion="reduce")
        page.goto(address)
        until(page, "window.posyPage && posyPage.drawn > 0", 60)
        yield page
        browser.close()


def _held(page: Any) -> dict[str, float]:
    """What a page holds: MB and nodes of its scripts, MB resident of what draws it."""
    link = page.context.new_cdp_session(page)
    link.send("HeapProfiler.enable")
    link.send("HeapProfiler.collectGarbage")
    link.send("Performance.enable")
    told = {one["name"]: one["value"] for one in link.send("Performance.getMetrics")["metrics"]}
    link.detach()
    drawing = (one for one in _below(os.getpid()) if "--type=gpu-process" in _words(one))
    return {
        "page": told["JSHeapUsedSize"] / 2**20, "nodes": told["Nodes"], "graphics": sum(map(resident, drawing)),
    }  # fmt: skip


def _below(process: int) -> Iterator[int]:
    """A process and all below it."""
    yield process
    for one in children(process):
        yield from _below(one)


def _words(process: int) -> str:
    return Path(f"/proc/{process}/cmdline").read_text()


def _followed(watch: subprocess.Popen[str], path: Path, forms: list[str], number: int, page: Any) -> int:
    rows: list[dict[str, float]] = []
    waits: list[float] = []
    _word(watch, lambda record: record["checked"])
    for step in range(number):
        beside = path.with_suffix(".tmp")
        beside.write_text(forms[step % ROUND], "utf-8")
        have = page.evaluate("posyPage.drawn") if page else 0
        start = time.monotonic()
        beside.replace(path)
        _word(watch, lambda record: not record["checked"])
        waits.append(time.monotonic() - start)
        if page:
            until(page, f"posyPage.drawn > {have}", 60)
        if step % CHECKED == CHECKED - 1:
            _word(watch, lambda record: record["checked"])
        if (step + 1) % max(1, number // 10) == 0:
            row = {"watching": resident(watch.pid), "making": max(map(resident, children(watch.pid)), default=0.0)}
            rows.append(row | (_held(page) if page else {}))
            print(f"{step + 1:6} saves: " + ", ".join(f"{name} {one:.1f}" for name, one in rows[-1].items())
                  + f", save to weight {statistics.median(waits):.2f} s", flush=True)  # fmt: skip
            waits.clear()
    half = len(rows) // 2
    grown = {name: max(row[name] for row in rows[half:]) / max(row[name] for row in rows[:half]) - 1 for name in rows[0]}
    print("the last half adds: " + ", ".join(f"{name} {one:.1%}" for name, one in grown.items())
          + f"; load {os.getloadavg()[0]:.1f}")  # fmt: skip
    return max(grown.values()) > 0.05


def _word(watch: subprocess.Popen[str], wanted: Callable[[dict[str, Any]], bool]) -> None:
    """Read on to the word on a save that is wanted."""
    assert watch.stdout is not None
    while line := watch.stdout.readline():
        record = json.loads(line)
        if "checked" in record and wanted(record):
            return
    raise SystemExit("the watch has ended")


if __name__ == "__main__":
    sys.exit(main())
