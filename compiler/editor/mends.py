"""Remedies that can be done at once: each way that a remark names and that cures, tried first."""

from __future__ import annotations

import difflib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ...lang.faults import Fault, Level
from ..judging.done import ways
from .look import Look

_MOST = 8  # remarks looked at


@dataclass(frozen=True)
class Mend:
    """A change of text that cures ``fault``: what stands from ``start`` to ``end`` becomes ``text``."""

    fault: Fault
    title: str
    start: int
    end: int
    text: str


def mends(look: Look, remarks: Sequence[Fault], start: int, end: int) -> Iterator[Mend]:
    """Mends for the ``remarks`` that touch the characters from ``start`` to ``end``."""
    near = [
        one for one in remarks if one.span is not None and one.span.path == look.path
        and one.span.start <= end and one.span.end >= start
    ]  # fmt: skip
    for fault in near[:_MOST]:
        for way in ways(fault, {look.path: look.text}):
            if _cured(look, fault, way.texts[look.path]):
                yield _mend(look.text, way.texts[look.path], fault)


def _cured(look: Look, fault: Fault, text: str) -> bool:
    """Whether the remark is gone from the new text and no fault has come. What only metal shows is
    taken at its word: the rule has proved it."""
    after = Look(look.path, text)
    before_count, after_count = (
        sum(one.level is Level.FAULT for one in other.checked.faults) for other in (look, after)
    )
    if fault.level is Level.FAULT:
        measured = fault not in look.checked.faults
        return after_count < before_count or (measured and after_count == before_count)
    return after_count <= before_count


def _mend(old: str, new: str, fault: Fault) -> Mend:
    """The smallest stretch that holds all that changes."""
    blocks = difflib.SequenceMatcher(None, old, new, autojunk=False).get_opcodes()
    changed = [one for one in blocks if one[0] != "equal"]
    start, end = changed[0][1], changed[-1][2]
    text = new[changed[0][3] : changed[-1][4]]
    shown = " ".join(text.split())
    title = f"write {shown}" if shown and len(shown) <= 60 else fault.remedy or "do it"
    return Mend(fault, title if start != end or shown else "leave it out", start, end, text)
