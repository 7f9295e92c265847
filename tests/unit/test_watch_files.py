"""What counts as a change: contents decide, events and times only say where to look."""

from __future__ import annotations

import os
import sys
import time
from pathlib import Path

import pytest

from posy.compiler.terminal.saves import QUIET, Burst, Ear, ReadSet, content_hash


def test_contents_decide(tmp_path: Path) -> None:
    piece = tmp_path / "a.posy"
    piece.write_text("one")
    files = ReadSet([str(piece)])
    assert not files.changed()
    os.utime(piece, ns=(1, 1))
    assert not files.changed()
    piece.write_text("two")
    assert files.changed()
    files.start()
    assert not files.changed()
    piece.unlink()
    assert files.changed()


def test_a_file_that_is_not_a_file_is_as_good_as_missing(tmp_path: Path) -> None:
    assert content_hash(str(tmp_path / "gone")) is None
    assert content_hash(str(tmp_path)) is None
    if not hasattr(os, "mkfifo"):
        return
    os.mkfifo(tmp_path / "pipe")  # reading it would wait for ever
    assert content_hash(str(tmp_path / "pipe")) is None


def test_a_newly_taken_file_is_read_once_more(tmp_path: Path) -> None:
    """It may have been written while the build ran; no clock is asked, since clocks go back."""
    piece, leaf = tmp_path / "a.posy", tmp_path / "leaf.posy"
    piece.write_text("one")
    leaf.write_text("old")
    files = ReadSet([str(piece)])
    assert files.now_reads([str(piece), str(leaf)])
    assert not files.now_reads([str(piece), str(leaf)])
    assert files.paths == [str(piece), str(leaf)]
    leaf.write_text("written while a later build ran")
    assert not files.now_reads([str(piece), str(leaf)]) and files.changed()
    assert not files.now_reads([str(piece)])
    assert files.paths == [str(piece)]


def heard(ear: Ear, seconds: float = 5.0) -> bool:
    if not ear.waitable.poll(seconds):
        return False
    time.sleep(0.1)
    ear.hush()
    return True


@pytest.fixture
def ear() -> Ear:
    made = Ear()
    yield made  # type: ignore[misc]
    made.close()


def test_saves_are_heard_and_reading_is_not(tmp_path: Path, ear: Ear) -> None:
    piece = tmp_path / "a.posy"
    piece.write_text("one")
    ear.listen([str(piece)])
    ear.hush()
    piece.write_text("two")
    assert heard(ear)
    piece.read_text()
    (tmp_path / "b.posy").write_text("another")
    assert not heard(ear, 0.3)
    beside = tmp_path / "a.tmp"
    beside.write_text("three")
    beside.replace(piece)
    assert heard(ear)
    piece.unlink()
    assert heard(ear)
    ear.listen([])
    piece.write_text("four")
    assert not heard(ear, 0.3)


def test_an_event_in_the_middle_of_taking_note_does_not_deafen(ear: Ear) -> None:
    waitable = ear.waitable

    class Slow:
        """The pipe, with an event that comes just before it is looked at."""

        def poll(self) -> bool:
            ear._tell()
            ear.waitable = waitable
            return waitable.poll()

    ear.waitable = Slow()  # type: ignore[assignment]
    ear.hush()
    ear.hush()
    ear._tell()
    assert waitable.poll()


def test_what_the_system_does_not_tell_is_looked_for(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A system without watches to spare, as a drive that tells nothing: the looks remain, also
    when the folder goes and comes back."""
    monkeypatch.setattr("watchdog.observers.Observer.start", _refuse)
    ear = Ear()
    try:
        folder = tmp_path / "drawer"
        folder.mkdir()
        piece = folder / "a.posy"
        piece.write_text("one")
        ear.listen([str(piece)])
        ear.hush()
        piece.write_text("two, and longer")
        assert heard(ear)
        (folder / "b.posy").write_text("another")
        piece.read_text()
        assert not heard(ear, 1.5)
        folder.rename(tmp_path / "away")
        assert heard(ear)
        (tmp_path / "away").rename(folder)
        assert heard(ear)
        piece.write_text("three")
        assert heard(ear)
    finally:
        ear.close()


def _refuse(self: object) -> None:
    raise OSError


def test_the_file_behind_a_link_is_listened_to(tmp_path: Path, ear: Ear) -> None:
    (tmp_path / "real").mkdir()
    (tmp_path / "seen").mkdir()
    real = tmp_path / "real" / "a.posy"
    real.write_text("one")
    link = tmp_path / "seen" / "a.posy"
    link.symlink_to(real)
    ear.listen([str(link)])
    ear.hush()
    real.write_text("two")
    assert heard(ear)


def test_a_burst_ends_when_it_is_quiet() -> None:
    burst = Burst()
    assert burst.left() is None
    assert not burst.over()
    burst.note()
    assert not burst.over()
    time.sleep(QUIET * 1.5)
    assert burst.over()
    assert burst.left() is None


def test_a_file_that_was_closed_or_moved_to_its_place_is_whole(tmp_path: Path, ear: Ear) -> None:
    """Half of a text, flushed but not closed, is no such thing. Where the system tells of closing: Linux."""

    def left_whole() -> bool:
        assert ear.waitable.poll(2.0)
        time.sleep(0.1)
        return ear.hush()

    tells = sys.platform.startswith("linux")
    path = tmp_path / "piece.posy"
    path.write_text("a", encoding="utf-8")
    ear.listen([str(path)])
    ear.hush()
    with path.open("w", encoding="utf-8") as stream:
        stream.write("half")
        stream.flush()
        assert not left_whole()
    assert left_whole() or not tells
    beside = path.with_suffix(".new")
    beside.write_text("b", encoding="utf-8")
    beside.replace(path)
    assert left_whole() or not tells
    half, whole = Burst(), Burst()
    half.note()
    whole.note(whole=True)
    time.sleep(QUIET / 3)
    assert whole.over() and not half.over()


def test_a_burst_that_does_not_end_is_looked_at_all_the_same() -> None:
    burst = Burst()
    end = time.monotonic() + 3.0
    while not burst.over():
        burst.note()
        time.sleep(0.02)
        assert time.monotonic() < end
