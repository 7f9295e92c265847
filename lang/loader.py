"""Files read and taken: only below the piece's own folder, each once, never in a circle."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from errno import ELOOP
from pathlib import Path, PurePosixPath
from typing import Any, Protocol

from . import tree
from .faults import Fault, Span
from .keyless import with_keys
from .layout import MOST_SIZE
from .lexicon import Choices, Lexicon, choices_of
from .parse import parse
from .records import record
from .resolve import Resolver
from .source import decode
from .suggest import did_you_mean
from .tree import File
from .unreadable import ENDING, NotText, unreadable
from .words import Word

MOST_FILES = 32


class Files(Protocol):
    """Where texts come from. Paths are as the user names them, with forward slashes."""

    def read(self, path: str) -> bytes:
        """The bytes of a file; raises OSError if it cannot be read, PermissionError if it is
        outside the folder that may be read."""

    def beside(self, path: str) -> Sequence[str]:
        """The names of the .posy files in the same folder, for "did you mean"."""


class Folder:
    """The files of the disk at and below a piece's own folder.

    Links are followed and must stay below it; the piece itself may be a link to anywhere."""

    def __init__(self, piece: str | Path) -> None:
        self.piece = Path(piece)
        self.root = _real(self.piece.parent)

    def read(self, path: str) -> bytes:
        """The bytes of the file ``path``, named as the piece is (from the working folder)."""
        place = Path(path)
        if place != self.piece and not _real(place).is_relative_to(self.root):
            raise PermissionError(f"{path} leads out of the folder of the piece")
        if place.is_dir():
            raise IsADirectoryError(path)
        if not place.is_file():
            place.stat()  # says what is in the way, if anything is
            raise NotText(path)  # devices and pipes could be read for ever
        with place.open("rb") as stream:
            data = stream.read(MOST_SIZE + 1)
        if place.suffix != ENDING and b"\0" in data:
            raise NotText(path)
        return data

    def beside(self, path: str) -> tuple[str, ...]:
        """The names of the .posy files in the folder of ``path``, or in it if it is a folder."""
        place = Path(path)
        try:
            folder = place if place.is_dir() else place.parent
            return tuple(sorted(one.name for one in folder.iterdir() if one.suffix == ENDING))
        except (OSError, RuntimeError):
            return ()


def _real(place: Path) -> Path:
    """Where links lead; raises OSError for links that lead round in a circle."""
    try:
        return place.resolve()
    except RuntimeError:  # Python below 3.13
        raise OSError(ELOOP, "links lead round in a circle", str(place)) from None


class Texts:
    """Files held in memory, for tests and for an editor's unsaved text."""

    def __init__(self, texts: Mapping[str, str | bytes]) -> None:
        self.texts = dict(texts)

    def read(self, path: str) -> bytes:
        """The bytes of the text called ``path``."""
        text = self.texts.get(path)
        if text is None:
            raise FileNotFoundError(path)
        return text.encode("utf-8", "surrogatepass") if isinstance(text, str) else text

    def beside(self, path: str) -> tuple[str, ...]:
        """The names of the texts in the same folder."""
        folder = PurePosixPath(path).parent
        return tuple(
            one.name for one in map(PurePosixPath, self.texts)
            if one.parent == folder and one.suffix == ENDING
        )  # fmt: skip


class Over:
    """``files`` with some ``texts`` laid over them: unsaved ones of an editor, or those of another time."""

    def __init__(self, files: Files, texts: Mapping[str, str | bytes]) -> None:
        self.under = files
        self.over = Texts(texts)

    def read(self, path: str) -> bytes:
        """The bytes of ``path``, from the texts if it is among them."""
        return self.over.read(path) if path in self.over.texts else self.under.read(path)

    def beside(self, path: str) -> tuple[str, ...]:
        """The names of the .posy files in the same folder."""
        return tuple(sorted({*self.over.beside(path), *self.under.beside(path)}))


@dataclass(slots=True)
class Loaded:
    """One file read, with the words it teaches (None: taught, but with a fault of its own)."""

    path: str
    tree: File
    faults: list[Fault]
    words: dict[str, Word | None] = field(default_factory=dict)


class Loader:
    """Reads a piece and the files it takes. ``words`` are the core and standard words,
    ``roles`` what a word may serve as, ``settings`` what is set from outside."""

    def __init__(
        self, files: Files, words: Lexicon, choices: Choices, roles: Iterable[str] = (),
        settings: Mapping[str, Any] | None = None,
    ) -> None:
        self.files, self.settings = files, settings or {}
        self.words = words
        self.choices = choices
        self.roles = tuple(roles)
        self.loaded: dict[str, Loaded] = {}
        self.errors: dict[str, Exception] = {}
        self.open: list[str] = []
        self.records: dict[Span, Word] = {}
        self.origin: dict[Span, str] = {}  # of a `from` line: the file it takes
        self.brought: dict[Span, dict[str, Word | None]] = {}
        self.read: list[str] = []

    def piece(self, path: str) -> Loaded:
        """The piece itself, with everything it takes; faults of all files gathered in it."""
        loaded = self.load(path, None)
        if loaded is None:
            fault = self.unreadable(path, None)
            return Loaded(path, tree.File(path, (), (), ""), [fault])
        gathered = [fault for other in self.loaded.values() for fault in other.faults]
        loaded.faults = gathered
        return loaded

    def unreadable(self, path: str, span: Span | None) -> Fault:
        """The fault for a file that could not be read."""
        return unreadable(path, self.errors[path], self.files.beside(path), span)

    def load(self, path: str, taking: Span | None) -> Loaded | None:
        """One file, from here on known; None if it cannot be read."""
        if path not in self.read:
            self.read.append(path)
        try:
            data = self.files.read(path)
        except (OSError, ValueError, RuntimeError) as error:
            self.errors[path] = error
            return None
        text, faults = decode(data, path)
        file, more = parse(text, path)
        if taking is None and any("." in name for name in self.settings):
            from .set_clauses import with_clauses

            file, wrong = with_clauses(file, self.settings)
            more = [*more, *wrong]
        loaded = Loaded(path, file, faults + more)
        self.loaded[path] = loaded
        self.open.append(path)
        for line in file.lines:
            if isinstance(line, tree.WordBlock):
                word, wrong = record(line, "own words", text)
                loaded.faults += wrong
                self.records[line.span] = word
            elif isinstance(line, tree.TakeFrom):
                self.take(line, loaded)
        self.open.pop()
        self.finish(loaded, taking is not None)
        return loaded

    def finish(self, loaded: Loaded, library: bool) -> None:
        """Resolve a file whose own takings are known, and list its words."""
        choices = self.choices.with_further(choices_of(self.records.values()))
        own = {word.name: word for word in self.records.values()}
        loaded.faults = with_keys(loaded.faults, loaded.tree.text, self.words.with_further(own))
        resolver = Resolver(self.words, choices, self.brought, self.records, self.roles, self.words.trade)
        loaded.faults += resolver.file(loaded.tree, library)
        for line in loaded.tree.lines:
            if isinstance(line, tree.WordBlock):
                loaded.words[line.name.name] = self.records[line.span]
            elif isinstance(line, tree.TakeFrom):
                loaded.words.update(self.brought.get(line.span, {}))
            elif isinstance(line, tree.Unread) and "word" in line.names[:1]:
                loaded.words.update(dict.fromkeys(line.names[1:2]))

    # --- from "x.posy" take …

    def take(self, line: tree.TakeFrom, loaded: Loaded) -> None:
        """What one ``from`` line brings; names it cannot bring stand for nothing."""
        self.brought[line.span] = {name.name: None for name in line.names}
        path, fault = below(loaded.path, line.file)
        if fault is None and path in self.open:
            chain = " takes ".join((*self.open[self.open.index(path) :], path))
            fault = Fault(
                "files-in-circle", f"files take each other in a circle: {chain}", line.file.span,
                remedy="move the shared words to a file of their own",
            )
        if fault is None and path not in self.loaded and len(self.loaded) > MOST_FILES:
            fault = Fault(
                "too-many-files", "this piece takes too many files", line.file.span,
                limit=f"at most {MOST_FILES}", remedy="put words together in one file",
            )
        if fault is not None:
            loaded.faults.append(fault)
            return
        other = self.loaded.get(path) or self.load(path, line.span)
        if other is None:
            loaded.faults.append(self.unreadable(path, line.file.span))
            return
        self.origin[line.span] = path
        for name in line.names:
            if name.name in other.words:
                self.brought[line.span][name.name] = other.words[name.name]
            else:
                loaded.faults.append(
                    Fault(
                        "unknown-word",
                        f"{path} teaches no word '{name.name}'",
                        name.span,
                        remedy=did_you_mean(name.name, other.words)
                        or (
                            "it teaches " + ", ".join(other.words)
                            if other.words
                            else "it teaches none: a word starts with a line word name"
                        ),
                    )
                )


def is_below(named: str) -> bool:
    """Whether a name is that of a file in a folder or below it, on any machine."""
    parts = PurePosixPath(named).parts
    odd = "\\" in named or ":" in named or not named.isprintable()
    return bool(parts) and not odd and not named.startswith(("/", "~")) and ".." not in parts


def below(path: str, file: tree.Quoted) -> tuple[str, Fault | None]:
    """The path that ``file`` names, seen from the file ``path``; only downwards."""
    named = file.text
    if not is_below(named):
        return "", Fault(
            "file-outside", "files are taken from the piece's own folder only", file.span, seen=named[:80],
            remedy='name it from there, as in: from "leaves.posy" take leaf',
        )
    if not named.endswith(".posy"):
        return "", Fault(
            "file-outside", "only .posy files are taken", file.span, seen=named[:80],
            remedy='as in: from "leaves.posy" take leaf',
        )
    return str(PurePosixPath(path).parent / named), None
