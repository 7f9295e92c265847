"""The standard words written in posy, read from stdlib/words, each once per process.

They lie in a folder for each group of the reference: ``stdlib/words/settings/prong.posy``."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path

from ...lang.faults import Fault
from ...lang.lexicon import Trade
from ...lang.program import load_words
from ...lang.words import Word
from ...stdlib import rows
from ...stdlib.cuts import CUTS
from . import WordsAsked, core_words

FOLDER = "<standard words>"
_LEARNING = rows.read_rows("learning", ["group", "title", "words", "source"])
GROUPS = {row["group"]: row["title"] for row in _LEARNING}
"""The groups of words in the order one learns them, with what they are for."""

FILED = {name: row["group"] for row in _LEARNING for name in rows.words(row, "words")}
"""The group of each word, in the order one learns them."""


class _Standard(WordsAsked):
    """A file is named after the one word it teaches, so the names are known without reading."""

    def __init__(self) -> None:
        folder = Path(rows.__file__).with_name("words")
        super().__init__({
            entry.name.removesuffix(".posy"): (group.name, entry)
            for group in _entries(folder)
            for entry in (_entries(group) if group.is_dir() else ())
            if entry.name.endswith(".posy")
        })
        self._texts: dict[str, str] = {}
        self._read: dict[str, tuple[Word | None, list[Fault]]] = {}

    def __getitem__(self, name: str) -> Word:
        word, _ = self.read(name)
        if word is None:
            raise KeyError(name)
        return word

    def read(self, name: str) -> tuple[Word | None, list[Fault]]:
        """The word called ``name`` and what is wrong with its file. Raises KeyError."""
        if name not in self._read:
            group, _ = self._homes[name]
            path = self.path(name)
            words, faults = load_words(self.text(path), path, group)
            self._read[name] = words.get(name), faults
        return self._read[name]

    def path(self, name: str) -> str:
        """What the file of a word is called in faults. Raises KeyError."""
        group, entry = self._homes[name]
        return f"{FOLDER}/{group}/{entry.name}"

    def text(self, path: str) -> str:
        """The source at ``path``. Raises KeyError."""
        name = path.rpartition("/")[2].removesuffix(".posy")
        if name not in self._texts:
            self._texts[name] = self._homes[name][1].read_text("utf-8")
        return self._texts[name]


class _Texts(Mapping[str, str]):
    """Their source texts by path, read when they are asked for."""

    def __getitem__(self, path: str) -> str:
        return _standard().text(path)

    def __contains__(self, path: object) -> bool:
        return path in list(self)

    def __iter__(self) -> Iterator[str]:
        return map(_standard().path, _standard())

    def __len__(self) -> int:
        return len(_standard())


@cache
def _standard() -> _Standard:
    return _Standard()


def _entries(folder: Path) -> list[Path]:
    return sorted(folder.iterdir(), key=lambda entry: entry.name)


def standard_words() -> Mapping[str, Word]:
    """The standard words written in posy, by name."""
    return _standard()


def standard_texts() -> Mapping[str, str]:
    """Their source texts by path, for snippets."""
    return _Texts()


def all_words() -> Mapping[str, Word]:
    """Every word there is, in the order one learns them; one that is filed nowhere comes last."""
    words = {**core_words(), **standard_words()}
    return {name: words[name] for name in (*(n for n in FILED if n in words), *words)}


def trade_words() -> Mapping[str, tuple[str, ...]]:
    """What the trade calls things: the words of posy for it."""
    return _said("trade-words", "words")


def trade_lines(said: str) -> list[str]:
    """How that thing of the trade is begun, line by line; nothing where the page of its word says it. A line
    within a block begins with > in the table."""
    found = rows.read_rows("trade-lines", ["said", "line", "source"])
    lines = (row["line"] for row in found if said in rows.words(row, "said"))
    return ["  " + line[2:] if line.startswith("> ") else line for line in lines]


def trade_note(said: str) -> str | None:
    """What is told of a thing that posy does not make, or not by a word."""
    found = rows.read_rows("trade-notes", ["said", "note", "source"])
    return next((row["note"] for row in found if said in rows.words(row, "said")), None)


def trade() -> Trade:
    """What people may mean by a word or a clause that there is not."""
    cuts = {also: (cut.name,) for cut in CUTS.values() for also in cut.also}
    return Trade(trade_words(), {**cuts, **_said("clause-words", "clauses")})


@cache
def _said(table: str, meant: str) -> Mapping[str, tuple[str, ...]]:
    """A table of what people say, and the names it may mean."""
    found = rows.read_rows(table, ["said", meant, "source"])
    return {row["said"]: rows.words(row, meant) for row in found}
