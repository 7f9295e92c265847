"""`posy watch` beside the editors people have, driven in tmux: each save is one remake.

Debian: apt-get install tmux vim neovim nano. The build is the stand-in of watching.py."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from watching import BOUND, Watch, folder, start, watches

__all__ = ["folder", "watches"]

pytestmark = pytest.mark.skipif(
    sys.platform == "win32" or shutil.which("tmux") is None, reason="tmux is not installed"
)
_VIM = "-N -u NONE -i NONE"
EDITORS = {  # how it is started, what is typed to write a figure in the place of the old one
    "vim, written beside and renamed": (f"vim {_VIM} --cmd 'set backupcopy=no' cube.posy", ["ggcG{}", "Escape", ":w", "Enter"]),
    "vim, written in place": (f"vim {_VIM} --cmd 'set backupcopy=yes' cube.posy", ["ggcG{}", "Escape", ":w", "Enter"]),
    "nvim": ("nvim -u NONE -i NONE cube.posy", ["ggcG{}", "Escape", ":w", "Enter"]),
    "nano": ("nano --ignorercfiles cube.posy", ["C-k", "{}", "C-o", "Enter"]),
    "written beside and renamed": (
        "env PS1=ready: sh", ["echo {} > .cube.tmp && mv .cube.tmp cube.posy", "Enter"],
    ),
}  # fmt: skip


class Pane:
    """A terminal of tmux with a program in it, a server of its own."""

    def __init__(self, folder: Path, program: str, columns: int = 80, rows: int = 24) -> None:
        self._server = ["tmux", "-S", str(folder.parent / "tmux"), "-f", os.devnull]
        self._tmux("new-session", "-d", "-x", str(columns), "-y", str(rows), "-c", str(folder), program)

    def _tmux(self, *words: str) -> str:
        env = {**os.environ, "TERM": "xterm", "NO_COLOR": "1"}
        done = subprocess.run([*self._server, *words], env=env, capture_output=True, text=True, timeout=BOUND)
        return done.stdout

    def type(self, *keys: str) -> None:
        for key in keys:
            self._tmux("send-keys", *([] if key in ("Enter", "Escape") or key.startswith("C-") else ["-l"]), key)
            time.sleep(0.03)  # Escape and a letter at once would be another key

    def rows(self) -> list[str]:
        return self._tmux("capture-pane", "-p").splitlines()

    def until(self, *parts: str) -> list[str]:
        """The rows once they hold each of ``parts``."""
        end = time.monotonic() + BOUND
        while not all(part in "\n".join(rows := self.rows()) for part in parts):
            assert time.monotonic() < end, rows
            time.sleep(0.05)
        return rows

    def close(self) -> None:
        self._tmux("kill-server")


@pytest.fixture
def panes() -> Iterator[list[Pane]]:
    made: list[Pane] = []
    yield made
    for one in made:
        one.close()


@pytest.mark.parametrize("editor", EDITORS)
def test_each_save_is_one_remake(editor: str, folder: Path, watches: list[Watch], panes: list[Pane]) -> None:
    program, keys = EDITORS[editor]
    if shutil.which(program.split()[0]) is None:
        pytest.skip(f"{program.split()[0]} is not installed")
    watch = start(watches, folder, "cube.posy")
    watch.until("checked")
    panes.append(Pane(folder, program))
    panes[0].until("ready:" if program.startswith("env") else "10")
    before = len(watch.seen)
    for edge in range(11, 14):
        panes[0].type(*(key.format(edge) for key in keys))
        # sterling silver at 10.36 g/cm3 (table of alloys)
        assert f"{edge**3 * 0.01036:.2f} g" in watch.until("Cube: ")
        watch.until("checked")
    assert watch.silent_for(1.5)
    told = [line for line in watch.seen[before:] if " at " in line and line.startswith(("made", "unchanged", "not"))]
    assert [line.startswith("made again") for line in told] == [True] * 3, told


def test_the_readout_stands_still_on_forty_columns(folder: Path, panes: list[Pane]) -> None:
    """Nothing of an earlier, longer report stays; nothing is wrapped; Ctrl-C gives the shell back."""
    program = folder.parent / "stand_in.py"
    from watching import STAND_IN

    program.write_text(STAND_IN)
    panes.append(Pane(folder, "sh", 40, 20))
    panes[0].type(f"clear; {sys.executable} {program} watch cube.posy --alloys silver-999; echo code $?", "Enter")
    rows = panes[0].until("10.36 g", "nothing to report")
    assert rows[0].startswith("watching cube.posy")
    (folder / "cube.posy").write_text("11 wet-stone hot-stone soft-stone\n")
    panes[0].until("13.79 g", "wet-stone")
    (folder / "cube.posy").write_text("no-figure\n")
    panes[0].until("not made at", "not-a-number", "the last good")
    (folder / "cube.posy").write_text("10\n")
    rows = panes[0].until("10.36 g", "-3.429 g", "nothing to report")
    assert rows[0].startswith("watching cube.posy")
    assert not any("stone" in row or "not made" in row or "last good" in row for row in rows), rows
    panes[0].type("C-c")
    panes[0].until("code 130")
