"""Remarks that wish for one clause: the figure that answers all of them."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace

from ...lang import tree
from ...lang.faults import Fault
from .lines_of import Head
from .remark import Remark
from .said_clauses import OR, Clauses

WISH = re.compile(r"write ([a-z-]+) (\d+\.\d\d) mm\b(?!; then)")
AGREE = 1.5  # times as much as one remark wishes, from which another's wish for its clause is told for itself


def agreed(faults: Sequence[Fault], texts: Mapping[str, str]) -> list[Fault]:
    """The faults, where the first ways of several write one clause, as much more or less each, the figure in
    all that answers all."""
    wishes: dict[tuple[Head, str], list[tuple[Remark, float]]] = {}
    for one in faults:
        if isinstance(one, Remark) and (wish := _wish(one, texts)):
            wishes.setdefault(wish[:2], []).append((one, wish[2]))
    new: dict[int, Fault] = {}
    for (head, key), group in wishes.items():
        now = next(clause.value for clause in head.clauses if clause.key.name == key)
        for one, value in group:
            most = max(more for _, more in group if more < AGREE * value)
            if isinstance(now, tree.Number) and now.value < value < most:
                new[id(one)] = _with_figure(one, key, value, most)
    return [new.get(id(one), one) for one in faults]


def _wish(one: Remark, texts: Mapping[str, str]) -> tuple[Head, str, float] | None:
    """The line, its clause, said already, and the figure in mm, that are all the first way of a remark."""
    found = WISH.match(one.remedy or "")
    if found is None or one.span is None or one.span.path not in texts or one.waived is not None:
        return None
    reader = Clauses(one, texts[one.span.path])
    edits = [one.edit] if one.edit is not None else list(reader.edits(OR.split(one.remedy or "")[0]))
    heads = [head for head in reader.heads.values() if len(edits) == 1 and head.head == edits[0].head]
    said = (head for head in heads if any(clause.key.name == found[1] for clause in head.clauses))
    return next(((head, found[1], float(found[2])) for head in said), None)


def _with_figure(one: Remark, key: str, value: float, figure: float) -> Remark:
    told = (one.remedy or "").replace(f"{key} {value:.2f} mm", f"{key} {figure:.2f} mm", 1)
    edit = replace(one.edit, value=f"{figure:.2f} mm") if one.edit is not None else None
    return replace(one, remedy=told, edit=edit)
