"""What the commands print fits the terminal, from 40 columns up: run on a terminal of that width."""

from __future__ import annotations

import fcntl
import os
import struct
import sys
import termios
import threading
from pathlib import Path

import pytest

from posy.compiler.command import main
from posy.lang.folding import width_of

WIDTHS = 40, 60, 80, 120
FAULTY = """\
piece "A medal of a long name, for the winner of the regatta"
  metal silver-925
disc medal: across 18 mm, height 1.2 mm, sofften 0.3 mm, corner 2 mm
stone row: round 2.5 mm, gem garnet, line 5, every 2.8 mm, at face of medal
jump-ring eye: up 10.7 mm, out 0.3 mm, wire 0.4 mm, inside 3 mm
"""
SAID = [
    "help", "help make", "help resize", "words", "words placing", "words metal", "words gem", "words pave",
    "why", "why thin-wall", "why hot-stone", "why unknown-word", "start", "frob", "help nothing",
    "make a.posy --as html", "make a.posy --metal 17k", "check nothere.posy", "check a.posy --set number=3",
]  # fmt: skip
MADE = [
    "check two.posy --hints", "check a.posy", "check a.posy --mend", "weigh two.posy", "weigh two.posy --metal 18k",
    "make two.posy --as stl", "resize two.posy 120%", "tidy a.posy --check", "draw two.posy", "history two.posy",
    "compare two.posy bar.posy",
]  # fmt: skip


class Terminal:
    """A terminal of so many columns in the place of stdout and stderr; ``said`` is what it showed."""

    def __init__(self, columns: int, typed: str = "") -> None:
        self.ours, theirs = os.openpty()
        fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 24, columns, 0, 0))
        self.theirs = os.fdopen(theirs, "w+b", buffering=0)
        self.typed, self.shown = typed, b""

    def run(self, words: list[str], patch: pytest.MonkeyPatch) -> list[str]:
        """The rows a command shows."""
        screen = os.fdopen(os.dup(self.theirs.fileno()), "w", encoding="utf-8")
        keys = os.fdopen(os.dup(self.theirs.fileno()), encoding="utf-8")
        reader = threading.Thread(target=self._read)
        reader.start()
        os.write(self.ours, self.typed.encode())
        with screen, keys, patch.context() as patched:
            for name, stream in (("stdout", screen), ("stderr", screen), ("stdin", keys)):
                patched.setattr(sys, name, stream)
            patched.setenv("NO_COLOR", "1")
            main(words)
            screen.flush()
        self.theirs.close()
        reader.join(10)
        os.close(self.ours)
        text = self.shown.decode("utf-8").replace("\r\n", "\n")
        return [row.rpartition("\r")[2] for row in text.replace("\x1b[K", "").split("\n")]

    def _read(self) -> None:
        while True:
            try:
                more = os.read(self.ours, 65536)
            except OSError:
                return
            if not more:
                return
            self.shown += more


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    Path("a.posy").write_text(FAULTY, "utf-8")
    Path("bar.posy").write_text('piece "Bar"\nbar b: size 10 x 4 x 2 mm\n', "utf-8")
    here = Path(__file__).parents[2] / "examples" / "two-tide-ring.posy"
    Path("two.posy").write_text(here.read_text("utf-8"), "utf-8")
    return tmp_path


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("said", SAID)
def test_what_is_said_fits(said: str, width: int, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    rows = Terminal(width).run(said.split(), monkeypatch)
    assert [row for row in rows if width_of(row) > width] == []
    assert any(row.strip() for row in rows)


@pytest.mark.parametrize("width", (40, 80))
@pytest.mark.parametrize("said", MADE)
def test_what_is_made_fits(said: str, width: int, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    rows = Terminal(width, "no\n").run(said.split(), monkeypatch)
    assert [row for row in rows if width_of(row) > width] == []
    assert any(row.strip() for row in rows)


@pytest.mark.parametrize(("typed", "written"), [("yes\n", True), ("n\n", False), ("\n", False)])
def test_a_new_size_is_written_when_one_says_so(typed, written, folder, monkeypatch):
    piece = folder / "bar.posy"
    piece.write_text('piece "Lock"\n  metal silver-925\nbar b: size 10 x 4 x 2 mm\n', "utf-8")
    Terminal(80, typed).run(["resize", str(piece), "150%"], monkeypatch)
    assert ("size 15 x 6 x 3 mm" in piece.read_text("utf-8")) is written
