"""Sheets as PDF and drawings as PNG, printed by a browser where one is at hand.

No network: the pages hold all they show, and the browser is told so.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import tempfile
from collections.abc import Mapping
from pathlib import Path

_BROWSERS = ("chromium", "chromium-browser", "google-chrome", "microsoft-edge", "chrome")
_LONGEST = 120.0  # seconds a page may take
NO_BROWSER = "no PDF: no browser was found to print it (chromium will do); print the HTML from your own"


def browser() -> str | None:
    """The program of a browser that prints without a screen, or None."""
    return next(filter(None, map(shutil.which, _BROWSERS)), None)


def printed(pages: Mapping[str, bytes], program: str) -> dict[str, bytes]:
    """PDF of each page of HTML by the same name; one that could not be printed is left out."""
    found: dict[str, bytes] = {}
    with tempfile.TemporaryDirectory(prefix="posy-") as folder:
        for number, (name, page) in enumerate(pages.items()):
            source, target = Path(folder, f"{number}.html"), Path(folder, f"{number}.pdf")
            source.write_bytes(page)
            _run(program, folder, f"--print-to-pdf={target}", "--no-pdf-header-footer", source.as_uri())
            if target.is_file() and target.stat().st_size:
                found[name] = steady(target.read_bytes())
    return found


def steady(pdf: bytes) -> bytes:
    """A browser's PDF without the moment it was printed at, so that the same sheet is the same bytes."""
    return re.sub(rb"(/(?:CreationDate|ModDate) \(D:)(\d{14})", rb"\g<1>20000101000000", pdf)


def _run(program: str, folder: str, *arguments: str) -> None:
    """Have the browser do one thing, apart from anything of the user's own."""
    flags = (
        "--headless", "--disable-gpu", "--no-first-run", "--disable-extensions",
        *(["--no-sandbox"] if getattr(os, "geteuid", lambda: 1)() == 0 else []),  # root has no other way
        "--disable-background-networking", "--host-resolver-rules=MAP * ~NOTFOUND",
        f"--user-data-dir={folder}/user",
    )  # fmt: skip
    try:
        subprocess.run([program, *flags, *arguments], capture_output=True, timeout=_LONGEST, check=False)
    except (OSError, subprocess.SubprocessError):
        return
