"""Words of the trade, and words of older texts, taken over into those of the language.

The resolver knows them by the same table and says so at the line; here what it says is done,
where just one word can be meant."""

from __future__ import annotations

import re
from collections.abc import Iterable

from .faults import Fault
from .lexicon import Trade


def carried_over(text: str, path: str, faults: Iterable[Fault], trade: Trade) -> str:
    """``text`` with every word and clause that ``faults`` say is called otherwise here written as
    it is called; the faults are those of this text at ``path``."""
    places = {}
    for fault in faults:
        span = fault.span
        if span is not None and span.path == path:
            meant = _meant(fault, text[span.start : span.end].casefold(), trade)
            if meant is not None:
                places[span.start] = span.end, meant
    for start, (end, meant) in sorted(places.items(), reverse=True):
        text = text[:start] + meant + text[end:]
    return text


def _meant(fault: Fault, said: str, trade: Trade) -> str | None:
    """The one word or clause that is meant by what was said, or None."""
    if fault.code == "unknown-word":
        words = trade.words.get(said, ())
        return words[0] if len(words) == 1 else None
    if fault.code == "unknown-clause":
        told = (fault.remedy or "").removeprefix("write ")
        return told if told in trade.clauses.get(said, ()) else None
    if fault.code == "unknown-kind":  # its table has one kind for each name
        found = re.fullmatch(r"write ([\w-]+)", fault.remedy or "")
        return found[1] if found else None
    return None
