"""Watching the files a piece was read from, however an editor saves them.

Editors save in place, or write beside and rename; files may be missing for a while; the system may
tell nothing (network drives) or tell of nothing (reading is an event too). So parent folders are
watched, by the system and by a look a second; either only says "look", and contents decide."""

from __future__ import annotations

import contextlib
import hashlib
import logging
import os
import stat
import time
from collections.abc import Callable, Iterable, Iterator
from multiprocessing import Pipe
from pathlib import Path
from typing import Any

QUIET = 0.08  # s without events before a burst of saves counts as over
WHOLE = 0.012  # s, where the system said that a file was closed or moved to its place: it is whole then
BURST = 0.5  # s after which a burst that does not end is looked at all the same
LOOK = 1.0  # s between looks at what the system may not tell of
# A lost event is made up for by the look a second: nothing to tell a jeweler of.
logging.getLogger("watchdog").addHandler(logging.NullHandler())
TELLING = frozenset({"created", "modified", "moved", "deleted", "closed"})
# More than the language reads of a file; the rest cannot matter and may be endless.
READ_LIMIT = 2_000_000


def content_hash(path: str) -> str | None:
    """sha256 of what is in the file, in hex; None when there is no such file."""
    try:
        if not stat.S_ISREG(os.stat(path).st_mode):  # noqa: PTH116 (one call, no object)
            return None
        with Path(path).open("rb") as stream:
            return hashlib.sha256(stream.read(READ_LIMIT)).hexdigest()
    except OSError:
        return None


def _number(folder: str) -> int:
    """The system's number of a folder, another one if it went and came back; 0 while it is gone."""
    try:
        return os.stat(folder).st_ino  # noqa: PTH116
    except OSError:
        return 0


class ReadSet:
    """The files whose content matters, and what it was when they were last read."""

    def __init__(self, paths: Iterable[str]) -> None:
        self._hashes: dict[str, str | None] = {}
        self.start(paths)

    @property
    def paths(self) -> list[str]:
        """Absolute paths, in order of name."""
        return sorted(self._hashes)

    def start(self, paths: Iterable[str] | None = None) -> None:
        """Take down what is in the files now, as a build is about to read them."""
        names = self.paths if paths is None else {os.path.abspath(one) for one in paths}  # noqa: PTH100
        self._hashes = {path: content_hash(path) for path in names}

    def now_reads(self, paths: Iterable[str]) -> bool:
        """Watch ``paths`` from now on, after a build.

        True when one of them is new: what stands in it now need not be what the build has read, and
        no clock says which came first."""
        wanted = {os.path.abspath(one) for one in paths}  # noqa: PTH100
        new = wanted - self._hashes.keys()
        self._hashes = {path: content_hash(path) if path in new else self._hashes[path] for path in wanted}
        return bool(new)

    def changed(self) -> bool:
        """Whether what is in a file differs from what a build last read."""
        return any(content_hash(path) != old for path, old in self._hashes.items())


class Ear:
    """Hears that files of a read set were written; ``waitable`` becomes ready then.

    Two observers tell it: the system's, at once, and one that looks every second."""

    def __init__(self) -> None:
        self.waitable, self._send = Pipe(duplex=False)
        self._told = False
        self.whole = False  # whether a file was closed after writing, or moved here, since the last hush
        self._paths: frozenset[str] = frozenset()
        self._folders: dict[str, int] = {}
        self._observers = [*_started(self._listing)]

    def listen(self, paths: Iterable[str]) -> None:
        """Watch exactly the folders of ``paths``, and where links among them lead; anew where one
        went and came back. What was written meanwhile counts as heard."""
        self._paths = frozenset(
            os.path.normcase(one) for path in paths for one in (path, os.path.realpath(path))
        )
        folders = {folder: _number(folder) for folder in map(os.path.dirname, self._paths)}
        if folders == self._folders:
            return
        self._folders = folders
        for observer in self._observers:
            observer.unschedule_all()
            for folder in sorted(folders):
                with contextlib.suppress(OSError):  # gone, or no more watches to be had
                    observer.schedule(self, folder)
        if folders:
            self._tell()

    def dispatch(self, event: Any) -> None:
        """An event, from a watching thread; a move has two ends."""
        paths = [os.path.abspath(os.fsdecode(one)) for one in (event.src_path, event.dest_path) if one]  # noqa: PTH100
        if event.event_type in TELLING and not self._paths.isdisjoint(map(os.path.normcase, paths)):
            self.whole |= event.event_type in ("closed", "moved")
            self._tell()

    def _tell(self) -> None:
        if not self._told:
            self._told = True
            with contextlib.suppress(OSError):
                self._send.send_bytes(b"!")

    def hush(self) -> bool:
        """Take note of the events, and whether they left a file whole; files are looked at after this."""
        while self.waitable.poll():
            self.waitable.recv_bytes()
        whole, self.whole = self.whole, False
        self._told = False  # last: told and taken in between, it would keep all later events back
        return whole

    def close(self) -> None:
        """Stop listening."""
        for observer in self._observers:
            observer.stop()
            observer.join(2.0)

    def _listing(self, folder: str | None) -> list[os.DirEntry[str]]:
        """What of a folder is looked at: the files listened to."""
        with contextlib.suppress(OSError), os.scandir(folder) as entries:
            return [one for one in entries if os.path.normcase(one.path) in self._paths]
        return []


def _started(listing: Callable[[str | None], Any]) -> Iterator[Any]:
    """Running observers: the one that looks, and the system's where it offers one."""
    from watchdog.observers import Observer
    from watchdog.observers.polling import PollingObserverVFS

    for observer in (PollingObserverVFS(_status, listing, polling_interval=LOOK), Observer()):
        observer.daemon = True
        with contextlib.suppress(OSError):
            observer.start()
            yield observer


def _status(path: str) -> os.stat_result:
    """As the system has it; for what is gone, an empty folder: it may come back."""
    with contextlib.suppress(OSError):
        return os.stat(path)  # noqa: PTH116
    return os.stat_result((stat.S_IFDIR, *(0,) * 9))


class Burst:
    """Tells when a burst of events is over: quiet for QUIET (WHOLE: a file closed), or lasting BURST."""

    def __init__(self) -> None:
        self._first: float | None = None
        self._last = 0.0
        self._quiet = QUIET

    def note(self, whole: bool = False) -> None:
        """Events came; ``whole`` tells whether they left a file whole."""
        self._last = time.monotonic()
        if self._first is None:
            self._first, self._quiet = self._last, QUIET
        if whole:
            self._quiet = WHOLE

    def left(self) -> float | None:
        """Seconds until the burst counts as over; None when there is none."""
        if self._first is None:
            return None
        now = time.monotonic()
        return max(0.0, min(self._last + self._quiet, self._first + BURST) - now)

    def over(self) -> bool:
        """Whether a burst has ended; it is then forgotten."""
        if self.left() != 0.0:
            return False
        self._first = None
        return True
