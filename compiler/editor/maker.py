"""A process of its own that makes pieces beside the editor, so that typing never waits for metal."""

from __future__ import annotations

import asyncio
import multiprocessing
from collections.abc import Mapping
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from time import monotonic

from ...lang.faults import Fault
from .look import Look
from .weight import Weighed, weighed

STUCK = 8.0  # s after which a make is given up when a newer text waits


class Maker:
    """One text at a time; of those that come meanwhile only the newest is made."""

    def __init__(self) -> None:
        self._pool: ProcessPoolExecutor | None = None
        self._begun = 0.0
        self._busy: asyncio.Lock | None = None
        self._newest = 0

    async def make(self, path: str, text: str, others: Mapping[str, str]) -> Weighed | None:
        """The text made; None where a newer one came before its turn, or its process was ended."""
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
                return await loop.run_in_executor(self._ready(), _made, path, text, dict(others))
            except (BrokenProcessPool, asyncio.CancelledError):
                self._pool = None
                return None

    def close(self) -> None:
        """End the process, and what it makes."""
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


def _made(path: str, text: str, others: Mapping[str, str]) -> Weighed:
    """In the other process: make it, with the memory of earlier makes."""
    from ..making.session import Session

    if not _session:
        _session.append(Session())
    try:
        return weighed(Look(path, text, others), _session[0], lambda: True)  # type: ignore[arg-type]
    except Exception as error:  # our own bug: the editor must go on
        return Weighed(text, "", (Fault("internal", f"posy could not make this: {type(error).__name__}"),))
