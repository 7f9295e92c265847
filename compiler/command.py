"""The command line: `posy make ring.posy` and the rest. See commands/manual.py for the list."""

from __future__ import annotations

import atexit
import contextlib
import gc
import os
import sys
import threading
from collections.abc import Callable, Sequence
from importlib import import_module
from typing import NoReturn

from .commands.manual import COMMANDS
from .terminal import options as shared
from .terminal.bugs import bug_note
from .terminal.forms import HELP, Arguments, Misuse, all_show, read

# What people may type for one of them, by what it is called.
_OTHERWISE = {"build": "make", "new": "start", "explain": "why", "weight": "weigh"}


def program() -> NoReturn:
    """The command `posy`: runs main and leaves.

    Where nothing else is running it leaves at once: taking every object apart at the end costs
    a tenth of the time of a check, and all of them go with the process."""
    code = main()
    if threading.active_count() == 1:
        atexit._run_exitfuncs()
        for stream in (sys.stdout, sys.stderr):
            with contextlib.suppress(OSError, ValueError, AttributeError):
                stream.flush()
        os._exit(code)
    sys.exit(code)


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; gives the exit code. Never raises, never shows a traceback."""
    words = list(sys.argv[1:] if argv is None else argv)
    gc.set_threshold(200_000, 20, 20)  # trees and plans live to the end: no use in searching them
    _have_streams()
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):  # a terminal that lacks a letter shows its number
            stream.reconfigure(errors="backslashreplace")
    try:
        code = _guarded(words)
        sys.stdout.flush()
    except BrokenPipeError:
        _let_go_of_stdout()
        return shared.PIPE_CLOSED
    except OSError as error:  # the output itself, or a file gone under our hands
        where = error.filename or ("output" if _at_home() else "the folder posy was started in")
        return _told(f"{where}: {error.strerror}", shared.FILE_TROUBLE)
    return code


def _have_streams() -> None:
    """Where the program that started this one gave it no output to write to, it writes to nowhere."""
    for name in ("stdout", "stderr"):
        if getattr(sys, name) is None:
            setattr(sys, name, open(os.devnull, "w", encoding="utf-8"))  # noqa: SIM115, PTH123


def _at_home() -> bool:
    """Whether the working folder is still there."""
    with contextlib.suppress(OSError):
        return bool(os.getcwd())  # noqa: PTH109
    return False


def _guarded(words: list[str]) -> int:
    """Run the command and turn whatever it raises into an exit code."""
    try:
        return _run(words)
    except Misuse as error:
        return _misused(str(error))
    except KeyboardInterrupt:
        return shared.INTERRUPTED
    except OSError:
        raise
    except MemoryError:
        return _told("there is not enough memory for this piece", shared.OUR_BUG)
    except Exception as error:
        return _told(bug_note(error), shared.OUR_BUG)


def _run(words: list[str]) -> int:
    """Choose the command, read its options and run it; or help."""
    if not words:
        _help(None)
        return shared.WRONG_USE
    all_show(words)
    name, rest = words[0], words[1:]
    if name == "--version":
        from importlib.metadata import version

        print(f"posy {version('posy-lang')}")
        return shared.DONE
    if name in ("help", *HELP):
        return _help(rest[0] if rest else None)
    if name not in COMMANDS:
        raise Misuse(_unknown(name, rest))
    own = rest[: rest.index("--")] if "--" in rest else rest
    if any(word in HELP for word in own):
        return _help(name)
    module = import_module(f"{__package__}.commands.{name}")
    run: Callable[[Arguments], int] = module.run
    return run(read(COMMANDS[name], rest))


def _help(name: str | None) -> int:
    """Print what posy can do, or all about one command."""
    from .terminal.help import overview, page
    from .terminal.remarks import width_for

    width = width_for(sys.stdout)
    if name is None or name == "help":
        print("\n".join(overview(COMMANDS.values(), width)))
        return shared.DONE
    if name not in COMMANDS:
        raise Misuse(_unknown(name, []))
    print("\n".join(page(COMMANDS[name], width)))
    return shared.DONE


def _unknown(name: str, rest: Sequence[str]) -> str:
    """The complaint about a command there is not."""
    from ..lang.suggest import nearest

    if name.endswith(".posy"):
        return f"say what to do with {name}, as in: posy make {name}"
    meant = _OTHERWISE.get(name) or nearest(name, (*COMMANDS, "help"))
    if meant is None:
        return f"there is no command {name}; there are {', '.join(COMMANDS)} (see posy help)"
    return f"there is no command {name}; write: {' '.join(('posy', meant, *rest))}"


def _told(message: str, code: int) -> int:
    """Print one line on stderr and give ``code``."""
    with contextlib.suppress(OSError):
        print(f"posy: {message}", file=sys.stderr)
    return code


def _misused(message: str) -> int:
    """Say on stderr how the command was misused."""
    from .terminal.output import say

    with contextlib.suppress(OSError):
        say(f"posy: {message}", sys.stderr)
    return shared.WRONG_USE


def _let_go_of_stdout() -> None:
    """Keep Python from complaining at exit that nobody reads its output."""
    with contextlib.suppress(OSError, ValueError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())
        os.close(nowhere)


if __name__ == "__main__":
    program()
