"""The key that a value without one was likely meant for: known once the line's word is."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import replace

from .bounds import MEASURED
from .faults import Fault
from .lexicon import Lexicon
from .slip_rows import KEYLESS
from .values import NUMBER, UNITS
from .words import Kind, Take, Word

_MOST_SHOWN = 3
_NAME = r"[^\W\d_][\w-]*"
_ACROSS = {Kind.SIZE: ("mm", "cm", "in"), Kind.STONE_SIZE: ("mm", "cm", "in", "ct")}  # figures joined by x


def with_keys(faults: Iterable[Fault], text: str, words: Mapping[str, Word]) -> list[Fault]:
    """``faults`` of ``text``; those of a value without its key say which it may be, as the word takes it."""
    return [_keyed(fault, text, words) if fault.code == KEYLESS else fault for fault in faults]


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
    asked = {key for keys in word.one_of if not given & {*keys} for key in keys}
    wanted = [take.name for take in fits if take.needed or take.name in asked]
    return wanted[:1] or [take.name for take in fits[:_MOST_SHOWN]]


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
