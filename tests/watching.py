"""A running `posy watch` for tests: with a stand-in for the build (a cube with the edge the text names), so that
stuck and failing builds can be played, or real."""

from __future__ import annotations

import contextlib
import os
import queue
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

BOUND = 20.0  # s; a watch answers in well under one, a loaded machine may be slow

STAND_IN = """
import os, sys, time, types
from dataclasses import replace
import numpy as np
from posy.compiler.making.result import Built
from posy.compiler.metal.part import Part
from posy.lang.faults import Fault, Level, Span

CORNERS = np.array([[x, y, z] for x in (0, 1) for y in (0, 1) for z in (0, 1)], float)
FACES = np.array([[0, 1, 3], [0, 3, 2], [4, 6, 7], [4, 7, 5], [0, 4, 5], [0, 5, 1],
                  [2, 3, 7], [2, 7, 6], [0, 2, 6], [0, 6, 4], [1, 5, 7], [1, 7, 3]], np.int32)

def build(path, *, settings={}, tolerance=None, metal=None, made=None, go_on=None, **other):
    read = [path]
    head = dict(path=path, title="Cube", metal="silver-925", note="", measures={})
    try:
        text = open(path).read()
    except OSError:
        fault = Fault("file-not-read", path + " is not there")
        return Built(**head, faults=(fault,), files_read=tuple(read))
    words = text.split()
    while words and words[0] == "take":
        read.append(os.path.join(os.path.dirname(path), words[1]))
        try:
            words = open(read[-1]).read().split()
        except OSError:
            words = ["?"]
    if words and words[0] == "sleep":
        time.sleep(float(words[1]))
        words = words[2:]
    if words and words[0] == "die":
        os._exit(9)
    if words and words[0] == "bug":
        raise KeyError("a fault of ours")
    try:
        edge = float(words[0])
    except (ValueError, IndexError):
        fault = Fault("not-a-number", "no edge in the text", Span(path, 1, 1, 1, 2))
        return Built(**head, faults=(fault,), files_read=tuple(read), texts={path: text})
    part = Part("silver-925", CORNERS * edge, FACES, np.zeros(12, np.int32), edge**3, edge**3)
    cube = Built(**head, parts=(part,), files_read=tuple(read), texts={path: text})
    made(cube)
    found = []
    for word in words[1:]:  # "check 600" is a slow rule of the metal, another word a hint
        if word.startswith("check"):
            for _ in range(int(float(word[5:]) * 10)):
                if not go_on():
                    return cube
                time.sleep(0.1)
        else:
            found.append(Fault(word, "about " + word, Span(path, 1, 1, 1, 2), Level.HINT))
    return replace(cube, faults=tuple(found))

session = {"Session": object, "SEEN": 0.05}
for name, members in {"pipeline": {"build": build}, "session": session}.items():
    module = types.ModuleType("posy.compiler.making." + name)
    module.__dict__.update(members)
    sys.modules[module.__name__] = module

if __name__ == "__main__":
    from posy.compiler.command import main
    sys.exit(main())
"""


def hear_interrupts() -> None:
    """In a new process: Ctrl-C counts, though the shell that started the tests may ignore it (as
    shells do for what they run in the background)."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


class Watch:
    """A running `posy watch` with its output lines."""

    def __init__(self, folder: Path, *words: str, real: bool = False) -> None:
        program = folder.parent / "stand_in.py"
        program.write_text(STAND_IN)
        posy = ["-m", "posy.compiler.command"] if real else [str(program)]
        self.process = subprocess.Popen(
            [sys.executable, *posy, "watch", *words], cwd=folder, stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT, text=True, start_new_session=True, preexec_fn=hear_interrupts,
        )
        self._lines: queue.Queue[str] = queue.Queue()
        self.seen: list[str] = []
        self._reader = threading.Thread(target=self._read, daemon=True)
        self._reader.start()

    def _read(self) -> None:
        assert self.process.stdout is not None
        for line in self.process.stdout:
            self._lines.put(line.rstrip("\n"))

    def until(self, part: str) -> str:
        """The next line that holds ``part``."""
        end = time.monotonic() + BOUND
        while True:
            try:
                line = self._lines.get(timeout=max(0.01, end - time.monotonic()))
            except queue.Empty:
                raise AssertionError(f"no line with {part!r} after {self.seen}") from None
            self.seen.append(line)
            if part in line:
                return line

    def rest(self) -> list[str]:
        """All lines of a process that has ended."""
        self._reader.join(BOUND)
        while not self._lines.empty():
            self.seen.append(self._lines.get())
        return self.seen

    def silent_for(self, seconds: float) -> bool:
        """Whether nothing is printed for that long."""
        try:
            self.seen.append(self._lines.get(timeout=seconds))
        except queue.Empty:
            return True
        return False

    def interrupt(self) -> int:
        """Ctrl-C, which a terminal sends to the whole group."""
        os.killpg(self.process.pid, signal.SIGINT)
        return self.process.wait(BOUND)

    def terminate(self) -> int:
        """A polite end by the system, which reaches the one process only."""
        self.process.terminate()
        return self.process.wait(BOUND)

    def leaves_nothing(self) -> bool:
        """Whether every process it started has gone, in time."""
        end = time.monotonic() + BOUND
        while time.monotonic() < end:
            try:
                os.killpg(self.process.pid, 0)
            except ProcessLookupError:
                return True
            time.sleep(0.02)
        return False


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    made = tmp_path / "pieces"
    made.mkdir()
    (made / "cube.posy").write_text("10\n")
    return made


@pytest.fixture
def watches() -> Iterator[list[Watch]]:
    running: list[Watch] = []
    yield running
    for one in running:
        with contextlib.suppress(ProcessLookupError):
            os.killpg(one.process.pid, signal.SIGKILL)
        one.process.wait(BOUND)


def start(watches: list[Watch], folder: Path, *words: str, real: bool = False) -> Watch:
    watch = Watch(folder, *words, real=real)
    watches.append(watch)
    watch.until("Ctrl-C ends it")
    return watch


def atomic_save(path: Path, text: str) -> None:
    beside = path.with_suffix(".tmp")
    beside.write_text(text)
    beside.replace(path)
