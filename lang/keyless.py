"""The key that a value without one was likely meant for: known once the line's word is."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import replace

from .bounds import MEASURED
from .faults import Fault
from .lexicon import Lexicon
from .placing import PLACING_BY_NAME
from .slip_rows import KEYLESS
from .values import NUMBER, UNITS
from .words import ADDED, CHOOSING, Kind, Take, Word

_MOST_SHOWN = 3
_COUNTS = "count", "times"
_NAME = r"[^\W\d_][\w-]*"
_ACROSS = {Kind.SIZE: ("mm", "cm", "in"), Kind.STONE_SIZE: ("mm", "cm", "in", "ct")}  # figures joined by x


def with_keys(faults: Iterable[Fault], text: str, words: Mapping[str, Word]) -> list[Fault]:
    """``faults`` of ``text``; those of a value without its key say which it may be, as the word takes it; a
    comma that is missing within a choice, what choice it is."""
    ways = {KEYLESS: _keyed, "comma-missing": _joined}
    return [ways[fault.code](fault, text, words) if fault.code in ways else fault for fault in faults]


def _joined(fault: Fault, text: str, words: Mapping[str, Word]) -> Fault:
    """The fault of profile half round."""
    span = fault.span
    assert span is not None
    line = text[text.rfind("\n", 0, span.start) + 1 :].partition("\n")[0]
    said = re.match(rf"\s*({_NAME})", line)
    before, behind = re.search(rf"({_NAME})\s+$", text[: span.start]), re.match(_NAME, text[span.start :])
    word = words.get(said[1]) if said else None
    if word is None or before is None or behind is None:
        return fault
    name = f"{before[1]}-{behind[0]}"
    if not any(take.kind in CHOOSING and take.choices and take.choice(name) == name for take in word.takes):
        return fault
    start = replace(span, start=before.start(), column=span.column - span.start + before.start())
    told = "a choice is one word, and a blank stands in this one"
    return replace(fault, code="unreadable", message=told, span=start, remedy=f"write {name}")


def _keyed(fault: Fault, text: str, words: Mapping[str, Word]) -> Fault:
    """The fault, its remedy naming the keys that the line's word has for the value, where it is known."""
    span = fault.span
    assert span is not None
    before = text[text.rfind("\n", 0, span.start) + 1 : span.start]
    value = text[span.start : span.end].rstrip()
    said = re.match(rf"\s*({_NAME})", before)
    word = words.get(said[1]) if said else None
    if said and word is None and isinstance(words, Lexicon):
        word = words.get(words.trade.meant(said[1], words) or "")
    if word is None:
        return fault
    two = re.match(rf"({_NAME})\s+({_NAME})\s+", value)
    own = {*(take.name for take in word.takes), *PLACING_BY_NAME}
    if two and two[2] == "of":  # rim of cup
        asked = _asked(word, {*re.findall(rf"[:,]\s*({_NAME})", before)})
        led = [take.name for take in word.takes if take.kind in ADDED and take.name in asked]
        return replace(fault, remedy=f"write {' or '.join(led)} {value}") if led else fault
    if two:  # above finger 5 mm
        joined = f"{two[1]}-{two[2]}"
        meant = (joined, *(words.trade.clauses.get(joined, ()) if isinstance(words, Lexicon) else ()))
        if one := next((key for key in meant if key in own), None):
            return replace(fault, remedy=f"write {one} {value[two.end() :]}")
    if (counted := re.fullmatch(rf"([0-9]+)\s+({_NAME})", value)) and counted[2] not in UNITS:  # 5 stones
        on_path = re.search(r"[:,]\s*along\b", text[span.start - len(before) :].partition("\n")[0])
        keys = [take.name for take in word.takes if take.kind is Kind.COUNT and take.name in _COUNTS]
        return replace(fault, remedy=f"write {'number' if on_path else next(iter(keys), 'row')} {counted[1]}")
    if two:
        value = value[two.end() :]
        keys = [key for key in (two[2], two[1]) if any(take.name == key for take in word.takes)][:1]
    else:
        keys = _meant(word, {*re.findall(rf"[:,]\s*({_NAME})", before)}, value)
    shown = [f"{key} {value}" for key in keys]
    if len(shown) == 1:
        return replace(fault, remedy=f"write {shown[0]}")
    return replace(fault, remedy=f"it may be {', '.join(shown[:-1])} or {shown[-1]}") if shown else fault


def _meant(word: Word, given: set[str], value: str) -> list[str]:
    """The keys that ``value`` may be meant for, where the line has said those ``given``: the first that fits
    and is wanted, else some that fit."""
    fits = [take for take in word.takes if take.name not in given and _fits(take, value)]
    asked = _asked(word, given)
    wanted = [take.name for take in fits if take.name in asked]
    return wanted[:1] or [take.name for take in fits[:_MOST_SHOWN]]


def _asked(word: Word, given: set[str]) -> set[str]:
    """The keys one of which a line of the word has still to say."""
    needed = {take.name for take in word.takes if take.needed}
    return needed | {key for keys in word.one_of if not given & {*keys} for key in keys}


def _fits(take: Take, value: str) -> bool:
    """Whether a clause could take a value written so."""
    if value[0] in '("':
        return take.kind is (Kind.TEXT if value.startswith('"') else Kind.POINTS)
    unit = re.sub(r"^.*?([^\W\d]*|%)$", r"\1", value)
    parts = len(re.split(r"\sx\s", value))
    if take.kind in _ACROSS:
        return unit in _ACROSS[take.kind] and parts in (take.parts or (parts,))
    dimension = UNITS[unit][0] if unit in UNITS else NUMBER
    return parts == 1 and MEASURED.get(take.kind) == (dimension, unit == "%")
