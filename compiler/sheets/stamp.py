"""Which state of a text a sheet was made from, and of what date: never asked of a clock."""

from __future__ import annotations

import hashlib
import os
import shutil
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from ..files.git import NoGit, ask
from ..files.summary import text_hash
from ..making.result import Built


@dataclass(frozen=True)
class Stamp:
    """``date`` as the user or bench.toml gives it ("" for none), ``revision`` the commit the text is of,
    ``changed`` whether the text was changed since, ``text`` its SHA-256, ``file`` its name."""

    file: str
    text: str
    date: str = ""
    revision: str = ""
    changed: bool = False

    @property
    def short(self) -> list[str]:
        """Date and state in few letters, for the foot of a page."""
        return [self.date, self.revision[:10] + ("+" if self.changed else "") or f"text {self.text[:10]}"]

    @property
    def lines(self) -> list[str]:
        """What the head of a sheet tells."""
        said = [self.date or "no date given", self.file]
        if self.revision:
            said.append(f"revision {self.revision[:10]}{', changed since' if self.changed else ''}")
        return [*said, f"text {self.text[:16]} (SHA-256)"]

    def record(self) -> dict[str, object]:
        """The same as plain data."""
        return {
            "date": self.date or None, "file": self.file, "text_sha256": self.text,
            "revision": self.revision or None, "changed_since": self.changed if self.revision else None,
        }  # fmt: skip


def stamp_of(built: Built, date: str = "") -> Stamp:
    """The stamp of a piece; the revision only where git is there and knows every text it is of."""
    own = Path(built.path)
    revision, changed = _revision(own.parent, [Path(path) for path in built.files_read])
    return Stamp(own.name, text_hash(built), date, revision, changed)


def _revision(folder: Path, texts: Sequence[Path]) -> tuple[str, bool]:
    """The commit checked out where a text lies, and whether any text is not as it was committed."""
    if shutil.which("git") is None:
        return "", False
    head = _named(folder, "HEAD")
    if not head:
        return "", False
    changed = False
    for path in texts:
        try:
            data = path.read_bytes()
            spot = os.path.relpath(path.resolve(), folder.resolve())
        except (OSError, ValueError):
            return head, True
        changed |= _named(folder, f"HEAD:./{Path(spot).as_posix()}") not in _blobs(data)
    return head, changed


def _blobs(data: bytes) -> set[str]:
    """The names git has for a file's content, with its line ends as they are and as git keeps them."""
    kinds = (hashlib.sha1, hashlib.sha256)
    contents = (data, data.replace(b"\r\n", b"\n"))
    return {kind(b"blob %d\0" % len(one) + one).hexdigest() for kind in kinds for one in contents}


def _named(folder: Path, what: str) -> str:
    """What git calls ``what``; "" where it has no such thing."""
    try:
        told = ask(folder, "rev-parse", "--verify", "--quiet", "--end-of-options", what)
    except NoGit:
        return ""
    return (told or b"").decode().strip()
