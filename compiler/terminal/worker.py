"""What the long-lived child process of `posy watch` does: a job in, its reports out, the memo kept."""

from __future__ import annotations

import contextlib
import hashlib
import multiprocessing
import multiprocessing.connection
import os
import signal
import threading
import time
from collections import defaultdict
from collections.abc import Callable
from dataclasses import replace
from multiprocessing.connection import Connection
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ...lang.faults import Fault
from ..making.result import Built
from ..making.weights import Weights, weigh
from .forms import Arguments
from .reports import Crash, Job, Report

if TYPE_CHECKING:
    from ..making.session import Session

    Sessions = defaultdict[tuple[bool, bool], Session]

TRIAL = 0.5  # s without another figure tried before a piece is made fine, and the rules look at it


def come_home(home: str) -> bool:
    """Go back to the working folder if it was taken away under our feet and is there again, as when
    another branch is checked out; whether there is a working folder."""
    with contextlib.suppress(OSError):
        os.getcwd()  # noqa: PTH109
        return True
    with contextlib.suppress(OSError):
        os.chdir(home)
        return True
    return False


class Worker:
    """One job at work: tells of the metal at once, of the remarks when the rules are done. Where
    ``go_on``, asked with how many seconds it may wait for it, says that a newer job waits, the rest is
    left off, and nothing more is told. ``sessions`` keep what was made, each kind of metal by itself:
    (whether rough, whether its stones are set)."""

    def __init__(
        self, job: Job, tell: Callable[[Report], None], go_on: Callable[[float], bool], sessions: Sessions
    ) -> None:
        self._job, self._tell, self._go_on, self._sessions = job, tell, go_on, sessions
        self._start = time.perf_counter()
        self._seconds = 0.0  # until there was metal
        self._rough = False

    def work(self) -> None:
        """Build, weigh and, if wanted, write the files."""
        come_home(self._job.home)
        options = self._job.options
        if self._job.trial and not self._glance():
            return
        built = self._built(options)
        if self._go_on(0.0):
            told = self._finished(built)
            self._tell(told)
            if self._go_on(0.0) and not self._job.shows:  # a page shows more than a drawing
                self._draw(built, told)

    def _built(self, options: Arguments, **other: Any) -> Built:
        from . import run as making

        return making.built_piece(
            options.piece, options, session=self._sessions[self._rough, False], silent=True, made=self.metal,
            go_on=lambda: self._go_on(0.0), **other,
        )  # fmt: skip

    def _glance(self) -> bool:
        """Tell of a trial as it looks in few facets, without what is measured on them; where no sound
        metal comes of that, of nothing. Whether no newer job came meanwhile."""
        from ..geometry.outlines import ROUGH

        self._rough = True
        self._built(Arguments(**{**vars(self._job.options), "tolerance": ROUGH}), check_metal=False)
        taken, self._rough, self._seconds = self._seconds, False, 0.0
        going_on = self._go_on(max(TRIAL, 3 * taken) if taken else 0.0)  # a slow machine answers late
        self._start = time.perf_counter()
        return going_on

    def metal(self, built: Built) -> None:
        """There is metal; the rules that measure it come now."""
        from ..making.setting import as_set

        weights, faults = weigh(built)
        self._seconds = time.perf_counter() - self._start
        told = () if self._rough else (*built.faults, *faults)
        report = replace(self._report(built, weights, told), checked=False, rough=self._rough)
        shows = self._job.shows
        if shows:
            report = replace(report, packet=shows.packet(built))
        if shows and self._job.finished:
            there = as_set(built, self._sessions[self._rough, True])
            report = replace(report, finished=shows.packet(there))
        self._tell(report)

    def _finished(self, built: Built) -> Report:
        """The last word, after files are written."""
        from ..casting.quick import quick
        from . import options as shared
        from . import run as making

        self._seconds = self._seconds or time.perf_counter() - self._start
        weights, trouble = weigh(built)
        faults = [*built.faults, *trouble]
        options = self._job.options
        written: dict[str, int] = {}
        code = making.exit_code(faults, strict=options.strict)
        # Not where the folder of the piece has gone: files for one that was moved would make it anew.
        there = Path(options.piece).parent.is_dir()
        wanted = options.make and not self._job.trial and there
        if wanted and built.made and code == shared.DONE:
            from .output import write_files

            paths, trouble = write_files(built, options)
            written = {str(path): size for path, size in paths.items()}
            faults += trouble
        report = self._report(built, weights, tuple(faults))
        freezing = tuple(quick(built)) if built.made else ()
        poses = self._job.shows.poses(built) if self._job.shows and built.parts else {}
        return replace(report, written=written, freezing=freezing, poses=poses)

    def _draw(self, built: Built, told: Report) -> None:
        """The drawing of a good piece, after all is told; what goes wrong with it is told too."""
        from . import options as shared
        from . import run as making
        from .output import write_drawing

        if not built.made or making.exit_code(told.faults) != shared.DONE:
            return
        trouble = write_drawing(built, self._job.options.into)
        if trouble:
            self._tell(replace(told, faults=(*told.faults, *trouble)))

    def _report(self, built: Built, weights: Weights | None, faults: tuple[Fault, ...]) -> Report:
        return Report(
            self._job.number, built.path, built.title, built.metal, built.made, weights, faults,
            dict(built.texts), built.files_read, self._seconds, built.steps_total,
            built.steps_rebuilt, waivers=built.waivers, result=result_of(built),
        )  # fmt: skip


def result_of(built: Built) -> str:
    """A digest of all that is made: metal, stones, and what the summary says of them."""
    told = (
        built.title, built.metal, built.note, sorted(built.measures.items()),
        [(one.name, one.word) for one in built.features],
        [(one.shape, one.gem, one.feature) for one in built.stones],
    )  # fmt: skip
    digest = hashlib.blake2b(repr(told).encode(), digest_size=16)
    for part in built.parts:
        digest.update(part.metal.encode())
        for figures in (part.points, part.triangles, part.owner):
            digest.update(figures.tobytes())
    for stone in built.stones:
        digest.update(stone.frame.tobytes())
    return digest.hexdigest()


def serve(pipe: Connection) -> None:
    """The child's whole life: a job in, its reports out, until the parent is gone."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is the parent's to answer
    threading.Thread(target=_end_with_parent, daemon=True).start()
    sessions = fresh_sessions()
    while True:
        try:
            job = pipe.recv()
        except (EOFError, OSError):
            return
        try:
            Worker(job, pipe.send, lambda patience: not pipe.poll(patience), sessions).work()
        except Exception as error:
            sessions = fresh_sessions()  # whatever went wrong, their memo is not to be trusted
            if not _told_of(pipe, job, error):
                return


def _end_with_parent() -> None:
    """End this process once its parent is gone, also in the middle of a job."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        multiprocessing.connection.wait([parent.sentinel])
        os._exit(0)


def _told_of(pipe: Connection, job: Job, error: Exception) -> bool:
    """Tell the parent of a fault of ours; False when it is gone."""
    from .bugs import bug_note

    try:
        pipe.send(Crash(job.number, bug_note(error)))
    except OSError:
        return False
    return True


def fresh_sessions() -> Sessions:
    """An empty memo for each kind of metal."""
    from ..making.session import Session

    return defaultdict(Session)
