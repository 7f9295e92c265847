"""The long-lived child process that builds for `posy watch` and keeps the memo.

The geometry kernel holds Python's lock for whole operations, so a build in the watching
process would leave it deaf to saves and to Ctrl-C; and a build can only be given up by ending
its process.
"""

from __future__ import annotations

import argparse
import multiprocessing
import signal
import time
from collections.abc import Mapping
from dataclasses import dataclass, field
from multiprocessing.connection import Connection
from typing import Any

from ...lang.faults import Fault
from ..result import Waiver
from ..weigh import Weights


@dataclass(frozen=True)
class Job:
    """One build asked for; ``options`` are those of the watch command."""

    number: int
    options: argparse.Namespace


@dataclass(frozen=True)
class Report:
    """What came of a job, small enough to send: everything but the metal itself.

    ``seconds`` is the time of the build alone; ``written`` holds file paths with bytes.
    """

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


@dataclass(frozen=True)
class Crash:
    """A job that failed through a fault of ours, or whose process ended; ``note`` says how."""

    number: int
    note: str


def run_job(job: Job, session: Any) -> Report:
    """Build, weigh and, if wanted, write the files."""
    from ..weigh import weigh
    from . import build as build_command
    from . import making, shared

    options = job.options
    if options.tolerance is None and not options.build:
        from ..session import LIVE

        options.tolerance = LIVE
    start = time.perf_counter()
    built = making.built_piece(options.piece, options, session=session, silent=True)
    weights, faults = weigh(built)
    seconds = time.perf_counter() - start
    faults = [*built.faults, *faults]
    written: dict[str, int] = {}
    code = making.exit_code(faults, strict=options.strict)
    if options.build and built.made and code == shared.DONE:
        paths, trouble = build_command.write_files(built, options)
        written = {str(path): size for path, size in paths.items()}
        faults += trouble
    return Report(
        job.number, built.path, built.title, built.metal, built.made, weights, tuple(faults),
        dict(built.texts), built.files_read, seconds, built.steps_total, built.steps_rebuilt,
        written,
        built.waivers,
    )  # fmt: skip


def serve(pipe: Connection) -> None:
    """The child's whole life: a job in, a report out, until the parent is gone."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is the parent's to answer
    session: Any = None
    while True:
        try:
            job = pipe.recv()
        except (EOFError, OSError):
            return
        try:
            session = session or making_session()
            answer: Report | Crash = run_job(job, session)
        except Exception as error:
            from ..command import bug_note

            answer = Crash(job.number, bug_note(error))
            session = None  # whatever went wrong, its memo is not to be trusted
        try:
            pipe.send(answer)
        except OSError:
            return


def making_session() -> Any:
    """A fresh memo."""
    from ..session import Session

    return Session()


class Builder:
    """The parent's handle on the child: ask, wait on ``waitables``, take the answer."""

    def __init__(self) -> None:
        self._context = multiprocessing.get_context("spawn")  # fork is unsafe beside threads
        self._asked: Job | None = None
        self._since = 0.0
        self._start()

    def _start(self) -> None:
        here, there = self._context.Pipe()
        self._process = self._context.Process(target=serve, args=(there,), daemon=True)
        # A child born deaf to Ctrl-C stays so, also while it is still loading.
        before = signal.signal(signal.SIGINT, signal.SIG_IGN)
        try:
            self._process.start()
        finally:
            signal.signal(signal.SIGINT, before)
        there.close()
        self._pipe = here

    @property
    def busy_for(self) -> float | None:
        """Seconds the running job has taken so far; None when there is none."""
        return None if self._asked is None else time.monotonic() - self._since

    @property
    def waitables(self) -> list[Any]:
        """What to wait on for an answer."""
        return [self._pipe] if self._asked is not None else []

    def ask(self, job: Job) -> None:
        """Give the child a job; it must be idle."""
        if not self._process.is_alive():
            self._restart()
        try:
            self._pipe.send(job)
        except OSError:  # it ended between two jobs
            self._restart()
            self._pipe.send(job)
        self._asked, self._since = job, time.monotonic()

    def take(self) -> Report | Crash | None:
        """The answer, if it is there. A child that ended is started anew."""
        if self._asked is None or not self._pipe.poll():
            return None
        number = self._asked.number
        try:
            answer = self._pipe.recv()
        except (EOFError, OSError):
            self._process.join(1.0)
            code = self._process.exitcode
            self._restart()
            note = f"the build process ended unexpectedly (code {code}); out of memory?"
            answer = Crash(number, note)
        self._asked = None
        return answer  # type: ignore[no-any-return]

    def give_up(self) -> None:
        """End the running job with its process, memo and all."""
        self._restart()
        self._asked = None

    def close(self) -> None:
        """End the child."""
        self._pipe.close()
        self._process.kill()
        self._process.join(2.0)

    def _restart(self) -> None:
        self.close()
        self._start()
