"""Files written for a piece, as the options of a command ask."""

from __future__ import annotations

import argparse
from pathlib import Path

from ...lang.faults import Fault, is_fatal
from ..making.result import Built


def write_files(
    built: Built, arguments: argparse.Namespace, label: str = ""
) -> tuple[dict[Path, int], list[Fault]]:
    """Write the files asked for; gives their paths with sizes in bytes, and faults.

    ``label`` tells one making of a series from the others in the file names.
    """
    from ..files.atomic import write_set
    from ..files.formats import Wanted
    from ..files.outputs import files_of
    from .progress import Progress

    wanted = Wanted(arguments.formats, arguments.shrink, arguments.stones)
    progress = Progress(built.path)
    try:
        name = Path(built.path).stem + (f"-{label}" if label else "")
        files, faults = files_of(built, name, wanted, progress)
    finally:
        progress.clear()
    if is_fatal(faults):
        return {}, faults
    folder = folder_of(built.path, arguments.into)
    done, trouble = write_set({folder / name: content for name, content in files.items()})
    return {path: len(files[path.name]) for path in done}, [*faults, *trouble]


def folder_of(path: str, into: str | None) -> Path:
    """Where the files of the piece at ``path`` go."""
    return Path(into) if into else Path(path).parent / "out"


def shown_size(size: int) -> str:
    """A file's size for people."""
    if size < 1000:
        return f"{size} bytes"
    return f"{size / 1e3:.1f} kB" if size < 1e6 else f"{size / 1e6:.1f} MB"
