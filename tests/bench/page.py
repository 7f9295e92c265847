"""How long the live page takes, in Chromium without a screen: python tests/bench/page.py [TIMES]

From a save to changed pixels, from a step of a dragged figure to pixels (medians of TIMES, 20 without it; no
value comes twice, so nothing is found made), and a picture while turning; drawn by the processor unless POSY_GPU=1
lets Chromium use a graphics card. Of a save is told, too, how long it took until the page heard of the metal, had
it, and had drawn it: the last is the rasteriser's. Both clocks are this machine's. Figures on a busy machine say
little: run it alone."""

from __future__ import annotations

import os
import sys
import tempfile
import time
from pathlib import Path
from statistics import median

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent))

from page_bench import ARGUMENTS, browser_path, until, watching  # noqa: E402
from playwright.sync_api import sync_playwright  # noqa: E402

EXAMPLES = HERE.parents[1] / "examples"
# Piece, measure, its value in mm.
PIECES = ("terrace-row", "across", 2.8), ("knoll-pave", "small", 1.5)
STEP = 0.004  # mm from one save to the next
# Gives the time (ms since 1970) at which the next piece stands drawn and the browser has shown it.
NEXT = """() => new Promise((done) => {
  const root = document.documentElement, before = root.dataset.drawn;
  const eye = new MutationObserver(() => {
    if (root.dataset.drawn === before) return;
    eye.disconnect();
    requestAnimationFrame(() => done(Date.now()));
  });
  eye.observe(root, { attributes: true });
})"""
TURN = """() => new Promise((done) => {
  const canvas = document.getElementById('piece'), took = [];
  let last = null, k = 0;
  canvas.focus();
  const step = (now) => {
    if (last !== null) took.push(now - last);
    last = now;
    canvas.dispatchEvent(new KeyboardEvent('keydown', { key: 'ArrowLeft', bubbles: true }));
    if (k++ < 60) requestAnimationFrame(step);
    else done(took.slice(10).sort((a, b) => a - b));
  };
  requestAnimationFrame(step);
})"""


def main() -> None:
    """Print the table."""
    times = int(sys.argv[1]) if len(sys.argv) > 1 else 20
    gpu = os.environ.get("POSY_GPU") == "1"
    print(f"{'piece':14} {'save, s':>8} {'heard':>6} {'had':>6} {'drawn':>6} {'drag, s':>8}  turning, ms")
    with sync_playwright() as player:
        browser = player.chromium.launch(
            executable_path=browser_path(), args=["--no-sandbox", "--enable-gpu"] if gpu else ARGUMENTS
        )
        for piece, measure, value in PIECES:
            with tempfile.TemporaryDirectory() as folder:
                text = (EXAMPLES / f"{piece}.posy").read_text(encoding="utf-8")
                path = Path(folder) / f"{piece}.posy"
                path.write_text(text, encoding="utf-8")
                with watching(folder, path.name) as watch:
                    page = browser.new_page(viewport={"width": 1280, "height": 800}, reduced_motion="reduce")
                    page.goto(watch.address)
                    rest(page)
                    saves = [saved(page, path, text, measure, value, value - STEP * (k + 1)) for k in range(times)]
                    path.write_text(text, encoding="utf-8")
                    time.sleep(1.0)
                    rest(page)
                    drags = [dragged(page, measure, value + STEP * (k + 1)) for k in range(times)]
                    rest(page)
                    turning = page.evaluate(TURN)
                    page.close()
            saving, *stages = (median(one) for one in zip(*saves, strict=True))
            print(f"{piece:14} {saving:8.3f} " + " ".join(f"{one:6.3f}" for one in stages) + f" {median(drags):8.3f}  "
                  f"{median(turning):.0f} median, "
                  f"{turning[int(len(turning) * 0.9)]:.0f} at most in nine of ten")
        browser.close()


def rest(page: object) -> None:
    """Wait until the piece is checked and stands still."""
    until(page, "posyPage.told && posyPage.told.checked && posyPage.have === posyPage.told.solid && !posyPage.waiting", 120)
    until(page, "Number(document.documentElement.dataset.fine) >= 2", 120)


def saved(page, path: Path, text: str, measure: str, value: float, other: float) -> tuple[float, ...]:
    """Seconds from a save to the piece drawn; to the news of it, from there to its data, from there to pixels."""
    new = text.replace(f"measure {measure} = {value:g} mm", f"measure {measure} = {other:.4f} mm")
    page.evaluate(f"window.posyAt = null; ({NEXT})().then((at) => {{ window.posyAt = at; }}); 0")
    start = time.time()
    path.write_text(new, encoding="utf-8")
    until(page, "window.posyAt !== null", 60)
    times = page.evaluate("[posyPage.times.told, posyPage.times.came, window.posyAt]")
    rest(page)
    heard, had, drawn = (one / 1000 for one in times)
    return drawn - start, heard - start, had - heard, drawn - had


def dragged(page, measure: str, value: float) -> float:
    """Seconds from asking for a figure, as a drag does, to the piece drawn."""
    page.evaluate(
        f"""(value) => {{ window.posyAt = null; window.posyFrom = Date.now(); ({NEXT})().then((at) => {{ window.posyAt = at; }});
        const box = document.querySelector('input[data-measure="{measure}"]');
        box.value = value.toFixed(4); box.dispatchEvent(new Event('change')); }}""",
        value,
    )
    until(page, "window.posyAt !== null", 60)
    took = page.evaluate("window.posyAt - window.posyFrom") / 1000
    until(page, "!posyPage.waiting", 60)
    return took


if __name__ == "__main__":
    main()
