"""Writing files so that a good old file is never lost: temporary file, flush, then rename."""

from __future__ import annotations

import contextlib
import os
import secrets
from collections.abc import Mapping
from pathlib import Path

from ...lang.faults import Fault

Content = bytes | bytearray | memoryview


def write_set(files: Mapping[Path, Content]) -> tuple[list[Path], list[Fault]]:
    """Write several files; none is replaced before all stand complete beside their targets.

    Gives the paths replaced, in the order given, and the faults (code ``file-not-written``).
    On a fault every temporary is removed and every file not yet replaced stays as it was.
    Missing folders are made. A target that is a symbolic link keeps being one: the file it
    points to is replaced.
    """
    waiting: list[tuple[Path, Path, Path]] = []  # (as asked for, real target, temporary)
    done: list[Path] = []
    path = Path()
    try:
        for path, content in files.items():
            target = Path(os.path.realpath(path))
            waiting.append((path, target, _write_beside(target, content)))
        while waiting:
            path, target, temporary = waiting[0]
            temporary.replace(target)
            waiting.pop(0)
            done.append(path)
    except OSError as error:
        return done, [not_written(path, error, done)]
    finally:
        for _, _, temporary in waiting:
            with contextlib.suppress(OSError):
                temporary.unlink()
    for folder in dict.fromkeys(Path(os.path.realpath(path)).parent for path in done):
        _flush_folder(folder)
    return done, []


def write_new(path: Path, content: Content) -> list[Fault]:
    """Write a file that must not exist yet; an existing one is left alone and is a fault.

    Codes: ``file-exists``, ``file-not-written``. The file appears complete or not at all.
    """
    temporary: Path | None = None
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        if os.path.lexists(path):
            raise FileExistsError
        temporary = _write_beside(path, content)
        _take_free_name(temporary, path, content)
    except FileExistsError:
        return [
            Fault(
                "file-exists",
                f"{path} is there already and was left as it is",
                remedy="choose another name, or move the old file away",
            )
        ]
    except OSError as error:
        return [not_written(path, error)]
    finally:
        if temporary is not None:
            with contextlib.suppress(OSError):
                temporary.unlink()
    return []


def not_written(path: Path, error: OSError, done: list[Path] | None = None) -> Fault:
    """The fault for a file the system would not let us write."""
    reason = error.strerror or str(error) or type(error).__name__
    rest = "files already there are unchanged"
    if done:
        rest = "replaced before that: " + ", ".join(str(one) for one in done)
    return Fault(
        "file-not-written",
        f"{path} could not be written: {reason} ({rest})",
        remedy="check that the folder exists, may be written to and has room",
    )


def _write_beside(target: Path, content: Content) -> Path:
    """Write ``content`` to a new file in the folder of ``target``, flushed to the disk."""
    if target.is_dir():
        raise IsADirectoryError(21, "a folder of that name is in the way")
    target.parent.mkdir(parents=True, exist_ok=True)
    # A short name of our own: the target's may already be as long as the system allows.
    temporary = target.parent / f".posy-{secrets.token_hex(6)}.part"
    # os.open with 0o666 leaves the permissions to the user's umask, unlike tempfile (0o600).
    handle = os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_EXCL | _BINARY, 0o666)
    try:
        with open(handle, "wb") as stream:  # noqa: PTH123 (a handle, not a path)
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        if target.exists():
            temporary.chmod(target.stat().st_mode & 0o7777)
    except BaseException:
        with contextlib.suppress(OSError):
            temporary.unlink()
        raise
    return temporary


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


_BINARY = getattr(os, "O_BINARY", 0)  # Windows would otherwise translate line ends
