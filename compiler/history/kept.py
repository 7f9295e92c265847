"""The small history that posy keeps by itself, where git keeps none.

Beside the piece lies a folder ``.kept`` with one folder for each piece, in it one for each make whose
text was another: the texts as they were, and ``figures.json`` with what they came to. Plain files: they
may be read, copied back or thrown away. The day of a make is the day its text was saved, so no clock is
asked; of many makes those stay that lie far apart. How many, the house may say: [history] makes."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from errno import ENOENT
from pathlib import Path
from typing import Any

from ...lang.faults import Fault, Level
from ...lang.loader import Folder, Over
from ..files.atomic import write_set
from ..making.result import Built
from .record import taken_down
from .revision import Revision

FOLDER = ".kept"
FIGURES = "figures.json"
NEWEST = 10  # of the makes kept of a piece those that always stay
_MOST_BYTES = 4_000_000  # a file of figures larger than that is none of ours


def folder_of(path: str | Path) -> Path:
    """Where the makes of the piece at ``path`` are kept."""
    place = Path(path)
    return place.parent / FOLDER / place.stem


def kept_revisions(path: str) -> list[Revision]:
    """What was kept of the piece at ``path``, the newest first."""
    found = []
    for number, folder in _numbered(folder_of(path)):
        record = _figures(folder)
        if record is not None:
            found.append(
                Revision(str(number), path, _files(path, folder), str(record.get("saved", "")), "", record)
            )
    return found[::-1]


def keep(built: Built) -> list[Fault]:
    """Keep what was made, if its texts are others than those kept last; a hint where that cannot be."""
    most = int(built.house.value("history", "makes"))
    if not most:
        return []
    texts = _own_texts(built)
    revisions = kept_revisions(built.path)
    even = ((path, text.replace("\r\n", "\n")) for path, (_, text) in texts.items())
    if revisions and all(revisions[0].text(path) == text for path, text in even):
        return []
    home = folder_of(built.path)
    number = max((int(one.name) for one in _entries(home)), default=0) + 1
    record = {"saved": _saved(built.path), **taken_down(built)}
    files = {home / str(number) / name: text.encode() for name, text in texts.values()}
    figures = json.dumps(record, indent=1, ensure_ascii=False) + "\n"
    _, faults = write_set({**files, home / str(number) / FIGURES: figures.encode("utf-8", "replace")})
    _thin(home, most)
    return [
        Fault("history-not-kept", f"this make is not kept in its history: {fault.message}", level=Level.HINT)
        for fault in faults
    ]


def _own_texts(built: Built) -> dict[str, tuple[str, str]]:
    """Texts by path with their names as seen from the piece; house limits of above are kept beside it."""
    home = Path(built.path).parent
    texts = {}
    for path in built.files_read:
        if path in built.texts:
            place = Path(path)
            name = place.relative_to(home).as_posix() if place.is_relative_to(home) else place.name
            texts[path] = name, built.texts[path]
    return texts


def _files(path: str, folder: Path) -> Over:
    """The files of a make, over those of the disk: letter forms are not kept."""
    home = Path(path).parent
    texts: dict[str, str | bytes] = {}
    for place in sorted(folder.rglob("*")):
        if place.name != FIGURES and _plain(place):
            texts[(home / place.relative_to(folder)).as_posix()] = place.read_bytes()
    inner = path if path in texts else Path(path).as_posix()
    if inner in texts:
        texts[path] = texts[inner]
    return _Kept(Folder(path), texts)


class _Kept(Over):
    """The texts of a make; of the disk only what is no text of the language and no house limits."""

    def read(self, path: str) -> bytes:
        """The bytes at ``path``. Raises OSError."""
        if path not in self.over.texts and Path(path).suffix in (".posy", ".toml"):
            raise FileNotFoundError(ENOENT, "not kept", path)
        return super().read(path)


def _figures(folder: Path) -> Mapping[str, Any] | None:
    """What was taken down of a make; None for a folder that is not whole."""
    place = folder / FIGURES
    try:
        if not _plain(place):
            return None
        record = json.loads(place.read_bytes())
    except (OSError, ValueError, RecursionError):
        return None
    return record if isinstance(record, dict) else None


def _plain(place: Path) -> bool:
    """Whether there is a file of ours: no link, no pipe, and not too large."""
    return place.is_file() and not place.is_symlink() and place.stat().st_size <= _MOST_BYTES


def _numbered(home: Path) -> list[tuple[int, Path]]:
    """The folders of makes by number, the oldest first."""
    folders = (one for one in _entries(home) if one.is_dir() and not one.is_symlink())
    return sorted((int(one.name), one) for one in folders)


def _entries(home: Path) -> list[Path]:
    """Whatever stands there under a number."""
    try:
        return [one for one in home.iterdir() if re.fullmatch("[0-9]{1,9}", one.name)]
    except OSError:
        return []


def _saved(path: str) -> str:
    """When the text was saved last, as ISO 8601 in UTC."""
    try:
        return datetime.fromtimestamp(Path(path).stat().st_mtime, UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
    except (OSError, ValueError, OverflowError):
        return ""


def _thin(home: Path, most: int) -> None:
    """Leave out makes until no more than ``most`` are left: each time the one saved soonest after the one
    before it, never the first nor one of the newest."""
    makes = _numbered(home)
    times = [_seconds(_figures(folder)) for _, folder in makes]
    while len(makes) > most:
        gone = closest(times) if most > NEWEST else 0
        _remove(makes[gone][1])
        del makes[gone], times[gone]


def closest(times: Sequence[float]) -> int:
    """Which of ``times`` is nearest to the one before it, the first and the NEWEST left aside."""
    return min(range(1, len(times) - NEWEST), key=lambda k: (abs(times[k] - times[k - 1]), k))


def _seconds(record: Mapping[str, Any] | None) -> float:
    try:
        return datetime.strptime(str((record or {}).get("saved")), "%Y-%m-%dT%H:%M:%SZ").timestamp()
    except (ValueError, OverflowError):
        return 0.0


def _remove(folder: Path) -> None:
    """Take away the folder of a make: its figures first, so that what is left of it counts no more."""
    everything = list(folder.rglob("*"))
    files = sorted((one for one in everything if not one.is_dir()), key=lambda one: one.name != FIGURES)
    folders = sorted((one for one in everything if one.is_dir()), reverse=True)
    try:
        for one in files:
            one.unlink()
        for one in (*folders, folder):
            one.rmdir()
    except OSError:
        pass  # somebody else is at it, or may not: it is tried again at the next make
