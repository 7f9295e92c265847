"""`posy watch` on a real piece that takes from another file, in a pipe and on a terminal."""

from __future__ import annotations

import contextlib
import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from watching import BOUND, Watch, atomic_save, hear_interrupts, start, watches

__all__ = ["watches"]

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="process groups of POSIX")

PIECE = """\
piece "Ferry tag"
  metal silver-925
from "studs.posy" take stud
measure long = 20 mm
bar frame: size long x 6 mm x 2 mm
stud mark: at face of frame
"""
STUDS = """\
word stud
  takes at: places
  ball: across 1 mm, at at, inward 0.1 mm
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    made = tmp_path / "pieces"
    made.mkdir()
    (made / "tag.posy").write_text(PIECE)
    (made / "studs.posy").write_text(STUDS)
    return made


def weight(line: str) -> float:
    found = re.search(r": ([\d.]+) g of silver-925", line)
    assert found, line
    return float(found[1])


def test_a_real_piece_is_followed(folder: Path, watches: list[Watch]) -> None:
    watch = start(watches, folder, "tag.posy", real=True)
    first = weight(watch.until("Ferry tag: "))
    # 240 mm3 of bar and at most a ball of 1 mm (0.52 mm3) at 10.36 g/cm3 (table of alloys)
    assert 240 * 0.01036 - 0.005 < first < 240.53 * 0.01036 + 0.005
    atomic_save(folder / "tag.posy", PIECE.replace("20 mm", "25 mm"))
    assert "· +0.62" in watch.until("made again")
    line = watch.until("Ferry tag: ")
    assert weight(line) - first == pytest.approx(60 * 0.01036, abs=0.011)
    atomic_save(folder / "studs.posy", STUDS.replace("1 mm", "2 mm"))
    assert weight(watch.until("Ferry tag: ")) > weight(line)
    (folder / "studs.posy").write_text(STUDS.replace("ball", "bal"))
    watch.until("did you mean 'ball'?")
    watch.until("the last good result stands")
    (folder / "studs.posy").write_text(STUDS)
    watch.until("Ferry tag: ")
    # The workshop's own file, new beside the piece and gone again.
    (folder / "bench.toml").write_text("nonsense")
    watch.until("house-not-toml")
    (folder / "bench.toml").unlink()
    watch.until("Ferry tag: ")
    assert watch.interrupt() == 130
    assert not any("Traceback" in line for line in watch.seen)


@pytest.fixture
def terminal(folder: Path) -> Iterator[tuple[int, subprocess.Popen[bytes]]]:
    import pty

    ours, theirs = pty.openpty()
    process = subprocess.Popen(
        [sys.executable, "-m", "posy.compiler.command", "watch", "tag.posy"], cwd=folder, stdin=theirs,
        stdout=theirs, stderr=theirs, start_new_session=True, preexec_fn=hear_interrupts,
        env={**os.environ, "TERM": "xterm", "NO_COLOR": "1"},
    )
    os.close(theirs)
    yield ours, process
    with contextlib.suppress(ProcessLookupError):
        os.killpg(process.pid, signal.SIGKILL)
    process.wait(BOUND)
    os.close(ours)


def read_until(handle: int, part: bytes) -> bytes:
    import select

    text = b""
    end = time.monotonic() + BOUND
    while part not in text:
        assert time.monotonic() < end, text
        if select.select([handle], [], [], 0.2)[0]:
            with contextlib.suppress(OSError):  # Linux: the other side has closed
                text += os.read(handle, 65536)
    return text


def test_a_terminal_is_cleared_once_and_then_written_over(folder, terminal):
    ours, process = terminal
    text = read_until(ours, b" to report")
    assert text.startswith(b"\x1b[2J\x1b[H")
    # What is watched, the first report, and the same once its metal is checked.
    assert (text.count(b"\x1b[2J"), text.count(b"\x1b[H\x1b[K")) == (1, 3)
    assert b"\x1b[1m" not in text, "colour against NO_COLOR"
    (folder / "tag.posy").write_text(PIECE.replace("20 mm", "22 mm"))
    # 2 x 6 x 2 mm more at 10.36 g/cm3 (table of alloys)
    more = read_until(ours, b"+0.249")
    assert (more.count(b"\x1b[2J"), more.count(b"\x1b[H\x1b[K")) == (0, 1)
    os.killpg(process.pid, signal.SIGINT)
    assert process.wait(BOUND) == 130
