"""Watching the files a piece was read from, however an editor saves them.

Editors save in place, or write beside and rename; files may be missing for a while; events may
be lost (network drives) or come for nothing (reading is an event too). So parent folders are
watched, events only say "look", a look a second is taken anyway, and contents decide.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import stat
import time
from collections.abc import Iterable
from multiprocessing import Pipe
from pathlib import Path
from typing import Any

QUIET = 0.08  # s without events before a burst of saves counts as over
BURST = 0.5  # s after which a burst that does not end is looked at all the same
LOOK = 1.0  # s between looks without any event
TELLING = frozenset({"created", "modified", "moved", "deleted", "closed"})
# More than the language reads of a file; the rest cannot matter and may be endless.
READ_LIMIT = 2_000_000

Sign = tuple[int, int, int] | None


def content_hash(path: str) -> str | None:
    """sha256 of what is in the file, in hex; None when there is no such file."""
    try:
        if not stat.S_ISREG(os.stat(path).st_mode):  # noqa: PTH116 (one call, no object)
            return None
        with Path(path).open("rb") as stream:
            return hashlib.sha256(stream.read(READ_LIMIT)).hexdigest()
    except OSError:
        return None


def sign_of(path: str) -> Sign:
    """When the file was last written, its size and number: cheap to ask for every second."""
    try:
        status = os.stat(path)  # noqa: PTH116
    except OSError:
        return None
    return status.st_mtime_ns, status.st_size, status.st_ino


class ReadSet:
    """The files whose content matters, and what it was when they were last read."""

    def __init__(self, paths: Iterable[str]) -> None:
        self._hashes: dict[str, str | None] = {}
        self._signs: dict[str, Sign] = {}
        self.start(paths)

    @property
    def paths(self) -> list[str]:
        """Absolute paths, in order of name."""
        return sorted(self._hashes)

    def start(self, paths: Iterable[str] | None = None) -> None:
        """Take down what is in the files now, as a build is about to read them."""
        names = self.paths if paths is None else {os.path.abspath(one) for one in paths}  # noqa: PTH100
        self._signs = {path: sign_of(path) for path in names}
        self._hashes = {path: content_hash(path) for path in names}

    def now_reads(self, paths: Iterable[str], since_ns: int) -> bool:
        """Watch ``paths`` from now on, after a build that began at ``since_ns``.

        True when one of them is new and was written since: the build may have missed it.
        """
        missed = False
        wanted = {os.path.abspath(one) for one in paths}  # noqa: PTH100
        for path in sorted(wanted - self._hashes.keys()):
            sign = sign_of(path)
            missed |= sign is not None and sign[0] >= since_ns
            self._signs[path], self._hashes[path] = sign, content_hash(path)
        for path in self._hashes.keys() - wanted:
            del self._hashes[path], self._signs[path]
        return missed

    def stirred(self) -> bool:
        """Whether a file was touched since the last look; says nothing about its content."""
        signs = {path: sign_of(path) for path in self._signs}
        same = signs == self._signs
        self._signs = signs
        return not same

    def changed(self) -> bool:
        """Whether what is in a file differs from what a build last read."""
        return any(content_hash(path) != old for path, old in self._hashes.items())


class Ear:
    """Listens for events in the folders of a read set; ``waitable`` becomes ready on one."""

    def __init__(self) -> None:
        self.waitable, self._send = Pipe(duplex=False)
        self._told = False
        self._paths: frozenset[str] = frozenset()
        self._watches: dict[str, tuple[Any, int]] = {}
        self._observer = _observer()

    def listen(self, paths: Iterable[str]) -> None:
        """Watch exactly the folders of ``paths``, and where links among them lead.

        Folders that came back under a new number are watched anew, missing ones left to looks.
        """
        names = {
            os.path.normcase(one) for path in paths for one in (path, os.path.realpath(path))
        }
        self._paths = frozenset(names)
        folders = {os.path.dirname(path) for path in names}  # noqa: PTH120
        for folder in sorted(self._watches.keys() - folders):
            self._drop(folder)
        for folder in sorted(folders):
            self._watch(folder)

    def _watch(self, folder: str) -> None:
        sign = sign_of(folder)
        known = self._watches.get(folder)
        if known is not None and sign is not None and known[1] == sign[2]:
            return
        self._drop(folder)
        if sign is None or self._observer is None:
            return
        with contextlib.suppress(OSError):  # no more watches to be had: the looks remain
            self._watches[folder] = (self._observer.schedule(_Handler(self), folder), sign[2])

    def _drop(self, folder: str) -> None:
        known = self._watches.pop(folder, None)
        if known is not None and self._observer is not None:
            with contextlib.suppress(OSError, KeyError):
                self._observer.unschedule(known[0])

    def heard(self, kind: str, paths: Iterable[str]) -> None:
        """An event of ``kind``, from the watching thread."""
        if kind not in TELLING or self._told:
            return
        if any(os.path.normcase(os.path.abspath(path)) in self._paths for path in paths):  # noqa: PTH100
            self._told = True
            with contextlib.suppress(OSError):
                self._send.send_bytes(b"!")

    def hush(self) -> None:
        """Take note of the events so far."""
        self._told = (
            False  # first: an event from here on sends anew, and is at worst taken along
        )
        while self.waitable.poll():
            self.waitable.recv_bytes()

    def close(self) -> None:
        """Stop listening."""
        if self._observer is not None:
            self._observer.stop()
            self._observer.join(2.0)


class _Handler:
    """What watchdog calls with every event."""

    def __init__(self, ear: Ear) -> None:
        self._ear = ear

    def dispatch(self, event: Any) -> None:
        """Pass an event on, with both ends of a move."""
        paths = [os.fsdecode(one) for one in (event.src_path, event.dest_path) if one]
        self._ear.heard(event.event_type, paths)


def _observer() -> Any:
    """A running observer, or None where the system offers none."""
    from watchdog.observers import Observer

    try:
        observer = Observer()
        observer.daemon = True
        observer.start()
    except OSError:
        return None
    return observer


class Burst:
    """Tells when a burst of events is over: quiet for QUIET, or going on for BURST."""

    def __init__(self) -> None:
        self._first: float | None = None
        self._last = 0.0

    def note(self) -> None:
        """An event came."""
        self._last = time.monotonic()
        if self._first is None:
            self._first = self._last

    def left(self) -> float | None:
        """Seconds until the burst counts as over; None when there is none."""
        if self._first is None:
            return None
        now = time.monotonic()
        return max(0.0, min(self._last + QUIET, self._first + BURST) - now)

    def over(self) -> bool:
        """Whether a burst has ended; it is then forgotten."""
        if self.left() != 0.0:
            return False
        self._first = None
        return True
