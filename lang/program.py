"""The front door of the language.

    words, faults = load_words(text, path)      # a file of word blocks -> Word records
    program = read_piece(path, files, bench.core_words(), standard)
    outcome = run(program, bench, {"across": "2.8 mm"})

``read_piece`` reads, parses and checks names; ``run`` has the bench do the work. Neither raises
for anything in a text; all that is wrong with it comes as faults."""

from __future__ import annotations

import sys
from collections.abc import Iterable, Mapping, Set
from dataclasses import dataclass, field
from pathlib import PurePath
from typing import Any

from . import tree
from .bench import Bench
from .faults import Fault, Span, in_order, is_fatal
from .lexicon import Choices, Lexicon, Trade, choices_of
from .loader import Files, Loader
from .outcome import Outcome
from .parse import parse
from .piece import PieceRun
from .records import record
from .report import Enough
from .scope import Scope
from .settable import settings_text
from .tree import File
from .words import Word

__all__ = ["Program", "load_words", "read_piece", "run", "settings_text"]

# Blocks, words in words and parentheses nest some 24 x 16 deep at the worst.
_RECURSION = 20_000


@dataclass(slots=True)
class Program:
    """A piece read and checked, ready to run.

    ``faults`` are those of all its files, in order of place; ``files_read`` every path looked
    at, the piece first (also those that are not there: a watcher waits for them); ``sources``
    the text of each file, for snippets."""

    path: str
    tree: File
    title: str
    faults: list[Fault]
    files_read: tuple[str, ...]
    sources: dict[str, str]
    words: Lexicon
    trees: dict[str, File] = field(default_factory=dict)
    records: dict[Span, Word] = field(default_factory=dict)
    origin: dict[Span, str] = field(default_factory=dict)
    choices: Set[str] = frozenset()


def read_piece(
    path: str, files: Files, bench_words: Mapping[str, Word], standard: Mapping[str, Word] | None = None,
    metals: Iterable[str] = (), roles: Iterable[str] = (), trade: Trade | None = None,
    settings: Mapping[str, Any] | None = None,
) -> Program:
    """Read the piece at ``path`` and every file it takes; check layout, grammar and names.

    ``metals`` are further bare names that stand for themselves (``when alloy is gold-18k``),
    ``roles`` what a word may serve as, ``trade`` what people may mean by a name that is none; of ``settings``
    the clauses of lines are set (middle.gem=ruby), measures by ``run``."""
    words = Lexicon(bench_words, standard or {}, trade=trade)
    choices = Choices(metals, words)
    loader = Loader(files, words, choices, roles, settings)
    piece = loader.piece(path)
    said = (line for line in piece.tree.lines if not isinstance(line, tree.Version))
    first = next(said, None)
    title = first.title.text if isinstance(first, tree.Piece) and first.title else ""
    return Program(
        path=path, tree=piece.tree, title=title, faults=in_order(piece.faults), files_read=tuple(loader.read),
        sources={name: loaded.tree.text for name, loaded in loader.loaded.items()}, words=words,
        trees={name: loaded.tree for name, loaded in loader.loaded.items()}, records=loader.records,
        origin=loader.origin, choices=choices.with_further(choices_of(loader.records.values())),
    )


def run(
    program: Program, bench: Bench, settings: Mapping[str, Any] | None = None, metal: str | None = None,
) -> Outcome:
    """Walk the piece with ``bench``; give measures, waivers, series and all faults.

    ``settings`` set measures of the outer block: texts of the language ("2.8 mm") or values
    (from ``SeriesPlan.settings``). ``metal`` takes the place of the piece's own. The faults are
    those of ``program`` and those found now, in order of place. A run with faults is worth
    looking at all the same: what depends on a failed line is left out."""
    whole = False
    walk = PieceRun(
        bench, Scope(lexicon=program.words), program.choices, program.records, program.trees, program.origin,
        settings or {}, metal,
    )
    limit = sys.getrecursionlimit()
    sys.setrecursionlimit(max(limit, _RECURSION))
    try:
        walk.lines(program.tree.lines)
        whole = True
    except Enough:
        pass  # the cap that was met is among the faults
    finally:
        sys.setrecursionlimit(limit)
    outcome = walk.outcome()
    outcome.whole = whole
    outcome.title = outcome.title or program.title
    faults = [*program.faults, *outcome.faults]
    outcome.faults = in_order(faults if is_fatal(faults) else [*faults, *walk.unsaid()])
    return outcome


def load_words(text: str, path: str, group: str | None = None) -> tuple[dict[str, Word], list[Fault]]:
    """The Word records of a file of ``word`` blocks, by name, in the order of the file.

    ``group`` files them in the reference; without it the file's own name does. Their bodies
    are not looked into: they may use words of other files."""
    file, faults = parse(text, path)
    group = group or PurePath(path).stem
    words: dict[str, Word] = {}
    for line in file.lines:
        if isinstance(line, tree.WordBlock):
            word, wrong = record(line, group, text)
            faults += wrong
            if word.name in words:
                faults.append(
                    Fault(
                        "name-taken", f"a word '{word.name}' is already taught", line.name.span,
                        remedy="give one of them another name",
                    )
                )
            words.setdefault(word.name, word)
        elif not isinstance(line, tree.Unread):
            faults.append(
                Fault(
                    "block-misplaced", "a file of words holds word blocks only", line.span,
                    remedy="put it into a word",
                )
            )
    return words, faults
