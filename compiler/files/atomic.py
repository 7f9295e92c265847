"""Writing files so that a good old file is never lost: temporary files, flush, then rename.

What a process that was killed left half done is finished or cleared away by the next: see ``waiting``."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Mapping
from pathlib import Path

from ...lang.faults import Fault
from .waiting import Waiting

Content = bytes | bytearray | memoryview


def write_set(files: Mapping[Path, Content]) -> tuple[list[Path], list[Fault]]:
    """Write several files; none is replaced before all stand complete beside their targets.

    Gives the paths replaced, in the order given, and the faults (code ``file-not-written``). On a fault every
    temporary is removed and every file not yet replaced stays as it was. Missing folders are made. A target
    that is a symbolic link keeps being one: the file it points to is replaced."""
    done: list[Path] = []
    path = Path()
    with Waiting() as waiting:
        try:
            for path, content in files.items():
                waiting.write(path, Path(os.path.realpath(path)), content)
            waiting.settle()
            for path in waiting.replaced():
                done.append(path)
        except OSError as error:
            path = waiting.stuck or path
            return done, [not_written(path, error, done)]
    for folder in dict.fromkeys(Path(os.path.realpath(path)).parent for path in done):
        _flush_folder(folder)
    return done, []


def write_new(path: Path, content: Content) -> list[Fault]:
    """Write a file, whole or not at all, where none is yet. Codes: ``file-exists``, ``file-not-written``."""
    with Waiting() as waiting:
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            if os.path.lexists(path):
                raise FileExistsError
            _take_free_name(waiting.write(path, path, content), path, content)
        except FileExistsError:
            said = f"{path} is there already and was left as it is"
            return [Fault("file-exists", said, remedy="choose another name, or move the old file away")]
        except OSError as error:
            return [not_written(path, error)]
    return []


def not_written(path: Path, error: OSError, done: list[Path] | None = None) -> Fault:
    """The fault for a file the system would not let us write."""
    reason = error.strerror or str(error) or type(error).__name__
    rest = "files already there are unchanged"
    if done:
        rest = "replaced before that: " + ", ".join(str(one) for one in done)
    return Fault(
        "file-not-written", f"{path} could not be written: {reason} ({rest})",
        remedy="check that the folder exists, may be written to and has room",
    )


def _take_free_name(temporary: Path, path: Path, content: Content) -> None:
    """Give ``temporary`` the name ``path``, failing if somebody took that name meanwhile."""
    try:
        os.link(temporary, path)
    except FileExistsError:
        raise
    except OSError:  # a file system without hard links: exclusive creation is the next best
        with path.open("xb") as stream:
            stream.write(content)


def _flush_folder(folder: Path) -> None:
    """Make the renames in ``folder`` last through a power cut, where the system allows it."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
