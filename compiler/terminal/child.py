"""The long-lived child process that builds for `posy watch` and keeps the memo.

The geometry kernel holds Python's lock for whole operations, so a build in the watching process would leave
it deaf to saves and to Ctrl-C; and a build can only be given up by ending its process."""

from __future__ import annotations

import multiprocessing
import signal
import time
from typing import Any

from .reports import Crash, Job, Report
from .worker import serve


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
"""The watching process's handle on the child that builds for it.

The geometry kernel holds Python's lock for whole operations, so a build in the watching
process would leave it deaf to saves and to Ctrl-C; and a build can only be given up by ending
its process.
"""
