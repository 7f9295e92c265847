"""A watched folder with its page, as a user has them: a process, an address, a browser without a screen."""

from __future__ import annotations

import contextlib
import json
import os
import signal
import struct
import subprocess
import sys
import threading
import time
import urllib.request
from pathlib import Path

import numpy as np

from posy.compiler.page.packet import KINDS

ROW = """\
# A short row for trying the page.
piece "Quay row"
  metal gold-750-yellow

measure across = 2.5 mm, from 2 mm to 3.5 mm, help "each stone"  # as ordered
measure pitch = across + 0.3 mm

stone row: round across, gem sapphire, row 3, every pitch
bar frame: size (3 * pitch + 1.6 mm) x (across + 2.3 mm) x 2.2 mm, corner 0.5 mm, under row
hollow back: in frame, wall 0.35 mm, roof 1.0 mm
seat: for row, in frame
prong claws: for row, shared, wire 0.8 mm
bail loops: at ends of frame, wire 1.0 mm, inside 2.0 mm
"""
DISC = """\
piece "Quay disc"
  metal silver-925
measure wide = 12 mm, from 8 mm to 20 mm
disc medal: across wide, thick 1.4 mm
"""
# Without a graphics card Chromium draws by the processor; as root it may not use its cage.
ARGUMENTS = ["--use-angle=swiftshader", "--enable-unsafe-swiftshader", "--no-sandbox", "--ignore-gpu-blocklist"]
BROWSERS = "/usr/bin/chromium", "/usr/bin/chromium-browser", "/usr/bin/google-chrome"


def unpacked(data):
    """What ``packed`` was given, arrays flat."""
    (length,) = struct.unpack_from("<I", data)
    told = json.loads(data[4 : 4 + length])
    arrays = {
        name: np.frombuffer(data, KINDS[kind], count, 4 + length + start)
        for name, (kind, start, count) in told.pop("arrays").items()
    }
    return told, arrays


def browser_path():
    """The browser of the system (Debian and Ubuntu: apt-get install chromium), or None."""
    return next((path for path in BROWSERS if Path(path).exists()), None)


class Watch:
    """`posy watch --page` on a piece in a folder of its own."""

    def __init__(self, folder, piece="row.posy", *more):
        self.folder = Path(folder)
        command = [sys.executable, "-m", "posy.compiler", "watch", piece, "--page", "--show", "data", *more]
        self.process = subprocess.Popen(
            command, cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True,
            env={**os.environ, "PYTHONUNBUFFERED": "1"},
            # A shell that starts its jobs behind it has them ignore Ctrl-C.
            preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler),
        )  # fmt: skip
        self.address = json.loads(self.process.stdout.readline())["page"]
        threading.Thread(target=self.process.stdout.read, daemon=True).start()  # a full pipe would stop it

    def close(self):
        """Ctrl-C, as a user ends it."""
        self.process.send_signal(signal.SIGCONT)
        self.process.send_signal(signal.SIGINT)
        try:
            self.process.wait(10)
        finally:
            if self.process.poll() is None:
                self.process.kill()

    def get(self, path=""):
        """What the server gives."""
        with urllib.request.urlopen(self.address + path, timeout=20) as answer:
            return answer.read()


@contextlib.contextmanager
def watching(folder, piece="row.posy", *more):
    """A watch with its page, ended afterwards."""
    watch = Watch(folder, piece, *more)
    try:
        yield watch
    finally:
        watch.close()


def until(page, script, patience=30.0):
    """Wait until a script of the page is true; how long that took, s."""
    start = time.monotonic()
    while time.monotonic() - start < patience:
        if page.evaluate(script):
            return time.monotonic() - start
        time.sleep(0.02)
    raise AssertionError(f"never came true: {script}")
