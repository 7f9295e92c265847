"""`posy watch` as a user runs it: a process, a folder, an editor that saves in its own way.

The build is the stand-in of watching.py; test_watch_piece.py watches a real piece."""

from __future__ import annotations

import json
import os
import shutil
import sys
import time
from pathlib import Path

import pytest
from watching import BOUND, Watch, atomic_save, folder, start, watches

__all__ = ["folder", "watches"]

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="process groups of POSIX")


def test_saves_of_every_kind(folder: Path, watches: list[Watch]) -> None:
    piece = folder / "cube.posy"
    watch = start(watches, folder, "cube.posy")
    # 1000 mm3 of sterling silver at 10.36 g/cm3 (table of alloys)
    assert watch.until("Cube: ") == "Cube: 10.36 g of silver-925 as cast"
    piece.write_text("11\n")
    assert watch.until("made again").endswith(" · +3.429 g")
    assert "13.79 g" in watch.until("Cube: ")
    atomic_save(piece, "10\n")
    assert watch.until("made again").endswith(" · -3.429 g")
    assert "10.36 g" in watch.until("Cube: ")
    piece.unlink()
    watch.until("1 fault")
    assert "10.36 g" in watch.until("the last good result stands")
    piece.write_text("12\n")
    assert watch.until("made again").endswith(" · +7.542 g")
    assert "17.90 g" in watch.until("Cube: ")
    assert watch.interrupt() == 130
    assert not any("Traceback" in line for line in watch.seen)


@pytest.mark.parametrize("text", ["10\n", "sleep 600 10\n"], ids=["idle", "in a long build"])
def test_a_polite_end_leaves_nothing_running(folder: Path, watches: list[Watch], text: str) -> None:
    (folder / "cube.posy").write_text(text)
    watch = start(watches, folder, "cube.posy")
    if text == "10\n":
        watch.until("checked")
    assert watch.terminate() == 130
    assert watch.leaves_nothing()
    assert not any("Traceback" in line for line in watch.rest())


def test_a_fault_keeps_the_last_good_result_and_its_files(folder: Path, watches: list[Watch]) -> None:
    piece = folder / "cube.posy"
    watch = start(watches, folder, "cube.posy", "--make", "--as", "stl")
    watch.until("wrote out/cube.stl")
    good = (folder / "out" / "cube.stl").read_bytes()
    piece.write_text("oh\n")
    watch.until("not-a-number")
    watch.until("the last good result stands")
    assert (folder / "out" / "cube.stl").read_bytes() == good
    piece.write_text("11\n")
    watch.until("wrote out/cube.stl")
    assert (folder / "out" / "cube.stl").read_bytes() != good


def test_a_file_touched_or_read_is_not_built_again(folder: Path, watches: list[Watch]) -> None:
    piece = folder / "cube.posy"
    watch = start(watches, folder, "cube.posy")
    watch.until("Cube")
    watch.until("checked")
    while not watch.silent_for(0.5):
        pass
    os.utime(piece)
    piece.read_text()
    piece.write_text("10\n")
    (folder / "other.posy").write_text("1\n")
    assert watch.silent_for(2.0), watch.seen


def test_taken_files_are_watched_too(folder: Path, watches: list[Watch]) -> None:
    (folder / "cube.posy").write_text("take leaf.posy\n")
    watch = start(watches, folder, "cube.posy")
    watch.until("1 fault")  # the taken file is not there yet
    (folder / "leaf.posy").write_text("10\n")
    watch.until("10.36 g of")
    atomic_save(folder / "leaf.posy", "11\n")
    watch.until("13.79 g of")


def test_a_missing_piece_and_folder_are_waited_for(folder: Path, watches: list[Watch]) -> None:
    watch = start(watches, folder, "later/cube.posy")
    watch.until("1 fault")
    (folder / "later").mkdir()
    (folder / "later" / "cube.posy").write_text("10\n")
    watch.until("10.36 g of")
    (folder / "later" / "cube.posy").write_text("11\n")
    watch.until("13.79 g of")


def test_a_newer_save_overtakes_a_running_build(folder: Path, watches: list[Watch]) -> None:
    piece = folder / "cube.posy"
    watch = start(watches, folder, "cube.posy")
    watch.until("10.36 g of")
    piece.write_text("sleep 1.5 11\n")
    time.sleep(0.6)
    piece.write_text("12\n")
    line = watch.until("Cube: ")
    assert "17.90 g" in line, "the overtaken build was shown"


def test_a_stuck_build_is_given_up_for_a_newer_save(folder: Path, watches: list[Watch]) -> None:
    piece = folder / "cube.posy"
    watch = start(watches, folder, "cube.posy")
    watch.until("10.36 g of")
    piece.write_text("sleep 600 11\n")
    time.sleep(0.6)
    piece.write_text("12\n")
    assert "17.90 g" in watch.until("Cube: ")


def test_a_build_process_that_ends_or_errs_is_told_and_replaced(folder: Path, watches: list[Watch]) -> None:
    piece = folder / "cube.posy"
    watch = start(watches, folder, "cube.posy")
    watch.until("10.36 g of")
    piece.write_text("die\n")
    watch.until("ended unexpectedly")
    watch.until("the last good result stands")
    piece.write_text("bug\n")
    line = watch.until("a fault in posy itself (KeyError)")
    note = Path(line.rpartition(" ")[2])
    assert "KeyError: 'a fault of ours'" in note.read_text()
    note.unlink()
    piece.write_text("11\n")
    watch.until("13.79 g of")
    assert not any("Traceback" in line for line in watch.seen)


def test_interrupting_a_busy_watch_leaves_no_process(folder: Path, watches: list[Watch]) -> None:
    (folder / "cube.posy").write_text("sleep 600 10\n")
    watch = start(watches, folder, "cube.posy")
    time.sleep(1.0)
    assert watch.interrupt() == 130
    assert watch.silent_for(0.3), watch.seen
    with pytest.raises(ProcessLookupError):
        for _ in range(50):
            os.killpg(watch.process.pid, 0)
            time.sleep(0.1)


def test_a_killed_watch_takes_its_busy_child_along(folder: Path, watches: list[Watch]) -> None:
    (folder / "cube.posy").write_text("sleep 600 10\n")
    watch = start(watches, folder, "cube.posy")
    time.sleep(1.0)
    watch.process.kill()
    watch.process.wait(BOUND)
    assert watch.leaves_nothing()


def test_the_weight_comes_before_the_rules_are_done(folder: Path, watches: list[Watch]) -> None:
    (folder / "cube.posy").write_text("10 check600\n")
    watch = start(watches, folder, "cube.posy")
    watch.until("10.36 g of")
    # A newer save does not wait for the rules, and is built by the same process.
    atomic_save(folder / "cube.posy", "11 check600\n")
    watch.until("13.79 g of")
    atomic_save(folder / "cube.posy", "12 check0.1\n")
    watch.until("17.90 g of")
    watch.until("checked:")
    assert not any("checked" in line for line in watch.seen[:-1])
    assert not any("unexpectedly" in line for line in watch.seen)


def test_a_save_that_changes_nothing_is_one_line(folder: Path, watches: list[Watch]) -> None:
    piece = folder / "cube.posy"
    watch = start(watches, folder, "cube.posy")
    watch.until("checked:")
    piece.write_text("10 \n")
    assert "unchanged at" in watch.until(":")
    assert watch.silent_for(1.0), watch.seen
    piece.write_text("oh\n")
    watch.until("the last good result stands")
    piece.write_text("10\n")
    watch.until("· same weight")


def test_hints_are_counted_and_told_when_new(folder: Path, watches: list[Watch]) -> None:
    piece = folder / "cube.posy"
    piece.write_text("10 hot-stone\n")
    watch = start(watches, folder, "cube.posy")
    watch.until("checked:")
    assert watch.seen[-1].endswith(": 1 hint")
    assert not any("hot-stone" in line for line in watch.seen)
    piece.write_text("11 hot-stone wet-stone\n")
    line = watch.until("hint  ")
    assert " ".join(line.split()) == "hint line 1: about wet-stone (wet-stone)"
    assert watch.until("checked:").endswith(": 2 hints")
    assert not any("hot-stone" in line for line in watch.seen)


def test_the_readout_lists_metals_and_json_lines(folder: Path, watches: list[Watch]) -> None:
    watch = start(watches, folder, "cube.posy")
    line = watch.until("gold-750-yellow 15.58")
    assert "palladium-950-gallium" not in line
    few = Watch(folder, "cube.posy", "--alloys", "platinum-950,silver-999")
    watches.append(few)
    assert few.until("silver-999").strip() == "silver-999 10.49 · platinum-950 20.70"
    other = Watch(folder, "cube.posy", "--show", "data")
    watches.append(other)
    first, last = (json.loads(other.until("metal_weight")) for _ in range(2))
    assert (first["checked"], last["checked"]) == (False, True)
    for record in (first, last):
        assert record["made"] is True
        assert record["metal_weight"]["grams"] == 10.36


def test_the_working_folder_may_go_and_come_back(folder: Path, watches: list[Watch]) -> None:
    """As when a branch without it is checked out for a while."""
    watch = start(watches, folder, "cube.posy")
    watch.until("checked")
    shutil.rmtree(folder)
    watch.until("the last good result stands")
    folder.mkdir()
    (folder / "cube.posy").write_text("12\n")
    assert "17.90 g" in watch.until("Cube")
    (folder / "cube.posy").write_text("11\n")
    assert "13.79 g" in watch.until("Cube")


def test_a_thousand_rapid_saves_end_at_the_last(folder: Path, watches: list[Watch]) -> None:
    """In place and by renaming in turn, a build now and then in between."""
    piece = folder / "cube.posy"
    watch = start(watches, folder, "cube.posy", "--make", "--as", "stl")
    watch.until("checked")
    for number in range(1000):
        text = f"{5 + number % 7} hint-{number}\n"
        atomic_save(piece, text) if number % 2 else piece.write_text(text)
        time.sleep(0.002)
    piece.write_text("12 the-last\n")
    while "(the-last)" not in watch.until("hint  "):
        pass
    watch.until("checked")
    if not watch.silent_for(1.5):  # a build read the last save before its event came: it is made once more
        watch.until("checked")
    assert watch.silent_for(1.5), watch.seen
    assert "(the-last)" in [line for line in watch.seen if "hint  " in line][-1]
    alone = folder / "alone.posy"
    alone.write_text("12 the-last\n")
    other = start(watches, folder, "alone.posy", "--make", "--as", "stl")
    other.until("checked")
    assert (folder / "out" / "cube.stl").read_bytes()[80:] == (folder / "out" / "alone.stl").read_bytes()[80:]
    assert not list((folder / "out").glob(".posy-*"))
    assert not any("Traceback" in line or "posy itself" in line for line in watch.seen)


def test_a_half_written_file_is_told_and_then_forgotten(folder: Path, watches: list[Watch]) -> None:
    piece = folder / "cube.posy"
    watch = start(watches, folder, "cube.posy")
    watch.until("checked")
    with piece.open("w") as stream:
        stream.flush()  # emptied, and the rest comes late
        watch.until("the last good result stands")
        stream.write("11")
    assert watch.until("made again").endswith(" · +3.429 g")
    assert "13.79 g" in watch.until("Cube: ")


def test_a_folder_renamed_and_back_is_followed(folder: Path, watches: list[Watch]) -> None:
    inside = folder / "rings"
    inside.mkdir()
    (inside / "cube.posy").write_text("10\n")
    watch = start(watches, folder, "rings/cube.posy")
    watch.until("checked")
    inside.rename(folder / "old-rings")
    watch.until("the last good result stands")
    (folder / "old-rings" / "cube.posy").write_text("11\n")
    (folder / "old-rings").rename(inside)
    watch.until("13.79 g of")
    (inside / "cube.posy").write_text("12\n")
    watch.until("17.90 g of")


def test_two_watches_of_one_piece_end_alike(folder: Path, watches: list[Watch]) -> None:
    pair = [start(watches, folder, "cube.posy", "--make", "--as", "stl,3mf") for _ in range(2)]
    for edge in range(5, 25):
        atomic_save(folder / "cube.posy", f"{edge} edge-{edge}\n")
        time.sleep(0.03)
    for one in pair:
        one.until("143.22 g")  # 24 mm cubed
        one.until("checked")
    together = {path.name: path.read_bytes() for path in (folder / "out").iterdir()}
    assert {"cube.stl", "cube.3mf"} <= set(together)
    assert not [name for name in together if name.startswith(".posy-")]
    for one in pair:
        assert one.interrupt() == 130
    alone = start(watches, folder, "cube.posy", "--make", "--as", "stl,3mf", "--into", "alone")
    alone.until("checked")
    for name in ("cube.stl", "cube.3mf"):
        assert (folder / "alone" / name).read_bytes() == together[name]
