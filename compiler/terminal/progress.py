"""How far the work is, said only when it takes long enough to be wondered about."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from typing import TextIO

PATIENCE = 1.0  # s of silence before the first word
BETWEEN = 0.1  # s between updates of the line on a terminal
BETWEEN_LINES = 5.0  # s between lines where the output is a file or a pipe


class Progress:
    """Says how far a piece of work is, on stderr; call it with (what, share done 0 to 1).

    On a terminal one line is kept up to date and wiped where its `with` block ends; elsewhere a plain line
    comes every few seconds. Work under a second stays silent."""

    def __init__(
        self, title: str, stream: TextIO | None = None, clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self._title = title
        self._stream = sys.stderr if stream is None else stream
        self._clock = clock
        self._live = self._stream.isatty()
        self._start = clock()
        self._next = self._start + (PATIENCE if self._live else BETWEEN_LINES)
        self._drawn = False

    def __call__(self, what: str, share: float) -> None:
        """Say that ``share`` of the work is done, 0 where that is not known, and ``what`` is under way."""
        now = self._clock()
        if now < self._next:
            return
        line = f"{self._title}: {what}" + (f", {min(share, 1.0):.0%}" if share > 0 else "")
        if self._live:
            import shutil

            columns = shutil.get_terminal_size((80, 24)).columns
            self._write(f"\r\x1b[K{line[: columns - 1]}")
            self._drawn = True
            self._next = now + BETWEEN
        else:
            self._write(f"{line}, {now - self._start:.0f} s\n")
            self._next = now + BETWEEN_LINES

    def __enter__(self) -> Progress:
        return self

    def __exit__(self, *error: object) -> None:
        """Wipe the line, before anything else is printed."""
        if self._drawn:
            self._write("\r\x1b[K")
            self._drawn = False

    def _write(self, text: str) -> None:
        self._stream.write(text)
        self._stream.flush()
