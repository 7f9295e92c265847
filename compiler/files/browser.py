"""A browser without a screen, where one is at hand: it prints pages and takes pictures of them."""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path

# What browsers that can do it are called, by their own package or by distributions.
_BROWSERS = (
    "chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "microsoft-edge", "chrome",
    "msedge",
)  # fmt: skip
_LONGEST = 120.0  # seconds a page may take


def browser() -> str | None:
    """Its program: the one that POSY_BROWSER names, else one that is installed; None without."""
    named = os.environ.get("POSY_BROWSER")
    return shutil.which(named) if named else next(filter(None, map(shutil.which, _BROWSERS)), None)


def made(
    program: str, folder: str, target: Path, *arguments: str, patience: float = _LONGEST
) -> bytes | None:
    """What the browser makes at ``target``, apart from anything of the user's own and without a network; None
    where it does not. On a busy machine it gives up now and then, so it is asked twice."""
    for attempt in range(2):
        flags = (
            "--headless", "--no-first-run", "--disable-extensions",
            *(["--no-sandbox"] if getattr(os, "geteuid", lambda: 1)() == 0 else []),  # root has no other way
            "--disable-background-networking", "--host-resolver-rules=MAP * ~NOTFOUND",
            "--disable-dev-shm-usage", f"--user-data-dir={folder}/user{attempt}",
        )  # fmt: skip
        try:
            subprocess.run([program, *flags, *arguments], capture_output=True, timeout=patience, check=False)
        except (OSError, subprocess.SubprocessError):
            continue
        if target.is_file() and target.stat().st_size:
            return target.read_bytes()
    return None
