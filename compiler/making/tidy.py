"""A text in the one layout, with the words of the trade taken over into those of posy."""

from __future__ import annotations

from ...lang.carried import carried_over
from ...lang.faults import Fault
from ...lang.loader import Files, Over
from ...lang.tidy import tidied
from .pipeline import read

_MOST_TURNS = 6  # a word taken over may have clauses to take over, and they others


def text_tidied(text: str, path: str, files: Files) -> tuple[str, list[Fault]]:
    """``text`` tidied, or as it is with the faults for which it cannot be read; ``files`` are those
    it takes from."""
    before = text
    for _ in range(_MOST_TURNS):
        program = read(path, Over(files, {path: text}))
        after = carried_over(text, path, program.faults, program.words.trade)
        if after == text:
            break
        text = after
    text, faults = tidied(text, path)
    return (before if faults else text), faults
