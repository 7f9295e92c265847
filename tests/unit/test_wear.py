"""Worn hard: made-up pieces and damaged texts (some of those that tests/wear/run.py makes by the thousand),
and a world that is not as one would wish."""

from __future__ import annotations

import json
import os
import resource
import shutil
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest
from damage import damaged_bytes
from made_up import piece
from proof import held
from run import EXAMPLES, one

from posy.compiler.command import main
from posy.compiler.files.earlier import summary_at
from posy.compiler.geometry.outlines import arc_points
from posy.compiler.history import kept
from posy.compiler.making.pipeline import build
from posy.compiler.making.session import Session
from posy.lang.loader import Texts

BAR = 'piece "Ferry bar"\n  metal silver-925\n\nmeasure long = 12 mm\nbar frame: size long x 5 x 2 mm\n'
KILLS = int(os.environ.get("POSY_KILLS", "4"))
REMAKES = int(os.environ.get("POSY_REMAKES", "90"))
PIECES = int(os.environ.get("POSY_PIECES", "20"))


# --- texts


@pytest.mark.parametrize("seed", range(PIECES))
def test_a_made_up_piece_is_a_fault_or_sound_metal(seed):
    """Watertight, the same bytes twice; tidying keeps its plan; work kept of another piece changes nothing."""
    assert held(piece(seed), piece(seed + 1) if seed % 4 == 0 else None) in ("fault", "metal")


@pytest.mark.parametrize("seed", range(24))
def test_a_damaged_text_is_told(seed):
    """It never raises; neither does tidying it. Seed 49 of the long run is below."""
    kind, _, came, _ = one_here(seed)
    assert kind == "damaged" and came in ("fault", "right"), came


def one_here(seed):
    """As the long run does it, in this process: without the caps of memory."""
    before = resource.getrlimit(resource.RLIMIT_AS)
    import run

    limit, run.MEMORY = run.MEMORY, before[0]
    try:
        return one(("damaged", seed))
    finally:
        run.MEMORY = limit


@pytest.mark.parametrize("seed", [49, 2460, 2540, 6180])
def test_what_the_long_run_found_stays_mended(seed):
    assert one_here(seed)[2] in ("fault", "right")


def test_a_line_of_a_thousand_kilometres_is_told():
    """Laid upon a face it had a spot each tenth of a mm: more than any memory holds."""
    text = "bar b: size 9 x 9 x 2 mm\npath p: on b, through (0, 0) to (1000000000, 5 mm)\nwire w: along p, round 1 mm\n"
    made = build("a.posy", files=Texts({"a.posy": text}))
    assert [(fault.code, fault.span.line) for fault in made.faults] == [("out-of-range", 2)]


def test_an_arc_whose_middle_lies_straight_across_is_a_circle_s():
    """Found among 6,000 damaged texts: half a circle from its start to the middle spot, any way on to the end."""
    points = arc_points((0.0, 0.0), (0.0, 2.0), (1.0, 1.0), 0.01)
    assert np.abs(np.hypot(points[:, 0], points[:, 1] - 1.0) - 1.0).max() < 1e-9
    assert np.abs(points - (0.0, 2.0)).sum(axis=1).min() < 0.2 and np.allclose(points[-1], (1.0, 1.0))


def test_the_generators_make_what_they_are_for():
    """Half the damaged texts differ in length; made-up pieces use many words; both come again by seed."""
    texts = [piece(seed) for seed in range(12)]
    assert texts == [piece(seed) for seed in range(12)] and len(set(texts)) == 12
    words = {row.split()[0] for text in texts for row in text.splitlines() if row and row[0].isalpha()}
    assert len(words) > 15
    assert damaged_bytes(EXAMPLES[0].read_text("utf-8"), 3) == damaged_bytes(EXAMPLES[0].read_text("utf-8"), 3)


# --- the world


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """An empty folder, and we are in it."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


def posy(*words, **more):
    """The command in a process of its own."""
    return subprocess.Popen(
        [sys.executable, "-m", "posy.compiler", *words], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        **more,
    )


def whole(folder, name):
    """Whether the files in out are one set: those its summary lists, as it lists them."""
    import hashlib

    record = summary_at(folder / "out" / f"{name}.json")
    return record is not None and all(
        hashlib.sha256((folder / "out" / row["file"]).read_bytes()).hexdigest() == row["sha256"]
        for row in record["files"]
    )


def test_killed_at_any_moment_old_or_new_stands_whole(folder):
    """A make killed at KILLS moments over the time it takes, each over a good set; then one that is not."""
    Path("bar.posy").write_text(BAR, "utf-8")
    begun = time.perf_counter()
    assert posy("make", "bar.posy").wait() == 0
    took = time.perf_counter() - begun
    for number in range(KILLS):
        Path("bar.posy").write_text(BAR.replace("12 mm", f"{13 + number} mm"), "utf-8")
        running = posy("make", "bar.posy")
        time.sleep(took * (0.5 + 0.6 * number / KILLS))
        running.kill()
        running.communicate()
    Path("bar.posy").write_text(BAR.replace("12 mm", "11 mm"), "utf-8")
    assert posy("make", "bar.posy").wait() == 0
    assert whole(folder, "bar")
    assert sorted(one.name for one in Path("out").iterdir()) == ["bar.3mf", "bar.json", "bar.stl"]
    assert all(one.name.isdigit() for one in Path(".kept/bar").iterdir())
    revisions = kept.kept_revisions("bar.posy")
    assert revisions[0].text("bar.posy") == Path("bar.posy").read_text("utf-8")


def test_two_makes_at_once_leave_one_whole_set(folder):
    Path("bar.posy").write_text(BAR, "utf-8")
    running = [posy("make", "bar.posy") for _ in range(2)]
    assert [one.wait() for one in running] == [0, 0], [one.communicate() for one in running]
    assert whole(folder, "bar") and kept.kept_revisions("bar.posy")


def test_a_full_disk_keeps_what_was_there(folder):
    """No file may grow beyond 2 kB: what cannot be written is told, what stood stands."""
    Path("bar.posy").write_text(BAR, "utf-8")
    assert main(["make", "bar.posy"]) == 0
    before = {one.name: one.read_bytes() for one in Path("out").iterdir()}
    Path("bar.posy").write_text(BAR.replace("bar frame: size long x 5 x 2 mm", "ball b: across long"), "utf-8")

    def full():
        resource.setrlimit(resource.RLIMIT_FSIZE, (2000, 2000))

    running = posy("make", "bar.posy", preexec_fn=full)
    said = "".join(running.communicate())
    assert running.returncode == 3 and "could not be written" in said, said
    assert "Traceback" not in said
    assert {one.name: one.read_bytes() for one in Path("out").iterdir()} == before
    long_text = BAR + "# so it goes on and on\n" * 200
    Path("long.posy").write_text(long_text.replace("size long", "size  long"), "utf-8")
    running = posy("tidy", "long.posy", preexec_fn=full)
    said = "".join(running.communicate())
    assert running.returncode == 3 and "could not be written" in said, said
    assert Path("long.posy").read_text("utf-8") == long_text.replace("size long", "size  long")


@pytest.mark.parametrize("name", ["ring 💍", "it's", 'a "b"', "-dash", "%s {x}", "[a]", "ä\u0301", "x" * 240])
def test_files_of_any_name(folder, name, capsys, posy):
    """Tidied, made, kept and compared under whatever name the system allows."""
    path = Path(f"{name}.posy")
    path.write_text(BAR, "utf-8")
    for words in (("tidy",), ("make", "--as", "stl"), ("check",)):
        assert main([*words, "--", str(path)]) == 0, capsys.readouterr().err
    path.write_text(BAR.replace("12 mm", "14 mm"), "utf-8")
    assert "20.00 mm3 added" in posy("since", "--show", "lines", "--", str(path)).out
    assert main(["history", "--", str(path)]) == 0


@pytest.mark.parametrize("words", [("tidy", "bar.posy"), ("since", "bar.posy"), ("history", "bar.posy"), ("about",)])
def test_without_outputs_and_in_the_c_locale(folder, words):
    Path("bar.posy").write_text(BAR + "# Größe ×\n", "utf-8")
    assert main(["make", "bar.posy"]) == 0
    own = {**os.environ, "LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONIOENCODING": "ascii"}
    running = posy(*words, env=own)
    out, told = running.communicate()
    assert running.returncode == 0 and "Traceback" not in out + told, out + told
    shut = subprocess.run(
        ["sh", "-c", '"$0" -m posy.compiler "$@" >&- 2>&-', sys.executable, *words], cwd=folder, timeout=60
    )
    assert shut.returncode == 0


def test_a_clock_that_goes_backwards_loses_no_make(folder):
    for number, seconds in enumerate((1_700_000_000, 1_600_000_000, 0, 4_000_000_000)):
        Path("bar.posy").write_text(BAR.replace("12 mm", f"{12 + number} mm"), "utf-8")
        os.utime("bar.posy", (seconds, seconds))
        assert main(["make", "bar.posy", "--as", "stl"]) == 0
    assert [one.name for one in kept.kept_revisions("bar.posy")] == ["4", "3", "2", "1"]
    assert main(["history", "bar.posy", "--plot", "h.svg"]) == 0


faked = pytest.mark.skipif(shutil.which("faketime") is None, reason="a false clock is Debian's faketime")


@faked
@pytest.mark.parametrize("words", [
    ("make", "--as", "stl,3mf"), ("draw",), ("show",), ("order", "--to", "stones"), ("cost",), ("cast", "--grid", "1mm"),
])  # fmt: skip
def test_no_file_knows_the_time(folder, words):
    """A century apart, the same bytes; the text's own day is that of the file, which is held still."""
    made = []
    for day in ("1975-01-01 00:00:01", "2075-12-31 23:59:59"):
        shutil.rmtree("out", ignore_errors=True)
        shutil.rmtree(".kept", ignore_errors=True)
        Path("bar.posy").write_text(BAR, "utf-8")
        os.utime("bar.posy", (1_700_000_000, 1_700_000_000))
        subprocess.run(["faketime", "-f", f"@{day}", sys.executable, "-m", "posy.compiler", words[0], "bar.posy", *words[1:]],
                       check=words[0] != "cost", capture_output=True, timeout=120)  # fmt: skip
        made.append({str(one): one.read_bytes() for one in Path("out").rglob("*") if one.is_file() and one.suffix != ".zip"})
    assert made[0] == made[1] and (made[0] or words[0] == "cost")


@faked
def test_a_watch_hears_a_save_after_its_clock_went_back(folder, tmp_path_factory):
    """The clock falls by fifty years between two saves; what stands in the file decides."""
    beside = tmp_path_factory.mktemp("clock")
    clock, told = beside / "clock", beside / "told"
    clock.write_text("@2031-06-01 12:00:00\n", "utf-8")
    library = next(Path("/usr/lib").glob("*/faketime/libfaketimeMT.so.1"))
    own = {**os.environ, "LD_PRELOAD": str(library), "FAKETIME_TIMESTAMP_FILE": str(clock), "FAKETIME_NO_CACHE": "1",
           "FAKETIME_DONT_FAKE_MONOTONIC": "1"}  # fmt: skip
    Path("bar.posy").write_text(BAR, "utf-8")
    with told.open("w") as stream:
        running = subprocess.Popen([sys.executable, "-m", "posy.compiler", "watch", "bar.posy"], stdout=stream, env=own)
    try:
        for long, year in ((12, 2031), (20, 1981), (30, 2031)):
            clock.write_text(f"@{year}-06-01 12:00:00\n", "utf-8")
            Path("bar.posy").write_text(BAR.replace("12 mm", f"{long} mm"), "utf-8")
            until = time.monotonic() + 30  # sterling silver, 10.36 g/cm3
            while f"{long * 10 * 0.01036:.2f} g" not in told.read_text() and time.monotonic() < until:
                time.sleep(0.1)
            assert f"{long * 10 * 0.01036:.2f} g" in told.read_text(), f"no remake in {year}"
    finally:
        running.terminate()
        running.wait()


def test_a_folder_of_makes_that_is_hostile(folder, capsys):
    """Links, deep figures, other kinds of files: none of them is followed or stops a make."""
    Path("bar.posy").write_text(BAR, "utf-8")
    assert main(["make", "bar.posy"]) == 0
    secret = folder / "secret"
    secret.mkdir()
    (secret / "figures.json").write_text(json.dumps({"saved": "2020-01-01T00:00:00Z"}), "utf-8")
    Path(".kept/bar/7").symlink_to(secret)
    Path(".kept/bar/8").mkdir()
    Path(".kept/bar/8/figures.json").write_text("[" * 100_000, "utf-8")
    Path(".kept/bar/9").mkdir()
    os.mkfifo(".kept/bar/9/figures.json")
    Path("bar.posy").write_text(BAR.replace("12 mm", "14 mm"), "utf-8")
    assert main(["make", "bar.posy"]) == 0
    assert main(["history", "bar.posy"]) == 0
    assert [one.name for one in kept.kept_revisions("bar.posy")] == ["10", "1"]


def test_remakes_take_no_more_memory():
    """The text of each is another; what a session keeps is bounded."""

    def used():
        return int(Path("/proc/self/statm").read_text().split()[1]) * resource.getpagesize()

    session = Session()
    for number in range(REMAKES):
        words = BAR.replace("12 mm", f"{10 + number / 100:g} mm")
        assert build("bar.posy", files=Texts({"bar.posy": words}), session=session).made
        if number == REMAKES // 3:
            early = used()
    assert used() - early < 20_000_000
