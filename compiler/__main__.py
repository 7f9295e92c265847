"""``python -m posy.compiler`` is the command `posy`, and what `posy` itself starts with."""

from __future__ import annotations

import os
import signal
from typing import NoReturn


def start() -> NoReturn:
    """Run the command; Ctrl-C while it is still being loaded ends it as quietly as later."""
    loading = signal.getsignal(signal.SIGINT) is signal.default_int_handler
    if loading:
        signal.signal(signal.SIGINT, lambda number, frame: os._exit(130))
    from .command import program

    if loading:
        signal.signal(signal.SIGINT, signal.default_int_handler)
    program()


if __name__ == "__main__":
    start()
