"""Where a name is given, and the same text with another name in its place."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from ...lang import tree
from ...lang.parse import BLOCK_WORDS, parse
from ...lang.slip import RESERVED
from ...stdlib import rows
from ..words.standard import FOLDER
from .look import Look
from .scopes import FEATURE, MEASURE, TURN, Scopes

_NAME = re.compile(r"[^\W\d_][\w]*(?:-[\w]+)*")
RENAMED = frozenset((MEASURE, FEATURE, TURN))


@dataclass(frozen=True)
class Given:
    """The place in the file ``path`` where a name is given, in characters from 0."""

    path: str
    start: int
    end: int
    text: str


def given_at(look: Look, offset: int) -> Given | None:
    """Where the name, or the word, that stands at ``offset`` is given."""
    binding = look.scopes.at(offset)
    if binding is not None and not isinstance(binding.line, tree.TakeFrom):
        span = binding.name.span
        return Given(look.path, span.start, span.end, look.text)
    name = binding.name.name if binding is not None else _word_at(look, offset)
    word = look.word(name) if name else None
    if word is None or not isinstance(word.body, tree.WordBlock):
        return None
    span = word.body.name.span
    path = standard_file(span.path)
    text = look.program.sources.get(span.path)
    if text is None:
        text = Path(path).read_text("utf-8")
    return Given(path, span.start, span.end, text)


def standard_file(path: str) -> str:
    """A standard word's file as it lies on the disk."""
    inner = path.removeprefix(f"{FOLDER}/")
    return path if inner == path else str(Path(rows.__file__).with_name("words") / inner)


def _word_at(look: Look, offset: int) -> str:
    line = look.line_at(offset)
    if isinstance(line, tree.Feature) and line.word.span.start <= offset <= line.word.span.end:
        return line.word.name
    return ""


def renamed_at(look: Look, offset: int, new: str) -> tuple[list[tuple[int, int]], str]:
    """The places where the name at ``offset`` is written; or none, and why it cannot be called ``new``."""
    binding = look.scopes.at(offset)
    if binding is None:
        return [], "there is no name of this text here"
    if binding.kind not in RENAMED:
        return [], f"this is a {binding.kind}: other files may use it, so it is renamed by hand"
    if not _NAME.fullmatch(new) or new in RESERVED or new in BLOCK_WORDS:
        return [], f"'{new}' is no name: letters, digits and single hyphens inside"
    places = sorted(binding.written())
    text = look.text
    for start, end in reversed(places):
        text = text[:start] + new + text[end:]
    if not _same_sense(look.scopes, look, text):
        return [], f"'{new}' means something else here"
    return places, ""


def _same_sense(before: Scopes, look: Look, text: str) -> bool:
    """Whether every name of the renamed text stands for what it stood for."""
    file, faults = parse(text, look.path)
    after = Scopes(file)
    return len(faults) == len(parse(look.text, look.path)[1]) and _shape(before) == _shape(after)


def _shape(scopes: Scopes) -> list[tuple[int, bool, list[int]]]:
    """Which of all written names, by number, belong together."""
    written = sorted(start for one in scopes.bindings for start, _ in one.written())
    number = {start: k for k, start in enumerate(written)}
    return [
        (number[one.name.span.start], one.again, sorted(number[use.span.start] for use in one.uses))
        for one in scopes.bindings
    ]
