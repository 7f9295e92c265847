"""`posy watch`: make the piece again at every save and show what it weighs."""

from __future__ import annotations

import os
import signal
import time
from contextlib import closing
from multiprocessing.connection import wait
from typing import NoReturn

from ..terminal import options as shared
from ..terminal.child import Builder, Crash, Job, come_home
from ..terminal.forms import Arguments
from ..terminal.readout import Readout
from ..terminal.saves import Burst, Ear, ReadSet

# A build is given up when it has taken this long, s, and a newer save waits for its turn.
STUCK = 5.0
AWAKE = 1.0  # s, the longest wait: on some systems Ctrl-C is only heard between two


def run(arguments: Arguments) -> int:
    """Watch until interrupted."""
    shared.settings_of(arguments.set)
    signal.signal(signal.SIGTERM, _leave)
    try:
        with closing(Watcher(arguments)) as watcher:
            watcher.run()
    except KeyboardInterrupt:
        return shared.INTERRUPTED


def _leave(number: int, frame: object) -> NoReturn:
    """A polite end by the system is an interruption too; asked for again, it changes nothing."""
    signal.signal(number, signal.SIG_IGN)
    raise KeyboardInterrupt


class Watcher:
    """The loop: wait for saves and reports, keep one build running and at most one waiting."""

    def __init__(self, arguments: Arguments) -> None:
        self._arguments = arguments
        self._home = os.getcwd()  # noqa: PTH109
        self._readout = Readout(arguments)
        self._builder = Builder()
        self._ear = Ear()
        self._files = ReadSet([arguments.piece])
        self._burst = Burst()
        self._number = 0
        self._began = 0
        self._waiting = False  # a newer save than the running build has read

    def run(self) -> NoReturn:
        """Until KeyboardInterrupt."""
        self._readout.begin()
        self._ear.listen(self._files.paths)
        self._ask()
        while True:
            wait([self._ear.waitable, *self._builder.waitables], self._patience())
            self._hear()
            self._answer()
            self._go_on()

    def close(self) -> None:
        """End the child and the watching thread."""
        self._ear.close()
        self._builder.close()

    def _patience(self) -> float:
        """Seconds to wait at most: until a burst is over, or a build may count as stuck."""
        left = self._burst.left()
        return AWAKE if left is None else min(AWAKE, left)

    def _hear(self) -> None:
        """Take note of events; what counts is what is in the files when they are over."""
        if self._ear.waitable.poll():
            self._ear.hush()
            self._ear.listen(self._files.paths)  # a folder may have gone and come back
            self._burst.note()
        if self._burst.over() and self._files.changed():
            self._waiting = True

    def _answer(self) -> None:
        """Show what the child has made, unless a newer save has overtaken it."""
        answer = self._builder.take()
        if answer is None:
            return
        if isinstance(answer, Crash):
            self._readout.crash(answer)
            return
        read = [self._arguments.piece, *answer.files_read]
        if come_home(self._home) and self._files.now_reads(read, self._began):
            self._waiting = True
        self._ear.listen(self._files.paths)
        if not self._waiting:
            self._readout.report(answer)

    def _go_on(self) -> None:
        """Start the waiting build as soon as the metal is told; end a stuck one first."""
        if not self._waiting:
            return
        if not self._builder.free:
            if (self._builder.busy_for or 0.0) < STUCK:
                return
            self._builder.give_up()
        self._ask()

    def _ask(self) -> None:
        """Start a build of what is in the files now."""
        self._waiting = False
        self._number += 1
        self._began = time.time_ns()
        self._files.start()
        self._builder.ask(Job(self._number, self._arguments, self._home))
