"""The long-lived child process that builds for `posy watch` and keeps the memo.

The geometry kernel holds Python's lock for whole operations, so a build in the watching process would leave
it deaf to saves and to Ctrl-C; and a build can only be given up by ending its process."""

from __future__ import annotations

import contextlib
import hashlib
import multiprocessing
import multiprocessing.connection
import os
import signal
import threading
import time
from collections.abc import Callable, Mapping
from dataclasses import field, replace
from multiprocessing.connection import Connection
from typing import TYPE_CHECKING, Any, Protocol

from ...lang.faults import Fault
from ...lang.lean import dataclass
from ...lang.outcome import Waiver
from ..making.result import Built
from ..making.weights import Weights, weigh
from .forms import Arguments

if TYPE_CHECKING:
    from ..casting.quick import Quick


TRIAL = 0.5  # s without another figure tried before the rules look at a piece


class Shows(Protocol):
    """What a page is sent of a build, made where the metal is; ``tolerance`` is the chord tolerance
    (mm) that looks smooth there."""

    tolerance: float

    def packet(self, built: Built) -> bytes:
        """All that is seen, as soon as there is metal."""

    def poses(self, built: Built) -> dict[str, Any]:
        """What is known of it once the rules have measured it."""


@dataclass(frozen=True)
class Job:
    """One build asked for; ``options`` are those of the watch command, ``home`` the folder it was started in,
    ``shows`` what makes it ready for a page, if there is one; ``finished`` tells whether it is looked at with
    its stones set, too; a ``trial`` of other figures than the text's is likely to be followed by more."""

    number: int
    options: Arguments
    home: str = ""
    shows: Shows | None = None
    finished: bool = False
    trial: bool = False


@dataclass(frozen=True)
class Report:
    """What came of a job, small enough to send: everything but the metal itself.

    A piece that can be made gives two: one as soon as there is metal, with ``checked`` False
    and no remarks of the rules that measure it, and one when they are done. ``seconds`` is the
    time until there was metal, ``check_seconds`` that of the rules; ``result`` is the same for
    two reports when all that is made is the same; ``written`` holds file paths with bytes;
    ``freezing`` the modulus of each casting, once it is checked. For a page the first carries the
    ``packet`` (and ``finished``, that of the piece with its stones set) and the second the ``poses``."""

    number: int
    path: str
    title: str
    metal: str
    made: bool
    weights: Weights | None
    faults: tuple[Fault, ...]
    texts: Mapping[str, str]
    files_read: tuple[str, ...]
    seconds: float
    steps_total: int = 0
    steps_rebuilt: int = 0
    written: Mapping[str, int] = field(default_factory=dict)
    waivers: tuple[Waiver, ...] = ()
    checked: bool = True
    check_seconds: float = 0.0
    result: str = ""
    freezing: tuple[Quick, ...] = ()
    packet: bytes = b""
    finished: bytes = b""
    poses: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class Crash:
    """A job that failed through a fault of ours, or whose process ended; ``note`` says how."""

    number: int
    note: str


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
    ``go_on``, asked with how many seconds it may wait for it, says that a newer job waits, the rules are
    left off, and nothing more is told."""

    def __init__(self, job: Job, tell: Callable[[Report], None], go_on: Callable[[float], bool]) -> None:
        self._job, self._tell, self._go_on = job, tell, go_on
        self._set: Any = None  # what is kept of metal with its stones set
        self._start = time.perf_counter()
        self._seconds = 0.0  # until there was metal

    def work(self, session: Any, finished: Any) -> None:
        """Build, weigh and, if wanted, write the files; ``finished`` is the session of metal with its
        stones set."""
        from . import run as making

        come_home(self._job.home)
        self._set = finished
        options = self._job.options
        if options.tolerance is None and not options.make:
            from ..making.session import LIVE

            options.tolerance = self._job.shows.tolerance if self._job.shows else LIVE
        built = making.built_piece(
            options.piece, options, session=session, silent=True, made=self.metal,
            go_on=lambda: self._go_on(0.0),
        )
        if self._go_on(0.0):
            told = self._finished(built)
            self._tell(told)
            if self._go_on(0.0) and not self._job.shows:  # a page shows more than a drawing
                self._draw(built, told)

    def metal(self, built: Built) -> None:
        """There is metal; the rules that measure it come now."""
        from ..making.setting import as_set

        weights, faults = weigh(built)
        self._seconds = time.perf_counter() - self._start
        report = self._report(built, weights, (*built.faults, *faults))
        shows = self._job.shows
        packet = shows.packet(built) if shows else b""
        finished = shows.packet(as_set(built, self._set)) if shows and self._job.finished else b""
        self._tell(replace(report, checked=False, packet=packet, finished=finished))
        if self._job.trial:
            self._go_on(TRIAL)

    def _finished(self, built: Built) -> Report:
        """The last word, after files are written."""
        from ..casting.quick import quick
        from . import options as shared
        from . import run as making

        taken = time.perf_counter() - self._start
        self._seconds = self._seconds or taken
        weights, trouble = weigh(built)
        faults = [*built.faults, *trouble]
        options = self._job.options
        written: dict[str, int] = {}
        code = making.exit_code(faults, strict=options.strict)
        if options.make and built.made and code == shared.DONE and _is_there(options.piece):
            from .output import write_files

            paths, trouble = write_files(built, options)
            written = {str(path): size for path, size in paths.items()}
            faults += trouble
        report = self._report(built, weights, tuple(faults))
        freezing = tuple(quick(built)) if built.made else ()
        poses = self._job.shows.poses(built) if self._job.shows and built.parts else {}
        return replace(
            report, written=written, check_seconds=taken - self._seconds, freezing=freezing, poses=poses
        )

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


def _is_there(piece: str) -> bool:
    """Whether the folder of a piece is there still: files for one that was moved would make it anew."""
    return os.path.isdir(os.path.dirname(piece) or ".")  # noqa: PTH112, PTH120


def result_of(built: Built) -> str:
    """A digest of all that is made: metal, stones, and what the summary says of them."""
    told = (
        built.title, built.metal, built.note, sorted(built.measures.items()),
        [(one.name, one.word) for one in built.features],
        [(one.cut, one.size, one.gem, one.feature) for one in built.stones],
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
    session: Any = None
    finished: Any = None
    while True:
        try:
            job = pipe.recv()
        except (EOFError, OSError):
            return
        try:
            session, finished = session or making_session(), finished or making_session()
            Worker(job, pipe.send, lambda patience: not pipe.poll(patience)).work(session, finished)
        except Exception as error:
            session = finished = None  # whatever went wrong, its memo is not to be trusted
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


def making_session() -> Any:
    """A fresh memo."""
    from ..making.session import Session

    return Session()
