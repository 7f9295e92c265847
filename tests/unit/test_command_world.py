"""The command where the world is not as it should be: no output, odd file names, folders gone."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

TEXT = "bar b: size 8 x 4 x 2 mm\n"
POSY = [sys.executable, "-m", "posy.compiler"]

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="streams and names of POSIX")


def run(words: list[str], folder: Path, shut: str = "") -> subprocess.CompletedProcess[bytes]:
    line = " ".join(f"'{word}'" for word in [*POSY, *words]) + shut
    return subprocess.run(["/bin/sh", "-c", line], cwd=folder, capture_output=True, check=False)


@pytest.mark.parametrize("shut", [" >&-", " 2>&-", " >&- 2>&-", " <&- >&- 2>&-"])
def test_a_build_needs_nobody_to_listen(tmp_path: Path, shut: str) -> None:
    (tmp_path / "a.posy").write_text(TEXT)
    done = run(["make", "a.posy"], tmp_path, shut)
    assert done.returncode == 0
    assert b"Traceback" not in done.stdout + done.stderr
    assert (tmp_path / "out" / "a.stl").stat().st_size > 84


@pytest.mark.skipif(sys.platform == "darwin", reason="the system takes no such names")
def test_a_file_name_that_is_not_utf8(tmp_path: Path) -> None:
    path = os.fsencode(tmp_path) + b"/bad\xff.posy"
    with open(path, "w") as stream:  # noqa: PTH123
        stream.write(TEXT)
    words = [*POSY, "make", path, "--as", "stl,3mf,obj,ply,glb,json"]
    done = subprocess.run(words, cwd=tmp_path, capture_output=True, check=False)
    assert (done.returncode, done.stderr) == (0, b"")
    names = sorted(os.fsencode(path.name) for path in (tmp_path / "out").iterdir())
    assert names == [b"bad\xff." + end for end in (b"3mf", b"glb", b"json", b"obj", b"ply", b"stl")]


def test_links_that_lead_round_in_a_circle(tmp_path: Path) -> None:
    (tmp_path / "loop.posy").symlink_to("loop.posy")
    (tmp_path / "a.posy").write_text('from "loop.posy" take leaf\n' + TEXT)
    for piece in ("a.posy", "loop.posy"):
        done = run(["check", piece], tmp_path)
        assert done.returncode == 3
        assert b"file-not-read" in done.stdout


def test_a_working_folder_that_is_gone(tmp_path: Path) -> None:
    gone, piece = tmp_path / "gone", tmp_path / "a.posy"
    gone.mkdir()
    piece.write_text(TEXT)
    line = f"rmdir '{gone}'; '{sys.executable}' -m posy.compiler check {{}}"
    for path, code, said in ((piece, 0, b"nothing to report"), ("a.posy", 3, b"started in")):
        gone.mkdir(exist_ok=True)
        env = {**os.environ, "PYTHONSAFEPATH": "1"}
        done = subprocess.run(
            ["/bin/sh", "-c", line.format(path)], cwd=gone, env=env, capture_output=True, check=False
        )
        assert done.returncode == code
        assert said in done.stdout + done.stderr


def test_ctrl_c_while_it_is_loaded_is_quiet(tmp_path: Path) -> None:
    """A module that the command needs sends the signal in the middle of its loading."""
    (tmp_path / "tempfile.py").write_text(
        "import os, signal, time\nos.kill(os.getpid(), signal.SIGINT)\ntime.sleep(5)\n"
    )
    env = {**os.environ, "PYTHONPATH": str(tmp_path)}
    code = "import signal; signal.signal(signal.SIGINT, signal.default_int_handler);"
    code += "from posy.compiler.__main__ import start; start()"
    done = subprocess.run([sys.executable, "-c", code, "words"], env=env, capture_output=True, check=False)
    assert done.returncode == 130
    assert done.stderr == b""
