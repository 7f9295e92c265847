"""Files that stand complete beside their targets and wait to be renamed, and those left by the dead.

While a set is written its folder holds a list, ``.posy-TOKEN.set``, locked by the process that works,
and the parts, ``.posy-TOKEN-N.part``. The list is filled in when all parts are complete; so if the
process is killed between two renames the next to write there finds the list, unlocked by the system,
and finishes the renames. Parts that no list speaks of are cleared away. While it renames, a process holds
a lock on the folder itself, so that two sets of the same files never end up mixed. Where the system has no
such locks (Windows) nothing can be known of other processes, and nothing is touched."""

from __future__ import annotations

import contextlib
import json
import os
import re
import secrets
from collections.abc import Iterable, Iterator
from pathlib import Path
from types import ModuleType

try:
    import fcntl as _locks
except ImportError:  # pragma: no cover (Windows)
    _locks: ModuleType | None = None  # type: ignore[no-redef]

_BINARY = getattr(os, "O_BINARY", 0)  # Windows would otherwise translate line ends
_PART = re.compile(r"\.posy-([0-9a-f]+)(?:-\d+)?\.part")
_NEW = re.compile(r"\.posy-[0-9a-f]+\.new")
_LIST = re.compile(r"\.posy-([0-9a-f]+)\.set")


class Waiting:
    """The parts of one set, to be used in a `with` block, which clears away what was not renamed."""

    def __init__(self) -> None:
        self._token = secrets.token_hex(6)
        self._parts: list[tuple[Path, Path, Path]] = []  # (as asked for, target, part)
        self._lists: dict[Path, int] = {}  # by folder, the handle that is locked
        self._count = 0
        self.stuck: Path | None = None  # what could not be replaced

    def __enter__(self) -> Waiting:
        return self

    def __exit__(self, *error: object) -> None:
        for _, _, part in self._parts:
            with contextlib.suppress(OSError):
                part.unlink()
        for folder, handle in self._lists.items():
            with contextlib.suppress(OSError):
                (folder / f".posy-{self._token}.set").unlink()
            os.close(handle)

    def write(self, path: Path, target: Path, content: bytes | bytearray | memoryview) -> Path:
        """Write a part beside ``target``, flushed to the disk; ``path`` is as it was asked for. Raises
        OSError."""
        if target.is_dir():
            raise IsADirectoryError(21, "a folder of that name is in the way")
        folder = target.parent
        folder.mkdir(parents=True, exist_ok=True)
        self._begin(folder)
        # A short name of our own: the target's may already be as long as the system allows.
        part = folder / f".posy-{self._token}-{self._count}.part"
        self._count += 1
        self._parts.append((path, target, part))
        with open(_opened(part), "wb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        if target.exists():
            part.chmod(target.stat().st_mode & 0o7777)
        return part

    def settle(self) -> None:
        """All parts are complete: from here on whoever comes next carries the set through. Raises OSError."""
        for folder, handle in self._lists.items():
            rows = [[part.name, target.name] for _, target, part in self._parts if target.parent == folder]
            os.write(handle, json.dumps(rows).encode("utf-8", "surrogatepass"))
            os.fsync(handle)

    def replaced(self) -> Iterator[Path]:
        """Rename part after part; gives each as asked for. Raises OSError; ``stuck`` tells at which."""
        with _held(self._lists):
            while self._parts:
                path, target, part = self._parts[0]
                self.stuck = path
                part.replace(target)
                self._parts.pop(0)
                yield path

    def _begin(self, folder: Path) -> None:
        """Make the list of a folder, and take care of what the dead left there."""
        if folder in self._lists:
            return
        clear(folder)
        fresh = folder / f".posy-{self._token}.new"
        with _held([folder]):
            handle = _opened(fresh)
            self._lists[folder] = handle
            if _locks is not None:
                with contextlib.suppress(OSError):  # a file system without locks: others keep off
                    _locks.flock(handle, _locks.LOCK_EX | _locks.LOCK_NB)
            fresh.rename(folder / f".posy-{self._token}.set")  # nobody sees it before it is locked


@contextlib.contextmanager
def _held(folders: Iterable[Path]) -> Iterator[bool]:
    """Nobody else begins or renames in these folders meanwhile, where the system can see to it: it gives
    whether it does. Taken in one order, so that nobody waits for ever."""
    if _locks is None:
        yield False
        return
    handles: list[int] = []
    sure = True
    try:
        for folder in sorted(folders):
            try:
                handles.append(os.open(folder, os.O_RDONLY))
                _locks.flock(handles[-1], _locks.LOCK_EX)
            except OSError:  # a file system without locks on folders
                sure = False
        yield sure
    finally:
        for handle in handles:
            os.close(handle)


def clear(folder: Path) -> None:
    """Finish the sets in ``folder`` of processes that are no more, and clear away their parts."""
    if _locks is None:
        return
    with contextlib.suppress(OSError), _held([folder]) as sure:
        for entry in os.scandir(folder) if sure else ():
            if _NEW.fullmatch(entry.name):  # who was about to begin would hold the folder
                os.unlink(entry.path)  # noqa: PTH108
    with contextlib.suppress(OSError):
        names = sorted(entry.name for entry in os.scandir(folder) if entry.name.startswith(".posy-"))
        alive = set()
        for name in names:
            found = _LIST.fullmatch(name)
            if found and not _finished(folder, name):
                alive.add(found[1])
        for name in names:
            found = _PART.fullmatch(name)
            if found and found[1] not in alive:
                with contextlib.suppress(OSError):
                    (folder / name).unlink()


def _finished(folder: Path, name: str) -> bool:
    """Carry through and remove a list whose process is dead; False if it lives, or nobody can tell."""
    assert _locks is not None
    try:
        with (folder / name).open("rb") as stream:
            _locks.flock(stream, _locks.LOCK_EX | _locks.LOCK_NB)
            with _held([folder]):
                for part, target in _rows(stream.read(1_000_000)):
                    if (folder / part).is_file():
                        (folder / part).replace(folder / target)
        (folder / name).unlink()
    except OSError:
        return False
    return True


def _rows(content: bytes) -> list[tuple[str, str]]:
    """(part, target) names of a list, none of one that is not complete or not ours."""
    try:
        rows = [(str(part), str(target)) for part, target in json.loads(content)]
    except ValueError:
        return []
    plain = all(_PART.fullmatch(part) and Path(name).name == name for part, name in rows)
    return rows if plain else []


def _opened(path: Path) -> int:
    # os.open with 0o666 leaves the permissions to the user's umask, unlike tempfile (0o600).
    return os.open(path, os.O_RDWR | os.O_CREAT | os.O_EXCL | _BINARY, 0o666)
