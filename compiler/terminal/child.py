"""The watching process's handle on the child that builds for it.

The geometry kernel holds Python's lock for whole operations, so a build in the watching process would leave
it deaf to saves and to Ctrl-C; and a build can only be given up by ending its process."""

from __future__ import annotations

import multiprocessing
import signal
import time
from typing import Any

from .reports import Crash, Job, Report
from .worker import serve


class Builder:
    """The parent's handle on the child: ask, wait on ``waitables``, take the answer."""

    def __init__(self) -> None:
        self._context = multiprocessing.get_context("spawn")  # fork is unsafe beside threads
        self._asked: Job | None = None
        self._checking = False  # the metal is told, its rules are at work
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
    def free(self) -> bool:
        """Whether a job may be given: the child is idle, or only checking what it has told."""
        return self._asked is None or self._checking

    @property
    def waitables(self) -> list[Any]:
        """What to wait on for an answer."""
        return [self._pipe] if self._asked is not None else []

    def ask(self, job: Job) -> None:
        """Give the child a job; it must be free. What it is checking is left off."""
        if not self._process.is_alive():
            self._restart()
        try:
            self._pipe.send(job)
        except OSError:  # it ended between two jobs
            self._restart()
            self._pipe.send(job)
        self._asked, self._since, self._checking = job, time.monotonic(), False

    def take(self) -> Report | Crash | None:
        """The answer, if it is there. A child that ended is started anew."""
        while self._asked is not None and self._pipe.poll():
            answer = self._received(self._asked.number)
            if answer.number != self._asked.number:
                continue  # the end of a job that this one has overtaken
            self._checking = isinstance(answer, Report) and not answer.checked
            if not self._checking:
                self._asked = None
            return answer
        return None

    def _received(self, number: int) -> Report | Crash:
        """What comes through the pipe; the end of the child as the crash of job ``number``."""
        try:
            return self._pipe.recv()  # type: ignore[no-any-return]
        except (EOFError, OSError):
            self._process.join(1.0)
            code = self._process.exitcode
            self._restart()
            note = f"the build process ended unexpectedly (code {code}); out of memory?"
            return Crash(number, note)

    def give_up(self) -> None:
        """End the running job with its process, memo and all."""
        self._restart()
        self._asked, self._checking = None, False

    def close(self) -> None:
        """End the child."""
        self._pipe.close()
        self._process.kill()
        self._process.join(2.0)

    def _restart(self) -> None:
        self.close()
        self._start()
