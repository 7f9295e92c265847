"""Clauses of the lines of a text that are set from outside, as middle.gem=ruby: they stand in the text as if
they were written there."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from . import tree
from .faults import Fault
from .parse import parse_value
from .settable import places_of
from .source import Excerpt
from .suggest import did_you_mean

Wanted = Mapping[str, list[tree.Clause]]  # by the full name of a line


def with_clauses(file: tree.File, settings: Mapping[str, Any]) -> tuple[tree.File, list[Fault]]:
    """The tree of a text with the clauses that ``settings`` give its named lines, those of blocks by their
    own or their full names (stud.middle.gem); and what is wrong with them."""
    wanted: dict[str, list[tree.Clause]] = {}
    faults: list[Fault] = []
    names = list(_names(file.lines, ""))
    for setting, span in places_of(settings).items():
        said, dot, key = setting.rpartition(".")
        value = settings[setting]
        if not dot or not isinstance(value, str):
            continue
        lines = [said] if said in names else [name for name in names if name.endswith(f".{said}")]
        node, wrong = parse_value(Excerpt(value, span, len(setting) + 1))
        faults += wrong
        if len(set(lines)) == 1 and node is not None:
            clause = tree.Clause(tree.Name(key, span), node, span)
            wanted.setdefault(lines[0], []).append(clause)
        elif not lines:
            near = did_you_mean(said, names) or (f"it has {', '.join(names[:20])}" if names else None)
            told = f"there is no line '{said}' to set '{key}' of"
            faults.append(Fault("unknown-measure", told, span, remedy=near))
        elif node is not None:
            told = f"there are {len(set(lines))} lines called '{said}'"
            faults.append(Fault("unknown-measure", told, span, remedy=f"say which: {', '.join(lines)}"))
    return replace(file, lines=_set(file.lines, "", wanted)), faults


def _full(line: tree.Feature | tree.Group, prefix: str) -> str:
    name = line.name.name if line.name is not None else ""
    return prefix + (name or (line.word if isinstance(line, tree.Group) else ""))


def _names(lines: tuple[tree.Line, ...], prefix: str) -> Iterator[str]:
    """The full names of all lines of work that have one."""
    for line in lines:
        if isinstance(line, tree.Feature | tree.Group) and line.name is not None:
            yield _full(line, prefix)
        if isinstance(line, tree.Group | tree.Each | tree.When):
            own = f"{_full(line, prefix)}." if isinstance(line, tree.Group) else prefix
            yield from _names(tree.lines_below(line), own)


def _set(lines: tuple[tree.Line, ...], prefix: str, wanted: Wanted) -> tuple[tree.Line, ...]:
    """Lines, and all in their blocks, with the clauses that are ``wanted`` of them."""
    return tuple(_set_one(line, prefix, wanted) for line in lines)


def _set_one(line: tree.Line, prefix: str, wanted: Wanted) -> tree.Line:
    match line:
        case tree.Each():
            return replace(line, lines=_set(line.lines, prefix, wanted))
        case tree.When():
            branches = (replace(one, lines=_set(one.lines, prefix, wanted)) for one in line.branches)
            return replace(line, branches=tuple(branches))
        case tree.Feature():
            more = wanted.get(_full(line, prefix), ()) if line.name is not None else ()
            return replace(line, clauses=_joined(line.clauses, more)) if more else line
        case tree.Group():
            name = _full(line, prefix)
            clauses = _joined(line.clauses, wanted.get(name, ()))
            return replace(line, clauses=clauses, lines=_set(line.lines, f"{name}.", wanted))
    return line


def _joined(own: tuple[tree.Clause, ...], more: list[tree.Clause] | tuple[()]) -> tuple[tree.Clause, ...]:
    """Clauses with ``more`` in the place of those of the same key, or behind them."""
    keys = {clause.key.name: clause for clause in more}
    kept = tuple(keys.pop(clause.key.name, clause) for clause in own)
    return (*kept, *keys.values())
