"""Progress and pipes: what is said while working, and to whom."""

from __future__ import annotations

import io
import os
import subprocess
import sys

import pytest

from posy.compiler.judging.remark import tally
from posy.compiler.terminal import options as shared
from posy.compiler.terminal.progress import Progress
from posy.compiler.terminal.remarks import wants_colour
from posy.lang.faults import Fault, Level


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


class Clock:
    def __init__(self) -> None:
        self.now = 100.0

    def __call__(self) -> float:
        return self.now


def test_short_work_is_silent() -> None:
    for stream in (Terminal(), io.StringIO()):
        clock = Clock()
        progress = Progress("ring.posy", stream, clock)
        for step in range(9):
            clock.now += 0.1
            progress("seats", step / 9)
        progress.__exit__()
        assert stream.getvalue() == ""


def test_a_terminal_gets_one_line_that_is_wiped() -> None:
    stream, clock = Terminal(), Clock()
    progress = Progress("ring.posy", stream, clock)
    for step in range(200):
        clock.now += 0.02
        progress("seats", step / 200)
    text = stream.getvalue()
    assert "\n" not in text
    assert 20 <= text.count("\r") <= 31
    assert "ring.posy: seats, 9" in text
    progress.__exit__()
    assert stream.getvalue().endswith("\r\x1b[K")


def test_a_pipe_gets_a_line_every_few_seconds() -> None:
    stream, clock = io.StringIO(), Clock()
    progress = Progress("ring.posy", stream, clock)
    for step in range(120):
        clock.now += 0.1
        progress("seats", step / 120)
    progress.__exit__()
    lines = stream.getvalue().splitlines()
    assert len(lines) == 2
    assert lines[0].startswith("ring.posy: seats, 4")
    assert "\r" not in stream.getvalue()


def test_colour_only_on_a_terminal_and_not_against_no_color(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm")
    assert wants_colour(Terminal(), False)
    assert not wants_colour(Terminal(), True)
    assert not wants_colour(io.StringIO(), False)
    monkeypatch.setenv("NO_COLOR", "1")  # a common convention: no-color.org
    assert not wants_colour(Terminal(), False)


def test_tally() -> None:
    faults = [Fault("a", "m"), Fault("b", "m"), Fault("c", "m", level=Level.HINT)]
    assert tally(faults) == "2 faults, 1 hint"
    assert tally([]) == "nothing to report"


def test_a_reader_that_stops_reading_is_no_drama() -> None:
    read, write = os.pipe()
    os.close(read)
    try:
        done = subprocess.run(
            [sys.executable, "-m", "posy.compiler.command", "--help"], stdout=write, stderr=subprocess.PIPE,
            text=True, timeout=60,
        )
    finally:
        os.close(write)
    assert done.returncode == shared.PIPE_CLOSED
    assert done.stderr == ""


def test_letters_a_terminal_lacks_do_no_harm() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "posy.compiler.command", "b\u00fcild"],
        env={**os.environ, "PYTHONIOENCODING": "ascii"}, capture_output=True, timeout=60,
    )
    assert done.returncode == shared.WRONG_USE
    assert b"b\\xfcild" in done.stderr
    assert b"Traceback" not in done.stderr
