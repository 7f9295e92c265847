"""Remedies that are a change of text: worked out, shown line by line, written on request.

Only the value of a clause changes, or a clause is added in the style of its line; comments and layout stand.
A value that is an expression keeps it: ``wire w * 2`` becomes ``wire max(w * 2, 0.80 mm)``, so that the piece
goes on following its measures."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from ...lang import tree
from ...lang.faults import Fault
from ...lang.folding import fold
from ...lang.lexicon import Lexicon
from ...lang.parse import parse
from ...lang.tickets import USUAL
from .moves import OPPOSITE
from .remark import Edit, Remark
from .source_lines import SourceLines

_FIGURE = re.compile(r"-?\d+(?:\.\d+)?")


@dataclass(frozen=True)
class Mended:
    """New texts by path, and how many remarks they answer."""

    texts: Mapping[str, str]
    count: int


def mended(faults: Iterable[Fault], texts: Mapping[str, str]) -> Mended:
    """The texts with every remedy of ``faults`` that is a change of text carried out.

    ``texts`` hold the user's own files by path, as they were when the remarks were made."""
    edits: dict[tuple[object, str], Edit] = {}
    count = 0
    for fault in faults:
        edit = fault.edit if isinstance(fault, Remark) else None
        if edit is None or edit.head.path not in texts:
            continue
        count += 1
        known = edits.get((edit.head, edit.key))
        edits[edit.head, edit.key] = edit if known is None else _stronger(known, edit)
    by_path: dict[str, list[Edit]] = {}
    for edit in edits.values():
        by_path.setdefault(edit.head.path, []).append(edit)
    changed = {path: with_edits(texts[path], path, wanted) for path, wanted in by_path.items()}
    return Mended({path: new for path, new in changed.items() if new != texts[path]}, count)


def changes(old: Mapping[str, str], new: Mapping[str, str], then: str = "mended", width: int = USUAL) -> str:
    """What changes, line by line, as it is now and as it is ``then``."""
    lines: list[str] = []
    for path, text in new.items():
        before, after = (_plain(one).splitlines() for one in (old[path], text))
        compared = difflib.SequenceMatcher(None, before, after, autojunk=False)
        for kind, a, b, c, d in compared.get_opcodes():
            if kind == "equal":
                continue
            step = 1 if b - a == d - c else max(b - a, d - c, 1)  # line by line, if there are as many
            for k in range(0, max(b - a, d - c), step):
                old_rows, new_rows = before[a + k : min(a + k + step, b)], after[c + k : min(c + k + step, d)]
                last = f" to {a + k + len(old_rows)}" if len(old_rows) > 1 else ""
                lines += fold(f"{path} line {a + k + 1}{last}", width)
                for said, rows in (("now", old_rows), (then, new_rows)):
                    lines += [row for one in rows for row in fold(one.strip(), width, f"  {said:<6}  ")]
    return "".join(f"{line}\n" for line in lines)


def _plain(text: str) -> str:
    return text.removeprefix("\ufeff")


def _stronger(first: Edit, second: Edit) -> Edit:
    """Of two wishes for one clause, that which answers both (or the first)."""
    a, b = _figure(first.value), _figure(second.value)
    if first.side == second.side == "least":
        return second if b > a else first
    if first.side == second.side == "most":
        return second if b < a else first
    return first


def _figure(value: str) -> float:
    found = _FIGURE.search(value)
    return float(found[0]) if found else 0.0


def with_edits(text: str, path: str, edits: Sequence[Edit]) -> str:
    """One text with its edits, made from the last to the first so that places stay true."""
    file, _ = parse(text, path)
    heads = SourceLines({path: file}, Lexicon()).heads
    places = []
    for edit in edits:
        line = heads.get(edit.head)
        if line is not None:
            places.append(_place(text, line, edit))
    for start, end, new in sorted(places, reverse=True):
        text = text[:start] + new + text[end:]
    return text


def _place(text: str, line: tree.Feature | tree.Group, edit: Edit) -> tuple[int, int, str]:
    """Where an edit goes, (start, end), and what stands there then."""
    if edit.side == "without":
        return _taken_out(text, line, edit.key)
    for clause in line.clauses:
        sign = "+" if clause.key.name == edit.key else "-"
        counter = edit.side == "more" and clause.key.name == OPPOSITE.get(edit.key)
        if clause.value is not None and (sign == "+" or counter):
            span = clause.value.span
            return span.start, span.end, _value(text[span.start : span.end], clause.value, edit, sign)
    added = f"{edit.key} {edit.value}".rstrip()
    if not line.clauses:
        return line.head.end, line.head.end, f": {added}"
    last = max(line.clauses, key=lambda clause: clause.span.end)
    end = last.span.end
    if not last.below:
        return end, end, f", {added}"
    start = max(text.rfind("\n", 0, last.span.start), text.rfind("\r", 0, last.span.start)) + 1
    indent = text[start : last.span.start]
    if indent.strip():  # the last clause shares its line with others
        return end, end, f", {added}"
    stop = next((k for k in range(end, len(text)) if text[k] in "\r\n"), len(text))
    newline = "\r\n" if "\r\n" in text else "\n"
    return stop, stop, f"{newline}{indent}{added}"


def _taken_out(text: str, line: tree.Feature | tree.Group, key: str) -> tuple[int, int, str]:
    """A clause with the comma that parts it from the next, or from the one before; or its line."""
    span = next((clause.span for clause in line.clauses if clause.key.name == key), None)
    if span is None:
        return line.head.end, line.head.end, ""
    if found := re.compile(r"\s*,[ \t]*").match(text, span.end):
        return span.start, found.end(), ""
    before = re.search(r"(,[ \t]*|\n[ \t]*)$", text[: span.start])
    return span.start if before is None else before.start(), span.end, ""


def _value(written: str, node: tree.Expression, edit: Edit, sign: str) -> str:
    """The new value of a clause: the figure itself, a bound on the expression there is, or more of it."""
    if edit.side in ("more", "grown"):
        plain = re.fullmatch(r"(-?\d[\d.]*) ?(\w+|%)", written)
        if plain and edit.value.endswith(f" {plain[2]}"):
            return f"{float(plain[1]) + float(f'{sign}1') * _figure(edit.value):.2f} {plain[2]}"
        return f"{written} {sign} {edit.value}"
    if isinstance(node, tree.Number) and edit.value.endswith(f" {node.unit}"):
        wanted = _figure(edit.value)
        enough = {"least": node.value >= wanted, "most": node.value <= wanted}
        if enough.get(edit.side):
            return written  # the figure rests on more than this clause: leave it to the user
    if isinstance(node, tree.Number | tree.Minus) or edit.side == "exact":
        return edit.value
    return f"{'max' if edit.side == 'least' else 'min'}({written}, {edit.value})"
