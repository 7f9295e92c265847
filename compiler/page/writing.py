"""A figure written into the text: only the value of its measure changes, comments and layout stay."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from pathlib import Path

from ...lang import tree
from ...lang.faults import Fault
from ...lang.parse import parse
from ...lang.tree import Measure, Number, Quoted
from ...lang.values import UNITS
from ..files.atomic import write_set


def text_mark(text: str) -> str:
    """What tells one state of a text from another."""
    return hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()


def write_figures(path: str, mark: str, wanted: Mapping[str, str]) -> list[Fault]:
    """Write new values of measures into the text at ``path``, if it is still the one with ``mark``.

    ``wanted`` holds values as the language has them ("2.8 mm"). The file is replaced whole or not
    at all. Codes: ``text-changed``, ``figure-not-written``, ``file-not-read``, ``file-not-written``."""
    try:
        data = Path(path).read_bytes()
        text = data.decode("utf-8")
    except (OSError, UnicodeDecodeError):
        return [Fault("file-not-read", f"{path} cannot be read", remedy="look whether it is still there")]
    if text_mark(text) != mark:
        return [
            Fault(
                "text-changed", "the text was changed meanwhile, so nothing was written",
                remedy="look at the piece as it is now, then write the figure again",
            )
        ]
    new, faults = with_figures(text, path, wanted)
    return faults or write_set({Path(path): new.encode("utf-8")})[1]


def with_figures(text: str, path: str, wanted: Mapping[str, str]) -> tuple[str, list[Fault]]:
    """``text`` with its measures as ``wanted``, and a fault for each that has no figure of its own."""
    file, _ = parse(text, path)
    measures = {line.name.name: line for line in file.lines if isinstance(line, Measure)}
    edits, faults = [], []
    for name, value in wanted.items():
        line = measures.get(name)
        if line is None or not isinstance(line.value, Number | Quoted):
            faults.append(
                Fault(
                    "figure-not-written", f"{name} has no figure of its own in the text",
                    line.value.span if line is not None else None,
                    remedy="change the figures it is worked out from",
                )
            )
            continue
        span = line.value.span
        edits.append((span.start, span.end, _as_written(line.value, value)))
    if faults:
        return text, faults
    for start, end, said in sorted(edits, reverse=True):
        text = text[:start] + said + text[end:]
    return text, []


def _as_written(old: tree.Expression, value: str) -> str:
    """A value in the unit the text has it in, where that is one of decimals."""
    if isinstance(old, Quoted):
        return value if value.startswith('"') else f'"{value}"'
    number, _, unit = value.partition(" ")
    known = getattr(old, "unit", None)
    if unit == known or not unit or known not in UNITS or unit not in UNITS or known == "ga":
        return value
    figure = float(number) * UNITS[unit][1] / UNITS[known][1]
    return f"{round(figure, 5):g} {known}"
