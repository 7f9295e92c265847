"""Work done in a process of its own, so that typing never waits for it."""

from __future__ import annotations

import asyncio
import multiprocessing
import os
from collections.abc import Callable, Mapping
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from time import monotonic
from typing import Generic, TypeVar

from ...lang.faults import Fault
from .look import Look
from .weight import Weighed, weighed

Done = TypeVar("Done")
STUCK = 8.0  # s after which work is given up when a newer text waits


class Beside(Generic[Done]):
    """Has ``work`` done on one text at a time; of those that come meanwhile only the newest is done."""

    def __init__(self, work: Callable[[str, str, Mapping[str, str]], Done]) -> None:
        self._work = work
        self._pool: ProcessPoolExecutor | None = None
        self._begun = 0.0
        self._busy: asyncio.Lock | None = None
        self._newest = 0

    async def done(self, path: str, text: str, others: Mapping[str, str]) -> Done | None:
        """What came of it; None where a newer text came before its turn, or the process was ended."""
        self._newest += 1
        number = self._newest
        self._busy = self._busy or asyncio.Lock()
        if self._busy.locked() and monotonic() - self._begun > STUCK:
            self.close()
        async with self._busy:
            if number != self._newest:
                return None
            self._begun = monotonic()
            loop = asyncio.get_running_loop()
            try:
                return await loop.run_in_executor(self._ready(), self._work, path, text, dict(others))
            except (BrokenProcessPool, asyncio.CancelledError):
                self._pool = None
                return None

    def warm(self) -> None:
        """Start the process before it is needed."""
        self._ready().submit(int)

    def close(self) -> None:
        """End the process, and what it does."""
        pool, self._pool = self._pool, None
        if pool is not None:
            for child in list((pool._processes or {}).values()):
                child.terminate()
            pool.shutdown(wait=False, cancel_futures=True)

    def _ready(self) -> ProcessPoolExecutor:
        if self._pool is None:
            self._pool = ProcessPoolExecutor(1, multiprocessing.get_context("spawn"))
        return self._pool


_session: list[object] = []  # of the process that makes


def made(path: str, text: str, others: Mapping[str, str]) -> Weighed:
    """The text made and weighed, with the memory of earlier makes."""
    from ..making.session import Session

    if not _session:
        _session.append(Session())
        if hasattr(os, "nice"):
            os.nice(10)  # what is typed comes first
    try:
        return weighed(Look(path, text, others), _session[0], lambda: True)  # type: ignore[arg-type]
    except Exception as error:  # our own bug: the editor must go on
        return Weighed(text, "", (_bug(error),))


def checked(path: str, text: str, others: Mapping[str, str]) -> tuple[Fault, ...]:
    """The remarks on a text and its plan."""
    try:
        return Look(path, text, others).checked.faults
    except Exception as error:  # our own bug: the editor must go on
        return _bug(error),


def _bug(error: Exception) -> Fault:
    return Fault("internal", f"a fault in posy itself: {type(error).__name__}; posy check tells more")
