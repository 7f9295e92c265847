"""A remedy that says only which way a length goes (``give more foot``, ``make bearing smaller``), with the
figures to try for it: its limit, what the line says changed little by little, or common lengths."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import replace

from ...lang.faults import Fault
from ..judging.done import Way, ways
from ..judging.said_clauses import OR

_WAYS = re.compile(
    r"\b(?:(?:give )?(?P<more>more) |(?:give )?(?:less|thinner) |make (?=[a-z-]+ (?:larger|smaller)))"
    r"(?P<key>[a-z-]+)(?P<larger> larger)?"
)
# House choices, no source.
_FACTORS = 1.1, 1.25, 1.5, 2.0, 3.0
_USUAL = 0.3, 0.5, 0.8, 1.0, 1.3, 1.6, 2.0, 2.5, 3.0, 4.0, 5.0  # mm
_HEAD = re.compile(r"\s*[a-z][\w-]*\s+([a-z][\w-]*)\s*:")
_MM = re.compile(r"([\d.]+) mm\b")


def by_figures(one: Fault, texts: Mapping[str, str]) -> Iterator[Way]:
    """The ways of a fault whose remedy names a length and which way it goes, the least changed first."""
    span = one.span
    text = texts.get(span.path, "") if span is not None else ""
    if span is None or not text:
        return
    line = text[text.rfind("\n", 0, span.start) + 1 :].partition("\n")[0]
    head = _HEAD.match(line)
    for found in _WAYS.finditer(one.remedy or "") if head else ():
        for value in _values(line, found["key"], bool(found["more"] or found["larger"]), one.limit or ""):
            said = f"write {found['key']} {value:g} mm in the line of {head[1]}"  # type: ignore[index]
            yield from ways(replace(one, remedy=said), texts)


def answered(one: Fault, way: Way) -> list[Way]:
    """What the remedy of a fault says without a figure, where a way has one for it."""
    said = ((part, _WAYS.search(part)) for part in OR.split(one.remedy or ""))
    return [Way(part, {}) for part, found in said if found and way.said.startswith(f"write {found['key']} ")]


def _values(line: str, key: str, more: bool, limit: str) -> list[float]:
    """Lengths to try of a clause, mm."""
    now, bound = re.search(rf"[:,] {key} ([\d.]+) mm\b", line), _MM.search(limit)
    if now:
        said, wanted = float(now[1]), float(bound[1]) if bound else 0.0
        least = [wanted] if wanted and (wanted > said) is more else []
        return [*least, *(round(said * (far if more else 1 / far), 2) for far in _FACTORS)]
    return [] if re.search(rf"[:,] {key}\b", line) else [*_USUAL] if more else [*_USUAL[::-1]]
