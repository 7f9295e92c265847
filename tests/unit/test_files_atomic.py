"""Files are replaced whole, all of a set or none, and never at the cost of the old ones."""

from __future__ import annotations

import os
import random
import signal
import stat
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from posy.compiler.files import atomic, waiting


def leftovers(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir() if path.name.endswith(".part"))


def test_a_set_is_written_with_missing_folders(tmp_path: Path) -> None:
    files = {tmp_path / "out" / "a.stl": b"one", tmp_path / "out" / "b.json": b"two"}
    done, faults = atomic.write_set(files)
    assert faults == []
    assert done == list(files)
    assert [path.read_bytes() for path in files] == [b"one", b"two"]
    assert leftovers(tmp_path / "out") == []


def test_a_write_that_fails_midway_leaves_every_old_file(tmp_path, monkeypatch):
    first, second = tmp_path / "a", tmp_path / "b"
    first.write_bytes(b"old a")
    second.write_bytes(b"old b")
    calls = []

    def full(handle: int) -> None:
        calls.append(handle)
        if len(calls) == 2:  # the disk is full at the second file
            raise OSError(28, "No space left on device")

    monkeypatch.setattr(atomic.os, "fsync", full)
    done, faults = atomic.write_set({first: b"new a", second: b"new b"})
    assert done == []
    assert [fault.code for fault in faults] == ["file-not-written"]
    assert "No space left" in faults[0].message
    assert (first.read_bytes(), second.read_bytes()) == (b"old a", b"old b")
    assert leftovers(tmp_path) == []


def test_a_rename_that_fails_tells_what_was_replaced(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    first, second = tmp_path / "a", tmp_path / "b"
    second.write_bytes(b"old b")
    real = Path.replace

    def refuse(self: Path, target: Path) -> Path:
        if target.name == "b":
            raise PermissionError(13, "Permission denied")
        return real(self, target)

    monkeypatch.setattr(Path, "replace", refuse)
    done, faults = atomic.write_set({first: b"new a", second: b"new b"})
    assert done == [first]
    assert str(first) in faults[0].message
    assert second.read_bytes() == b"old b"
    assert leftovers(tmp_path) == []


def test_a_folder_in_the_way_is_a_fault(tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    done, faults = atomic.write_set({tmp_path / "b": b"1", tmp_path / "a": b"2"})
    assert done == []
    assert faults[0].code == "file-not-written"
    assert not (tmp_path / "b").exists()
    assert leftovers(tmp_path) == []


def test_an_interruption_leaves_nothing_behind(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def stop(handle: int) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(atomic.os, "fsync", stop)
    with pytest.raises(KeyboardInterrupt):
        atomic.write_set({tmp_path / "a": b"1"})
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(sys.platform == "win32", reason="permissions and links of POSIX")
def test_permissions_and_links_are_kept(tmp_path: Path) -> None:
    real = tmp_path / "real"
    real.write_bytes(b"old")
    real.chmod(0o640)
    link = tmp_path / "link"
    link.symlink_to(real)
    atomic.write_set({link: b"new"})
    assert link.is_symlink()
    assert real.read_bytes() == b"new"
    assert stat.S_IMODE(real.stat().st_mode) == 0o640
    plain = tmp_path / "plain"
    atomic.write_set({plain: b"x"})
    umask = os.umask(0)
    os.umask(umask)
    assert stat.S_IMODE(plain.stat().st_mode) == 0o666 & ~umask


def test_a_very_long_name_can_be_written(tmp_path: Path) -> None:
    path = tmp_path / ("n" * 251 + ".stl")
    assert atomic.write_set({path: b"x"}) == ([path], [])


def test_write_new_never_overwrites(tmp_path: Path) -> None:
    path = tmp_path / "leaf.posy"
    assert atomic.write_new(path, b"first") == []
    faults = atomic.write_new(path, b"second")
    assert [fault.code for fault in faults] == ["file-exists"]
    assert path.read_bytes() == b"first"
    dangling = tmp_path / "dangling"
    dangling.symlink_to(tmp_path / "nowhere")
    assert [fault.code for fault in atomic.write_new(dangling, b"x")] == ["file-exists"]
    assert leftovers(tmp_path) == []


KILLED = """
import os, sys
from pathlib import Path
from posy.compiler.files import atomic, waiting

real, calls = {what}, []

def stop(*given):
    calls.append(given)
    if len(calls) == {last}:
        os._exit(9)  # as kill -9 would: nothing is tidied up
    return real(*given)

{what} = stop
folder = Path(sys.argv[1])
atomic.write_set({{folder / name: b"new" for name in ("a.stl", "b.3mf", "c.json")}})
"""


def killed(folder: Path, what: str, last: int) -> None:
    """A process that dies at the ``last`` call of ``what`` while it writes three files."""
    text = KILLED.format(what=what, last=last)
    assert subprocess.run([sys.executable, "-c", text, str(folder)], check=False).returncode == 9


def old_set(folder: Path) -> None:
    for name in ("a.stl", "b.3mf", "c.json"):
        (folder / name).write_bytes(b"old")


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}


@pytest.mark.skipif(sys.platform == "win32", reason="no locks to tell the dead by")
@pytest.mark.parametrize("last", [1, 2, 3])
def test_a_kill_between_renames_is_carried_through_by_the_next(tmp_path: Path, last: int) -> None:
    old_set(tmp_path)
    killed(tmp_path, "Path.replace", last)
    assert len(leftovers(tmp_path)) == 4 - last
    atomic.write_set({tmp_path / "other.txt": b"other"})
    assert contents(tmp_path) == {"a.stl": b"new", "b.3mf": b"new", "c.json": b"new", "other.txt": b"other"}


@pytest.mark.skipif(sys.platform == "win32", reason="no locks to tell the dead by")
@pytest.mark.parametrize("last", [1, 2, 3])
def test_a_kill_before_all_is_complete_leaves_the_old_and_is_cleared_away(tmp_path: Path, last: int) -> None:
    old_set(tmp_path)
    killed(tmp_path, "os.fsync", last)
    assert leftovers(tmp_path)
    atomic.write_set({tmp_path / "other.txt": b"other"})
    assert contents(tmp_path) == {"a.stl": b"old", "b.3mf": b"old", "c.json": b"old", "other.txt": b"other"}


@pytest.mark.skipif(sys.platform == "win32", reason="no locks to tell the dead by")
def test_what_another_process_is_writing_is_left_to_it(tmp_path: Path) -> None:
    with waiting.Waiting() as other:
        part = other.write(tmp_path / "a.stl", tmp_path / "a.stl", b"theirs")
        text = (
            "import sys; from pathlib import Path; from posy.compiler.files import atomic; "
            "atomic.write_set({Path(sys.argv[1]) / 'b.stl': b'ours'})"
        )
        subprocess.run([sys.executable, "-c", text, str(tmp_path)], check=True)
        assert part.read_bytes() == b"theirs"
        other.settle()
        assert list(other.replaced()) == [tmp_path / "a.stl"]
    assert contents(tmp_path) == {"a.stl": b"theirs", "b.stl": b"ours"}


@pytest.mark.skipif(sys.platform == "win32", reason="no locks to tell the dead by")
def test_a_list_that_names_other_folders_is_not_followed(tmp_path: Path) -> None:
    inside = tmp_path / "out"
    inside.mkdir()
    (tmp_path / "mine.txt").write_bytes(b"mine")
    (inside / ".posy-0123456789ab-0.part").write_bytes(b"evil")
    rows = '[[".posy-0123456789ab-0.part", "../mine.txt"]]'
    (inside / ".posy-0123456789ab.set").write_text(rows)
    atomic.write_set({inside / "a.stl": b"a"})
    assert (tmp_path / "mine.txt").read_bytes() == b"mine"
    assert contents(inside) == {"a.stl": b"a"}


NAMES = "a.stl", "b.3mf", "c.json"


@pytest.mark.skipif(sys.platform == "win32", reason="no locks")
def test_two_sets_of_the_same_files_are_never_mixed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The first is slow between its renames, the second comes in the middle."""
    real, slow = Path.replace, threading.Event()

    def replace(self: Path, target: Path) -> Path:
        done = real(self, target)
        if threading.current_thread().name == "slow":
            slow.set()
            time.sleep(0.2)
        return done

    monkeypatch.setattr(Path, "replace", replace)

    def write(content: bytes) -> None:
        assert atomic.write_set({tmp_path / name: content for name in NAMES})[1] == []

    first = threading.Thread(target=write, args=(b"first",), name="slow")
    first.start()
    slow.wait(10)
    write(b"second")
    first.join(10)
    assert contents(tmp_path) == dict.fromkeys(NAMES, b"second")


@pytest.mark.skipif(not hasattr(os, "fork"), reason="processes of POSIX")
def test_killed_at_a_hundred_moments_a_set_is_all_old_or_all_new(tmp_path: Path) -> None:
    dice, size = random.Random(1), 300_000
    start = time.perf_counter()
    atomic.write_set({tmp_path / name: b"0" * size for name in NAMES})
    long, cut, held = time.perf_counter() - start, 0, {b"0" * size}
    for round in range(1, 101):
        content = b"%d" % (round % 10) * size
        child = os.fork()
        if not child:
            atomic.write_set({tmp_path / name: content for name in NAMES})
            os._exit(0)
        time.sleep(dice.uniform(0, 1.5) * long)
        os.kill(child, signal.SIGKILL)
        cut += os.waitpid(child, 0)[1] != 0
        for path in map(tmp_path.joinpath, NAMES):  # each is whole at once
            assert len(path.read_bytes()) == size
        waiting.clear(tmp_path)  # as the next that writes does
        assert sorted(contents(tmp_path)) == sorted(NAMES)
        before, held = held, set(contents(tmp_path).values())
        assert len(held) == 1 and held <= before | {content}
    assert cut > 20
