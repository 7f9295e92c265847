"""Which revisions a piece has, and which of them is meant."""

from __future__ import annotations

import shutil
from collections.abc import Sequence

from ...lang.faults import Fault
from ...lang.loader import Folder
from .git import NoGit, Repository, in_git, repository_of
from .kept import kept_revisions
from .revision import Revision

NOW = "now"
_LISTED = 6


def now(path: str, name: str = NOW) -> Revision:
    """The piece as it stands on the disk."""
    return Revision(name, path, Folder(path))


def keeps_its_own(path: str) -> bool:
    """Whether posy has to keep the history of a piece: git does not."""
    try:
        return not (in_git(path) and shutil.which("git"))
    except (OSError, RuntimeError):
        return False


def revisions_of(path: str, most: int = 500) -> list[Revision]:
    """The revisions of a piece, the newest first: those of git, where it has any, else those kept."""
    repository = repository_of(path)
    try:
        found = [] if repository is None else repository.revisions(path, _taken(path), most)
    except NoGit:
        found = []
    return found or kept_revisions(path)[:most]


def earlier(path: str, said: str | None) -> tuple[Revision | None, list[Fault]]:
    """The revision called ``said`` (a name of git, a number of those kept, or a day as 2026-05-01: the
    last of that day or before); without it the last whose texts are not those of now."""
    if said is None:
        found, here = revisions_of(path), now(path)
        texts = [(one, here.text(one)) for one in ((path, *_taken(path)) if found else ())]
        differ = (old for old in found if any(old.text(one) != text for one, text in texts))
        meant = next(differ, found[0] if found else None)
    else:
        repository = repository_of(path)
        meant = _in_git(repository, path, said) if repository else None
        if meant is None:
            meant = _kept(path, said)
    if meant is not None:
        return meant, []
    return None, [_unknown(path, said)]


def _in_git(repository: Repository, path: str, said: str) -> Revision | None:
    try:
        commit = repository.named(said)
        return repository.revision(commit, path) if commit else None
    except NoGit:
        return None


def _kept(path: str, said: str) -> Revision | None:
    """Of those kept: by number, or the last of a day or before."""
    found = kept_revisions(path)
    by_name = (one for one in found if one.name == said)
    by_day = (one for one in found if len(said) == 10 and said[4:5] == "-" and one.when[:10] <= said)
    return next(by_name, None) or next(by_day, None)


def _taken(path: str) -> tuple[str, ...]:
    """The files a piece takes from, now."""
    from ..making.pipeline import read  # only git asks for it

    return read(path, Folder(path)).files_read[1:]


def _unknown(path: str, said: str | None) -> Fault:
    names: Sequence[str] = [one.name for one in revisions_of(path, _LISTED)]
    if not names:
        return Fault(
            "no-history",
            f"there is no earlier revision of {path}: git has none, and nothing is kept beside it",
            remedy="commit it, or make it with posy make: where there is no git, each make is kept",
        )
    return Fault(
        "unknown-revision", f"there is no revision '{said}' of {path}", seen=said,
        remedy=f"the last are {', '.join(names)}; or a day, as 2026-05-01",
    )
