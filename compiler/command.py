"""The command line: `posy build ring.posy` and the rest. See COMMANDS for the list."""

from __future__ import annotations

import argparse
import atexit
import contextlib
import gc
import os
import sys
import threading
from collections.abc import Callable, Sequence
from importlib import import_module
from typing import NoReturn

from .terminal import options as shared
from .terminal.bugs import bug_note

# Command -> what it is for. Each is the module of that name in `commands`, loaded when asked
# for: it has DETAILS (text), EXAMPLES (lines), options(parser) and run(arguments) -> exit code.
COMMANDS = {
    "build": "make the piece and write its print files",
    "check": "find faults in the text and the plan, without making metal",
    "weigh": "weight in every alloy, and the stones",
    "draw": "line drawings of a piece, or of many on one sheet",
    "watch": "make the piece again at every save and show what it weighs",
    "new": "start a new piece from a small example",
    "words": "the words of the language, or one word in full",
    "explain": "tell more about a fault or a rule",
}


# Tracebacks put away by this process and where: a watch may meet the same one at every save.


def program() -> NoReturn:
    """The command `posy`: runs main and leaves.

    Where nothing else is running it leaves at once: taking every object apart at the end costs
    a tenth of the time of a check, and all of them go with the process.
    """
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
        return _told(f"{error.filename or 'output'}: {error.strerror}", shared.FILE_TROUBLE)
    return code


def _guarded(words: list[str]) -> int:
    """Run the command and turn whatever it raises into an exit code."""
    try:
        return _run(words)
    except SystemExit as stop:  # argparse, after its own message
        return stop.code if isinstance(stop.code, int) else shared.DONE
    except shared.Misuse as error:
        return _told(str(error), shared.WRONG_USE)
    except KeyboardInterrupt:
        return shared.INTERRUPTED
    except OSError:
        raise
    except MemoryError:
        return _told("there is not enough memory for this piece", shared.OUR_BUG)
    except Exception as error:
        return _told(bug_note(error), shared.OUR_BUG)


def _run(words: list[str]) -> int:
    """Choose the command, read its options and run it."""
    if not words or words[0] in ("-h", "--help"):
        print(_overview())
        return shared.DONE if words else shared.WRONG_USE
    if words[0] == "--version":
        from importlib.metadata import version

        print(f"posy {version('posy-lang')}")
        return shared.DONE
    name = words[0]
    if name not in COMMANDS:
        raise shared.Misuse(_unknown(name))
    command = import_module(f"{__package__}.commands.{name}")
    parser = _Parser(
        prog=f"posy {name}",
        description=f"{COMMANDS[name].capitalize()}. {command.DETAILS}",
        epilog=_below(command.EXAMPLES),
        formatter_class=_Layout,
        allow_abbrev=False,
    )
    command.options(parser)
    run: Callable[[argparse.Namespace], int] = command.run
    return run(parser.parse_intermixed_args(words[1:]))


def _below(examples: Sequence[str]) -> str:
    """What stands below the options."""
    lines = "\n".join(f"  {example}" for example in examples)
    return f"{'examples' if len(examples) > 1 else 'example'}:\n{lines}\n\n{shared.EXIT_CODES}"


class _Layout(argparse.RawDescriptionHelpFormatter):
    """Wrap the description, but leave examples and exit codes as they are."""

    def _fill_text(self, text: str, width: int, indent: str) -> str:
        if text.startswith("example"):
            return super()._fill_text(text, width, indent)
        return argparse.HelpFormatter._fill_text(self, text, width, indent)


class _Parser(argparse.ArgumentParser):
    """An argument parser whose complaint is one line and where to read on."""

    def error(self, message: str) -> NoReturn:
        """Say what is wrong and leave with the code for wrong use."""
        self.exit(shared.WRONG_USE, f"posy: {message} (see {self.prog} --help)\n")


def _overview() -> str:
    """What `posy --help` says."""
    width = max(map(len, COMMANDS)) + 2
    rows = "\n".join(f"  {name:<{width}}{what}" for name, what in COMMANDS.items())
    return (
        "posy: jewelry written as text, made ready for casting\n\n"
        f"usage: posy COMMAND …      posy COMMAND --help tells more\n\n{rows}\n\n"
        f"  --version   which posy this is\n\n{shared.EXIT_CODES}"
    )


def _unknown(name: str) -> str:
    """The complaint about a command there is not."""
    from ..lang.suggest import did_you_mean

    if name.endswith(".posy"):
        return f"say what to do with {name}: posy build {name}"
    hint = did_you_mean(name, COMMANDS) or f"there are {', '.join(COMMANDS)}"
    return f"no command {name!r}; {hint}"


def _told(message: str, code: int) -> int:
    """Print one line on stderr and give ``code``."""
    with contextlib.suppress(OSError):
        print(f"posy: {message}", file=sys.stderr)
    return code


def _let_go_of_stdout() -> None:
    """Keep Python from complaining at exit that nobody reads its output."""
    with contextlib.suppress(OSError, ValueError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())
        os.close(nowhere)


if __name__ == "__main__":
    program()
