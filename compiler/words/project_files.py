"""Files of the project that a line names: drawings and fonts. Only below the piece's own folder."""

from __future__ import annotations

from pathlib import PurePosixPath

from ...lang.bench import Call
from ...lang.layout import MOST_SIZE
from ...lang.loader import is_below
from ..bench.piece_bench import PieceBench


def read(bench: PieceBench, call: Call, key: str, endings: tuple[str, ...]) -> bytes:
    """The bytes of the file named by clause ``key``, seen from the piece's folder. Raises Refused."""
    named: str = call.get(key)
    problem, remedy = _odd(named, endings)
    if problem:
        call.refuse("file-outside", problem, key, seen=named[:80], remedy=remedy)
    if bench.files is None:
        call.refuse("file-not-read", "no files can be read here", key, seen=named)
    path = str(PurePosixPath(bench.path).parent / named)
    try:
        data = bench.files.read(path)
    except (OSError, ValueError):
        call.refuse(
            "file-not-read", f"there is no file {path} that can be read", key, seen=named,
            remedy="check its name; it has to lie in the folder of the piece",
        )
    if path not in bench.files_read:
        bench.files_read.append(path)
    if len(data) > MOST_SIZE:
        call.refuse(
            "file-too-large", f"{named} is larger than a file may be", key, limit=f"{MOST_SIZE:,} bytes",
            remedy="take a smaller file",
        )
    return data


def _odd(named: str, endings: tuple[str, ...]) -> tuple[str, str]:
    if not is_below(named):
        return "files are taken from the piece's own folder only", 'name it from there: "leaf.svg"'
    if not named.lower().endswith(endings):
        return f"only {' and '.join(endings)} files are taken here", f"give it a name ending in {endings[0]}"
    return "", ""
