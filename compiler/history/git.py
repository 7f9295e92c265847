"""Revisions that git keeps. Texts are read as they were committed, by ``cat-file``, which runs nothing."""

from __future__ import annotations

import os
import re
from collections.abc import Sequence
from dataclasses import dataclass
from errno import ENOENT
from pathlib import Path, PurePosixPath

from ...lang.layout import MOST_SIZE
from ..files.git import NoGit, ask
from ..house import FILE as HOUSE
from .revision import Revision

MOST_REVISIONS = 500
_DAY = re.compile(r"\d{4}-\d\d-\d\d")
_BEGIN, _NEXT = "\x1e", "\x1f"  # between revisions, between what is told of one


@dataclass(frozen=True)
class Repository:
    """The working tree a piece lies in: ``top`` its folder."""

    top: Path

    def ask(self, *words: str) -> bytes | None:
        """What git tells; None where it says that there is no such thing. Raises NoGit."""
        return ask(self.top, *words)

    def named(self, said: str) -> str | None:
        """The commit that a revision, or a day as 2026-05-01, stands for."""
        if _DAY.fullmatch(said):
            found = self.ask("rev-list", "-1", f"--before={said} 23:59:59", "HEAD")
        else:
            found = self.ask("rev-parse", "--verify", "--quiet", "--end-of-options", f"{said}^{{commit}}")
        return found.decode().strip() or None if found else None

    def within(self, path: str) -> str | None:
        """A path of the disk as git names it; None where it is outside."""
        place = Path(path)
        try:
            real = place.parent.resolve() / place.name
            return real.relative_to(self.top).as_posix()
        except (OSError, RuntimeError, ValueError):
            return None

    def revision(self, commit: str, path: str) -> Revision | None:
        """The piece at ``path`` as it was in a commit, under the name it had then."""
        named = self.within(path)
        if named is None:
            return None
        for name in (named, *self._names(path)):
            files = Committed(self, commit, path, name)
            if self.ask("cat-file", "-e", f"{commit}:{name}") is not None:
                told = self.ask("show", "--no-patch", f"--format=%h{_NEXT}%cI{_NEXT}%s", commit) or b""
                short, when, note = told.decode("utf-8", "replace").strip("\n").split(_NEXT, 2)
                return Revision(short, path, files, when, _plain(note))
        return None

    def revisions(self, path: str, others: Sequence[str] = (), most: int = MOST_REVISIONS) -> list[Revision]:
        """Revisions in which the piece at ``path`` or one of the ``others`` changed, the newest first."""
        places = [one for one in map(self.within, dict.fromkeys((path, *others))) if one is not None]
        if self.within(path) is None:
            return []
        follow = ["--follow"] if len(places) == 1 else []
        told = self.ask(
            "log", "--no-ext-diff", "--no-textconv", "--no-show-signature", *follow, "-z", "--name-only",
            f"--max-count={most}", f"--format={_BEGIN}%H{_NEXT}%h{_NEXT}%cI{_NEXT}%s{_NEXT}", "--", *places,
        )  # fmt: skip
        found, name = [], places[0]
        for part in (told or b"").decode("utf-8", "replace").split(_BEGIN)[1:]:
            fields = part.split(_NEXT, 4)
            if len(fields) < 5:
                continue
            commit, short, when, note, names = fields
            if follow:
                name = names.strip("\n\0").split("\0")[0] or name
            found.append(Revision(short, path, Committed(self, commit, path, name), when, _plain(note)))
        return [one for one in found if one.text(path) is not None]

    def _names(self, path: str) -> list[str]:
        """Other names a piece went by in earlier commits."""
        files = (one.files for one in self.revisions(path))
        return list(dict.fromkeys(one.name for one in files if isinstance(one, Committed)))


class Committed:
    """The files of a commit, named as those of the disk are: the piece at ``path`` was ``name`` then."""

    def __init__(self, repository: Repository, commit: str, path: str, name: str) -> None:
        self.repository, self.commit, self.path, self.name = repository, commit, path, name
        self._kept: dict[str, bytes | None] = {}

    def read(self, path: str) -> bytes:
        """The bytes of a file as committed. Raises OSError where it is none."""
        for name in self._places(path):
            if name not in self._kept:
                self._kept[name] = self._blob(name)
            data = self._kept[name]
            if data is not None:
                return data
        raise FileNotFoundError(ENOENT, os.strerror(ENOENT), path)

    def beside(self, path: str) -> tuple[str, ...]:
        """The names of the .posy files in the same folder."""
        folder = PurePosixPath(next(iter(self._places(path)), "")).parent.as_posix()
        at = self.commit if folder == "." else f"{self.commit}:{folder}"
        told = self.repository.ask("ls-tree", "--name-only", "-z", at) or b""
        names = told.decode("utf-8", "replace").split("\0")
        return tuple(sorted(name for name in names if name.endswith(".posy")))

    def _places(self, path: str) -> list[str]:
        """Where a file stood: beside the piece; house limits also in the folders above it."""
        home = PurePosixPath(self.name).parent
        if path == self.path:
            return [self.name]
        inner = os.path.relpath(path, Path(self.path).parent).replace(os.sep, "/")
        if inner.startswith(".."):
            return []
        if inner == HOUSE:
            return [(one / HOUSE).as_posix() for one in (home, *home.parents)]
        return [(home / inner).as_posix()]

    def _blob(self, name: str) -> bytes | None:
        at = f"{self.commit}:{name}"
        size = self.repository.ask("cat-file", "-s", at)
        if size is None or int(size) > 8 * MOST_SIZE:
            return None
        return self.repository.ask("cat-file", "blob", at)


def repository_of(path: str | Path) -> Repository | None:
    """The repository in whose working tree a file lies; None without one, or without git here."""
    try:
        folder = Path(path).parent.resolve()
        if not in_git(path):
            return None
        top = ask(folder, "rev-parse", "--show-toplevel")
    except (OSError, RuntimeError, NoGit):
        return None
    return Repository(Path(os.fsdecode(top).rstrip("\n"))) if top else None


def in_git(path: str | Path) -> bool:
    """Whether a file lies in a working tree of git, as far as one sees without asking it."""
    folder = Path(path).parent.resolve()
    return any((one / ".git").exists() for one in (folder, *folder.parents))


def _plain(note: str) -> str:
    """A note without what a terminal would act on."""
    return "".join(letter for letter in note if letter.isprintable())
