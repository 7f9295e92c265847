"""Pictures of a page, taken by a browser that is installed here and opens it unseen."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from pathlib import Path

from ...lang.faults import Fault

# What browsers that can do it are called, by their own package or by distributions.
BROWSERS = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome", "msedge")
PATIENCE = 180.0  # s for one picture drawn by the processor
PNG = b"\x89PNG\r\n\x1a\n"
EMPTY = 0.02  # bytes a pixel: a picture of nothing is smaller, one of a piece many times larger


def browser() -> str | None:
    """The browser that takes pictures: the one that POSY_BROWSER names, else one that is installed."""
    named = os.environ.get("POSY_BROWSER")
    return shutil.which(named) if named else next(filter(None, map(shutil.which, BROWSERS)), None)


def still(program: str, page: bytes, view: str, size: tuple[int, int]) -> tuple[bytes, list[Fault]]:
    """A picture (PNG) of ``page`` from ``view``, one of names.STILLS, ``size`` pixels wide and tall."""
    with tempfile.TemporaryDirectory() as folder:
        source, target = Path(folder) / "page.html", Path(folder) / "still.png"
        source.write_bytes(page)
        command = [
            program, "--headless", "--no-first-run", "--disable-extensions", "--hide-scrollbars",
            "--disable-gpu-watchdog",
            "--use-angle=swiftshader", "--enable-unsafe-swiftshader", "--force-device-scale-factor=1",
            "--force-color-profile=srgb", f"--user-data-dir={folder}/browser",
            f"--window-size={size[0]},{size[1]}", "--virtual-time-budget=4000", f"--screenshot={target}",
            *_as_root(), f"{source.as_uri()}#still={view}&wide={size[0]}&tall={size[1]}",
        ]  # fmt: skip
        try:
            subprocess.run(command, capture_output=True, timeout=PATIENCE, check=False)
            image = target.read_bytes()
        except (OSError, subprocess.TimeoutExpired):
            image = b""
    good = image.startswith(PNG) and len(image) > EMPTY * size[0] * size[1]
    return (image, []) if good else (b"", [_no_picture(program, view)])


def _as_root() -> list[str]:
    """Browsers refuse to work for root (as in a container) unless they may leave their cage."""
    return ["--no-sandbox"] if hasattr(os, "geteuid") and os.geteuid() == 0 else []


def _no_picture(program: str, view: str) -> Fault:
    return Fault(
        "still-not-taken",
        f"{program} gave no picture of the {view}",
        remedy="open the page itself, which is written, and take the picture there",
    )
